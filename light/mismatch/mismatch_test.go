package mismatch

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampassay/light/photometry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.8g, want %.8g ± %g", what, got, want, tolerance)
	}
}

// sampled evaluates a function at whole nanometres.
func sampled(from, to float64, f func(nm float64) float64) (nm, v []float64) {
	for l := from; l <= to; l++ {
		nm, v = append(nm, l), append(v, f(l))
	}
	return nm, v
}

func meter(t testing.TB, from, to float64, f func(nm float64) float64) *Response {
	t.Helper()
	r, err := New(sampled(from, to, f))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func light(t testing.TB, from, to float64, f func(nm float64) float64) *spectrum.Projected {
	t.Helper()
	nm, v := sampled(from, to, f)
	s, err := spectrum.New(spectrum.Relative, nm, v)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func gauss(centre, fwhm float64) func(float64) float64 {
	return func(nm float64) float64 { d := (nm - centre) / fwhm; return math.Exp(-4 * math.Ln2 * d * d) }
}

func correction(t testing.TB, r *Response, p *spectrum.Projected) float64 {
	t.Helper()
	f, err := r.Correction(p)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestAMeterThatIsVNeedsNoCorrection(t *testing.T) {
	r := meter(t, 360, 830, func(nm float64) float64 { return 42 * standards.V().At(nm) })
	near(t, "f1′", r.F1Prime(), 0, 1e-12)
	for _, centre := range []float64{450, 555, 660} {
		near(t, "correction", correction(t, r, light(t, 380, 780, gauss(centre, 20))), 1, 1e-12)
	}
}

func TestNoMeterNeedsACorrectionForIlluminantA(t *testing.T) {
	for _, f := range []func(float64) float64{gauss(540, 90), gauss(580, 130), func(float64) float64 { return 1 }} {
		near(t, "correction", correction(t, meter(t, 350, 830, f), illuminantA()), 1, 1e-12)
	}
}

func TestIlluminantAIsThePublishedTable(t *testing.T) {
	il, err := standards.IlluminantByName("A")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for i, nm := range il.Spectrum.Axis() {
		if nm >= 300 && nm <= 830 {
			// The table is on the scale of 100 at 560 nm, to six figures.
			near(t, "illuminant A", 100*illuminantA().B[int(nm)-spectrum.GridFirst], il.Spectrum.Values()[i], 1e-5*il.Spectrum.Values()[i]+5e-7)
			n++
		}
	}
	if n < 100 {
		t.Errorf("only %d entries were compared", n)
	}
}

// A thermal detector responds to all radiation alike: its correction is the
// ratio of the luminous efficacies of radiation.
func TestAFlatResponseIsCorrectedByLuminousEfficacy(t *testing.T) {
	flat := meter(t, 300, 830, func(float64) float64 { return 0.3 })
	for _, centre := range []float64{470, 589, 640} {
		p := light(t, 360, 830, gauss(centre, 15))
		near(t, "correction", correction(t, flat, p), photometry.LER(p)/photometry.LER(illuminantA()), 1e-6)
	}
}

// The index of a flat response by quadrature of its own, in steps of 1 pm. As
// everywhere, a curve falls to zero within one nanometre beyond its end.
func TestTheIndexOfAFlatResponse(t *testing.T) {
	flat := meter(t, 360, 830, func(float64) float64 { return 7 })
	ramp := func(nm float64) float64 { return max(0, min(1, nm-359, 831-nm)) }
	planck := func(nm float64) float64 { return standards.Planck(nm, 1.4388*2848/1.4350) }
	var av, as, v, between float64
	const step = 1e-3
	for nm := 359 + step/2; nm < 831; nm += step {
		av += planck(nm) * standards.V().At(nm)
		as += planck(nm) * ramp(nm)
	}
	for nm := 359 + step/2; nm < 831; nm += step {
		v += standards.V().At(nm)
		between += math.Abs(av/as*ramp(nm) - standards.V().At(nm))
	}
	near(t, "f1′", flat.F1Prime(), between/v, 1e-5) // the sum over A is at whole nanometres
}

// A leak L on top of V leaves kL − (1−k)V, with k the adjustment to illuminant
// A: the index lies between difference and sum of the two areas.
func TestTheIndexDoesNotDependOnScaleAndMeasuresWhatIsAdded(t *testing.T) {
	v := standards.V()
	rapid.Check(t, func(t *rapid.T) {
		scale := rapid.Float64Range(1e-6, 1e6).Draw(t, "scale")
		leak := rapid.Float64Range(0, 0.05).Draw(t, "leak")
		at := rapid.Float64Range(430, 750).Draw(t, "place")
		f := func(nm float64) float64 { return v.At(nm) + leak*gauss(at, 30)(nm) }
		one, err := New(sampled(360, 830, f))
		if err != nil {
			t.Fatal(err)
		}
		other, err := New(sampled(360, 830, func(nm float64) float64 { return scale * f(nm) }))
		if err != nil {
			t.Fatal(err)
		}
		if a, b := one.F1Prime(), other.F1Prime(); math.Abs(a-b) > 1e-9 {
			t.Errorf("f1′ is %g at one scale and %g at another", a, b)
		}
		added := one.k * leak * 30 * math.Sqrt(math.Pi/(4*math.Ln2)) / v.Integral(360, 830)
		taken := 1 - one.k
		if got := one.F1Prime(); got > added+taken+1e-6 || got < math.Abs(added-taken)-1e-6 {
			t.Errorf("f1′ is %g, want between %g and %g", got, math.Abs(added-taken), added+taken)
		}
	})
}

func TestASmallIndexBoundsNothingForALine(t *testing.T) {
	// A leak in the deep red that adds less than 2 % to the index spoils the
	// reading of a red line by more than a quarter.
	r := meter(t, 360, 830, func(nm float64) float64 { return standards.V().At(nm) + 0.02*gauss(680, 25)(nm) })
	if f := r.F1Prime(); f > 0.02 {
		t.Errorf("f1′ is %g", f)
	}
	if f := correction(t, r, light(t, 380, 780, gauss(680, 5))); f > 0.75 {
		t.Errorf("the correction is %g", f)
	}
}

func TestWhatIsNoMeterOrNoLampIsSaidInOneSentence(t *testing.T) {
	one := func(float64) float64 { return 1 }
	for _, c := range []struct {
		nm, v []float64
		want  string
	}{
		{[]float64{400, 500}, []float64{1}, "2 wavelengths but 1 values"},
		{[]float64{500, 400}, []float64{1, 1}, "does not increase"},
		{[]float64{380, 780}, []float64{1, math.NaN()}, "not a finite number"},
		{[]float64{500, 780}, []float64{1, 1}, "of V(λ) lies outside"},
		{[]float64{380, 780}, []float64{0, 0}, "with nothing"},
		{[]float64{380, 780}, []float64{-1, -1}, "with nothing"},
	} {
		_, err := New(c.nm, c.v)
		if err == nil || !strings.HasPrefix(err.Error(), "mismatch: ") || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want a sentence with %q", err, c.want)
		}
	}
	r := meter(t, 380, 780, one)
	for _, c := range []struct {
		p    *spectrum.Projected
		want string
	}{
		{light(t, 500, 780, one), "the lamp's spectrum covers only 500–780 nm"},
		{light(t, 380, 780, func(float64) float64 { return 0 }), "sums to nothing"},
		{light(t, 380, 780, func(float64) float64 { return -1 }), "sums to nothing"},
	} {
		if _, err := r.Correction(c.p); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want a sentence with %q", err, c.want)
		}
	}
}
