package uncertainty

import (
	"math/rand/v2"
	"testing"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/spectrum"
)

func TestACaseHearsWhatItsSittingSays(t *testing.T) {
	s := sittingOf(t, triBand)
	p := projectedOf(t, s.Spectrum.Axis(), s.Spectrum.Values())
	c := &Conditions{Defaults: Usual()}
	joined, err := c.Sitting(s.Spectrum, spectrum.Sampled, assay.Given{})
	if err != nil {
		t.Fatal(err)
	}
	k := Case{Spectrum: s.Spectrum, Kind: spectrum.Sampled, Result: evaluated(p)}
	joined.Quantities = Shown(k.Result)
	want, _ := assess(t, joined, Options{Seed: 1, Draws: 200}).Summary()
	if _, err := c.Assess(t.Context(), &k, Options{Seed: 1, Draws: 200}); err != nil {
		t.Fatal(err)
	}
	for _, id := range []quantity.ID{quantity.CCT, quantity.Duv, quantity.Ra} {
		r := assay.Result{Uncertainty: want}
		if a, b := k.Result.Spread(id), r.Spread(id); a == nil || b == nil || a.U != b.U || a.Low != b.Low || a.High != b.High {
			t.Errorf("%s: %+v, not %+v", quantity.Get(id).Key, a, b)
		}
	}
	if k.Result.Uncertainty.Basis != c.Basis(&joined.Given) {
		t.Errorf("the basis is %q", k.Result.Uncertainty.Basis)
	}
}

func TestRepeatsStandInPlaceOfTheNoiseOfTheClass(t *testing.T) {
	axis, spectra := repeated(rand.New(rand.NewPCG(1, 2)), 6)
	mean, repeats, err := RepeatedSpectra(spectra, false)
	if err != nil {
		t.Fatal(err)
	}
	s := newSpectrum(t, spectrum.Relative, axis, mean)
	k := Case{Spectrum: s, Kind: spectrum.Sampled, Result: evaluated(projectedOf(t, axis, mean)), Repeats: &repeats, Quantities: []quantity.ID{quantity.CCT}}
	c := &Conditions{Defaults: Usual()}
	if _, err := c.Assess(t.Context(), &k, Options{Seed: 1, Draws: 200}); err != nil {
		t.Fatal(err)
	}
	sources := map[string]string{}
	for _, in := range k.Result.Uncertainty.Inputs {
		sources[in.Name] = in.Source
	}
	if _, noise := sources[PixelNoise]; noise || sources[Repeatability] != "the scatter of 6 spectra" {
		t.Errorf("the inputs are %v", sources)
	}
}
