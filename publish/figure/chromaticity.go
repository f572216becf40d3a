package figure

import (
	"fmt"
	"image/color"
	"math"
	"sync"

	"gonum.org/v1/plot/vg"

	"lampassay/light/colorimetry"
	"lampassay/light/standards"
)

// Chromaticity is a close-up of the CIE 1976 u′,v′ diagram around the Planckian
// locus, with the whole diagram as a locator. Duv is drawn as it is defined,
// along the isotherm: perpendicular to the locus in the 1960 diagram, which
// this one stretches.
type Chromaticity struct {
	Points []ChromaticityPoint

	Title string // empty for the first point's temperature and side of the locus
	Note  string
}

// ChromaticityPoint is one light of a [Chromaticity].
type ChromaticityPoint struct {
	Name   string
	U, V   float64 // u′, v′, 2° observer
	Colour color.NRGBA

	// CCT in K and Duv; CCT is zero where it is not defined.
	CCT, Duv float64
}

// Picture checks the points and returns the picture.
func (c Chromaticity) Picture() (*Picture, error) {
	if len(c.Points) == 0 {
		return nil, fmt.Errorf("figure: chromaticity: no point given")
	}
	p := &Picture{
		Name:    "chromaticity",
		Title:   c.Title,
		Note:    joinNotes(c.Note, "CIE 1976 diagram, 2° observer; isotherms reach to Duv ±0.02."),
		Columns: []string{"light", "u′", "v′", "CCT / K", "Duv"},
		drawing: c,
	}
	for i, q := range c.Points {
		if !finite(q.U, q.V, q.CCT, q.Duv) {
			return nil, fmt.Errorf("figure: chromaticity: %s has a coordinate that is not a finite number", q.Name)
		}
		row := []string{q.Name, fixed(q.U, 4), fixed(q.V, 4), "not defined", "not defined"}
		if q.CCT > 0 {
			row[3], row[4] = fixed(q.CCT, 0), signed(q.Duv, 4)
		}
		p.Rows = append(p.Rows, row)
		if i > 0 {
			p.Alt += " "
		}
		p.Alt += fmt.Sprintf("%s lies at u′ %s, v′ %s", q.Name, row[1], row[2])
		if q.CCT > 0 {
			p.Alt += fmt.Sprintf(", %s K, %s.", row[3], q.side())
		} else {
			p.Alt += ", too far from the Planckian locus for a colour temperature."
		}
	}
	if q := c.Points[0]; p.Title == "" && q.CCT > 0 {
		p.Title = fmt.Sprintf("%s K, %s", fixed(q.CCT, 0), q.side())
	} else if p.Title == "" {
		p.Title = "No colour temperature: too far from the Planckian locus"
	}
	return p, nil
}

// side says where a light lies from the Planckian locus.
func (q ChromaticityPoint) side() string {
	switch {
	case math.Abs(q.Duv) < 0.0005:
		return "on the Planckian locus"
	case q.Duv > 0:
		return fixed(q.Duv, 4) + " above the Planckian locus, to the green"
	}
	return fixed(-q.Duv, 4) + " below the Planckian locus, to the pink"
}

// uv is a point u′, v′.
type uv struct{ u, v float64 }

// onIsotherm returns the point of a temperature at a distance duv in the 1960
// diagram.
func onIsotherm(kelvin, duv float64) uv {
	u, v := colorimetry.UVFromCCT(kelvin, duv)
	return uv{u, 1.5 * v} // v′ = 1.5 v, CIE 15:2018 clause 8.1
}

// diagram is what every chromaticity picture shows.
type diagram struct{ planckian, daylight, spectrum []uv }

var furniture = sync.OnceValue(func() (d diagram) {
	for mired := 20.0; mired <= 800; mired += 5 {
		d.planckian = append(d.planckian, onIsotherm(1e6/mired, 0))
	}
	for t := 4000.0; t <= 25000; t += 250 {
		if x, y, err := standards.DaylightChromaticity(t); err == nil {
			u, v := colorimetry.XYZFromXY(x, y, 1).UVPrime()
			d.daylight = append(d.daylight, uv{u, v})
		}
	}
	o := standards.CIE1931()
	for nm := 380.0; nm <= 700; nm += 2 {
		u, v := colorimetry.XYZ{X: o.X.At(nm), Y: o.Y.At(nm), Z: o.Z.At(nm)}.UVPrime()
		d.spectrum = append(d.spectrum, uv{u, v})
	}
	return d
})

// isotherms are the temperatures lettered, K.
var isotherms = []float64{2000, 2200, 2500, 2700, 3000, 3500, 4000, 5000, 6500, 10000, 20000}

const isothermReach = 0.02

func (c Chromaticity) height(width vg.Length) vg.Length {
	return min(0.84*width, 520) + unitHeight + letterHeight
}

func (c Chromaticity) draw(p *pen, box vg.Rectangle) {
	f := c.frame(box)
	p.gridY(f, ticks(f.y0, f.y1, 6))
	across := ticks(f.x0, f.x1, int(f.box.Max.X-f.box.Min.X)/75+1)
	p.gridX(f, across)
	p.text(small, inkMuted, box.Min.X, box.Max.Y-small.size, left, "v′")
	p.letterX(f, across, f.box.Min.Y, "u′")

	d := furniture()
	for _, kelvin := range isotherms {
		a, b := onIsotherm(kelvin, -isothermReach), onIsotherm(kelvin, isothermReach)
		for _, part := range clip(f.box, []vg.Point{f.at(a.u, a.v), f.at(b.u, b.v)}) {
			p.line(ink{roleMuted, 0.55}, 1, part...)
		}
	}
	for _, part := range clip(f.box, f.points(d.daylight)) {
		p.dashed(inkMuted, 1.2, part...)
	}
	for _, part := range clip(f.box, f.points(d.planckian)) {
		p.line(inkFull, 1.8, part...)
	}
	c.letterIsotherms(p, f)
	for i, q := range c.Points {
		c.mark(p, f, i, q)
	}
	c.locator(p, f)
	p.frameRect(inkGrid, 1, f.box)
}

func (f frame) points(list []uv) []vg.Point {
	pts := make([]vg.Point, len(list))
	for i, q := range list {
		pts[i] = f.at(q.u, q.v)
	}
	return pts
}

// frame chooses the range: the locus from 2000 K to 10000 K and every point,
// with u′ and v′ on one scale.
func (c Chromaticity) frame(box vg.Rectangle) frame {
	b := rectangle(box.Min.X+number.width("0.50")+10, box.Min.Y+letterHeight, box.Max.X-10, box.Max.Y-unitHeight)
	f := frame{b, 0.172, 0.322, 0.442, 0.562}
	for _, q := range c.Points {
		f.x0, f.x1 = min(f.x0, q.U-0.015), max(f.x1, q.U+0.015)
		f.y0, f.y1 = min(f.y0, q.V-0.015), max(f.y1, q.V+0.015)
	}
	perPixel := max((f.x1-f.x0)/float64(b.Max.X-b.Min.X), (f.y1-f.y0)/float64(b.Max.Y-b.Min.Y))
	grow := func(lo, hi float64, px vg.Length) (float64, float64) {
		middle, half := (lo+hi)/2, perPixel*float64(px)/2
		return middle - half, middle + half
	}
	f.x0, f.x1 = grow(f.x0, f.x1, b.Max.X-b.Min.X)
	f.y0, f.y1 = grow(f.y0, f.y1, b.Max.Y-b.Min.Y)
	return f
}

// letterIsotherms letters the lower ends of the isotherms, where there is room.
func (c Chromaticity) letterIsotherms(p *pen, f frame) {
	var taken []vg.Rectangle
	order := []float64{3000, 4000, 6500, 2000, 5000, 10000, 2500, 2700, 3500, 2200, 20000}
	for _, kelvin := range order {
		a, b := onIsotherm(kelvin, -isothermReach), onIsotherm(kelvin, -isothermReach-0.004)
		from, to := f.at(a.u, a.v), f.at(b.u, b.v)
		n := vg.Length(math.Hypot(float64(to.X-from.X), float64(to.Y-from.Y)))
		s := fixed(kelvin, 0)
		w := number.width(s)
		x := from.X + (to.X-from.X)/n*(w/2+4)
		y := from.Y + (to.Y-from.Y)/n*10
		r := rectangle(x-w/2-3, y-7, x+w/2+3, y+7)
		if r.Min.X < f.box.Min.X || r.Max.X > f.box.Max.X || r.Min.Y < f.box.Min.Y || overlaps(r, taken) {
			continue
		}
		taken = append(taken, r)
		p.text(number, inkMuted, x, y-number.middle(), centre, s)
	}
}

func overlaps(r vg.Rectangle, list []vg.Rectangle) bool {
	for _, q := range list {
		if r.Min.X < q.Max.X && q.Min.X < r.Max.X && r.Min.Y < q.Max.Y && q.Min.Y < r.Max.Y {
			return true
		}
	}
	return false
}

// mark draws one light with the way to the locus.
func (c Chromaticity) mark(p *pen, f frame, i int, q ChromaticityPoint) {
	at := f.at(q.U, q.V)
	if q.CCT > 0 {
		foot := onIsotherm(q.CCT, 0)
		if !math.IsNaN(foot.u) {
			p.line(inkFull, 1.5, f.at(foot.u, foot.v), at)
		}
	}
	fill := q.Colour
	if fill.A == 0 {
		fill = roles[rolePanel].Light
	}
	p.disc(inkPanel, at, 8)
	p.disc(fill, at, 6.5)
	p.ring(inkFull, 1.5, at, 6.5)

	lines := []string{q.Name}
	if q.CCT > 0 {
		lines = append(lines, fixed(q.CCT, 0)+" K, Duv "+signed(q.Duv, 4))
	}
	// Above the locus the label stands above the point, below it below.
	x, y := at.X, at.Y+24
	if q.Duv < 0 {
		y = at.Y - 22
	}
	var w vg.Length
	for _, s := range lines {
		w = max(w, strong.width(s))
	}
	x = min(max(x, f.box.Min.X+w/2+6), f.box.Max.X-w/2-6)
	y = min(max(y, f.box.Min.Y+22), f.box.Max.Y-18)
	for k, s := range lines {
		h := strong
		if k > 0 {
			h = small
		}
		p.textOn(h, inkFull, x, y-vg.Length(k)*14, centre, s)
	}
}

// locator draws the whole diagram small, lower right, with the close-up's
// place in it.
func (c Chromaticity) locator(p *pen, f frame) {
	side := min(0.3*(f.box.Max.X-f.box.Min.X), 150)
	box := rectangle(f.box.Max.X-side-8, f.box.Min.Y+8, f.box.Max.X-8, f.box.Min.Y+8+side*0.94)
	g := frame{box, -0.02, 0.66, -0.02, 0.62}
	p.rect(ink{rolePanel, 0.9}, box)
	pts := g.points(furniture().spectrum)
	p.line(inkMuted, 1, append(pts, pts[0])...)
	p.line(inkFull, 1.2, clipped(box, g.points(furniture().planckian))...)
	p.frameRect(inkTint, 1, rectangle(g.x(f.x0), g.y(f.y0), g.x(f.x1), g.y(f.y1)))
}

func clipped(box vg.Rectangle, pts []vg.Point) []vg.Point {
	parts := clip(box, pts)
	if len(parts) == 0 {
		return nil
	}
	return parts[0]
}
