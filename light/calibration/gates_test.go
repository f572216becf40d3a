package calibration

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"lampassay/light/spectrum"
)

func TestPickingALineAtSinglePointsCanMissOrDoubleIt(t *testing.T) {
	// Worked for Gaussian lines: 2 nm every 5 nm, and 5 nm every 5 nm.
	for _, c := range []struct{ ratio, least, greatest, tolerance float64 }{
		{2.0 / 5, -0.94, 1.35, 0.006}, {1, -0.06, 0.06, 0.005}, {2, 0, 0, 1e-4},
	} {
		least, greatest := SamplingError(c.ratio)
		if math.Abs(least-c.least) > c.tolerance || math.Abs(greatest-c.greatest) > c.tolerance {
			t.Errorf("width over step %g: %+.3f to %+.3f, want %+.2f to %+.2f", c.ratio, least, greatest, c.least, c.greatest)
		}
	}
}

// picked samples a smooth spectrum with one narrow line at single points.
func picked(t *testing.T, step, width, at float64) *spectrum.Spectrum {
	t.Helper()
	axis := evenAxis(380, 780, step)
	values := make([]float64, len(axis))
	for i, nm := range axis {
		values[i] = math.Exp(-math.Pow((nm-580)/80, 2)) + 6*math.Exp(-4*math.Ln2*math.Pow((nm-at)/width, 2))
	}
	s, err := spectrum.New(spectrum.Relative, axis, values)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func samplingFinding(e *Evidence) *Finding {
	for _, f := range Inspect(e) {
		if f.Gate == GateSampling {
			return &f
		}
	}
	return nil
}

func TestALineTooNarrowForItsStepIsFlaggedWithTheErrorItCanHave(t *testing.T) {
	for _, at := range []float64{546.1, 545, 544.2} {
		s := picked(t, 5, 2, at)
		f := samplingFinding(&Evidence{Spectrum: s, BandwidthNm: 2})
		if f == nil {
			t.Fatalf("a 2 nm line at %g nm passes at 5 nm", at)
		}
		if math.Abs(f.Figure-0.4) > 1e-9 || f.Severity != Refusal || !strings.Contains(f.Text, "every 5 nm: its area can be off by -94 % to +135 %") {
			t.Errorf("%g nm: %s (%.2f)", at, f.Text, f.Figure)
		}
		change, known := f.Change(s, area)
		if !known || !(math.Abs(change.Flux) > 0.02) {
			t.Errorf("%g nm: %+v", at, change)
		}
		// Without the bandwidth only an upper bound of the width is to be had.
		f = samplingFinding(&Evidence{Spectrum: s})
		if f == nil || f.Figure < 0.4 || f.Figure > 0.7 {
			t.Errorf("%g nm, width unknown: %+v", at, f)
		}
	}
	for _, c := range [][2]float64{{1, 2}, {5, 12}, {0.4, 1.5}} {
		if f := samplingFinding(&Evidence{Spectrum: picked(t, c[0], c[1], 546.1)}); f != nil {
			t.Errorf("a %g nm line every %g nm: %s", c[1], c[0], f.Text)
		}
	}
}

// area is an evaluator that knows one figure.
func area(s *spectrum.Spectrum) Figures {
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		panic(err)
	}
	return Figures{Flux: p.Total, CCT: math.NaN(), Duv: math.NaN(), Ra: math.NaN()}
}

func TestAnExposureOfWholeHalfPeriodsDoesNotFlicker(t *testing.T) {
	// |sin x / x| at 100 Hz.
	for ms, want := range map[float64]float64{5: 0.64, 8: 0.23, 10: 0, 15: 0.21, 20: 0, 25: 0.13, 50: 0, 105: 0.03} {
		if got := MainsResidue(ms, 50); math.Abs(got-want) > 0.006 {
			t.Errorf("%g ms: %.3f, want %.2f", ms, got, want)
		}
	}
	if got := MainsResidue(1000.0/120*3, 60); got > 1e-12 {
		t.Errorf("three half periods of 60 Hz: %g", got)
	}
}

// clean is evidence that trips nothing: 340–800 nm, a hill of light, four
// frames, a dark, no stray light.
func clean(t *testing.T) *Evidence {
	t.Helper()
	r := rand.New(rand.NewPCG(5, 5))
	e := &Evidence{Axis: evenAxis(340, 800, 0.5), FullScale: 65535, MainsHz: 50, BlindBelowNm: 348, OrderSorted: true}
	e.Dark = &Frame{make([]float64, len(e.Axis)), 100}
	for range 4 {
		f := Frame{make([]float64, len(e.Axis)), 100}
		for i := range f.Counts {
			f.Counts[i] = 500 + hill(e.Axis[i]) + 8*r.NormFloat64()
		}
		e.Frames = append(e.Frames, f)
	}
	values := make([]float64, len(e.Axis))
	for i := range values {
		e.Dark.Counts[i] = 500 + 4*r.NormFloat64()
		values[i] = hill(e.Axis[i])
	}
	var err error
	if e.Spectrum, err = spectrum.New(spectrum.Relative, e.Axis, values); err != nil {
		t.Fatal(err)
	}
	return e
}

func hill(nm float64) float64 { return 45000 * math.Exp(-math.Pow((nm-590)/70, 2)) }

func TestGoodDataPassesEveryGate(t *testing.T) {
	if f := Inspect(clean(t)); len(f) != 0 {
		t.Errorf("tripped: %+v", f)
	}
}

func TestEveryGateTripsForItsOwnCauseOnly(t *testing.T) {
	add := func(e *Evidence, what func(nm float64) float64) {
		for _, f := range e.Frames {
			for i := range f.Counts {
				f.Counts[i] += what(e.Axis[i])
			}
		}
	}
	scale := func(e *Evidence, k float64) {
		for _, f := range e.Frames {
			for i, c := range f.Counts {
				f.Counts[i] = 500 + k*(c-500)
			}
		}
	}
	for _, c := range []struct {
		gate     string
		severity Severity
		figure   float64 // within 10 %; 0 not checked
		spoil    func(e *Evidence)
	}{
		{GateSaturation, Refusal, 0, func(e *Evidence) { scale(e, 1.8); clip(e, 65535) }},
		{GateHiddenSaturation, Refusal, 0, func(e *Evidence) { clip(e, 30000) }},
		{GateUnderexposure, Caution, 10, func(e *Evidence) { scale(e, 0.134) }},
		{GateMains, Caution, 21.2 / 2, func(e *Evidence) {
			e.Dark.ExposureMs = 15
			for i := range e.Frames {
				e.Frames[i].ExposureMs = 15
			}
		}},
		{GateAmbient, Caution, 0, func(e *Evidence) {
			room := func(nm float64) float64 { return 900 * math.Exp(-math.Pow((nm-545)/2, 2)) }
			e.Ambient = &Frame{slices.Clone(e.Dark.Counts), 100}
			for i := range e.Ambient.Counts {
				e.Ambient.Counts[i] += room(e.Axis[i]) + hill(e.Axis[i])/50
			}
		}},
		{GateDark, Caution, 0, func(e *Evidence) { e.Dark = nil; add(e, func(float64) float64 { return -500 }) }},
		{GateDark, Refusal, 50, func(e *Evidence) { e.Dark.ExposureMs = 50 }},
		{GateDark, Caution, 0, func(e *Evidence) {
			for i, nm := range e.Axis {
				e.Dark.Counts[i] += 300 * math.Exp(-math.Pow((nm-546)/1.5, 2))
			}
		}},
		{GateNoise, Note, 0, func(e *Evidence) {
			r := rand.New(rand.NewPCG(6, 6))
			add(e, func(float64) float64 { return 900 * r.NormFloat64() })
		}},
		{GateStray, Caution, 1, func(e *Evidence) { add(e, func(float64) float64 { return 450 }) }},
		{GateSecondOrder, Caution, 3, func(e *Evidence) {
			e.OrderSorted = false
			add(e, func(nm float64) float64 {
				line := func(at, width float64) float64 { return math.Exp(-math.Pow((nm-at)/width, 2)) }
				return 15000*line(365, 1.2) + 450*line(730, 1.2)
			})
		}},
		{GateDrift, Caution, 4, func(e *Evidence) {
			for i, c := range e.Frames[3].Counts {
				e.Frames[3].Counts[i] = 500 + 1.04*(c-500)
			}
		}},
		{GateResponse, Refusal, 0, func(e *Evidence) {
			e.Spectrum, _ = spectrum.New(spectrum.Counts, e.Axis, e.Spectrum.Values())
		}},
		{GateCoverage, Refusal, 0, func(e *Evidence) {
			e.Spectrum, _ = spectrum.New(spectrum.Relative, e.Axis[200:500], e.Spectrum.Values()[200:500])
		}},
	} {
		t.Run(c.gate+" "+c.severity.String(), func(t *testing.T) {
			e := clean(t)
			c.spoil(e)
			found := Inspect(e)
			own := slices.IndexFunc(found, func(f Finding) bool { return f.Gate == c.gate })
			if own < 0 {
				t.Fatalf("did not trip; tripped: %+v", found)
			}
			f := found[own]
			if f.Severity != c.severity {
				t.Errorf("severity %v, want %v: %s", f.Severity, c.severity, f.Text)
			}
			if c.figure != 0 && math.Abs(f.Figure/c.figure-1) > 0.1 {
				t.Errorf("figure %g, want %g: %s", f.Figure, c.figure, f.Text)
			}
			if f.Text == "" || f.Remedy == "" || f.Unit == "" {
				t.Errorf("says too little: %+v", f)
			}
			if c.gate == GateNoise {
				return // noise of this size can look like anything else
			}
			for _, other := range found {
				if other.Gate != c.gate {
					t.Errorf("%s tripped as well: %s", other.Gate, other.Text)
				}
			}
		})
	}
}

func clip(e *Evidence, level float64) {
	for _, f := range e.Frames {
		for i, c := range f.Counts {
			f.Counts[i] = min(c, level)
		}
	}
}

func TestAFindingTellsWhatItDoesToTheResult(t *testing.T) {
	e := clean(t)
	for _, f := range e.Frames {
		for i := range f.Counts {
			f.Counts[i] += 450
		}
	}
	values := slices.Clone(e.Spectrum.Values())
	for i := range values {
		values[i] += 450
	}
	var err error
	if e.Spectrum, err = spectrum.New(spectrum.Relative, e.Axis, values); err != nil {
		t.Fatal(err)
	}
	f := Inspect(e)
	if len(f) != 1 || f[0].Gate != GateStray {
		t.Fatalf("tripped: %+v", f)
	}
	c, known := f[0].Change(e.Spectrum, area)
	// The pedestal holds 450 × 460 nm beside a hill of 45000 × 70 √π nm.
	want := -450.0 * 460 / (45000*70*math.Sqrt(math.Pi) + 450*460)
	if !known || math.Abs(c.Flux-want) > 0.002 || c.CCT != 0 {
		t.Errorf("%+v, want a flux change of %.4f", c, want)
	}
	if _, known := (&Finding{}).Change(e.Spectrum, area); known {
		t.Error("a finding without an alternative knows its effect")
	}
}
