package spectrum_test

import (
	"math"
	"slices"
	"sort"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"

	"pgregory.net/rapid"
)

// What follows is the projection's answer worked out another way: from the
// definitions, with a general quadrature and no knowledge of triangles'
// integrals.

// curve is a straight line between samples, and nothing outside them.
type curve struct{ x, y []float64 }

func (c curve) at(l float64) float64 {
	i := sort.SearchFloat64s(c.x, l)
	switch {
	case i < len(c.x) && c.x[i] == l:
		return c.y[i]
	case i == 0 || i == len(c.x):
		return 0
	}
	return c.y[i-1] + (c.y[i]-c.y[i-1])*((l-c.x[i-1])/(c.x[i]-c.x[i-1]))
}

// abs is the curve's magnitude, for scales of error.
func (c curve) abs() curve {
	y := make([]float64, len(c.y))
	for i := range y {
		y[i] = math.Abs(c.y[i])
	}
	return curve{c.x, y}
}

// integrate returns ∫ S(λ) g(λ) dλ from a to b. Between neighbours of the
// samples, the whole nanometres and the limits everything is smooth, and each
// such piece is halved until Simpson's rule agrees with itself.
func (c curve) integrate(a, b float64, g func(float64) float64) float64 {
	a, b = max(a, c.x[0]), min(b, c.x[len(c.x)-1])
	if b <= a {
		return 0
	}
	at := []float64{a, b}
	for _, l := range c.x {
		if l > a && l < b {
			at = append(at, l)
		}
	}
	for l := math.Max(100, math.Ceil(a)); l < math.Min(b, 1500); l++ {
		at = append(at, l)
	}
	slices.Sort(at)
	at = slices.Compact(at)
	sum := 0.0
	for i := 1; i < len(at); i++ {
		sum += adaptive(func(l float64) float64 { return c.at(l) * g(l) }, at[i-1], at[i], 12)
	}
	return sum
}

func adaptive(f func(float64) float64, a, b float64, depth int) float64 {
	m := (a + b) / 2
	whole := (b - a) / 6 * (f(a) + 4*f(m) + f(b))
	halves := (b - a) / 12 * (f(a) + 4*f((a+m)/2) + 2*f(m) + 4*f((m+b)/2) + f(b))
	if depth == 0 || math.Abs(whole-halves) <= 1e-12*math.Abs(halves) {
		return halves
	}
	return adaptive(f, a, m, depth-1) + adaptive(f, m, b, depth-1)
}

// triangles is the function a weighting's entries stand for.
func triangles(w *spectrum.Weighting) func(float64) float64 {
	entry := func(i int) float64 {
		if i < 0 || i >= len(w.W) {
			return 0
		}
		return w.W[i]
	}
	return func(l float64) float64 {
		x := l - float64(w.First)
		i := math.Floor(x)
		return entry(int(i))*(1-(x-i)) + entry(int(i)+1)*(x-i)
	}
}

func weightings() []*spectrum.Weighting {
	o, a := standards.CIE1931(), standards.AlphaOpic()
	return []*spectrum.Weighting{
		o.X, o.Y, o.Z, standards.CIE1964().X, standards.VPrime(),
		a.SCone, a.Rhodopic, a.Melanopic,
		standards.ActinicUV(), standards.BlueLight(), standards.RetinalThermal(),
		standards.Daylight().S1, // has both signs
	}
}

var bandEdges = map[spectrum.Band][2]float64{
	spectrum.UVC: {100, 280}, spectrum.UVB: {280, 315}, spectrum.UVA: {315, 400},
	spectrum.Visible: {380, 780}, spectrum.IRA: {780, 1400},
	spectrum.BelowVisible: {0, 380}, spectrum.AboveVisible: {780, math.MaxFloat64},
}

// project is the sampled projection of a curve that must be acceptable.
func project(t rapid.TB, c curve, kind spectrum.Projection) *spectrum.Projected {
	t.Helper()
	s, err := spectrum.New(spectrum.Relative, c.x, c.y)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Project(kind)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// near fails unless got is within tol·scale of want.
func near(t rapid.TB, what string, got, want, tol, scale float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*scale) {
		t.Errorf("%s: got %.15g, want %.15g: off by %.3g where %.3g is allowed", what, got, want, got-want, tol*scale)
	}
}

// rough draws a rough curve on an uneven axis, negative samples among it.
func rough(t *rapid.T) curve {
	n := rapid.IntRange(2, 120).Draw(t, "samples")
	pitch := rapid.Float64Range(0.05, 10)
	value := rapid.Float64Range(-0.2, 1)
	c := curve{make([]float64, n), make([]float64, n)}
	c.x[0] = rapid.Float64Range(150, 800).Draw(t, "first")
	for i := range c.x {
		if i > 0 {
			c.x[i] = c.x[i-1] + pitch.Draw(t, "pitch")
		}
		c.y[i] = value.Draw(t, "value")
	}
	if c.x[n-1] < 201 { // keep some of it on the grid
		c.x[n-1] = 201
	}
	return c
}

func TestEveryWeightedSumOfARoughCurveIsItsIntegral(t *testing.T) {
	ws := weightings()
	rapid.Check(t, func(t *rapid.T) {
		c := rough(t)
		p := project(t, c, spectrum.Sampled)
		for _, w := range ws {
			g := triangles(w)
			scale := c.abs().integrate(199, 1401, func(l float64) float64 { return math.Abs(g(l)) })
			near(t, w.Name, w.Of(p), c.integrate(199, 1401, g), 1e-9, scale)
		}
		one := func(float64) float64 { return 1 }
		itself := func(l float64) float64 { return l }
		scale := c.abs().integrate(0, 1e9, one)
		for b, e := range bandEdges {
			near(t, "band", p.Power[b], c.integrate(e[0], e[1], one), 1e-9, scale)
		}
		near(t, "total", p.Total, c.integrate(0, 1e9, one), 1e-9, scale)
		near(t, "moment", p.Moment, c.integrate(0, 1e9, itself), 1e-9, c.abs().integrate(0, 1e9, itself))
		// CODATA 2018: the molar Planck constant is 3.990 312 712… × 10⁻¹⁰ J·s/mol.
		const micromol = 1e6 / (3.990312712e-10 * 299792458e9)
		near(t, "photons", p.Micromol, micromol*c.integrate(400, 700, itself), 1e-9, micromol*c.abs().integrate(400, 700, itself))
	})
}

// line samples a Gaussian of unit energy finely and unevenly, ten standard
// deviations either side.
func line(t *rapid.T, centre, fwhm float64) curve {
	sigma := fwhm / (2 * math.Sqrt(2*math.Ln2))
	pitch := rapid.Float64Range(0.1, 0.4) // of the width: 0.005–0.02 nm for 0.05 nm
	var c curve
	for l := centre - 10*sigma; l < centre+10*sigma; l += fwhm * pitch.Draw(t, "pitch") {
		z := (l - centre) / sigma
		c.x = append(c.x, l)
		c.y = append(c.y, math.Exp(-z*z/2)/(sigma*math.Sqrt(2*math.Pi)))
	}
	return c
}

func TestALineNarrowerThanTheGridKeepsItsEnergyAndItsWeight(t *testing.T) {
	ws := weightings()[:8]
	rapid.Check(t, func(t *rapid.T) {
		centre := rapid.Float64Range(380, 780).Draw(t, "centre")
		c := line(t, centre, 0.05)
		p := project(t, c, spectrum.Sampled)
		area := c.integrate(0, 1e9, func(float64) float64 { return 1 })
		near(t, "total", p.Total, area, 1e-9, area)
		sum := 0.0
		for _, b := range p.B {
			sum += b
		}
		near(t, "Σb", sum, area, 1e-9, area)
		for _, w := range ws {
			want := c.integrate(199, 1401, triangles(w))
			near(t, w.Name, w.Of(p), want, 1e-9, math.Abs(want))
		}
		// And against the line itself, not its samples: 0.05 nm at up to
		// 0.02 nm, straight between, is good to a few per cent at worst.
		near(t, "energy of the line", p.Total, 1, 0.03, 1)
		near(t, "centroid of the line", p.Centroid(), centre, 0.002, 1)
	})
}
