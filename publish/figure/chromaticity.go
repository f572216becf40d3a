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

	Title string // empty for the temperature and the side of the locus
	Note  string
}

// ChromaticityPoint is one light of a [Chromaticity].
type ChromaticityPoint struct {
	Name   string
	U, V   float64 // u′, v′, 2° observer
	Colour color.NRGBA

	// CCT in K and Duv; CCT is zero where it is not defined.
	CCT, Duv float64

	// Spread holds the variances of u′ and v′ and their covariance, all 0 where
	// they are not known: the ellipse that holds the light with 95 %.
	Spread [3]float64
}

// Picture checks the points and returns the picture.
func (c Chromaticity) Picture() (*Picture, error) {
	if len(c.Points) == 0 {
		return nil, fmt.Errorf("figure: chromaticity: no point given")
	}
	p := &Picture{
		Name:    "chromaticity",
		Title:   c.Title,
		Note:    joinNotes(c.Note, "CIE 1976 diagram, 2° observer. Full line: Planckian locus, with isotherms to Duv ±0.02; dashed: daylight locus."),
		Columns: []string{"light", "u′", "v′", "CCT / K", "Duv"},
		drawing: c,
	}
	spread := false
	for i, q := range c.Points {
		if !finite(q.U, q.V, q.CCT, q.Duv, q.Spread[0], q.Spread[1], q.Spread[2]) {
			return nil, fmt.Errorf("figure: chromaticity: %s has a coordinate that is not a finite number", q.Name)
		}
		if q.Spread != [3]float64{} {
			spread = true
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
	if spread {
		p.Note = joinNotes(p.Note, "Ellipse: where the light lies with 95 %.")
	}
	if p.Title == "" {
		p.Title = c.title()
	}
	return p, nil
}

func (c Chromaticity) title() string {
	q := c.Points[0]
	switch {
	case len(c.Points) > 1:
		return fmt.Sprintf("%d lights beside the Planckian locus", len(c.Points))
	case q.CCT > 0:
		return fmt.Sprintf("%s K, %s", fixed(q.CCT, 0), q.side())
	}
	return "No colour temperature: too far from the Planckian locus"
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

// isotherms are the temperatures drawn, K, in the order in which they are
// lettered while there is room: round ones first, then the other nominal ones of
// ANSI C78.377.
var isotherms = []float64{2000, 3000, 4000, 5000, 6500, 10000, 2700, 3500, 2500, 4500, 5700, 2200, 8000, 20000, 1800, 1600}

const isothermReach = 0.02 // Duv

func (c Chromaticity) height(width vg.Length) vg.Length {
	return min(0.84*width, 480) + unitHeight + letterHeight
}

func (c Chromaticity) draw(p *pen, box vg.Rectangle) {
	f := c.frame(box)
	p.gridY(f, ticks(f.y0, f.y1, 6))
	across := ticks(f.x0, f.x1, int(f.box.Max.X-f.box.Min.X)/60+1)
	p.gridX(f, across)
	p.text(small, inkMuted, box.Min.X, box.Max.Y-small.size, left, "v′")
	p.letterX(f, across, f.box.Min.Y, box.Max.X, "u′")

	d := furniture()
	for _, kelvin := range isotherms {
		a, b := onIsotherm(kelvin, -isothermReach), onIsotherm(kelvin, isothermReach)
		for _, part := range clip(f.box, f.points([]uv{a, b})) {
			p.line(ink{roleMuted, 0.55}, 1, part...)
		}
	}
	for _, part := range clip(f.box, f.points(d.daylight)) {
		p.dashed(inkMuted, 1.2, part...)
	}
	for _, part := range clip(f.box, f.points(d.planckian)) {
		p.line(inkFull, 1.8, part...)
	}
	inset := c.corner(f)
	taken := []vg.Rectangle{inset}
	for _, q := range c.Points {
		p.ellipse(f, q)
	}
	for _, q := range c.Points {
		p.mark(f, q)
	}
	taken = c.letterPoints(p, f, taken, append(f.points(d.planckian), f.points(d.daylight)...))
	taken = p.letterIsotherms(f, taken)
	taken = p.letterLocus(f, d.planckian, false, "Planckian locus", taken)
	p.letterLocus(f, d.daylight, true, "daylight", taken)
	c.locator(p, f, inset)
	p.frameRect(inkGrid, 1, f.box)
}

func (f frame) points(list []uv) []vg.Point {
	pts := make([]vg.Point, len(list))
	for i, q := range list {
		pts[i] = f.at(q.u, q.v)
	}
	return pts
}

// frame chooses the range: every point and its foot on the locus with 0.04 on
// either side, u′ and v′ on one scale. A light without a temperature is shown
// with the locus from 2500 K to 6500 K.
func (c Chromaticity) frame(box vg.Rectangle) frame {
	b := rectangle(box.Min.X+number.width("0.50")+10, box.Min.Y+letterHeight, box.Max.X-10, box.Max.Y-unitHeight)
	var show []uv
	for _, q := range c.Points {
		show = append(show, uv{q.U, q.V})
		if foot := onIsotherm(q.CCT, 0); q.CCT > 0 && finite(foot.u, foot.v) {
			show = append(show, foot)
		} else {
			show = append(show, onIsotherm(2500, 0), onIsotherm(6500, 0))
		}
	}
	f := frame{b, math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
	for _, q := range show {
		f.x0, f.x1 = min(f.x0, q.u), max(f.x1, q.u)
		f.y0, f.y1 = min(f.y0, q.v), max(f.y1, q.v)
	}
	w, h := float64(b.Max.X-b.Min.X), float64(b.Max.Y-b.Min.Y)
	perPixel := max((f.x1-f.x0+0.08)/w, (f.y1-f.y0+0.05)/h)
	grow := func(lo, hi, px float64) (float64, float64) {
		return (lo + hi - perPixel*px) / 2, (lo + hi + perPixel*px) / 2
	}
	f.x0, f.x1 = grow(f.x0, f.x1, w)
	f.y0, f.y1 = grow(f.y0, f.y1, h)
	return f
}

// letterIsotherms letters one end of each isotherm where there is room, the lower
// one for choice, and returns what is taken then.
func (p *pen) letterIsotherms(f frame, taken []vg.Rectangle) []vg.Rectangle {
	for _, kelvin := range isotherms {
		for _, reach := range []float64{-isothermReach, isothermReach} {
			r, ok := f.isothermLabel(kelvin, reach)
			if !ok || overlaps(r, taken) {
				continue
			}
			taken = append(taken, r)
			p.textOn(number, inkMuted, r.Min.X+3, r.Min.Y+8-number.middle(), left, isothermName(kelvin))
			break
		}
	}
	return taken
}

func isothermName(kelvin float64) string { return fixed(kelvin, 0) + " K" }

// isothermLabel returns where an isotherm's name stands: beyond its end on one
// side of the locus, or on it where the frame cuts it.
func (f frame) isothermLabel(kelvin, reach float64) (r vg.Rectangle, ok bool) {
	parts := clip(f.box, f.points([]uv{onIsotherm(kelvin, 0), onIsotherm(kelvin, reach)}))
	if len(parts) == 0 {
		return r, false
	}
	from, to := parts[0][0], parts[0][len(parts[0])-1]
	n := vg.Length(math.Hypot(float64(to.X-from.X), float64(to.Y-from.Y)))
	if n < 24 {
		return r, false
	}
	w := number.width(isothermName(kelvin))
	x, y := to.X+(to.X-from.X)/n*(w/2+2), to.Y+(to.Y-from.Y)/n*10
	y = min(max(y, f.box.Min.Y+10), f.box.Max.Y-10)
	r = rectangle(x-w/2-3, y-8, x+w/2+3, y+8)
	return r, r.Min.X >= f.box.Min.X && r.Max.X <= f.box.Max.X
}

// letterLocus names a curve to its lower right, or upper left, at the first
// place along it that is free, and returns what is taken then.
func (p *pen) letterLocus(f frame, curve []uv, above bool, name string, taken []vg.Rectangle) []vg.Rectangle {
	w := small.width(name)
	for _, q := range curve {
		at := f.at(q.u, q.v)
		r := rectangle(at.X+8, at.Y-17, at.X+8+w, at.Y-3)
		if above {
			r = rectangle(at.X-w-8, at.Y+3, at.X-8, at.Y+17)
		}
		if r.Min.X < f.box.Min.X+4 || r.Max.X > f.box.Max.X-4 || r.Min.Y < f.box.Min.Y+4 || r.Max.Y > f.box.Max.Y-4 || overlaps(r, taken) {
			continue
		}
		p.textOn(small, inkFull, r.Min.X, r.Min.Y+3, left, name)
		return append(taken, r)
	}
	return taken
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
func (p *pen) mark(f frame, q ChromaticityPoint) {
	at := f.at(q.U, q.V)
	if foot := onIsotherm(q.CCT, 0); q.CCT > 0 && finite(foot.u, foot.v) {
		on := f.at(foot.u, foot.v)
		p.line(inkTint, 2.5, on, at)
	}
	fill := q.Colour
	if fill.A == 0 {
		fill = roles[rolePanel].Light
	}
	p.disc(inkPanel, at, 5.5)
	p.disc(fill, at, 4.5)
	p.ring(inkFull, 1.5, at, 4.5)
}

// within95 is the square of the radius, in standard deviations, of the circle
// that holds 95 % of a normal distribution in two dimensions: −2 ln 0.05.
const within95 = 5.991

// ellipse draws where a light lies with 95 %, from the eigenvectors of the
// covariance matrix.
func (p *pen) ellipse(f frame, q ChromaticityPoint) {
	a, b, c := q.Spread[0], q.Spread[1], q.Spread[2]
	mean, half := (a+b)/2, math.Hypot((a-b)/2, c)
	if !(mean > 0) {
		return
	}
	long, short := math.Sqrt(within95*(mean+half)), math.Sqrt(within95*max(mean-half, 0))
	sin, cos := math.Sincos(math.Atan2(2*c, a-b) / 2)
	var ring []vg.Point
	for k := range 72 {
		y, x := math.Sincos(2 * math.Pi * float64(k) / 72)
		x, y = x*long, y*short
		ring = append(ring, f.at(q.U+x*cos-y*sin, q.V+x*sin+y*cos))
	}
	p.polygon(ink{roleSeries, 0.22}, clipArea(f.box, ring)...)
	for _, part := range clip(f.box, append(ring, ring[0])) {
		p.line(inkTint, 1.2, part...)
	}
}

// corner chooses a corner for the locator that neither locus nor lights need.
func (c Chromaticity) corner(f frame) vg.Rectangle {
	w := min(0.3*(f.box.Max.X-f.box.Min.X), 140)
	h := 0.94 * w
	need := append(f.points(furniture().planckian), f.points(furniture().daylight)...)
	for _, q := range c.Points {
		need = append(need, f.at(q.U, q.V))
	}
	x0, x1, y0, y1 := f.box.Min.X+8, f.box.Max.X-8-w, f.box.Min.Y+8, f.box.Max.Y-8-h
	at := []vg.Point{{X: x1, Y: y0}, {X: x0, Y: y1}, {X: x1, Y: y1}, {X: x0, Y: y0}}
	best, fewest := vg.Rectangle{}, len(need)+1
	for _, o := range at {
		r := rectangle(o.X, o.Y, o.X+w, o.Y+h)
		inside := 0
		for _, q := range need {
			if r.Min.X-24 < q.X && q.X < r.Max.X+24 && r.Min.Y-24 < q.Y && q.Y < r.Max.Y+24 {
				inside++
			}
		}
		if inside < fewest {
			best, fewest = r, inside
		}
	}
	return best
}

// locator draws the whole diagram small, with the close-up's place in it.
func (c Chromaticity) locator(p *pen, f frame, box vg.Rectangle) {
	g := frame{box, -0.03, 0.66, -0.02, 0.63}
	p.rect(inkPanel, box)
	p.frameRect(inkGrid, 1, box)
	pts := g.points(furniture().spectrum)
	p.line(inkMuted, 1, append(pts, pts[0])...)
	for _, part := range clip(box, g.points(furniture().planckian)) {
		p.line(inkFull, 1.2, part...)
	}
	where := rectangle(g.x(f.x0), g.y(f.y0), g.x(f.x1), g.y(f.y1))
	where = rectangle(max(where.Min.X, box.Min.X), max(where.Min.Y, box.Min.Y), min(where.Max.X, box.Max.X), min(where.Max.Y, box.Max.Y))
	p.frameRect(inkTint, 1.5, where)
}
