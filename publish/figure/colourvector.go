package figure

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// ColourVector is the colour vector graphic of ANSI/IES TM-30-20: the mean
// colours of the sixteen hue bins under the lamp against those under the
// reference, which lie on the unit circle. Outside the circle a lamp makes
// colours more vivid than the reference, inside it duller; along it, it turns
// their hue.
type ColourVector struct {
	// Test and Reference are the bins' mean a′, b′, divided by the length of the
	// reference's mean; NaN for a bin that holds no sample.
	Test, Reference [16]ABPoint

	// Chroma is Rcs,h as a fraction, for title and table; nil leaves it out.
	Chroma *[16]float64

	// Measures as they are to be read; empty ones are left out.
	Rf, Rg, CCT, Duv string

	Title string // empty for the range of Chroma
	Note  string
}

// ABPoint is a point of the a′, b′ plane.
type ABPoint struct{ A, B float64 }

// Picture checks the vectors and returns the picture.
func (c ColourVector) Picture() (*Picture, error) {
	p := &Picture{
		Name:    "colour-vector",
		Title:   c.Title,
		Note:    joinNotes(c.Note, "Dashed circle: reference. Thin circles: 20 % less and 20 % more chroma."),
		Columns: []string{"hue bin", "lamp a′", "lamp b′", "reference a′", "reference b′"},
		drawing: c,
	}
	if c.Chroma != nil {
		p.Columns = append(p.Columns, "Rcs,h / %")
	}
	filled := 0
	for i := range c.Test {
		t, r := c.Test[i], c.Reference[i]
		row := []string{fmt.Sprint(i + 1)}
		switch {
		case !finite(t.A, t.B, r.A, r.B):
			row = append(row, "no sample", "no sample", "no sample", "no sample")
		case r == (ABPoint{}):
			return nil, fmt.Errorf("figure: colour vector: the reference of hue bin %d has no hue", i+1)
		default:
			filled++
			row = append(row, signed(t.A, 3), signed(t.B, 3), signed(r.A, 3), signed(r.B, 3))
		}
		if c.Chroma != nil {
			row = append(row, chromaText(c.Chroma[i]))
		}
		p.Rows = append(p.Rows, row)
	}
	if filled < 3 {
		return nil, fmt.Errorf("figure: colour vector: %d of 16 hue bins hold a colour, too few for a gamut", filled)
	}
	says := "hue bins against their reference"
	if c.Chroma != nil {
		s, err := chromaRange(c.Chroma)
		if err != nil {
			return nil, err
		}
		says = s
	}
	if p.Title == "" {
		p.Title = sentence(says)
	}
	p.Alt = "Colour vector graphic: " + says + "."
	for _, m := range c.corners() {
		if m.value != "" {
			p.Alt += " " + m.name + " " + m.value + "."
		}
	}
	return p, nil
}

// sentence begins a text with a capital.
func sentence(s string) string {
	r := []rune(s)
	if len(r) > 0 && r[0] >= 'a' && r[0] <= 'z' {
		r[0] += 'A' - 'a'
	}
	return string(r)
}

type corner struct {
	name, value string
	right, low  bool
}

func (c ColourVector) corners() []corner {
	return []corner{
		{"Rf", c.Rf, false, false}, {"Rg", c.Rg, true, false},
		{"CCT", c.CCT, false, true}, {"Duv", c.Duv, true, true},
	}
}

func (c ColourVector) height(width vg.Length) vg.Length { return min(width, 460) }

// hueRing is where the ring of hues lies, in radii of the reference circle.
const hueRingInner, hueRingOuter = 1.37, 1.43

func (c ColourVector) draw(p *pen, box vg.Rectangle) {
	side := box.Max.Y - box.Min.Y
	middle := (box.Min.X + box.Max.X) / 2
	box = rectangle(middle-side/2, box.Min.Y, middle+side/2, box.Max.Y)
	reach := c.reach()
	f := frame{box, -reach, reach, -reach, reach}
	origin, unit := f.at(0, 0), f.x(1)-f.x(0)

	for i := range 16 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 8)
		p.line(inkGrid, 1, origin, f.at(hueRingInner*cos, hueRingInner*sin))
		p.sector(hueColour(binHue(i)), origin, hueRingInner*unit, hueRingOuter*unit, i)
		sin, cos = math.Sincos(binHue(i))
		at := f.at(1.3*cos, 1.3*sin)
		s := fmt.Sprint(i + 1)
		p.text(number, inkMuted, at.X, at.Y-number.middle(), centre, s)
	}
	p.ring(inkGrid, 1, origin, 0.8*unit)
	p.ring(inkGrid, 1, origin, 1.2*unit)
	p.style(inkMuted, 1.2, 4, 3)
	p.Stroke(circle(origin, unit))
	var through []vg.Point
	for i := range c.Test {
		t, r := c.Test[i], c.Reference[i]
		if !finite(t.A, t.B, r.A, r.B) {
			continue
		}
		through = append(through, f.at(t.A, t.B))
	}
	p.style(inkFull, 1.8)
	p.Stroke(smooth(through))
	for i := range c.Test {
		t, r := c.Test[i], c.Reference[i]
		if finite(t.A, t.B, r.A, r.B) {
			p.arrow(hueColour(binHue(i)), 2.4, 8, f.at(r.A, r.B), f.at(t.A, t.B))
		}
	}
	p.textOn(small, inkMuted, origin.X, origin.Y+0.8*unit-12, centre, "−20 %")
	p.textOn(small, inkMuted, origin.X, origin.Y+1.2*unit-12, centre, "+20 %")
	c.letterCorners(p, box)
}

// reach is half the side of the graphic in radii: room for the hue ring and for
// any vector that leaves it.
func (c ColourVector) reach() float64 {
	reach := hueRingOuter + 0.03
	for _, t := range c.Test {
		if finite(t.A, t.B) {
			reach = max(reach, math.Abs(t.A)+0.03, math.Abs(t.B)+0.03)
		}
	}
	return reach
}

func (c ColourVector) letterCorners(p *pen, box vg.Rectangle) {
	figure := hand{TextFamily, 600, 20}
	for _, m := range c.corners() {
		if m.value == "" {
			continue
		}
		x, align := box.Min.X, left
		if m.right {
			x, align = box.Max.X, right
		}
		h := figure
		if m.low { // these have more digits
			h.size = 14
		}
		if m.low {
			p.text(h, inkFull, x, box.Min.Y+4, align, m.value)
			p.text(small, inkMuted, x, box.Min.Y+22, align, m.name)
		} else {
			p.text(small, inkMuted, x, box.Max.Y-11, align, m.name)
			p.text(h, inkFull, x, box.Max.Y-32, align, m.value)
		}
	}
}

// sector fills a sixteenth of a ring.
func (p *pen) sector(c color.Color, origin vg.Point, inner, outer vg.Length, i int) {
	start, turn := float64(i)*math.Pi/8, math.Pi/8
	sin, cos := math.Sincos(start)
	var path vg.Path
	path.Move(vg.Point{X: origin.X + outer*vg.Length(cos), Y: origin.Y + outer*vg.Length(sin)})
	path.Arc(origin, outer, start, turn)
	path.Arc(origin, inner, start+turn, -turn)
	path.Close()
	p.SetColor(c)
	p.Fill(path)
}

// smooth returns the closed cubic curve through points that leaves each in the
// direction of its neighbours (Catmull and Rom).
func smooth(pts []vg.Point) vg.Path {
	n := len(pts)
	var path vg.Path
	path.Move(pts[0])
	for i := range pts {
		a, b, c, d := pts[(i+n-1)%n], pts[i], pts[(i+1)%n], pts[(i+2)%n]
		path.CubeTo(
			vg.Point{X: b.X + (c.X-a.X)/6, Y: b.Y + (c.Y-a.Y)/6},
			vg.Point{X: c.X - (d.X-b.X)/6, Y: c.Y - (d.Y-b.Y)/6},
			c)
	}
	path.Close()
	return path
}
