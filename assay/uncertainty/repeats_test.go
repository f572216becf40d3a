package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"lampassay/assay/quantity"
	"lampassay/light/photometry"
	"lampassay/light/spectrum"
)

// repeated returns spectra of a lamp that is put back n times: its colour is
// another each time, and every sample has its noise.
func repeated(r *rand.Rand, n int) (axis []float64, spectra [][]float64) {
	axis = array()
	base := whiteLED.seen(axis, 2)
	largest := slices.Max(base)
	for range n {
		tilt, scale := 0.02*r.NormFloat64(), 1+0.05*r.NormFloat64()
		s := make([]float64, len(axis))
		for i, v := range base {
			s[i] = scale * (v*(1+tilt*(axis[i]-560)/100) + 0.002*largest*r.NormFloat64())
		}
		spectra = append(spectra, s)
	}
	return axis, spectra
}

// A type A evaluation of the figure itself is what the repeats of its spectrum
// have to give: mean, s/√n and n − 1 degrees of freedom.
func TestRepeatsOfASpectrumAreTypeAOfEveryFigure(t *testing.T) {
	axis, spectra := repeated(rand.New(rand.NewPCG(3, 4)), 6)
	var readings []float64
	for _, v := range spectra {
		p := projectedOf(t, axis, v)
		readings = append(readings, photometry.Luminous(p)/p.Total)
	}
	want, err := FromRepeats(readings)
	if err != nil {
		t.Fatal(err)
	}
	mean, repeats, err := RepeatedSpectra(spectra, false)
	if err != nil {
		t.Fatal(err)
	}
	s := &Sitting{
		Spectrum: newSpectrum(t, spectrum.Relative, axis, mean), Kind: spectrum.Sampled,
		Spectrometer: Spectrometer{Repeats: repeats}, Quantities: []quantity.ID{quantity.LER},
	}
	f := figure(t, assess(t, s, Options{Seed: 9, Draws: 40_000}), quantity.LER)
	near(t, "value", f.Value(), want.Mean(), 1e-4*want.Mean()) // the mean's figure and the figures' mean
	near(t, "u by the law", f.Law.U, want.U(), 0.001*want.U())
	near(t, "degrees of freedom", f.Law.DF, 5, 1e-9)
	// t with 5 degrees of freedom: 2.571 at 97.5 %, standard deviation √(5/3).
	near(t, "half the interval", (f.High-f.Low)/2, 2.571*want.U(), 0.03*want.U())
	near(t, "u by draws", f.StdDev, math.Sqrt(5.0/3)*want.U(), 0.02*want.U())
}

func TestTheScaleOfRepeatsCountsWhereItMeansSomething(t *testing.T) {
	_, spectra := repeated(rand.New(rand.NewPCG(5, 6)), 5)
	spread := func(scaled bool) float64 {
		_, r, err := RepeatedSpectra(spectra, scaled)
		if err != nil {
			t.Fatal(err)
		}
		totals := 0.0
		for _, d := range r.Departures {
			sum := 0.0
			for _, v := range d {
				sum += v
			}
			totals += sum * sum
		}
		return math.Sqrt(totals)
	}
	if a, b := spread(true), spread(false); !(a > 0) || b > 1e-9*a {
		t.Errorf("totals scatter by %g with the scale kept and %g without", a, b)
	}
}

func TestRepeatsThatSayNothingAreRefused(t *testing.T) {
	for _, bad := range [][][]float64{nil, {{1, 2}, {1, 2}, {1, 2}}, {{1, 2}, {1, 2}, {1, 2}, {1}}, {{1, 2}, {1, 2}, {1, 2}, {0, 0}}} {
		if _, _, err := RepeatedSpectra(bad, true); err == nil {
			t.Errorf("%v are repeats", bad)
		}
	}
}
