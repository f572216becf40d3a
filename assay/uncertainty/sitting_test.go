package uncertainty

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/spectrum"
)

func assess(t testing.TB, s *Sitting, o Options) *Report {
	t.Helper()
	r, err := s.Assess(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func figure(t testing.TB, r *Report, id quantity.ID) *Figure {
	t.Helper()
	f := r.Figure(id)
	if f == nil {
		t.Fatalf("%s has no figure", quantity.Get(id).Key)
	}
	return f
}

func TestExactInputsLeaveNoUncertainty(t *testing.T) {
	s := sittingOf(t, triBand)
	s.Spectrometer, s.Factors = Spectrometer{}, nil
	r := assess(t, s, Options{Draws: 100})
	p := projectedOf(t, s.Spectrum.Axis(), s.Spectrum.Values())
	want := new(assay.Result)
	assay.NewEvaluator().Evaluate(p, &s.Given, want)
	for _, id := range assay.Default() {
		v, ok := want.Value(id)
		f := r.Figure(id)
		if !ok {
			if f != nil {
				t.Errorf("%s has a figure and no value", quantity.Get(id).Key)
			}
			continue
		}
		if f == nil || f.Value() != v || f.Low != v || f.High != v || f.Law.U != 0 || len(f.Law.Budget) != 0 {
			t.Errorf("%s: %+v, want exactly %g", quantity.Get(id).Key, f, v)
		}
	}
}

func TestFactorsOfFluxAndPowerCombineAsTheyShould(t *testing.T) {
	s := sittingOf(t, whiteLED)
	s.Spectrometer = Spectrometer{}
	supply := Factor{Input: Input{Name: "supply", Distribution: Normal(0, 0.01)}, Light: 3.4, Power: 1.6, Lamp: 1.5}
	s.Given.PowerLamp = assay.Measured(7)
	distance := Factor{Input: Input{Name: "distance", Distribution: Normal(0, 0.01)}, Flux: 2}
	meter := Factor{Input: Input{Name: "meter", Distribution: Rectangular(0, 0.03)}, Power: 1}
	s.Factors = []Factor{supply, distance, meter}
	r := assess(t, s, Options{Seed: 1, Draws: 20_000})
	for _, c := range []struct {
		id   quantity.ID
		want float64 // relative standard uncertainty
		best string  // what to improve first
	}{
		{quantity.LuminousFlux, math.Hypot(0.034, 0.02), "supply"},
		{quantity.Power, math.Hypot(0.016, 0.03/math.Sqrt(3)), "meter"},
		{quantity.PowerLamp, 0.015, "supply"},
		// The supply raises both, and what is left of it is the difference.
		{quantity.LuminousEfficacy, math.Sqrt(0.018*0.018 + 0.02*0.02 + 0.0003), "distance"},
	} {
		f := figure(t, r, c.id)
		// The law takes differences over one u, of which the curvature is 1e-3.
		near(t, quantity.Get(c.id).Key+" by the law", f.Law.U/f.Value(), c.want, 0.002*c.want)
		near(t, quantity.Get(c.id).Key+" by draws", f.StdDev/f.Value(), c.want, 0.02*c.want)
		if first := r.Inputs[f.Law.Budget[0].Input].Name; first != c.best {
			t.Errorf("%s: improve %q first, want %q", quantity.Get(c.id).Key, first, c.best)
		}
	}
	if f := figure(t, r, quantity.CCT); f.Law.U != 0 || f.StdDev != 0 {
		t.Errorf("the colour depends on the scale: %+v", f)
	}
}

func TestAKnownCorrectionIsApplied(t *testing.T) {
	s := sittingOf(t, whiteLED)
	s.Spectrometer = Spectrometer{}
	s.Factors = []Factor{{Input: Input{Name: "mismatch", Distribution: Normal(0.03, 0.01)}, Flux: 1}}
	near(t, "corrected flux", figure(t, assess(t, s, Options{Draws: 100}), quantity.LuminousFlux).Value(), 806*1.03, 1e-9)
}

func TestOneNoisySampleShows(t *testing.T) {
	s := sittingOf(t, whiteLED)
	s.Spectrometer, s.Factors = Spectrometer{Noise: Noise{Samples: make([]float64, s.Spectrum.Len())}}, nil
	s.Spectrometer.Noise.Samples[1000] = 1
	if f := figure(t, assess(t, s, Options{Draws: 200}), quantity.LER); !(f.StdDev > 0) {
		t.Error("one noisy sample does not show")
	}
}

func TestASittingIsTheSameWithAnyNumberOfWorkers(t *testing.T) {
	s := sittingOf(t, triBand)
	s.Correlations = []Correlation{{WavelengthOffset, WavelengthStretch, 0.6}}
	var first *Report
	for _, workers := range []int{1, 2, 5} {
		r := assess(t, s, Options{Seed: 12, Draws: 230, Workers: workers})
		if first == nil {
			first = r
			continue
		}
		for i := range first.Figures {
			id := first.Figures[i].ID
			if r.Figures[i].Estimate != first.Figures[i].Estimate {
				t.Errorf("%s with %d workers: %+v, want %+v", quantity.Get(id).Key, workers, r.Figures[i].Estimate, first.Figures[i].Estimate)
			}
		}
		for i := range assay.Default() {
			same := func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }
			if !slices.EqualFunc(r.Simulation.Values(i), first.Simulation.Values(i), same) {
				t.Errorf("the draws of output %d differ with %d workers", i, workers)
			}
		}
	}
}

func TestADrawDoesNotAllocate(t *testing.T) {
	s := sittingOf(t, triBand)
	values := s.Spectrum.Values()
	s.Spectrometer.Axis = AxisErrors{Nm: []float64{300, 900}, Curves: [][]float64{{0.1, -0.1}, {0.1, 0.2}}}
	s.Spectrometer.Curves = []Curve{{Input{Name: Linearity, Distribution: Normal(0, 0.01)}, values}}
	s.Spectrometer.Repeats = Repeats{[][]float64{values, values, values, values}}
	m, err := s.Model()
	if err != nil {
		t.Fatal(err)
	}
	p, err := m.prepare()
	if err != nil {
		t.Fatal(err)
	}
	w, number := p.worker(), 0
	if n := testing.AllocsPerRun(20, func() {
		w.stream(1, number)
		w.draw()
		w.f(w.x, w.y)
		number++
	}); n != 0 {
		t.Errorf("a draw allocates %v times", n)
	}
}

func TestTheShippedClassesLieWhereSuchSetUpsDo(t *testing.T) {
	// Ranges of the expanded uncertainty (k = 2) of flux by home methods: own
	// estimates too, so that this holds the parts against the whole.
	relative := func(factors []Factor) float64 {
		sum := 0.0
		for _, f := range factors {
			u := f.Distribution.U() * (f.Light + f.Flux)
			sum += u * u
		}
		return 2 * math.Sqrt(sum)
	}
	for _, c := range []struct {
		name     string
		factors  []Factor
		low, top float64
	}{
		{"many angles, white", LuxOverAngles(White), 0.07, 0.12},
		{"many angles, narrow", LuxOverAngles(Narrow), 0.12, 0.25},
		{"sphere with a certificate", Sphere(White, 0.015), 0.08, 0.12},
		{"sphere with a label", Sphere(White, 0.06), 0.13, 0.18},
		{"sphere with a certificate, narrow", Sphere(Narrow, 0.015), 0.12, 0.25},
		{"one direction", OneDirection(White), 0.30, 0.50},
	} {
		if u := relative(c.factors); u < c.low || u > c.top {
			t.Errorf("%s: U = %.1f %%, want %.0f–%.0f %%", c.name, 100*u, 100*c.low, 100*c.top)
		}
	}
	// A better class is better at everything.
	classes := []Spectrometer{HomeGrating(), CompactArray(), BenchArray()}
	for k := 1; k < len(classes); k++ {
		a, b := classes[k-1], classes[k]
		parts := [][2]float64{
			{a.Offset.U(), b.Offset.U()}, {a.Stretch.U(), b.Stretch.U()}, {a.Bandwidth.U(), b.Bandwidth.U()},
			{a.Noise.Floor, b.Noise.Floor}, {a.Noise.Peak, b.Noise.Peak}, {a.Reference.U(), b.Reference.U()},
			{a.Stray.U(), b.Stray.U()}, {a.Dark.U(), b.Dark.U()}, {a.Scale.U(), b.Scale.U()},
		}
		for i := range a.Response.U {
			parts = append(parts, [2]float64{a.Response.U[i], b.Response.U[i]})
		}
		for _, p := range parts {
			if !(p[1] < p[0]) {
				t.Errorf("%s is not better than %s: %g against %g", b.Name, a.Name, p[1], p[0])
			}
		}
	}
}

func TestASittingThatCannotBeIsSaidInOneSentence(t *testing.T) {
	for _, c := range []struct {
		change func(*Sitting)
		want   string
	}{
		{func(s *Sitting) { s.Spectrum = nil }, "needs a spectrum"},
		{func(s *Sitting) { s.Kind = spectrum.Tabulated }, "read this curve as sampled"},
		{func(s *Sitting) { s.Spectrometer.Noise.Floor = -0.1 }, "noise cannot be -0.1"},
		{func(s *Sitting) { s.Spectrometer.Noise.Peak = math.NaN() }, "noise cannot be NaN"},
		{func(s *Sitting) { s.Spectrometer.Noise.Samples = []float64{1} }, "noise is given for 1 samples"},
		{func(s *Sitting) { s.Spectrometer.Noise.Samples = slices.Repeat([]float64{-1}, 2048) }, "sample 1 cannot have the uncertainty -1"},
		{func(s *Sitting) { s.Spectrometer.Response.U = nil }, "9 wavelengths but 0 uncertainties"},
		{func(s *Sitting) {
			s.Spectrometer.Response = Response{Nm: []float64{400, 400}, U: []float64{0, 0}, Correlation: 1}
		}, "do not increase at 400 nm"},
		{func(s *Sitting) {
			s.Spectrometer.Response = Response{Nm: []float64{400}, U: []float64{-1}, Correlation: 1}
		}, "the uncertainty at 400 nm cannot be -1"},
		{func(s *Sitting) { s.Spectrometer.Response.Correlation = 0 }, "a correlation length is positive"},
		{func(s *Sitting) { s.Spectrometer.Reference = Normal(0, 10) }, "colour temperature of 0 K"},
		{func(s *Sitting) { s.Spectrometer = Spectrometer{Reference: Normal(2856, -10)} }, `"temperature of the reference lamp": the uncertainty is negative`},
		{func(s *Sitting) { s.Spectrometer.Offset = Normal(0, -1) }, `"wavelength offset": the uncertainty is negative`},
		{func(s *Sitting) { s.Spectrometer.Stray = Normal(math.NaN(), 1) }, `"stray light": the estimate is not a finite number`},
		{func(s *Sitting) { s.Factors = PlugInMeter(0) }, `"power meter at low load": the uncertainty is not a finite number`},
		{func(s *Sitting) { s.Factors = append(LuxOverAngles(White), OneDirection(White)...) }, `two inputs are called "light meter scale"`},
		{func(s *Sitting) { s.Correlations = []Correlation{{PixelNoise, WavelengthOffset, 0.5}} }, "only a single value with a normal distribution"},
	} {
		s := sittingOf(t, whiteLED)
		c.change(s)
		_, err := s.Assess(context.Background(), Options{Draws: 100})
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("got %v, want a sentence with %q", err, c.want)
		}
	}
}

func TestALineTellsTheBandwidthBetterThanTheClass(t *testing.T) {
	in := CompactArray()
	in.Seen(1.2)
	near(t, "bandwidth", in.Bandwidth.Mean(), 1.2, 1e-12)
	near(t, "its limits", in.Bandwidth.U()*math.Sqrt(3), 0.18, 1e-12) // 0.3 in 2
	none := Spectrometer{}
	if none.Seen(1.2); none.Bandwidth != (Distribution{}) {
		t.Errorf("an exact spectrometer has the bandwidth %v", none.Bandwidth)
	}
}
