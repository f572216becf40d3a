package evidence_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"lampassay/assay"
	"lampassay/assay/uncertainty"
	"lampassay/bench/evidence"
	"lampassay/bench/notebook"
	"lampassay/light/emission"
)

// flagged keeps a value that an instrument gave a mark in place of.
func (b *bench) flagged(key, unit, flag string) int64 {
	b.Helper()
	return b.append(notebook.Reading{Channel: "meter", Values: []notebook.Value{{Key: key, Unit: unit, Flag: flag}}})
}

func TestTheLatestValueThatCanBeUsedGoesBesideTheSpectrum(t *testing.T) {
	for name, c := range map[string]struct {
		bench func(*bench)
		power float64 // 0 not known
		flux  float64
		said  string // of the clauses, "" for none
	}{
		"as measured": {func(b *bench) { b.value("power", "W", 57.5); b.value("luminous_flux", "lm", 806) }, 57.5, 806, ""},
		// 0.058 kW = 58 W, 5.2 klm = 5200 lm: the prefixes of the SI.
		"in other units":     {func(b *bench) { b.value("power", "kW", 0.058); b.value("luminous_flux", "klm", 5.2) }, 58, 5200, ""},
		"milliwatts":         {func(b *bench) { b.value("power", "mW", 640) }, 0.64, 0, ""},
		"the last of two":    {func(b *bench) { b.value("power", "W", 40); b.value("power", "W", 41) }, 41, 0, ""},
		"switched off after": {func(b *bench) { b.value("power", "W", 58); b.value("power", "W", 0) }, 58, 0, "the power is that of reading 2, 58 W; the later reading 3 is passed over: it is 0 W, and only one above 0 W can be used"},
		"off for long": {func(b *bench) {
			b.value("power", "W", 58)
			for range 3 {
				b.value("power", "kW", 0)
			}
		}, 58, 0, "3 later ones are passed over, the last of them reading 5: it is 0 W"},
		"never above 0":   {func(b *bench) { b.value("power", "W", 0); b.value("power", "W", -5) }, 0, 0, "no reading of power can be used, so this is computed without; of the last, reading 3: it is -5 W"},
		"light below 0":   {func(b *bench) { b.value("luminous_flux", "lm", -3) }, 0, 0, "no reading of luminous flux can be used"},
		"over range":      {func(b *bench) { b.value("power", "W", 58); b.flagged("power", "W", "over range") }, 58, 0, "reading 3 is passed over: it is flagged “over range”"},
		"horsepower":      {func(b *bench) { b.value("power", "W", 58); b.value("power", "hp", 0.08) }, 58, 0, "reading 3 is passed over: it is in “hp”, which cannot be brought to W"},
		"no unit":         {func(b *bench) { b.value("power", "", 58) }, 58, 0, "reading 2 names no unit for its power: it is taken to be in W"},
		"beyond any lamp": {func(b *bench) { b.value("power", "W", 58); b.value("power", "W", 1e300) }, 58, 0, "it is 1e+300 W, and only one from 1e-06 to 1e+06 W can be used"},
		"as good as none": {func(b *bench) { b.value("power", "W", 1e-300) }, 0, 0, "it is 1e-300 W"},
		"seen off again": {func(b *bench) {
			b.value("power", "W", 0)
			b.value("power", "W", 58)
		}, 58, 0, ""},
		"set aside": {func(b *bench) { b.value("power", "W", 58); n := b.value("power", "W", 0); b.strike(n, n) }, 58, 0, ""},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			b.spectrum(1)
			c.bench(b)
			e, err := b.gather(evidence.Ask{Terms: evidence.Usual(b.sit)})
			if err != nil {
				t.Fatal(err)
			}
			if p := e.Given.Power; p.Known != (c.power != 0) || math.Abs(p.Value-c.power) > 1e-12*c.power {
				t.Errorf("the power is %+v, not %g W", p, c.power)
			}
			if f := e.Given.Flux; f.Known != (c.flux != 0) || math.Abs(f.Value-c.flux) > 1e-12*c.flux {
				t.Errorf("the flux is %+v, not %g lm", f, c.flux)
			}
			switch said := strings.Join(e.Warnings(), "\n"); {
			case c.said == "" && said != "":
				t.Errorf("it warns: %s", said)
			case !strings.Contains(said, c.said):
				t.Errorf("it says %q, not %q", said, c.said)
			}
		})
	}
}

func TestWhatWasPassedOverStaysWithTheAssay(t *testing.T) {
	b := newBench(t)
	b.spectrum(1)
	b.value("power", "kW", 0.058)
	b.value("power", "W", 0)
	e, err := b.gather(evidence.Ask{})
	if err != nil {
		t.Fatal(err)
	}
	terms, err := evidence.TermsOf(e.Terms.Methods())
	if err != nil {
		t.Fatal(err)
	}
	b.strike(3, 3) // afterwards
	again, err := evidence.Take(t.Context(), b.nb, b.sit, e.Inputs, terms)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(again.Warnings(), e.Warnings()) || again.Given.Power != e.Given.Power || !e.Given.Power.Known {
		t.Errorf("taken again: %q and %+v, before %q and %+v", again.Warnings(), again.Given.Power, e.Warnings(), e.Given.Power)
	}
}

func TestAnInputThatCannotBeUsedIsRefusedInASentence(t *testing.T) {
	b := newBench(t)
	light := b.spectrum(1)
	bad := b.value("power", "W", -5)
	inputs := func(what string, n int64) []notebook.Input {
		var all []notebook.Input
		for _, one := range []struct {
			what string
			n    int64
		}{{evidence.Spectrum, light}, {what, n}} {
			r := must(evidence.Reading(t.Context(), b.nb, b.sit.ID, one.n))
			all = append(all, notebook.Input{What: one.what, From: r.N, To: r.N, SHA256: r.Chain})
		}
		return all
	}
	for what, wanted := range map[string]string{
		evidence.Power: "the power of reading 2 cannot be used: it is -5 W",
		evidence.Flux:  "reading 2 of sitting 1 has no luminous flux",
		"illuminance":  "the assay names \"illuminance\" among its inputs",
	} {
		_, err := evidence.Take(t.Context(), b.nb, b.sit, inputs(what, bad), evidence.Terms{})
		if err == nil || !strings.Contains(err.Error(), wanted) || notebook.CodeOf(err) != notebook.Invalid {
			t.Errorf("%s: %v, not %q", what, err, wanted)
		}
	}
}

// FuzzWhateverWasReadAnAssayIsMadeOrRefused goes the way of an assay from readings to
// its record: each is a record in JSON, or a sentence that a person can act on.
func FuzzWhateverWasReadAnAssayIsMadeOrRefused(f *testing.F) {
	for _, v := range []float64{0, -5, 58, 1e300, 1e-300, -1e300, 9.9e37, math.MaxFloat64, math.SmallestNonzeroFloat64, 1e6, 1e-6} {
		for scale := range 3 {
			f.Add(v, v, math.Pow(10, float64(scale*150-150)), uint8(scale))
		}
		f.Add(58.0, v, 1.0, uint8(0))
		f.Add(v, 806.0, 1.0, uint8(1))
		f.Add(58.0, 806.0, v, uint8(scaleAbsolute))
	}
	units := [][2]string{{"W", "lm"}, {"kW", "klm"}, {"", ""}, {"MW", "mlm"}, {"nW", "fc"}}
	ev, nb := assay.NewEvaluator(), newNotebook(f)
	f.Fuzz(func(t *testing.T, power, flux, scale float64, kind uint8) {
		for _, v := range []float64{power, flux, scale} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Skip("a notebook keeps none")
			}
		}
		b := sitDown(t, nb)
		values := glow(1)
		for i := range values {
			if values[i] *= scale; math.IsInf(values[i], 0) {
				t.Skip("a notebook keeps none")
			}
		}
		quantity := "relative"
		if kind&scaleAbsolute != 0 {
			quantity = "irradiance"
		}
		b.append(notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: quantity, Axis: axis(), Samples: values}})
		unit := units[int(kind&^scaleAbsolute)%len(units)]
		b.value("power", unit[0], power)
		b.value("luminous_flux", unit[1], flux)

		if err := b.assess(ev); err != nil && notebook.CodeOf(err) != notebook.Invalid {
			t.Errorf("%g %s, %g %s, spectrum times %g: %v", power, unit[0], flux, unit[1], scale, err)
		}
	})
}

const scaleAbsolute = 0x80

// assess makes the assay of a sitting with its record.
func (b *bench) assess(ev *assay.Evaluator) error {
	e, err := b.gather(evidence.Ask{Terms: evidence.Usual(b.sit)})
	if err != nil {
		return err
	}
	p, err := e.Spectrum.Project(e.Projection)
	if err != nil {
		return &notebook.Error{Code: notebook.Invalid, Text: err.Error()}
	}
	r := new(assay.Result)
	ev.Evaluate(p, &e.Given, r)
	r.Emission, _ = emission.Analyse(e.Spectrum, emission.Options{})
	c, k, err := e.Case(r)
	if err != nil {
		return err
	}
	warnings, err := c.Assess(b.Context(), k, uncertainty.Options{Seed: 1, Draws: 100})
	if err != nil {
		return err
	}
	line := assay.NewRecorder(assay.Default()).Append(nil, new(assay.Input), r, append(e.Warnings(), warnings...))
	if !json.Valid(line) {
		b.Errorf("the record is no JSON: %s", line)
	}
	return nil
}
