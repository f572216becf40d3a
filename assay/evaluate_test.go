package assay

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"lampassay/assay/conformity"
	"lampassay/assay/quantity"
	"lampassay/light/photometry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// curve projects values given as a function of wavelength on an even axis.
func curve(t testing.TB, q spectrum.Quantity, from, to, step float64, f func(nm float64) float64) *spectrum.Projected {
	t.Helper()
	var nm, v []float64
	for i := 0; ; i++ {
		l := from + float64(i)*step
		if l > to+1e-9 {
			break
		}
		nm, v = append(nm, l), append(v, f(l))
	}
	s, err := spectrum.New(q, nm, v)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func evaluate(p *spectrum.Projected, g Given) *Result {
	r := new(Result)
	NewEvaluator().Evaluate(p, &g, r)
	return r
}

func gauss(centre, fwhm float64) func(float64) float64 {
	return func(nm float64) float64 { d := (nm - centre) / fwhm; return math.Exp(-4 * math.Ln2 * d * d) }
}

func planck(kelvin float64) func(float64) float64 {
	return func(nm float64) float64 { return standards.Planck(nm, kelvin) }
}

func within(t *testing.T, r *Result, id quantity.ID, want, tol float64) {
	t.Helper()
	if got, ok := r.Value(id); !ok || math.Abs(got-want) > tol {
		t.Errorf("%s = %v (%v, %q), want %v ± %v", quantity.Get(id).Key, got, ok, r.Why(id), want, tol)
	}
}

func refused(t *testing.T, r *Result, id quantity.ID, because string) {
	t.Helper()
	if v, ok := r.Value(id); ok {
		t.Errorf("%s = %v, want no value", quantity.Get(id).Key, v)
	}
	if why := r.Why(id); !strings.Contains(why, because) {
		t.Errorf("%s: the reason is %q, want one with %q", quantity.Get(id).Key, why, because)
	}
}

func TestABlackbodyIsItsOwnReference(t *testing.T) {
	for _, kelvin := range []float64{1800, 2700, 2856, 3900} {
		r := evaluate(curve(t, spectrum.Relative, 350, 850, 1, planck(kelvin)), Given{})
		// The reference is summed at whole nanometres and the curve between
		// them, which costs a few hundredths.
		within(t, r, quantity.CCT, kelvin, 1e-3*kelvin)
		within(t, r, quantity.Duv, 0, 2e-5)
		within(t, r, quantity.Ra, 100, 0.02)
		within(t, r, quantity.Rf, 100, 0.02)
		within(t, r, quantity.Rg, 100, 0.02)
		within(t, r, quantity.SSI, 100, 0.5)
	}
}

func TestSodiumIsOutsideTheScopeOfColourRendering(t *testing.T) {
	for _, fwhm := range []float64{0.1, 0.5, 1, 2, 3} {
		p := curve(t, spectrum.Relative, 560, 620, fwhm/5, func(nm float64) float64 {
			return 2*gauss(588.995, fwhm)(nm) + gauss(589.592, fwhm)(nm)
		})
		// A spectrum known only from 560 to 620 nm says nothing about the rest.
		r := evaluate(p, Given{})
		refused(t, r, quantity.LER, "outside the covered 560–620 nm")
		refused(t, r, quantity.Ra, "outside the covered")

		full := curve(t, spectrum.Relative, 380, 780, fwhm/5, func(nm float64) float64 {
			return 2*gauss(588.995, fwhm)(nm) + gauss(589.592, fwhm)(nm)
		})
		r = evaluate(full, Given{})
		within(t, r, quantity.LER, 523.5, 1)
		// Common practice, no source: about −44 for a real lamp.
		within(t, r, quantity.Ra, -46, 2)
		if r.InScope(quantity.Ra) || !strings.Contains(r.Why(quantity.Ra), "predominantly monochromatic") {
			t.Errorf("%g nm: Ra in scope %v, why %q", fwhm, r.InScope(quantity.Ra), r.Why(quantity.Ra))
		}
		if r.InScope(quantity.Rf) || r.Why(quantity.Rf) == "" {
			t.Error("Rf of sodium light passes as in scope")
		}
	}
}

func TestFarFromTheLocusThereIsNoCCT(t *testing.T) {
	r := evaluate(curve(t, spectrum.Relative, 380, 780, 1, gauss(525, 30)), Given{})
	refused(t, r, quantity.CCT, "|Duv|")
	refused(t, r, quantity.Ra, "no reference light")
	refused(t, r, quantity.RcsHue(3), "no reference light")
	if _, ok := r.Value(quantity.Duv); !ok {
		t.Error("Duv is lost with the CCT")
	}
	within(t, r, quantity.DominantWavelength, 530, 6)
	within(t, r, quantity.PeakWavelength, 525, 0.5)
	within(t, r, quantity.FWHM, 30, 0.1)
}

func TestRelativeDataHaveNoAbsoluteQuantities(t *testing.T) {
	r := evaluate(curve(t, spectrum.Relative, 380, 780, 1, planck(3000)), Given{})
	for _, id := range []quantity.ID{quantity.LuminousFlux, quantity.RadiantFlux, quantity.PhotonFlux} {
		refused(t, r, id, "no luminous flux was given")
	}
	refused(t, r, quantity.Illuminance, "irradiance")
	refused(t, r, quantity.Power, "no power at the mains")
	refused(t, r, quantity.LuminousEfficacy, "neither was given")
	refused(t, r, quantity.R(15), "JIS")
	refused(t, r, quantity.MesopicLuminance, "adaptation")
}

func TestFluxAndPowerGiveTheRest(t *testing.T) {
	p := curve(t, spectrum.Relative, 380, 780, 1, gauss(555, 10))
	r := evaluate(p, Given{Flux: Measured(1000), Power: Measured(10), PowerLamp: Measured(8), Source: conformity.LightSource{Mains: true}})
	ler, _ := r.Value(quantity.LER)
	within(t, r, quantity.LuminousEfficacy, 100, 1e-12)
	within(t, r, quantity.LampEfficacy, 125, 1e-12)
	within(t, r, quantity.RadiantFlux, 1000/ler, 1e-9)
	within(t, r, quantity.RadiantEfficiency, 100/ler, 1e-9)
	w := r.Watts
	if !w.Known || math.Abs(w.Light+w.Other+w.Gear+w.Rest-10) > 1e-9 || w.Gear != 2 || math.Abs(w.Light-1000/ler) > 1e-9 {
		t.Errorf("the watts do not add up: %+v", w)
	}
	// Photons of a narrow line at 555 nm: λ/(N_A h c) each joule.
	within(t, r, quantity.PhotonFlux, 1000/ler*spectrum.MicromolPerJoule(555), 0.01)
}

func TestAnAbsoluteSpectrumBringsItsOwnScale(t *testing.T) {
	f := func(nm float64) float64 { return 0.01 * gauss(555, 20)(nm) }
	p := curve(t, spectrum.Flux, 380, 780, 1, f)
	r := evaluate(p, Given{})
	within(t, r, quantity.LuminousFlux, photometry.Km*r.XYZ.Y, 1e-9)
	within(t, r, quantity.RadiantFlux, p.Total, 1e-12)

	p = curve(t, spectrum.Irradiance, 380, 780, 1, f)
	r = evaluate(p, Given{})
	within(t, r, quantity.Illuminance, photometry.Km*r.XYZ.Y, 1e-9)
	lux, _ := r.Value(quantity.Illuminance)
	der, _ := r.Value(quantity.MelDER)
	within(t, r, quantity.MelEDI, lux*der, 1e-9)
	refused(t, r, quantity.LuminousFlux, "no luminous flux was given")
}

func TestScaleChangesNothingRelative(t *testing.T) {
	p := curve(t, spectrum.Relative, 380, 780, 0.7, planck(4321))
	q := curve(t, spectrum.Relative, 380, 780, 0.7, func(nm float64) float64 { return 1e-9 * standards.Planck(nm, 4321) })
	a, b := evaluate(p, Given{}), evaluate(q, Given{})
	for _, d := range quantity.All() {
		x, ok := a.Value(d.ID)
		y, ok2 := b.Value(d.ID)
		if ok != ok2 || math.Abs(x-y) > 1e-7*(1+math.Abs(x)) {
			t.Errorf("%s changes with the scale: %v, %v", d.Key, x, y)
		}
	}
}

func TestAShortRangeIsNamed(t *testing.T) {
	r := evaluate(curve(t, spectrum.Relative, 400, 500, 1, planck(3000)), Given{Flux: Measured(800), Power: Measured(60)})
	for _, id := range []quantity.ID{quantity.LER, quantity.ChromaticityX, quantity.CCT, quantity.Ra, quantity.Rf, quantity.SPRatio, quantity.MelDER, quantity.RadiantFlux} {
		refused(t, r, id, "400–500 nm")
	}
	refused(t, r, quantity.PhotonEfficacy, "400 to 700")
	refused(t, r, quantity.ShareIR, "nothing of this band")
	within(t, r, quantity.LuminousEfficacy, 800.0/60, 1e-9)
	if w := strings.Join(r.Warnings(), " "); !strings.Contains(w, "V(λ)") {
		t.Errorf("no warning names what is missing: %q", w)
	}
}

func TestDarknessHasReasonsAndNoNumbers(t *testing.T) {
	for name, f := range map[string]func(float64) float64{
		"all zero":     func(float64) float64 { return 0 },
		"all negative": func(float64) float64 { return -1 },
	} {
		r := evaluate(curve(t, spectrum.Relative, 380, 780, 1, f), Given{})
		for _, d := range quantity.All() {
			if v, ok := r.Value(d.ID); ok {
				t.Errorf("%s: %s = %v", name, d.Key, v)
			}
			if r.Why(d.ID) == "" {
				t.Errorf("%s: %s has no reason", name, d.Key)
			}
		}
	}
}

func TestMoreLightThanPowerIsNoticed(t *testing.T) {
	r := evaluate(curve(t, spectrum.Relative, 380, 780, 1, planck(3000)), Given{Flux: Measured(8000), Power: Measured(5)})
	if w := strings.Join(r.Warnings(), " "); !strings.Contains(w, "more than it takes in") {
		t.Errorf("warnings: %q", w)
	}
}

func TestTheRecordIsTheContract(t *testing.T) {
	r := evaluate(curve(t, spectrum.Relative, 380, 780, 1, gauss(525, 30)), Given{Flux: Measured(806), Power: Measured(8.5), Source: conformity.LightSource{Mains: true}})
	in := Input{File: "a “b”.csv", SHA256: "00", Samples: 401, FromNm: 380, ToNm: 780, Quantity: "relative", Projection: "sampled"}
	line := NewRecorder(Default()).Append(nil, &in, r, []string{"x\ny"})
	if strings.Count(string(line), "\n") != 1 {
		t.Error("the record is not one line")
	}
	var got struct {
		Input      map[string]any
		Quantities map[string]struct {
			Value, U *float64
			Unit     string
			Source   string
			Why      *string
		}
		Findings []Finding
		Warnings []string
	}
	if err := json.Unmarshal(line, &got); err != nil {
		t.Fatal(err)
	}
	for key, q := range got.Quantities {
		d, err := quantity.ByKey(key)
		if err != nil {
			t.Error(err)
			continue
		}
		if v, ok := r.Value(d.ID); ok != (q.Value != nil) || ok && math.Abs(v-*q.Value) > 1e-9*math.Abs(v) {
			t.Errorf("%s: %v is recorded as %v", key, v, q.Value)
		}
		if q.Why == nil || *q.Why != r.Why(d.ID) || q.Source == "" || q.U != nil {
			t.Errorf("%s: incomplete: %+v", key, q)
		}
	}
	if got.Input["file"] != in.File || got.Input["samples"] != 401.0 || got.Warnings[0] != "x\ny" {
		t.Errorf("the record lost its head or its warnings: %s", line)
	}
}

// A recorder keeps a sentence for the quantities that share it.
func TestTheRecordGivesEachQuantityItsOwnReason(t *testing.T) {
	var all []quantity.ID
	for _, d := range quantity.All() {
		all = append(all, d.ID)
	}
	w := NewRecorder(all)
	for name, r := range map[string]*Result{
		"relative":    evaluate(curve(t, spectrum.Relative, 380, 780, 1, planck(3000)), Given{}),
		"irradiance":  evaluate(curve(t, spectrum.Irradiance, 380, 780, 1, planck(3000)), Given{}),
		"one line":    evaluate(curve(t, spectrum.Flux, 380, 780, 1, gauss(589, 5)), Given{Power: Measured(50)}),
		"green":       evaluate(curve(t, spectrum.Relative, 380, 780, 1, gauss(530, 30)), Given{}),
		"short range": evaluate(curve(t, spectrum.Relative, 450, 600, 1, planck(3000)), Given{}),
		"darkness":    evaluate(curve(t, spectrum.Relative, 380, 780, 1, func(float64) float64 { return 0 }), Given{}),
	} {
		line := w.Append(nil, &Input{}, r, nil)
		var record struct {
			Quantities map[string]struct{ Why string }
		}
		if err := json.Unmarshal(line, &record); err != nil {
			t.Fatal(err)
		}
		for _, id := range all {
			key := quantity.Get(id).Key
			if got, want := record.Quantities[key].Why, r.Why(id); got != want {
				t.Errorf("%s: %s says %q, want %q", name, key, got, want)
			}
		}
	}
}

func TestEvaluateDoesNotAllocate(t *testing.T) {
	p := curve(t, spectrum.Relative, 340, 850, 0.25, planck(3300))
	e, r, g := NewEvaluator(), new(Result), Given{Flux: Measured(1), Power: Measured(1), Adaptation: Measured(1)}
	if n := testing.AllocsPerRun(20, func() { e.Evaluate(p, &g, r) }); n != 0 {
		t.Errorf("Evaluate allocates %v times", n)
	}
}

func TestOnlyChangesNothingThatIsAskedFor(t *testing.T) {
	p := curve(t, spectrum.Irradiance, 340, 850, 0.5, planck(3300))
	g := Given{Flux: Measured(800), Power: Measured(10), Adaptation: Measured(1)}
	whole := evaluate(p, g)
	for _, d := range quantity.All() {
		e, r := NewEvaluator(), new(Result)
		e.Only([]quantity.ID{d.ID})
		e.Evaluate(p, &g, r)
		a, ok := whole.Value(d.ID)
		b, ok2 := r.Value(d.ID)
		if a != b || ok != ok2 || whole.Why(d.ID) != r.Why(d.ID) {
			t.Errorf("%s alone is %v (%v), with all %v (%v)", d.Key, b, ok2, a, ok)
		}
	}
}

// FuzzEvaluate feeds anything that can be a spectrum; every quantity must end
// with a finite value or a reason.
func FuzzEvaluate(f *testing.F) {
	f.Add([]byte{0, 10, 20, 255, 128, 3}, 380.0, 5.0, false)
	f.Add([]byte{128, 128, 128, 128}, 200.0, 300.0, false)
	f.Add(make([]byte, 81), 380.0, 5.0, true)
	f.Add([]byte{1, 255, 1, 255, 7, 9}, 589.0, 0.01, false)
	e, r := NewEvaluator(), new(Result)
	f.Fuzz(func(t *testing.T, data []byte, from, step float64, table bool) {
		if len(data) < 2 || len(data) > 4000 || !(from > 0 && from < 3000) || !(step > 1e-3 && step < 500) {
			return
		}
		var nm, v []float64
		for i, b := range data {
			nm = append(nm, from+float64(i)*step)
			x := float64(b) - 64
			if b > 250 {
				x = math.Ldexp(1, 40*int(b-250)) // up to 2^200
			}
			v = append(v, x)
		}
		s, err := spectrum.New(spectrum.Relative, nm, v)
		if err != nil {
			return
		}
		kind := spectrum.Sampled
		if table {
			kind = spectrum.Tabulated
		}
		p, err := s.Project(kind)
		if err != nil {
			return
		}
		e.Evaluate(p, &Given{Flux: Measured(800), Power: Measured(10), Adaptation: Measured(0.5)}, r)
		for _, d := range quantity.All() {
			x, ok := r.Value(d.ID)
			if ok && (math.IsNaN(x) || math.IsInf(x, 0)) {
				t.Errorf("%s = %v", d.Key, x)
			}
			if !ok && r.Why(d.ID) == "" {
				t.Errorf("%s has neither value nor reason", d.Key)
			}
		}
		in := Input{}
		if line := NewRecorder(Default()).Append(nil, &in, r, nil); !json.Valid(line) {
			t.Errorf("the record is not JSON: %s", line)
		}
	})
}

// BenchmarkAllSpectralQuantities is the whole way from an instrument's 2048
// samples to every quantity. Two lamps take turns, so that no reference light
// is remembered from one round to the next.
func BenchmarkAllSpectralQuantities(b *testing.B) {
	nm := make([]float64, 2048)
	lamps := [2][]float64{make([]float64, 2048), make([]float64, 2048)}
	for i := range nm {
		x := float64(i)
		nm[i] = 338 + 0.27*x - 6e-6*x*x // a grating's uneven axis, 338–866 nm
		for k, v := range lamps {
			v[i] = gauss(450, 20)(nm[i]) + (1.7+0.1*float64(k))*gauss(570, 120)(nm[i])
		}
	}
	pr, err := spectrum.NewProjector(nm, spectrum.Sampled)
	if err != nil {
		b.Fatal(err)
	}
	e, r, p, g := NewEvaluator(), new(Result), new(spectrum.Projected), Given{Flux: Measured(806), Power: Measured(8.5)}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		pr.Project(p, lamps[i%2])
		e.Evaluate(p, &g, r)
	}
}

func BenchmarkRecord(b *testing.B) {
	r := evaluate(curve(b, spectrum.Relative, 380, 780, 1, planck(3000)), Given{})
	w, in := NewRecorder(Default()), Input{File: "x"}
	var line []byte
	b.ReportAllocs()
	for b.Loop() {
		line = w.Append(line[:0], &in, r, nil)
	}
}
