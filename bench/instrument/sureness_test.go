package instrument

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/light/spectrum"
)

// measured is an instrument that was calibrated today, and a lamp it has seen.
func measured(t *testing.T, frames int) (*saturday, *Instrument, Measurement, *Corrected) {
	t.Helper()
	b := newBench(rand.New(rand.NewPCG(8, 9)))
	in := b.calibrate(t, b.wavelengths(t))
	m := b.measure(b.counted(light{continuum: phosphorLED}, 100, 0.8), frames, 100)
	c, err := in.Correct(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return b, in, m, c
}

func TestTheAxisIsAsSureAsTheFileSaysAndLessBeyondTheLastLine(t *testing.T) {
	_, in, _, _ := measured(t, 1)
	w := &in.Wavelength.Value
	e, ok := axisErrors(w)
	if !ok {
		t.Fatal("no errors of the axis")
	}
	u := func(nm float64) float64 {
		i, _ := slices.BinarySearch(e.Nm, nm)
		sum := 0.0
		for _, c := range e.Curves {
			sum += c[i] * c[i]
		}
		return math.Sqrt(sum)
	}
	largest := 0.0
	for nm := w.FromNm; nm < w.ToNm-6; nm++ {
		largest = max(largest, u(nm))
	}
	if math.Abs(largest-w.UNm) > 0.15*w.UNm {
		t.Errorf("between the lines u is up to %.4f nm, want %.4f nm", largest, w.UNm)
	}
	if at, beyond := u(w.FromNm+1), u(e.Nm[0]); beyond < 1.3*at {
		t.Errorf("u is %.4f nm at the first line and %.4f nm at %.0f nm", at, beyond, e.Nm[0])
	}
	few := *w
	few.Lines = few.Lines[:3]
	if _, ok := axisErrors(&few); ok {
		t.Error("three lines give the errors of a cubic")
	}
}

func TestNoiseOfFramesIsThatOfTheirMean(t *testing.T) {
	b, in, m, c := measured(t, 4)
	known, err := in.Sureness(m, c, Options{}, uncertainty.CompactArray())
	if err != nil {
		t.Fatal(err)
	}
	if n := known.Noise; n.Floor != 0 || n.Peak != 0 || len(n.Samples) != c.Spectrum.Len() {
		t.Fatalf("the noise is still the class's: %v, %v", n.Floor, n.Peak)
	}
	// Counts have the variance of the simulation: read noise, and a quarter of a
	// count for each. Light and dark are means of four.
	axis, values := c.Spectrum.Axis(), c.Spectrum.Values()
	sum, n := 0.0, 0.0
	for i := 100; i < len(axis)-100; i++ {
		r, _ := in.Response.Value.At(axis[i])
		counts := values[i] * r * 100
		want := math.Sqrt((2*b.read*b.read+max(counts, 0)/4)/4) / 100 / r
		sum += known.Noise.Samples[i] / want
		n++
	}
	// The response's noise comes on top: it was the mean of ten.
	if ratio := sum / n; ratio < 0.95 || ratio > 1.3 {
		t.Errorf("the noise is %.2f times that of the counts", ratio)
	}
	one := Measurement{Frames: m.Frames[:1], Darks: m.Darks}
	if known, err = in.Sureness(one, c, Options{}, uncertainty.CompactArray()); err != nil || known.Noise.Peak != uncertainty.CompactArray().Noise.Peak {
		t.Errorf("one frame tells its noise: %v, %v", known.Noise.Peak, err)
	}
}

func TestAnErrorOfTheReferenceLampTiltsAllOfTheSpectrum(t *testing.T) {
	_, in, m, c := measured(t, 1)
	known, err := in.Sureness(m, c, Options{}, uncertainty.CompactArray())
	if err != nil {
		t.Fatal(err)
	}
	s := uncertainty.Sitting{Spectrum: c.Spectrum, Kind: spectrum.Sampled, Spectrometer: known, Quantities: []quantity.ID{quantity.CCT}}
	model, err := s.Model()
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]string{}
	for _, input := range model.Inputs {
		names[input.Name] = input.Source
	}
	for _, name := range []string{
		uncertainty.WavelengthOffset, uncertainty.WavelengthStretch, uncertainty.WavelengthAxis, uncertainty.Bandwidth, uncertainty.ReferenceLamp,
		uncertainty.ResponseCurve, uncertainty.StrayLight, uncertainty.SecondOrder,
	} {
		if source, ok := names[name]; !ok || source == uncertainty.OwnEstimate {
			t.Errorf("%q is from %q", name, source)
		}
	}
	for _, name := range []string{uncertainty.Linearity, uncertainty.DarkLevel} {
		if names[name] != uncertainty.OwnEstimate {
			t.Errorf("%q is from %q, and nobody measured it", name, names[name])
		}
	}
	i := slices.IndexFunc(known.Curves, func(c uncertainty.Curve) bool { return c.Name == uncertainty.ReferenceLamp })
	tilt := known.Curves[i]
	at := func(nm float64) float64 {
		p, _ := slices.BinarySearch(c.Spectrum.Axis(), nm)
		return tilt.Distribution.U() * tilt.Values[p] / c.Spectrum.Values()[p]
	}
	// 20 K at 2856 K by Planck's formula: +1.5 % at 450 nm, −0.84 % at 650 nm.
	if a, b := at(450), at(650); math.Abs(a-0.0152) > 0.0006 || math.Abs(b+0.0084) > 0.0006 {
		t.Errorf("20 K tilt the spectrum by %+.4f at 450 nm and %+.4f at 650 nm", a, b)
	}
}

func TestAnAxisThatNoLampHasCheckedMayHaveDrifted(t *testing.T) {
	_, in, m, _ := measured(t, 1)
	in.Shift = nil
	c, err := in.Correct(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	known, err := in.Sureness(m, c, Options{}, uncertainty.CompactArray())
	if err != nil || known.Offset.U() != unwatchedDrift || known.Sources[uncertainty.WavelengthOffset] != uncertainty.OwnEstimate {
		t.Errorf("offset %v from %q, %v", known.Offset, known.Sources[uncertainty.WavelengthOffset], err)
	}
}

func TestWithoutADarkAllOfTheLowestCountMayBeDark(t *testing.T) {
	_, in, m, _ := measured(t, 1)
	m.Darks = nil
	c, err := in.Correct(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	known, err := in.Sureness(m, c, Options{}, uncertainty.CompactArray())
	if err != nil {
		t.Fatal(err)
	}
	counts := m.Frames[0].Counts
	want := slices.Min(counts) / slices.Max(counts)
	i := slices.IndexFunc(known.Curves, func(c uncertainty.Curve) bool { return c.Name == uncertainty.DarkLevel })
	if got := known.Curves[i].Distribution.U(); math.Abs(got-want) > 1e-12 || got < 0.01 {
		t.Errorf("u of the dark level is %g of the largest count, want %g", got, want)
	}
}

func TestCountsWithoutAResponseKeepTheClass(t *testing.T) {
	_, in, m, _ := measured(t, 1)
	opt := Options{Skip: []StepName{StepResponse}}
	c, err := in.Correct(m, opt)
	if err != nil {
		t.Fatal(err)
	}
	class := uncertainty.CompactArray()
	known, err := in.Sureness(m, c, opt, class)
	if err != nil || known.Offset != class.Offset || len(known.Curves) != 0 {
		t.Errorf("%+v, %v", known.Offset, err)
	}
}
