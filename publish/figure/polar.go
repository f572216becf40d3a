package figure

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// Polar shows where a lamp's light goes: its luminous intensity over the angle γ
// on planes through its axis, which points down, and beside it how bright and how
// wide the beam is at some distances.
type Polar struct {
	Curves []PolarCurve // one or two
	// Beam is the full angle in degrees of the cone that is drawn, 0 for none.
	Beam  float64
	Spots []PolarSpot // by rising distance; may be empty

	Title string // empty for beam and centre
	Note  string
}

// PolarCurve is the intensity on one plane, both of its halves.
type PolarCurve struct {
	Name  string    // e.g. "C 180° – C 0°", left to right
	Gamma []float64 // degrees, rising from 0 to 180
	Right []float64 // cd at Gamma on one half-plane
	Left  []float64 // cd on the other
}

// PolarSpot is what the beam makes of a wall at a distance.
type PolarSpot struct {
	Distance float64 // m
	Lux      float64 // on the axis
	Width    float64 // m, of the beam; 0 where it has no edge
}

// Picture checks the data and returns the picture.
func (d Polar) Picture() (*Picture, error) {
	if len(d.Curves) < 1 || len(d.Curves) > 2 {
		return nil, fmt.Errorf("figure: polar: %d curves given, one or two can be drawn", len(d.Curves))
	}
	for _, c := range d.Curves {
		if err := c.check(); err != nil {
			return nil, err
		}
	}
	if !(d.Beam >= 0 && d.Beam < 360) {
		return nil, fmt.Errorf("figure: polar: a beam of %g°", d.Beam)
	}
	for i, s := range d.Spots {
		if !finite(s.Distance) || !finite(s.Lux) || !finite(s.Width) || s.Distance <= 0 || s.Lux < 0 || s.Width < 0 || i > 0 && s.Distance <= d.Spots[i-1].Distance {
			return nil, fmt.Errorf("figure: polar: a spot of %g lx, %g m wide, at %g m", s.Lux, s.Width, s.Distance)
		}
	}
	if d.peak() <= 0 {
		return nil, fmt.Errorf("figure: polar: there is no light in any direction")
	}
	centre := d.Curves[0].Right[0]
	p := &Picture{Name: "polar", Title: d.Title, Note: d.Note, Columns: []string{"γ / °"}, drawing: d}
	p.Alt = fmt.Sprintf("Luminous intensity over directions: %s cd on the axis, %s cd at the most", three(centre), three(d.peak()))
	if d.Beam > 0 {
		p.Alt += fmt.Sprintf(", a beam of %s° across", fixed(d.Beam, d.places()))
	}
	for _, s := range d.Spots {
		p.Alt += fmt.Sprintf("; %s lx at %s m", three(s.Lux), fixed(s.Distance, decimals(s.Distance)))
	}
	p.Alt += "."
	if p.Title == "" {
		p.Title = fmt.Sprintf("%s cd on the axis, and no edge to the beam", three(centre))
		if d.Beam > 0 {
			p.Title = fmt.Sprintf("A beam of %s°, %s cd on its axis", fixed(d.Beam, d.places()), three(centre))
		}
	}
	p.table(d.Curves)
	return p, nil
}

// table lists the intensities of all curves at the angles of the first.
func (p *Picture) table(curves []PolarCurve) {
	for _, c := range curves {
		p.Columns = append(p.Columns, c.Name+", right / cd", c.Name+", left / cd")
	}
	for _, g := range curves[0].Gamma {
		row := []string{significant(g, 4)}
		for _, c := range curves {
			row = append(row, significant(c.at(g), 4), significant(c.at(-g), 4))
		}
		p.Rows = append(p.Rows, row)
	}
}

func (c *PolarCurve) check() error {
	n := len(c.Gamma)
	if n < 2 || len(c.Right) != n || len(c.Left) != n || c.Gamma[0] != 0 || c.Gamma[n-1] != 180 {
		return fmt.Errorf("figure: polar: %s needs intensities on both sides from 0° to 180°", c.Name)
	}
	for i := range n {
		if i > 0 && !(c.Gamma[i] > c.Gamma[i-1]) || !finite(c.Right[i]) || !finite(c.Left[i]) {
			return fmt.Errorf("figure: polar: %s at %g° is not a rising angle with an intensity", c.Name, c.Gamma[i])
		}
	}
	return nil
}

// at returns the intensity at an angle, on the left below zero.
func (c *PolarCurve) at(gamma float64) float64 {
	side := c.Right
	if gamma < 0 {
		side, gamma = c.Left, -gamma
	}
	k, _ := slices.BinarySearch(c.Gamma, gamma)
	i := min(max(k-1, 0), len(c.Gamma)-2)
	f := (gamma - c.Gamma[i]) / (c.Gamma[i+1] - c.Gamma[i])
	return (1-f)*side[i] + f*side[i+1]
}

// peak is the largest intensity drawn.
func (d Polar) peak() float64 {
	top := 0.0
	for _, c := range d.Curves {
		top = max(top, slices.Max(c.Right), slices.Max(c.Left))
	}
	return top
}

// upward is the share of the peak from which light above the horizontal is shown
// with a whole circle: less would not be seen.
const upward = 0.02

// lastAngle is how far the picture reaches from straight down.
func (d Polar) lastAngle() float64 {
	for _, c := range d.Curves {
		for g := 91.0; g <= 180; g++ {
			if max(c.at(g), c.at(-g)) > upward*d.peak() {
				return 180
			}
		}
	}
	return 90
}

const (
	polarKey    = 24 // the key above
	polarRim    = 26 // for the angles around
	polarTop    = 18 // for the scale above the horizontal
	polarGap    = 28 // between polar and cone
	spotRow     = 18 // a line of the table under the cone
	spotLabel   = 40 // for the distances beside the cone
	spotGap     = 20 // between cone and table
	coneDeep    = 160
	coneLeast   = 48
	polarLayout = 560 // from this width on the two stand side by side
)

// arranged is where the two parts stand.
type arranged struct {
	polar, spots vg.Rectangle // polar without key
	radius       vg.Length
	centre       vg.Point
	height       vg.Length
}

// arrange lays out the parts below a top edge at y = 0.
func (d Polar) arrange(width vg.Length) arranged {
	var a arranged
	side := width
	if len(d.Spots) > 0 && width >= polarLayout {
		side = (width - polarGap) * 0.56
	}
	a.radius = min(side/2-polarRim, 230)
	h := polarTop + a.radius + polarRim
	a.centre = vg.Point{X: side / 2, Y: -polarKey - polarTop}
	if d.lastAngle() > 90 {
		h = 2*a.radius + 2*polarRim
		a.centre.Y = -polarKey - polarRim - a.radius
	}
	a.polar = rectangle(0, -polarKey-h, side, -polarKey)
	a.height = polarKey + h
	if len(d.Spots) == 0 {
		return a
	}
	rows := vg.Length(8 + coneDeep + spotGap + spotRow*(len(d.Spots)+1))
	if d.Beam > 0 { // no deeper than it is wide
		panel := width
		if side < width {
			panel = width - side - polarGap
		}
		room := (panel - spotLabel) / 2 / vg.Length(math.Tan(min(d.Beam, 178)*math.Pi/360))
		rows -= coneDeep - min(coneDeep, max(room, coneLeast))
	}
	if side < width {
		a.spots = rectangle(side+polarGap, -max(a.height, rows), width, 0)
		a.height = max(a.height, rows)
		return a
	}
	a.spots = rectangle(0, -a.height-12-rows, width, -a.height-12)
	a.height += 12 + rows
	return a
}

func (d Polar) height(width vg.Length) vg.Length { return d.arrange(width).height }

// polarInks tell two planes apart without colour by an even and a dashed line.
var polarInks = [...]ink{{roleSeries, 1}, {roleSeries + 1, 1}}

func (d Polar) draw(p *pen, box vg.Rectangle) {
	a := d.arrange(box.Max.X - box.Min.X)
	move := func(q vg.Point) vg.Point { return vg.Point{X: q.X + box.Min.X, Y: q.Y + box.Max.Y} }
	a.centre = move(a.centre)
	a.polar = vg.Rectangle{Min: move(a.polar.Min), Max: move(a.polar.Max)}
	a.spots = vg.Rectangle{Min: move(a.spots.Min), Max: move(a.spots.Max)}
	d.key(p, box.Min.X, box.Max.Y)
	d.web(p, a)
	top := d.scale()
	last := d.lastAngle()
	for i, c := range slices.Backward(d.Curves) {
		var pts []vg.Point
		for g := -last; g <= last; g++ {
			pts = append(pts, a.at(g, max(c.at(g), 0)/top))
		}
		if i == 0 {
			p.polygon(inkWash, append(slices.Clone(pts), a.centre)...)
			p.line(polarInks[i], 2, pts...)
			continue
		}
		p.style(polarInks[i], 1.6, 6, 3)
		p.Stroke(polyline(pts))
	}
	if len(d.Spots) > 0 {
		d.cone(p, a.spots)
	}
}

// at is the point at an angle from straight down and a share of the radius.
func (a *arranged) at(gamma, share float64) vg.Point {
	sin, cos := math.Sincos(gamma * math.Pi / 180)
	r := a.radius * vg.Length(share)
	return vg.Point{X: a.centre.X + r*vg.Length(sin), Y: a.centre.Y - r*vg.Length(cos)}
}

// scale is the intensity at the rim: a whole number of rings.
func (d Polar) scale() float64 {
	step := roundStep(d.peak() / 4)
	return step * math.Ceil(d.peak()/step*(1-1e-9))
}

// web draws rings of even intensity and spokes of even angle.
func (d Polar) web(p *pen, a arranged) {
	top, last := d.scale(), d.lastAngle()
	rings, _ := powerTicks(0, top, 5)
	for _, t := range rings {
		if t.value == 0 {
			continue
		}
		var pts []vg.Point
		for g := -last; g <= last; g += 2 {
			pts = append(pts, a.at(g, t.value/top))
		}
		p.line(inkGrid, 1, pts...)
	}
	for g := -last; g <= last; g += 30 {
		end := a.at(g, 1)
		p.line(inkGrid, 1, a.centre, end)
		if g == -180 || last == 90 && math.Abs(g) == 90 {
			continue
		}
		at := a.at(g, 1+13/float64(a.radius))
		p.text(number, inkMuted, at.X, at.Y-number.middle(), centre, fixed(math.Abs(g), 0)+"°")
	}
	for i, t := range rings {
		x := a.centre.X + a.radius*vg.Length(t.value/top)
		text := t.text
		if last == 90 {
			p.text(number, inkMuted, x, a.centre.Y+6, centre, text)
			if t.value > 0 {
				p.text(number, inkMuted, 2*a.centre.X-x, a.centre.Y+6, centre, text)
			}
		} else if t.value > 0 {
			align := centre
			if i == len(rings)-1 {
				align, x = right, x-4
			}
			p.textOn(number, inkMuted, x, a.centre.Y+4, align, text)
		}
	}
	if d.Beam > 0 {
		for _, g := range []float64{-d.Beam / 2, d.Beam / 2} {
			if math.Abs(g) <= last {
				p.dashed(inkMuted, 1, a.centre, a.at(g, 1))
			}
		}
	}
}

// key names curves, scale and beam in one line above.
func (d Polar) key(p *pen, x, y vg.Length) {
	base := y - 13
	for i, c := range d.Curves {
		p.style(polarInks[i], 2)
		if i > 0 {
			p.style(polarInks[i], 1.6, 6, 3)
		}
		p.Stroke(polyline([]vg.Point{{X: x, Y: base + 4}, {X: x + 24, Y: base + 4}}))
		p.text(small, inkFull, x+30, base, left, c.Name)
		x += 30 + small.width(c.Name) + 18
	}
	_, prefix := powerTicks(0, d.scale(), 5)
	p.text(small, inkMuted, x, base, left, "rings in "+prefix+"cd")
}

// cone draws the beam from the side, to scale where its width leaves room, and
// below it the light on the axis and the width at each distance.
func (d Polar) cone(p *pen, r vg.Rectangle) {
	last, rows := d.Spots[len(d.Spots)-1].Distance, vg.Length(spotRow*(len(d.Spots)+1))
	room := (r.Max.X - r.Min.X - spotLabel) / 2
	axis, top := r.Min.X+spotLabel+room, r.Max.Y-8
	deep := min(r.Max.Y-r.Min.Y-8-spotGap-rows, coneDeep)
	slope := vg.Length(math.Tan(min(d.Beam, 178) * math.Pi / 360))
	if slope > 0 {
		deep = min(deep, max(room/slope, coneLeast))
	}
	half := min(slope*deep, room)
	depth := func(m float64) vg.Length { return top - deep*vg.Length(m/last) }
	for _, s := range d.Spots {
		y := depth(s.Distance)
		p.line(inkGrid, 1, vg.Point{X: r.Min.X + spotLabel, Y: y}, vg.Point{X: r.Max.X, Y: y})
		p.text(number, inkMuted, r.Min.X+spotLabel-8, y-number.middle(), right, s.distance())
	}
	if d.Beam > 0 && d.Beam < 180 {
		p.polygon(inkWash, vg.Point{X: axis, Y: top}, vg.Point{X: axis - half, Y: depth(last)}, vg.Point{X: axis + half, Y: depth(last)})
		p.line(polarInks[0], 1.5, vg.Point{X: axis - half, Y: depth(last)}, vg.Point{X: axis, Y: top}, vg.Point{X: axis + half, Y: depth(last)})
	}
	if half < slope*deep-0.5 {
		p.text(small, inkMuted, axis, depth(last)-14, centre, "width not to scale")
	}
	p.dashed(inkMuted, 1, vg.Point{X: axis, Y: top}, vg.Point{X: axis, Y: depth(last)})
	p.disc(inkFull, vg.Point{X: axis, Y: top}, 3)
	d.spotTable(p, r.Min.X, depth(last)-spotGap)
}

// spotTable writes a line for each distance below a height.
func (d Polar) spotTable(p *pen, x, y vg.Length) {
	columns := [][]string{{"distance"}, {"on the axis"}}
	if d.Beam > 0 {
		columns = append(columns, []string{"beam width"})
	}
	for _, s := range d.Spots {
		columns[0], columns[1] = append(columns[0], s.distance()), append(columns[1], three(s.Lux)+" lx")
		if d.Beam > 0 {
			columns[2] = append(columns[2], significant(s.Width, 2)+" m")
		}
	}
	for _, cells := range columns {
		edge := small.width(cells[0])
		for _, c := range cells[1:] {
			edge = max(edge, number.width(c))
		}
		x += edge
		p.text(small, inkMuted, x, y-13, right, cells[0])
		for k, c := range cells[1:] {
			p.text(number, inkFull, x, y-13-vg.Length(spotRow*(k+1)), right, c)
		}
		x += 22
	}
}

func (s PolarSpot) distance() string { return fixed(s.Distance, decimals(s.Distance)) + " m" }

// three writes a number in three significant figures, without the digits behind
// them where it is large.
func three(v float64) string {
	if v <= 0 {
		return significant(v, 3)
	}
	unit := math.Pow(10, math.Floor(math.Log10(v))-2)
	return significant(math.Round(v/unit)*unit, 3)
}

// places is how finely a beam angle is written: a narrow one to a tenth.
func (d Polar) places() int {
	if d.Beam < 10 {
		return 1
	}
	return 0
}

// decimals is how many places a short number needs.
func decimals(v float64) int {
	if v == math.Trunc(v) {
		return 0
	}
	return 1
}
