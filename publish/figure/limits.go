package figure

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// Limits shows how far light can go: the largest luminous efficacy over what is
// demanded of it, as one curve or a family, and lamps as dots below them.
type Limits struct {
	Quantity string // over which, e.g. "Ra" or "CCT"
	Unit     string // its unit; empty for none
	Curves   []LimitCurve
	Lamps    []LimitLamp
	Electric bool // lumens per electrical watt, not per watt of radiation

	Title string // empty for the ends of the first curve
	Note  string
}

// LimitCurve is one curve of [Limits], X rising.
type LimitCurve struct {
	Name string    // lettered at its end, e.g. "Ra 80"; may be empty
	X, Y []float64 // the demanded value, and lm/W
}

// LimitLamp is a lamp under its limit.
type LimitLamp struct {
	Name string
	X, Y float64
}

// Picture checks the curves and returns the picture.
func (l Limits) Picture() (*Picture, error) {
	if len(l.Curves) == 0 {
		return nil, fmt.Errorf("figure: limits: no curve given")
	}
	what := "luminous efficacy of radiation / lm/W"
	if l.Electric {
		what = "lumens per electrical watt / lm/W"
	}
	axis := l.Quantity
	if l.Unit != "" {
		axis += " / " + l.Unit
	}
	p := &Picture{
		Name:    "limits",
		Title:   l.Title,
		Note:    l.Note,
		Columns: []string{"curve", axis, what},
		drawing: l,
	}
	for _, c := range l.Curves {
		if err := checkPoints("limits: "+c.Name, c.X, c.Y); err != nil {
			return nil, err
		}
		for i, x := range c.X {
			p.Rows = append(p.Rows, []string{c.Name, significant(x, 4), fixed(c.Y[i], 1)})
		}
	}
	for _, lamp := range l.Lamps {
		if !finite(lamp.X, lamp.Y) || lamp.Y < 0 {
			return nil, fmt.Errorf("figure: limits: %s has no place", lamp.Name)
		}
		p.Rows = append(p.Rows, []string{lamp.Name, significant(lamp.X, 4), fixed(lamp.Y, 1)})
	}
	c := l.Curves[0]
	last := len(c.X) - 1
	says := fmt.Sprintf("at most %s lm/W at %s, %s lm/W at %s", fixed(c.Y[0], 0), l.value(c.X[0]), fixed(c.Y[last], 0), l.value(c.X[last]))
	if c.Name != "" {
		says = c.Name + ": " + says
	}
	if p.Title == "" {
		p.Title = sentence(says)
	}
	p.Alt = fmt.Sprintf("Curves of the largest %s over %s. ", what, axis) + sentence(says) + "."
	for _, lamp := range l.Lamps {
		p.Alt += fmt.Sprintf(" %s: %s lm/W at %s.", lamp.Name, fixed(lamp.Y, 0), l.value(lamp.X))
	}
	return p, nil
}

// value writes an abscissa with its unit, or its quantity where it has none.
func (l Limits) value(x float64) string {
	s := fixed(x, 0)
	if math.Abs(x) < 10 {
		s = significant(x, 3)
	}
	if l.Unit == "" {
		return l.Quantity + " " + s
	}
	return s + " " + l.Unit
}

// checkPoints reports what keeps points from being joined: none, unequal
// lengths, an abscissa that does not rise, a value that is not finite.
func checkPoints(name string, x, y []float64) error {
	if len(x) == 0 || len(x) != len(y) {
		return fmt.Errorf("figure: %s: %d places and %d values make no curve", name, len(x), len(y))
	}
	for i := range x {
		if !finite(x[i], y[i]) || i > 0 && x[i] <= x[i-1] {
			return fmt.Errorf("figure: %s: point %d is not finite, or does not rise", name, i+1)
		}
	}
	return nil
}

const (
	limitsHeight = 300
	limitsUnit   = 30 // px above the curves, for what they are
)

func (l Limits) height(vg.Length) vg.Length { return limitsHeight }

func (l Limits) draw(p *pen, box vg.Rectangle) {
	f := l.frame(box)
	xs := ticks(f.x0, f.x1, max(int(f.box.Max.X-f.box.Min.X)/72, 2))
	p.gridX(f, xs)
	p.gridY(f, every(limitsStep(f.y0, f.y1), f.y0, f.y1))
	unit := l.Quantity
	if l.Unit != "" {
		unit = l.Unit
	}
	p.letterX(f, xs, f.box.Min.Y, box.Max.X, unit)
	what := "lm/W, luminous efficacy of radiation"
	if l.Electric {
		what = "lm/W, lumens per electrical watt"
	}
	p.text(small, inkMuted, box.Min.X, box.Max.Y-small.size, left, what)

	for _, c := range l.Curves {
		var pts []vg.Point
		for i := range c.X {
			pts = append(pts, f.at(c.X[i], c.Y[i]))
		}
		for _, part := range clip(f.box, pts) {
			p.line(inkTint, 2, part...)
		}
		if len(pts) <= 12 || len(l.Curves) == 1 {
			for _, at := range pts {
				p.disc(inkPanel, at, 3.5)
				p.disc(inkTint, at, 2.5)
			}
		}
	}
	l.letterCurves(p, f)
	for _, lamp := range l.Lamps {
		at := f.at(lamp.X, lamp.Y)
		p.disc(inkPanel, at, 6)
		p.disc(inkFull, at, 4.5)
		x, align := at.X+9, left
		if w := label.width(lamp.Name); x+w > f.box.Max.X {
			x, align = at.X-9, right
		}
		p.textOn(label, inkFull, x, at.Y-label.middle(), align, lamp.Name)
	}
}

// frame is where the curves go: round ends that hold them and the lamps.
func (l Limits) frame(box vg.Rectangle) frame {
	x0, x1, y0, y1 := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	take := func(x, y float64) {
		x0, x1, y0, y1 = min(x0, x), max(x1, x), min(y0, y), max(y1, y)
	}
	names := vg.Length(0)
	for _, c := range l.Curves {
		for i := range c.X {
			take(c.X[i], c.Y[i])
		}
		names = max(names, label.width(c.Name))
	}
	for _, lamp := range l.Lamps {
		take(lamp.X, lamp.Y)
	}
	if x0 == x1 {
		x0, x1 = x0-1, x1+1
	}
	step := limitsStep(y0, y1)
	y0, y1 = math.Floor(y0/step)*step, math.Ceil(y1/step)*step
	if y0 == y1 {
		y1 += step
	}
	margin := 0.02 * (x1 - x0)
	f := frame{box: box, x0: x0 - margin, x1: x1 + margin, y0: y0, y1: y1}
	f.box.Max.Y -= limitsUnit
	f.box.Min.Y += letterHeight
	f.box.Min.X += widest(every(step, y0, y1)) + 10
	if names > 0 {
		f.box.Max.X -= names + 10
	}
	f.box.Max.X -= 6
	return f
}

// limitsStep is the distance of the lines that curves from lo to hi are read by.
func limitsStep(lo, hi float64) float64 { return roundStep(max(hi-lo, 1) / 6) }

// letterCurves names each curve at its right end, the names moved apart where
// the ends are close.
func (l Limits) letterCurves(p *pen, f frame) {
	const apart = 15
	type ending struct {
		name string
		y    vg.Length
	}
	var all []ending
	for _, c := range l.Curves {
		if c.Name != "" {
			all = append(all, ending{c.Name, f.y(c.Y[len(c.Y)-1])})
		}
	}
	slices.SortStableFunc(all, func(a, b ending) int {
		switch {
		case a.y < b.y:
			return -1
		case a.y > b.y:
			return 1
		}
		return 0
	})
	for i := 1; i < len(all); i++ {
		all[i].y = max(all[i].y, all[i-1].y+apart)
	}
	if n := len(all); n > 0 {
		if over := all[n-1].y - f.box.Max.Y; over > 0 {
			for i := range all {
				all[i].y -= over
			}
		}
	}
	for _, e := range all {
		p.text(label, inkFull, f.box.Max.X+8, e.y-label.middle(), left, e.name)
	}
}
