package spectrum_test

import (
	"math"
	"slices"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"

	"pgregory.net/rapid"
)

// scaleOf is the largest |b| a curve could have caused: the unit of rounding.
func scaleOf(c curve) float64 {
	return c.abs().integrate(0, 1e9, func(float64) float64 { return 1 })
}

// rounding is the tolerance of the laws, relative to scaleOf: the arithmetic's,
// and that of the wavelengths themselves, an ulp beside the shortest interval.
func rounding(c curve) float64 {
	shortest := inf
	for i := 1; i < len(c.x); i++ {
		shortest = min(shortest, c.x[i]-c.x[i-1])
	}
	last := c.x[len(c.x)-1]
	return 1e-12 + (math.Nextafter(last, inf)-last)/shortest
}

func sameB(t rapid.TB, what string, a, b *spectrum.Projected, tol, scale float64) {
	t.Helper()
	for i := range a.B {
		if !(math.Abs(a.B[i]-b.B[i]) <= tol*scale) {
			t.Fatalf("%s: b at %d nm is %.15g and %.15g", what, spectrum.GridFirst+i, a.B[i], b.B[i])
		}
	}
}

func TestTheProjectionIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rough(t)
		k := rapid.Float64Range(-5, 5).Draw(t, "k")
		other, sum, scaled := make([]float64, len(c.y)), make([]float64, len(c.y)), make([]float64, len(c.y))
		for i := range other {
			other[i] = rapid.Float64Range(-1, 1).Draw(t, "other")
			sum[i] = c.y[i] + other[i]
			scaled[i] = k * c.y[i]
		}
		a, b := project(t, c, spectrum.Sampled), project(t, curve{c.x, other}, spectrum.Sampled)
		both := project(t, curve{c.x, sum}, spectrum.Sampled)
		scale := scaleOf(c) + scaleOf(curve{c.x, other})
		for i := range both.B {
			near(t, "sum", both.B[i], a.B[i]+b.B[i], 1e-12, scale)
		}
		times := project(t, curve{c.x, scaled}, spectrum.Sampled)
		for i := range times.B {
			near(t, "multiple", times.B[i], k*a.B[i], 1e-12, scale*math.Abs(k))
		}
	})
}

func TestASampleAddedOnTheLineChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rough(t)
		i := rapid.IntRange(1, len(c.x)-1).Draw(t, "interval")
		f := rapid.Float64Range(0.1, 0.9).Draw(t, "where")
		l := c.x[i-1] + f*(c.x[i]-c.x[i-1])
		split := curve{slices.Insert(slices.Clone(c.x), i, l), slices.Insert(slices.Clone(c.y), i, c.at(l))}
		a, b := project(t, c, spectrum.Sampled), project(t, split, spectrum.Sampled)
		tol := rounding(split)
		sameB(t, "split", a, b, tol, scaleOf(c))
		near(t, "total", b.Total, a.Total, tol, scaleOf(c))
		for band := range bandEdges {
			near(t, "band", b.Power[band], a.Power[band], tol, scaleOf(c))
		}
	})
}

func TestZeroBeyondAnEndThatIsZeroAddsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rough(t)
		n := len(c.x)
		c.y[0], c.y[n-1] = 0, 0
		gap := rapid.Float64Range(0.05, 50).Draw(t, "gap")
		more := curve{
			slices.Concat([]float64{c.x[0] - gap}, c.x, []float64{c.x[n-1] + gap}),
			slices.Concat([]float64{0}, c.y, []float64{0}),
		}
		a, b := project(t, c, spectrum.Sampled), project(t, more, spectrum.Sampled)
		sameB(t, "zeros appended", a, b, rounding(c), scaleOf(c))
	})
}

func TestAShiftOfWholeNanometresShiftsTheGridAndNothingElse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Wavelengths in 1/64 nm are exact in binary, so the shift is too.
		n := rapid.IntRange(2, 80).Draw(t, "samples")
		shift := rapid.IntRange(1, 60).Draw(t, "shift")
		c := curve{make([]float64, n), make([]float64, n)}
		moved := curve{make([]float64, n), c.y}
		l := float64(rapid.IntRange(300*64, 600*64).Draw(t, "first")) / 64
		for i := range c.x {
			c.x[i], moved.x[i] = l, l+float64(shift)
			c.y[i] = rapid.Float64Range(-1, 1).Draw(t, "value")
			l += float64(rapid.IntRange(1, 400).Draw(t, "pitch")) / 64
		}
		a, b := project(t, c, spectrum.Sampled), project(t, moved, spectrum.Sampled)
		for i := range len(a.B) - shift {
			if a.B[i] != b.B[i+shift] {
				t.Fatalf("b at %d nm is %v, and after the shift %v", spectrum.GridFirst+i, a.B[i], b.B[i+shift])
			}
		}
	})
}

func TestTheTrianglesAddUpToOneAndToTheWavelength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rough(t)
		if c.x[0] < spectrum.GridFirst { // the law holds within the grid
			c.x = slices.Clone(c.x)
			shift := spectrum.GridFirst - c.x[0]
			for i := range c.x {
				c.x[i] += shift
			}
		}
		if c.x[len(c.x)-1] > spectrum.GridLast {
			return
		}
		p := project(t, c, spectrum.Sampled)
		sum, moment := 0.0, 0.0
		for i, b := range p.B {
			sum += b
			moment += b * float64(spectrum.GridFirst+i)
		}
		scale := scaleOf(c)
		near(t, "Σb", sum, p.Total, rounding(c), scale)
		near(t, "Σbλ", moment, p.Moment, rounding(c), scale*spectrum.GridLast)
	})
}

func TestDisjointBandsAddUpToTheTotal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rough(t)
		p := project(t, c, spectrum.Sampled)
		sum := p.Power[spectrum.BelowVisible] + p.Power[spectrum.Visible] + p.Power[spectrum.AboveVisible]
		near(t, "sum of the three", sum, p.Total, rounding(c), scaleOf(c))
		if p.Total > 0 {
			shares := p.Share(spectrum.BelowVisible) + p.Share(spectrum.Visible) + p.Share(spectrum.AboveVisible)
			near(t, "sum of the shares", shares, 1, rounding(c), scaleOf(c)/p.Total)
		} else if !math.IsNaN(p.Share(spectrum.Visible)) || !math.IsNaN(p.Centroid()) {
			t.Fatal("a share or a centroid of nothing is a number")
		}
	})
}

// The published tables, summed as their publications sum them.

func TestATableIsSummedAtItsOwnStep(t *testing.T) {
	v := standards.V()
	for _, il := range standards.Illuminants() {
		x, y := il.Spectrum.Axis(), il.Spectrum.Values()
		if spectrum.Guess(x) != spectrum.Tabulated {
			t.Errorf("%s: not recognised as a table", il.Name)
		}
		p, err := il.Spectrum.Project(spectrum.Tabulated)
		if err != nil {
			t.Fatal(err)
		}
		if p.Step != 5 {
			t.Errorf("%s: step %d nm, want 5", il.Name, p.Step)
		}
		total, luminous := 0.0, 0.0
		for i, l := range x {
			if b := p.B[int(l)-spectrum.GridFirst]; b != y[i]*5 {
				t.Errorf("%s: b at %g nm is %v, want exactly %v", il.Name, l, b, y[i]*5)
			}
			total += y[i] * 5
			luminous += y[i] * v.At(l) * 5
		}
		// The order of summation differs, nothing else.
		near(t, il.Name+" total", p.Total, total, 1e-14, total)
		near(t, il.Name+" ∫SV", v.Of(p), luminous, 1e-14, luminous)
		if p.Covers(x[0]-2.5, x[len(x)-1]+2.5) == p.Covers(x[0]-2.6, x[len(x)-1]) {
			t.Errorf("%s: the end points do not stand for half a step each", il.Name)
		}
	}
}

func TestATablesBandsTakeInTheirEdges(t *testing.T) {
	// A flat table at 5 nm, 380–780: 81 ordinates, every one of them visible.
	var c curve
	for l := 380.0; l <= 780; l += 5 {
		c.x, c.y = append(c.x, l), append(c.y, 1)
	}
	p := project(t, c, spectrum.Tabulated)
	near(t, "visible", p.Power[spectrum.Visible], 405, 0, 0)
	near(t, "below", p.Power[spectrum.BelowVisible], 0, 0, 0)
	near(t, "above", p.Power[spectrum.AboveVisible], 0, 0, 0)
	near(t, "UVA", p.Power[spectrum.UVA], 20, 0, 0) // 380, 385, 390, 395
	// 400–700 nm of a flat curve holds Σλ = 300·550 whichever way it is read.
	q := project(t, c, spectrum.Sampled)
	near(t, "photons", p.Micromol, q.Micromol, 1e-13, q.Micromol)
	near(t, "photons", q.Micromol, 300*spectrum.MicromolPerJoule(550), 1e-13, q.Micromol)
}

func TestGuessKnowsATableFromAnInstrument(t *testing.T) {
	run := func(first, last, step float64) (axis []float64) {
		for l := first; l <= last; l += step {
			axis = append(axis, l)
		}
		return axis
	}
	gap := run(380, 780, 5)
	gap = slices.Delete(gap, 40, 41)
	offset := run(380, 780, 1)
	for i := range offset {
		offset[i] += 0.02
	}
	for _, c := range []struct {
		name string
		axis []float64
		want spectrum.Projection
	}{
		{"1 nm", run(360, 830, 1), spectrum.Tabulated},
		{"5 nm", run(380, 780, 5), spectrum.Tabulated},
		{"10 nm", run(380, 730, 10), spectrum.Tabulated},
		{"20 nm", run(400, 700, 20), spectrum.Tabulated},
		{"2 nm is nobody's table", run(380, 780, 2), spectrum.Sampled},
		{"half a nanometre", run(380, 780, 0.5), spectrum.Sampled},
		{"5 nm from 382", run(382, 782, 5), spectrum.Sampled},
		{"one entry left out", gap, spectrum.Sampled},
		{"not on whole nanometres", offset, spectrum.Sampled},
		{"diode array", []float64{339.91, 340.29, 340.67, 341.05}, spectrum.Sampled},
		{"one sample", []float64{555}, spectrum.Sampled},
		{"none", nil, spectrum.Sampled},
		{"huge step", []float64{1e9, 2e9}, spectrum.Sampled},
	} {
		if got := spectrum.Guess(c.axis); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
