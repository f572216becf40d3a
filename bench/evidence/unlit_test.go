package evidence_test

import (
	"slices"
	"testing"

	"lampassay/bench/evidence"
	"lampassay/bench/notebook"
)

// shine records a spectrum of so much light over what the detector gives in the dark.
func (b *bench) shine(quantity string, light, dark float64) int64 {
	b.Helper()
	values := glow(1)
	for i := range values {
		values[i] = values[i]*light + dark + 0.001*float64(i%3)
	}
	return b.append(notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: quantity, Axis: axis(), Samples: values}})
}

func TestADarkSpectrumAtTheEndIsTold(t *testing.T) {
	for name, c := range map[string]struct {
		quantity string
		dark     float64
		light    []float64 // in the order of recording
		lit      int64
	}{
		"burning":                     {"relative", 0, []float64{0.1, 0.5, 1, 1}, 0},
		"switched off":                {"relative", 0, []float64{0.1, 0.5, 1, 0}, 3},
		"a first spectrum, dark":      {"relative", 0, []float64{0}, 0},
		"off and on again":            {"relative", 0, []float64{1, 0, 0, 1}, 0},
		"dimmed to a tenth":           {"relative", 0, []float64{1, 1, 0.1}, 0},
		"counts over a pedestal":      {"counts", 900, []float64{500, 2000, 2000, 0}, 3},
		"counts of a lamp that burns": {"counts", 900, []float64{500, 2000, 2000}, 0},
		"never on":                    {"counts", 900, []float64{0, 0, 0}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t)
			var numbers []int64
			for _, light := range c.light {
				numbers = append(numbers, b.shine(c.quantity, light, c.dark))
			}
			d, err := evidence.Choose(t.Context(), b.nb, b.sit, func(string) []int64 { return numbers })
			if err != nil {
				t.Fatal(err)
			}
			if d.Lit != c.lit {
				t.Errorf("the last lit spectrum is called %d, not %d", d.Lit, c.lit)
			}
		})
	}
}

func TestOfALongSittingTheLastLitSpectrumIsFound(t *testing.T) {
	b := newBench(t)
	var numbers []int64
	for i := range 90 {
		numbers = append(numbers, b.shine("relative", []float64{1, 0}[i/61], 0)) // 61 lit, then 29 dark
	}
	b.strike(61, 61)
	choose := func() *evidence.Choices {
		return must(evidence.Choose(t.Context(), b.nb, b.sit, func(string) []int64 { return numbers }))
	}
	if d := choose(); d.Lit != 60 || d.Spectra != 60 {
		t.Errorf("the last lit spectrum is %d, with %d to be averaged, not 60 with 60", d.Lit, d.Spectra)
	}
	e, err := b.gather(evidence.Ask{Spectra: 4, Upto: 60})
	if err != nil {
		t.Fatal(err)
	}
	if want := []int64{57, 58, 59, 60}; !slices.Equal(e.Readings, want) {
		t.Errorf("the mean of the last lit is of readings %d, not %d", e.Readings, want)
	}
}
