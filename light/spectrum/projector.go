package spectrum

import (
	"fmt"
	"math"
)

// Projector carries one wavelength axis onto the grid. The projection is linear
// in the samples, so its coefficients are worked out once and serve every
// spectrum on that axis. A Projector does not change and may be shared.
type Projector struct {
	axis  []float64
	spans []float64 // from the sample before to the one after, nm
	kind  Projection
	step  int
	pitch float64

	// Grid point rows[r].node gathers coef[rows[r].lo:rows[r].hi] against the
	// samples from rows[r].first on.
	rows []row
	coef []float64

	// Linear functionals of the samples, each over a contiguous run.
	moment, micromol functional
	segments         [len(segmentEdges) - 1]functional
}

type row struct{ node, first, lo, hi int32 }

// functional is Σ c[i] values[first+i].
type functional struct {
	first int
	c     []float64
}

func (f *functional) of(values []float64) float64 { return Dot(f.c, values[f.first:]) }

// The bands, and the whole, are unions of these disjoint segments (nm).
var segmentEdges = [...]float64{0, 100, 280, 315, 380, 400, 780, 1400, math.MaxFloat64}

// bandSegments gives each band's first segment and the one after its last.
var bandSegments = [bandCount][2]int{
	UVC: {1, 2}, UVB: {2, 3}, UVA: {3, 5}, Visible: {4, 6}, IRA: {6, 7},
	BelowVisible: {0, 4}, AboveVisible: {6, 8},
}

// Guess returns the projection a bare axis suggests: Tabulated where every
// wavelength is a multiple of one of the steps at which tables are published
// (1, 5, 10 and 20 nm) and none is left out, else Sampled.
func Guess(wavelengths []float64) Projection {
	if step, ok := tableStep(wavelengths); ok {
		switch step {
		case 1, 5, 10, 20:
			if math.Mod(wavelengths[0], float64(step)) == 0 {
				return Tabulated
			}
		}
	}
	return Sampled
}

// tableStep returns the even whole-nanometre step of an axis of whole
// nanometres, and whether it has one.
func tableStep(wavelengths []float64) (int, bool) {
	if len(wavelengths) < 2 {
		return 0, false
	}
	step := wavelengths[1] - wavelengths[0]
	if step < 1 || step != math.Trunc(step) || step > GridLen {
		return 0, false
	}
	for i, l := range wavelengths {
		if l != math.Trunc(l) || (i > 0 && l-wavelengths[i-1] != step) {
			return 0, false
		}
	}
	return int(step), true
}

// NewProjector prepares the projection of an axis. It fails where [CheckAxis]
// does, where nothing of the axis lies on the grid (200–1400 nm), and, for
// Tabulated, where the axis is not an even run of whole nanometres.
func NewProjector(wavelengths []float64, kind Projection) (*Projector, error) {
	if err := CheckAxis(wavelengths); err != nil {
		return nil, err
	}
	n := len(wavelengths)
	if wavelengths[0] > GridLast || wavelengths[n-1] < GridFirst {
		return nil, fmt.Errorf("spectrum: %g–%g nm lies outside the %d–%d nm of the tables",
			wavelengths[0], wavelengths[n-1], GridFirst, GridLast)
	}
	p := &Projector{axis: append([]float64(nil), wavelengths...), kind: kind, step: 1}
	p.spans = make([]float64, n)
	for i := range p.axis {
		p.spans[i] = p.axis[min(i+1, n-1)] - p.axis[max(i-1, 0)]
		p.pitch = max(p.pitch, p.axis[i]-p.axis[max(i-1, 0)])
	}
	if kind == Tabulated {
		step, ok := tableStep(p.axis)
		if !ok {
			return nil, fmt.Errorf("spectrum: only an even run of whole nanometres can be read as a table: read this curve as sampled")
		}
		p.step = step
		p.tabulate()
		return p, nil
	}
	p.sample()
	return p, nil
}

// Axis returns the wavelengths in nm; not to be changed.
func (p *Projector) Axis() []float64 { return p.axis }

// Kind returns how the samples are read.
func (p *Projector) Kind() Projection { return p.kind }

// Project fills dst from one spectrum's values on the projector's axis. The
// caller sets dst.Quantity. It panics when the number of values is not that of
// the axis, and does not allocate.
func (p *Projector) Project(dst *Projected, values []float64) {
	if len(values) != len(p.axis) {
		panic("spectrum: values do not match the projector's axis")
	}
	clear(dst.B[:])
	for _, r := range p.rows {
		coef := p.coef[r.lo:r.hi]
		v := values[r.first:][:len(coef)]
		sum := 0.0
		for i, c := range coef {
			sum += c * v[i]
		}
		dst.B[r.node] = sum
	}
	dst.Kind, dst.Step, dst.Pitch = p.kind, p.step, p.pitch
	dst.From, dst.To = p.axis[0], p.axis[len(p.axis)-1]
	dst.Moment = p.moment.of(values)
	dst.Micromol = p.micromol.of(values) / photonMoleJouleNm * 1e6
	var seg [len(segmentEdges) - 1]float64
	dst.Total = 0
	for i := range seg {
		seg[i] = p.segments[i].of(values)
		dst.Total += seg[i]
	}
	for b, r := range bandSegments {
		sum := 0.0
		for i := r[0]; i < r[1]; i++ {
			sum += seg[i]
		}
		dst.Power[b] = sum
	}
	dst.shape(p.axis, p.spans, values)
}

// tabulate reads the samples as point masses: bᵢ = S(λᵢ) Δλ.
func (p *Projector) tabulate() {
	h := float64(p.step)
	masses := func(a, b float64, weight func(l float64) float64) functional {
		f := functional{}
		for i, l := range p.axis {
			if l < a || l > b {
				continue
			}
			if len(f.c) == 0 {
				f.first = i
			}
			f.c = append(f.c, weight(l))
		}
		return f
	}
	for i, l := range p.axis {
		if l >= GridFirst && l <= GridLast {
			at := int32(len(p.coef))
			p.rows = append(p.rows, row{int32(l) - GridFirst, int32(i), at, at + 1})
			p.coef = append(p.coef, h)
		}
	}
	p.moment = masses(0, math.MaxFloat64, func(l float64) float64 { return h * l })
	p.micromol = masses(400, 700, func(l float64) float64 {
		if l == 400 || l == 700 { // an end point stands for half a step each way
			return h * l / 2
		}
		return h * l
	})
	// A point on an edge belongs to the segment above it, but 780 nm is the
	// visible's own: the usual sums run from 380 to 780 with both ends in.
	for s := range p.segments {
		a, b := segmentEdges[s], math.Nextafter(segmentEdges[s+1], 0)
		if a == 780 {
			a = math.Nextafter(a, math.MaxFloat64)
		}
		if segmentEdges[s+1] == 780 {
			b = 780
		}
		p.segments[s] = masses(a, b, func(float64) float64 { return h })
	}
}

// sample reads a straight line between the samples.
func (p *Projector) sample() {
	axis := p.axis
	n := len(axis)
	lo := int(max(GridFirst, math.Floor(axis[0])))
	hi := int(min(GridLast, math.Ceil(axis[n-1])))
	first := 0
	for node := lo; node <= hi; node++ {
		centre := float64(node)
		// Samples whose own triangle meets (centre−1, centre+1).
		for first+1 < n && axis[first+1] <= centre-1 {
			first++
		}
		last := first
		for last+1 < n && axis[last] < centre+1 {
			last++
		}
		at := int32(len(p.coef))
		for range last - first + 1 {
			p.coef = append(p.coef, 0)
		}
		c := p.coef[at:]
		for k := first; k < last; k++ {
			// The triangle has a kink at its centre: integrate either side.
			addInterval(c[k-first:], axis[k], axis[k+1], centre-1, centre, func(l float64) float64 { return l - (centre - 1) })
			addInterval(c[k-first:], axis[k], axis[k+1], centre, centre+1, func(l float64) float64 { return centre + 1 - l })
		}
		p.rows = append(p.rows, row{int32(node - GridFirst), int32(first), at, int32(len(p.coef))})
	}
	one := func(float64) float64 { return 1 }
	itself := func(l float64) float64 { return l }
	p.moment = integral(axis, 0, math.MaxFloat64, itself)
	p.micromol = integral(axis, 400, 700, itself)
	for s := range p.segments {
		p.segments[s] = integral(axis, segmentEdges[s], segmentEdges[s+1], one)
	}
}

// integral returns ∫ S(λ) g(λ) dλ from a to b as a functional of the samples;
// g must be linear.
func integral(axis []float64, a, b float64, g func(float64) float64) functional {
	var f functional
	for k := 0; k+1 < len(axis); k++ {
		if axis[k+1] <= a || axis[k] >= b {
			continue
		}
		if len(f.c) == 0 {
			f.first = k
			f.c = append(f.c, 0)
		}
		f.c = append(f.c, 0)
		addInterval(f.c[k-f.first:], axis[k], axis[k+1], a, b, g)
	}
	return f
}

// addInterval adds to c[0] and c[1] the weights of the samples at x0 and x1 in
// ∫ S(λ) g(λ) dλ over the part of [x0, x1] within [a, b], with S straight from
// x0 to x1. For linear g the integrand is quadratic and Simpson's rule exact.
func addInterval(c []float64, x0, x1, a, b float64, g func(float64) float64) {
	a, b = max(a, x0), min(b, x1)
	if b <= a {
		return
	}
	m := a + (b-a)/2
	ga, gm, gb := g(a)*(b-a)/6, 4*g(m)*(b-a)/6, g(b)*(b-a)/6
	h := x1 - x0
	c[0] += (ga*(x1-a) + gm*(x1-m) + gb*(x1-b)) / h
	c[1] += (ga*(a-x0) + gm*(m-x0) + gb*(b-x0)) / h
}
