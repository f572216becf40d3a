package uncertainty

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/spectrum"
)

func parse(t testing.TB, body string) *Conditions {
	t.Helper()
	c, err := ParseConditions([]byte(`{"format": "lampassay sitting", "version": 1` + body + `}`))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func joined(t testing.TB, c *Conditions, given assay.Given) *Sitting {
	t.Helper()
	s, err := c.Sitting(newSpectrum(t, spectrum.Relative, array(), whiteLED.seen(array(), 2)), spectrum.Sampled, given)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// factorOf finds a factor by name.
func factorOf(t testing.TB, s *Sitting, name string) Factor {
	t.Helper()
	for _, f := range s.Factors {
		if f.Name == name {
			return f
		}
	}
	t.Fatalf("there is no factor %q", name)
	return Factor{}
}

// What "sitting new" writes is what the classes say, to the last figure: an
// edited file differs from the default by its edits alone.
func TestAFreshSittingFileChangesNothing(t *testing.T) {
	given := assay.Given{Flux: assay.Measured(806), Power: assay.Measured(8.5)}
	for _, spectrometer := range spectrometerClasses {
		for _, flux := range fluxClasses {
			for lamp := range habits {
				for _, power := range powerClasses {
					classes := Classes{spectrometer.Name, Lamp(lamp).String(), flux.Name, power.Name}
					written, err := NewConditions(classes, 806, 8.5)
					if err != nil {
						t.Fatal(err)
					}
					data, err := written.JSON()
					if err != nil {
						t.Fatal(err)
					}
					read, err := ParseConditions(data)
					if err != nil {
						t.Fatalf("%+v: %v", classes, err)
					}
					sameSitting(t, joined(t, &Conditions{Defaults: classes}, given), joined(t, read, assay.Given{}))
				}
			}
		}
	}
}

func sameSitting(t *testing.T, a, b *Sitting) {
	t.Helper()
	if a.Given != b.Given {
		t.Errorf("given %+v became %+v", a.Given, b.Given)
	}
	for _, name := range []string{WavelengthOffset, WavelengthStretch, Bandwidth, ReferenceLamp, StrayLight, DarkLevel, AbsoluteScale} {
		sameDistribution(t, name, *a.Spectrometer.input(name), *b.Spectrometer.input(name))
	}
	na, nb := a.Spectrometer.Noise, b.Spectrometer.Noise
	near(t, PixelNoise, nb.Floor, na.Floor, 1e-15)
	near(t, PixelNoise, nb.Peak, na.Peak, 1e-15)
	for k, u := range a.Spectrometer.Response.U {
		near(t, ResponseCurve, b.Spectrometer.Response.U[k], u, 1e-15)
	}
	if len(a.Factors) != len(b.Factors) {
		t.Fatalf("%d factors became %d", len(a.Factors), len(b.Factors))
	}
	for i, f := range a.Factors {
		g := b.Factors[i]
		sameDistribution(t, f.Name, f.Distribution, g.Distribution)
		if f.Name != g.Name || f.Light != g.Light || f.Flux != g.Flux || f.Power != g.Power || f.Lamp != g.Lamp || f.Heat != g.Heat || f.Source != g.Source {
			t.Errorf("%+v became %+v", f, g)
		}
	}
}

func sameDistribution(t *testing.T, name string, a, b Distribution) {
	t.Helper()
	near(t, name+" value", b.Mean(), a.Mean(), 1e-12*math.Abs(a.Mean()))
	near(t, name+" u", b.U(), a.U(), 1e-12*a.U())
	if a.shape != b.shape && a.width != 0 {
		t.Errorf("%s: %v became %v", name, a, b)
	}
}

func TestAnInputTakesItsUnitAndDistribution(t *testing.T) {
	given := assay.Given{Flux: assay.Measured(800), Power: assay.Measured(10)}
	for _, c := range []struct {
		entry, name string
		u           float64 // of the relative error
		shape       shape
	}{
		{`{"name": "distance", "unit": "m", "value": 2, "u": 0.01}`, Distance, 0.005, normal},
		{`{"name": "distance", "unit": "cm", "value": 200, "half": 1}`, Distance, 0.005 / math.Sqrt(3), rectangular},
		{`{"name": "distance", "unit": "%", "distribution": "triangular", "half": 1}`, Distance, 0.01 / math.Sqrt(6), triangular},
		{`{"name": "supply voltage", "unit": "V", "value": 230, "distribution": "arcsine", "half": 2.3}`, SupplyVoltage, 0.01 / math.Sqrt2, arcsine},
		{`{"name": "light meter scale", "unit": "%", "expanded": 4, "k": 2, "source": "certificate 17"}`, LightMeterScale, 0.02, normal},
		{`{"name": "luminous flux as given", "unit": "lm", "distribution": "t", "u": 16, "df": 5}`, FluxAsGiven, 0.02, student},
		{`{"name": "power meter display", "unit": "W", "half": 0.05}`, PowerMeterDisplay, 0.005 / math.Sqrt(3), rectangular},
		{`{"name": "power meter class", "unit": "%", "half": 2, "within": 1}`, PowerMeterClass, math.Sqrt(4.0/3+1.0/9) / 100, inexact},
		{`{"name": "air temperature", "unit": "K", "u": 3, "light": 0.004}`, AirTemperature, 0.012, normal},
		// Readings 99, 100, 101: s = 1, s/√3 of 100.
		{`{"name": "refit", "unit": "lx", "readings": [99, 100, 101]}`, Refit, 0.01 / math.Sqrt(3), student},
		{`{"name": "spectral mismatch", "unit": "1", "distribution": "exact"}`, SpectralMismatch, 0, exact},
	} {
		s := joined(t, parse(t, `, "defaults": {"luminous_flux": "angles"}, "inputs": [`+c.entry+`]`), given)
		f := factorOf(t, s, c.name)
		near(t, c.name, f.Distribution.U(), c.u, 1e-12)
		if f.Distribution.shape != c.shape || f.Distribution.centre != 0 {
			t.Errorf("%s: %v, want %s about zero", c.name, f.Distribution, shapeNames[c.shape])
		}
		if f.Source == OwnEstimate {
			t.Errorf("%s: what was stated is marked as an estimate", c.name)
		}
	}
}

// A route is made of parts; a stated uncertainty of the whole replaces them,
// while repeats only add their scatter.
func TestMeasuredFiguresBringWhatIsKnownOfThem(t *testing.T) {
	names := func(s *Sitting) string {
		var b []string
		for _, f := range s.Factors {
			if f.Light == 0 {
				b = append(b, f.Name)
			}
		}
		return strings.Join(b, ", ")
	}
	parts := "light meter scale, spectral mismatch, distance, cosine and alignment, ambient and reflected light, angles and planes"
	for _, c := range []struct {
		measured string
		flux, u  float64 // u of what the figure brought, relative
		brought  string
		want     string
	}{
		{`{"value": 800, "unit": "lm"}`, 800, 0, "", parts},
		{`{"value": 800, "unit": "lm", "u": 16}`, 800, 0.02, FluxAsGiven, FluxAsGiven},
		{`{"readings": [790, 800, 810], "unit": "lm"}`, 800, 10 / math.Sqrt(3) / 800, FluxRepeats, parts + ", " + FluxRepeats},
	} {
		s := joined(t, parse(t, `, "defaults": {"luminous_flux": "angles"}, "measured": {"luminous_flux": `+c.measured+`}`), assay.Given{})
		if s.Given.Flux != assay.Measured(c.flux) || names(s) != c.want {
			t.Errorf("%s: flux %+v from %s", c.measured, s.Given.Flux, names(s))
		}
		if c.brought != "" {
			near(t, c.brought, factorOf(t, s, c.brought).Distribution.U(), c.u, 1e-12)
		}
	}
}

func TestWhatWasNotMeasuredHasNoInputs(t *testing.T) {
	s := joined(t, &Conditions{Defaults: Usual()}, assay.Given{})
	if len(s.Factors) != 0 {
		t.Errorf("%v act on nothing", s.Factors)
	}
	for _, f := range joined(t, &Conditions{Defaults: Usual()}, assay.Given{Power: assay.Measured(8)}).Factors {
		if f.Power == 0 {
			t.Errorf("%q does not act on the power, which is all there is", f.Name)
		}
	}
}

func TestASittingFileIsRefusedInOneSentence(t *testing.T) {
	head := `{"format": "lampassay sitting", "version": 1, `
	for _, c := range []struct{ file, want string }{
		{``, "it is empty"},
		{"{\n\"format\": ,", "line 2: this is not JSON"},
		{`{"format": "lampassay sitting", "version": 2}`, "version 2 of the sitting format is not known here"},
		{`{"version": 1}`, "this is not a sitting"},
		{head + `"inputs": []} {}`, "something follows the end"},
		{head + `"colour": 1}`, `there is no key "colour"`},
		{head + `"note": 1}`, `line 1: "note" cannot be a number`},
		{head + `"defaults": {"spectrometer": "best"}}`, `no class "best" of spectrometer: it is one of home, compact, bench, exact`},
		{head + `"defaults": {"lamp": "candle"}}`, `no type of lamp "candle"`},
		{head + `"defaults": {"power": "candle"}}`, `no class "candle" of power`},
		{head + `"inputs": [{"name": "offset", "unit": "nm", "u": 1}]}`, `no input "offset": did you mean "wavelength offset"?`},
		{head + `"inputs": [{"name": "weather", "unit": "K", "u": 1}]}`, `no input "weather"`},
		{head + `"inputs": [{"name": "distance", "u": 0.01}]}`, `input "distance": it has no unit: say "%", "1", "m", "cm" or "mm"`},
		{head + `"inputs": [{"name": "distance", "unit": "lx", "u": 0.01}]}`, `its unit cannot be "lx"`},
		{head + `"inputs": [{"name": "distance", "unit": "m", "u": 0.01}]}`, `in m it needs its value too`},
		{head + `"inputs": [{"name": "distance", "unit": "%"}]}`, "says nothing of its uncertainty"},
		{head + `"inputs": [{"name": "distance", "unit": "%", "u": -1}]}`, "the uncertainty is negative (-1)"},
		{head + `"inputs": [{"name": "distance", "unit": "%", "expanded": 1}]}`, `needs its coverage factor "k"`},
		{head + `"inputs": [{"name": "distance", "unit": "%", "u": 1, "expanded": 2, "k": 2}]}`, "use one"},
		{head + `"inputs": [{"name": "distance", "unit": "%", "u": 1, "distribution": "rectangular"}]}`, `takes "half"`},
		{head + `"inputs": [{"name": "distance", "unit": "%", "half": 1, "distribution": "normal"}]}`, `takes "u"`},
		{head + `"inputs": [{"name": "distance", "unit": "%", "u": 1, "distribution": "bell"}]}`, `no distribution "bell"`},
		{head + `"inputs": [{"name": "distance", "unit": "%", "u": 1, "distribution": "t"}]}`, "degrees of freedom"},
		{head + `"inputs": [{"name": "distance", "unit": "%", "u": 1, "df": 3}]}`, "degrees of freedom belong to a t"},
		{head + `"inputs": [{"name": "distance", "unit": "%", "half": 1, "within": 2}]}`, "cannot be inexact by 2"},
		{head + `"inputs": [{"name": "distance", "unit": "%", "u": 1, "within": 2}]}`, `"within" belongs to a rectangular`},
		{head + `"inputs": [{"name": "distance", "unit": "%", "u": 1}, {"name": "distance", "unit": "%", "u": 1}]}`, "stands twice"},
		{head + `"inputs": [{"name": "refit", "unit": "%", "readings": [1]}]}`, "a spread needs at least two"},
		{head + `"inputs": [{"name": "refit", "unit": "%", "readings": [1, 2], "u": 1}]}`, "readings give value and scatter by themselves"},
		{head + `"inputs": [{"name": "refit", "unit": "%", "u": 1, "light": 2}]}`, `"light" and "power" belong to`},
		{head + `"inputs": [{"name": "bandwidth", "unit": "nm", "half": 0.2}]}`, "its value is missing"},
		{head + `"inputs": [{"name": "pixel noise", "unit": "%", "u": 1}]}`, `needs "floor" and "peak"`},
		{head + `"inputs": [{"name": "pixel noise", "unit": "%", "floor": -1, "peak": 1}]}`, "noise cannot be -0.01"},
		{head + `"inputs": [{"name": "response curve", "unit": "%", "nm": [400], "u_at": [1]}]}`, `"correlation_nm"`},
		{head + `"inputs": [{"name": "response curve", "unit": "%", "nm": [400], "u_at": [1, 2], "correlation_nm": 9}]}`, "1 wavelengths but 2 uncertainties"},
		{head + `"measured": {"power": {"value": -8, "unit": "W"}}}`, `input "power": it cannot be -8 W: it must be above zero`},
		{head + `"measured": {"power": {"value": 8}}}`, `input "power": it has no unit: say "W"`},
		{head + `"measured": {"power": {"value": 8, "unit": "lm"}}}`, `its unit cannot be "lm": it is "W"`},
		{head + `"measured": {"lux": {"value": 8, "unit": "lx"}}}`, `"lux" cannot be measured beside a spectrum`},
		{head + `"measured": {"power": {"readings": [1, -1], "unit": "W"}}}`, "it cannot be 0 W"},
	} {
		_, err := ParseConditions([]byte(c.file))
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s\n  got %v\n  want a sentence with %q", c.file, err, c.want)
		}
	}
}

func TestFluxInTheFileAndBesideItIsRefused(t *testing.T) {
	c := parse(t, `, "measured": {"luminous_flux": {"value": 800, "unit": "lm"}}`)
	_, err := c.Sitting(nil, 0, assay.Given{Flux: assay.Measured(1)})
	if err == nil || !strings.Contains(err.Error(), "use one") {
		t.Errorf("got %v", err)
	}
}

func TestCorrelationsReachTheModel(t *testing.T) {
	s := joined(t, parse(t, `, "correlations": [{"a": "wavelength offset", "b": "wavelength stretch", "r": 0.99}, {"a": "wavelength stretch", "b": "dark level", "r": 0.99}, {"a": "wavelength offset", "b": "dark level", "r": -0.99}]`), assay.Given{})
	_, err := s.Assess(context.Background(), Options{Draws: 100})
	if err == nil || !strings.Contains(err.Error(), "not positive definite") {
		t.Errorf("got %v", err)
	}
}

func TestASummaryKeepsWhatTheReportSays(t *testing.T) {
	s := joined(t, &Conditions{Defaults: Usual()}, assay.Given{Flux: assay.Measured(800)})
	s.Quantities = []quantity.ID{quantity.LuminousFlux, quantity.UPrime, quantity.VPrime, quantity.LuminousEfficacy}
	report := assess(t, s, Options{Draws: 400, Seed: 4})
	u, without := report.Summary()
	r := &assay.Result{Uncertainty: u}
	flux := figure(t, report, quantity.LuminousFlux)
	spread := r.Spread(quantity.LuminousFlux)
	if spread == nil || spread.U != flux.StdDev || spread.Low != flux.Low || spread.High != flux.High {
		t.Fatalf("%+v became %+v", flux, spread)
	}
	if first := u.Inputs[spread.Budget[0].Input]; first.Name != FluxAsGiven || !first.Assumed {
		t.Errorf("the first line is %+v", first)
	}
	if len(without) != 0 || r.Spread(quantity.LuminousEfficacy) != nil {
		t.Errorf("without uncertainty: %v; of no value: %+v", without, r.Spread(quantity.LuminousEfficacy))
	}
	near(t, "variance of u′", u.Chromaticity[0], square(figure(t, report, quantity.UPrime).StdDev), 1e-15)
	if u.Draws != 400 || u.Seed != 4 || !u.Fixed {
		t.Errorf("run %+v", u)
	}
}

func square(x float64) float64 { return x * x }

// The lamp of unknown colour is at the limit of having a colour temperature:
// half of the draws have none, and an interval of the others would be a lie.
func TestAQuantityThatManyDrawsLackHasNoUncertainty(t *testing.T) {
	report := &Report{Simulation: &Simulation{}, Figures: []Figure{
		{ID: quantity.CCT, Estimate: Estimate{Defined: 0.5}}, {ID: quantity.Duv, Estimate: Estimate{Defined: 1}},
	}}
	u, without := report.Summary()
	r := &assay.Result{Uncertainty: u}
	if len(without) != 1 || without[0] != quantity.CCT || r.Spread(quantity.CCT) != nil || r.Spread(quantity.Duv) == nil {
		t.Errorf("without: %v", without)
	}
}

func FuzzParseConditions(f *testing.F) {
	c, err := NewConditions(Usual(), 806, 8.5)
	if err != nil {
		f.Fatal(err)
	}
	data, err := c.JSON()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte(`{"format":"lampassay sitting","version":1,"measured":{"power":{"unit":"W","readings":[8,9]}},"inputs":[{"name":"distance","unit":"m","value":2,"half":0.1,"within":0.01}]}`))
	sp, err := spectrum.New(spectrum.Relative, []float64{380, 500, 780}, []float64{1, 2, 1})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := ParseConditions(data)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("more than a line: %q", err)
			}
			return
		}
		again, err := c.JSON()
		if err != nil {
			t.Fatalf("read but not written: %v", err)
		}
		if _, err := ParseConditions(again); err != nil {
			t.Fatalf("written but not read: %v\n%s", err, again)
		}
		s, err := c.Sitting(sp, spectrum.Sampled, assay.Given{})
		if err != nil {
			t.Fatalf("checked but not joined: %v", err)
		}
		if _, err := s.Model(); err != nil && bytes.ContainsRune([]byte(err.Error()), '\n') {
			t.Errorf("more than a line: %q", err)
		}
	})
}
