package uncertainty

import (
	"context"
	"math"
	"testing"

	"lampassay/assay"
	"lampassay/light/spectrum"
)

// line is a part of an invented lamp: a Gaussian of an area at a wavelength.
type line struct{ nm, fwhm, area float64 }

// lamp is an invented lamp: what is true of it.
type lamp []line

var (
	whiteLED = lamp{{452, 20, 20}, {545, 90, 42}, {610, 100, 46}}
	triBand  = lamp{{404.66, 0.3, 1.2}, {435.83, 0.3, 5}, {487, 9, 7}, {544, 3.5, 22}, {546.07, 0.3, 6}, {587, 9, 7}, {611.5, 3.5, 30}, {631, 5, 4}, {450, 50, 12}}
	sodium   = lamp{{498.3, 0.4, 3}, {568.5, 1, 8}, {580, 14, 26}, {600, 22, 40}, {615.8, 0.6, 4}, {470, 1, 2}, {590, 180, 14}, {819, 1, 12}}
	lowSox   = lamp{{589.0, 0.1, 66}, {589.59, 0.1, 34}}
)

// at returns the lamp as a slit of a width shows it at a wavelength.
func (l lamp) at(nm, slit float64) float64 {
	s := 0.0
	for _, p := range l {
		w := math.Hypot(p.fwhm, slit)
		d := (nm - p.nm) / w
		if d > -3 && d < 3 {
			s += p.area / w * math.Exp(-4*math.Ln2*d*d)
		}
	}
	return s * math.Sqrt(4*math.Ln2/math.Pi)
}

// array is the axis of an instrument with a grating: uneven, 2048 samples.
func array() []float64 {
	nm := make([]float64, 2048)
	for i := range nm {
		x := float64(i)
		nm[i] = 338 + 0.27*x - 6e-6*x*x
	}
	return nm
}

// seen returns the lamp on the array, at places that may differ from the axis.
func (l lamp) seen(axis []float64, slit float64) []float64 {
	v := make([]float64, len(axis))
	for i, nm := range axis {
		v[i] = l.at(nm, slit)
	}
	return v
}

func newSpectrum(t testing.TB, q spectrum.Quantity, axis, values []float64) *spectrum.Spectrum {
	t.Helper()
	s, err := spectrum.New(q, axis, values)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func sittingOf(t testing.TB, l lamp) *Sitting {
	return &Sitting{
		Spectrum:     newSpectrum(t, spectrum.Relative, array(), l.seen(array(), 2)),
		Given:        assay.Given{Flux: assay.Measured(806), Power: assay.Measured(8.5)},
		Spectrometer: CompactArray(),
		Factors:      append(append(SetUp(White, 0.01, 2), LuxOverAngles(White)...), PlugInMeter(8.5)...),
	}
}

func BenchmarkTenThousandDraws(b *testing.B) {
	m, err := sittingOf(b, triBand).Model()
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.MonteCarlo(context.Background(), Options{Seed: 1, Draws: 10_000}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDraw(b *testing.B) {
	m, err := sittingOf(b, triBand).Model()
	if err != nil {
		b.Fatal(err)
	}
	p, err := m.prepare()
	if err != nil {
		b.Fatal(err)
	}
	w := p.worker()
	w.stream(1, 0)
	b.ReportAllocs()
	for b.Loop() {
		w.draw()
		w.f(w.x, w.y)
	}
}
