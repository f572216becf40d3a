package instrument

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/light/calibration"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// saturday is an invented spectrometer on a day on which its owner errs as they believe they may.
type saturday struct {
	*bad
	kelvin float64 // colour temperature of a reference lamp that is said to have 2856 K
	bend   float64 // departure from proportion at full scale, which nobody measured
	level  float64 // counts under the light that the dark does not have
}

const uReference = 20 // K

func newBench(r *rand.Rand) *saturday {
	b := &saturday{bad: newBad()}
	b.r = r
	b.order *= math.Exp(0.3 * r.NormFloat64())
	b.stray *= math.Exp(0.5 * r.NormFloat64())
	b.kelvin = 2856 + uReference*r.NormFloat64()
	b.bend = unknownBend * r.NormFloat64()
	b.level = uncertainty.CompactArray().Dark.U() * r.NormFloat64()
	return b
}

func (b *saturday) reference() light {
	t := calibration.FilamentTemperature(b.kelvin)
	return light{continuum: func(nm float64) float64 { return standards.Planck(nm, t) * calibration.Emissivity(nm, t) * 1e3 }}
}

// counted is what the detector makes of a light: bent, and on a level.
func (b *saturday) counted(l light, exposureMs, share float64) []float64 {
	rate := b.scaled(l, exposureMs, share)
	for p, v := range rate {
		rate[p] = v*(1+b.bend*v*exposureMs/b.full) + b.level*b.full*share/exposureMs
	}
	return rate
}

// calibrate is a Saturday of calibration. The axis is that of an earlier day
// and has moved since; a neon lamp says by how much.
func (b *saturday) calibrate(t *testing.T, w *calibration.Wavelength) *Instrument {
	t.Helper()
	in := &Instrument{Format: Format, Version: Version, Name: "bench", Pixels: len(b.axis), FullScale: b.full, BlindBelowNm: 348}
	in.Wavelength = &Dated[calibration.Wavelength]{Made: day("2026-03-01"), Value: *w}
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	counts, clipped := meanLight(t, b.bad, b.measure(b.scaled(lineLamp("neon"), 40, 0.8), 5, 40))
	shift, err := w.CheckShift("neon", counts, clipped)
	check(err)
	in.Shift = &Dated[calibration.Shift]{Made: day("2026-03-02"), Value: shift}
	d, err := in.Dispersion()
	check(err)
	counts, _ = meanLight(t, b.bad, b.measure(b.counted(behindLongPass(b.reference(), 570), 100, 0.8), 10, 100))
	stray, _, err := calibration.StrayShare(d.Axis(), counts, 555)
	check(err)
	in.Stray = &Dated[calibration.Stray]{Made: day("2026-03-02"), Value: stray}
	mercury, err := calibration.LampByName("mercury")
	check(err)
	counts, clipped = meanLight(t, b.bad, b.measure(b.scaled(lineLamp("mercury"), 40, 0.8), 10, 40))
	counts, err = stray.Correct(counts)
	check(err)
	order, err := calibration.NewSecondOrder(calibration.FindGhosts(d.Axis(), counts, clipped, mercury))
	check(err)
	in.SecondOrder = &Dated[calibration.SecondOrder]{Made: day("2026-03-02"), Value: order}
	// Neither correction is perfect: what it leaves is as large as is believed.
	b.stray *= 1 + strayKept*b.r.NormFloat64()
	b.order *= 1 + ghostKept*b.r.NormFloat64()
	ref, err := calibration.TungstenReference(2856, uReference)
	check(err)
	made, err := in.CalibrateResponse(b.measure(b.counted(b.reference(), 100, 0.85), 10, 100), ref)
	check(err)
	in.Response = &Dated[calibration.Response]{Made: day("2026-03-02"), Value: made.Response}
	return in
}

// wavelengths calibrates an axis from its own recordings of two lamps.
func (b *saturday) wavelengths(t *testing.T) *calibration.Wavelength {
	t.Helper()
	var recordings []calibration.Recording
	for _, name := range []string{"mercury-argon", "neon"} {
		lamp, err := calibration.LampByName(name)
		if err != nil {
			t.Fatal(err)
		}
		counts, clipped := meanLight(t, b.bad, b.measure(b.scaled(lineLamp(name), 40, 0.8), 5, 40))
		recordings = append(recordings, calibration.Recording{Name: name, Lamp: lamp, Counts: counts, Clipped: clipped})
	}
	w, err := calibration.CalibrateWavelength(recordings, calibration.Expected{})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// TestTheIntervalsOfACalibratedInstrumentHoldTheTruth lets invented benches
// calibrate themselves from raw counts and measure a lamp, and counts how often
// what is stated from the instrument file alone holds what is true.
func TestTheIntervalsOfACalibratedInstrumentHoldTheTruth(t *testing.T) {
	const benches, draws = 200, 199
	ids := []quantity.ID{quantity.CCT, quantity.Duv, quantity.Ra}
	r := rand.New(rand.NewPCG(5, 5))
	held := make([]int, len(ids))
	var w *calibration.Wavelength
	for k := range benches {
		b := newBench(r)
		if k%10 == 0 { // an axis serves ten Saturdays, on each of which it has moved
			w = b.wavelengths(t)
		}
		move := 0.5 * r.NormFloat64()
		for p := range b.axis {
			b.axis[p] += move * (b.edge(p+1) - b.edge(p))
		}
		in := b.calibrate(t, w)
		m := b.measure(b.counted(light{continuum: phosphorLED}, 100, 0.8), 4, 100)
		c, err := in.Correct(m, Options{})
		if err != nil {
			t.Fatal(err)
		}
		known, err := in.Sureness(m, c, Options{}, uncertainty.CompactArray())
		if err != nil {
			t.Fatal(err)
		}
		s := uncertainty.Sitting{Spectrum: c.Spectrum, Kind: spectrum.Sampled, Spectrometer: known, Quantities: ids}
		model, err := s.Model()
		if err != nil {
			t.Fatal(err)
		}
		sim, err := model.MonteCarlo(context.Background(), uncertainty.Options{Seed: uint64(k), Draws: draws, Workers: 1})
		if err != nil {
			t.Fatal(err)
		}
		from, to := c.Spectrum.Range()
		truth := figures(t, sampled(t, b.slit(phosphorLED), math.Ceil(from), math.Floor(to)))
		for i, v := range []float64{truth.CCT, truth.Duv, truth.Ra} {
			f := &sim.Outputs[i]
			if f.Low <= v && v <= f.High {
				held[i]++
			}
		}
	}
	for i, id := range ids {
		share := float64(held[i]) / benches
		t.Logf("%s: %d of %d", quantity.Get(id).Key, held[i], benches)
		// 94.5 % is to be expected of 199 draws; the band is 2.6 standard
		// deviations of 200 trials wide, to either side.
		if share < 0.90 || share > 0.985 {
			t.Errorf("%s: %.1f %% of the intervals hold the truth", quantity.Get(id).Key, 100*share)
		}
	}
}

// slit is a light as the instrument's slit shows it.
func (b *bad) slit(f func(nm float64) float64) func(nm float64) float64 {
	sigma := b.bandwidth / 2.354820045
	return func(nm float64) float64 {
		sum, weight := 0.0, 0.0
		for k := -10; k <= 10; k++ {
			z := 0.35 * float64(k)
			g := math.Exp(-z * z / 2)
			sum += g * f(nm+z*sigma)
			weight += g
		}
		return sum / weight
	}
}
