package limits

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampassay/light/colorimetry"
)

// Unreachable is the error for conditions that no light meets: which, and by how
// much.
type Unreachable struct {
	// Missed holds the demands that are not met together with the others, empty
	// where it is the colour itself.
	Missed []Miss
	// Distance is how far the colour is, in the CIE 1960 diagram, from what the
	// lines or emitters can mix.
	Distance float64
	// Lines is the number of lines or emitters allowed, where it was limited.
	Lines int
}

// Miss is one demand and the value that comes nearest to it.
type Miss struct {
	Demand  Demand
	Reached float64
}

func (e *Unreachable) Error() string {
	with := ""
	switch {
	case e.Lines == 1:
		with = " with one line"
	case e.Lines > 1:
		with = fmt.Sprintf(" with %d lines", e.Lines)
	}
	if len(e.Missed) == 0 {
		return fmt.Sprintf("limits: no mixture%s has this colour: the nearest misses it by %.2g in the CIE 1960 u, v diagram", with, e.Distance)
	}
	parts := make([]string, len(e.Missed))
	for i, m := range e.Missed {
		parts[i] = fmt.Sprintf("%v cannot be met%s beside the other conditions: %s is as near as light comes, off by %.3g",
			m.Demand, with, strings.Replace(fmt.Sprintf("%.3g", m.Reached), "-", "−", 1), math.Abs(m.Demand.Value-m.Reached))
	}
	return "limits: " + strings.Join(parts, "; ")
}

// ErrUnsettled is in every [*Unsettled].
var ErrUnsettled = errors.New("limits: the method did not settle on an answer")

// Unsettled is the error where the method finds neither the best light nor a
// proof that none meets the conditions, as at an index very near 100. It holds
// the light that the method was at when it stopped.
type Unsettled struct {
	Efficacy float64 // lm/W
	// Missed holds the demands that this light does not meet, empty where it meets
	// all.
	Missed []Miss
}

func (e *Unsettled) Unwrap() error { return ErrUnsettled }

func (e *Unsettled) Error() string {
	if len(e.Missed) == 0 {
		return fmt.Sprintf("%v: a light of %.4g lm/W meets the conditions, but that none is better is not shown; relax the tightest a little", ErrUnsettled, e.Efficacy)
	}
	parts := make([]string, len(e.Missed))
	for i, m := range e.Missed {
		parts[i] = fmt.Sprintf("%v by %.2g", m.Demand, math.Abs(m.Demand.Value-m.Reached))
	}
	return fmt.Sprintf("%v: the light it came to, of %.4g lm/W, misses %s, and that none meets it is not shown; relax the tightest a little",
		ErrUnsettled, e.Efficacy, strings.Join(parts, " and "))
}

// unsettled describes a light at which the method stopped.
func (f *found) unsettled(c *Conditions) error {
	o := f.optimum(c)
	if err := o.describe(c); err != nil {
		return err
	}
	e := &Unsettled{Efficacy: o.Efficacy}
	for _, d := range c.Demands {
		v := o.Value(d.Measure)
		if d.Most && v > d.Value || !d.Most && !(v >= d.Value) {
			e.Missed = append(e.Missed, Miss{d, v})
		}
	}
	return e
}

// uv is a point of the CIE 1960 diagram.
type uv struct{ u, v float64 }

func (p uv) minus(q uv) uv         { return uv{p.u - q.u, p.v - q.v} }
func (p uv) cross(q uv) float64    { return p.u*q.v - p.v*q.u }
func (p uv) at(q uv, t float64) uv { return uv{p.u + t*(q.u-p.u), p.v + t*(q.v-p.v)} }
func (p uv) distance(q uv) float64 { return math.Hypot(p.u-q.u, p.v-q.v) }
func (p uv) toSegment(a, b uv) float64 {
	d := b.minus(a)
	t := 0.0
	if n := d.u*d.u + d.v*d.v; n > 0 {
		t = min(max((d.u*(p.u-a.u)+d.v*(p.v-a.v))/n, 0), 1)
	}
	return p.distance(a.at(b, t))
}

// colourDistance is how far the colour asked for, a point or a stretch of an
// isotherm, lies from all that the palette can mix: the convex hull of the
// columns' chromaticities. 0 is within.
func (q *palette) colourDistance(c Colour) float64 {
	if c.free() {
		return 0
	}
	var from, to uv
	if c.hasCCT() {
		from.u, from.v = colorimetry.UVFromCCT(c.CCT.From, c.Duv.From)
		to.u, to.v = colorimetry.UVFromCCT(c.CCT.From, c.Duv.To)
	} else {
		from.u, from.v = colorimetry.XYZFromXY(c.X, c.Y, 1).UV()
		to = from
	}
	hull := q.hull()
	least := math.Inf(1)
	inside, crosses := len(hull) > 2, false
	for i, a := range hull {
		b := hull[(i+1)%len(hull)]
		least = min(least, from.toSegment(a, b), to.toSegment(a, b), a.toSegment(from, to))
		if b.minus(a).cross(from.minus(a)) < 0 {
			inside = false
		}
		ends := b.minus(a).cross(from.minus(a)) * b.minus(a).cross(to.minus(a))
		sides := to.minus(from).cross(a.minus(from)) * to.minus(from).cross(b.minus(from))
		crosses = crosses || ends < 0 && sides < 0
	}
	if inside || crosses {
		return 0
	}
	return least
}

// hull returns the corners of the convex hull of the columns' chromaticities,
// counter-clockwise (Andrew's monotone chain).
func (q *palette) hull() []uv {
	var all []uv
	for j := range q.columns {
		u, v := colorimetry.XYZ{X: q.xyz[0][j], Y: q.xyz[1][j], Z: q.xyz[2][j]}.UV()
		if q.xyz[1][j] > 1e-6 && !math.IsNaN(u) {
			all = append(all, uv{u, v})
		}
	}
	slices.SortFunc(all, func(a, b uv) int { return cmp.Or(cmp.Compare(a.u, b.u), cmp.Compare(a.v, b.v)) })
	all = slices.Compact(all)
	if len(all) < 3 {
		return all
	}
	half := func(points []uv) []uv {
		var h []uv
		for _, p := range points {
			for len(h) > 1 && h[len(h)-1].minus(h[len(h)-2]).cross(p.minus(h[len(h)-2])) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, p)
		}
		return h[:len(h)-1]
	}
	lower := half(all)
	slices.Reverse(all)
	return append(lower, half(all)...)
}

// misses lists the demands that a solution leaves unmet.
func (p *program) misses(s *solution, demands []Demand) []Miss {
	const negligible = 1e-6
	var out []Miss
	for k, l := range p.limits {
		if l.demand < 0 || s.missed[k] < negligible {
			continue
		}
		d := demands[l.demand]
		out = append(out, Miss{d, d.reached(l.bound-s.missed[k], l.perUnit)})
	}
	return out
}

// reached is the measure where the limit's g has a value.
func (d Demand) reached(g, perUnit float64) float64 {
	switch {
	case d.Measure == Rf:
		return 10 * math.Log1p(math.Exp((100+6.73*g)/10))
	case d.Measure.fidelity():
		return 100 + perUnit*g
	}
	return perUnit * g
}
