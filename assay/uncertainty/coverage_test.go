package uncertainty

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// source is what is true of an invented lamp: its spectrum at a wavelength as a
// slit of a width shows it.
type source func(nm, slit float64) float64

func filament(nm, _ float64) float64 { return standards.Planck(nm, 2900) }

// simulated is one bench: what is true, and the sitting that its owner has.
type simulated struct {
	truth   *assay.Result
	sitting Sitting
}

// simulateBench makes a bench whose instruments err by amounts drawn from what their
// owner believes of them. The reading comes from the lamp's formula at the true
// wavelengths and through the true slit, and the errors of the response from the
// covariance matrix itself: none of it uses the code under test.
func simulateBench(t testing.TB, rng *rand.Rand, lamp source, in Spectrometer, factors []Factor) simulated {
	const flux, power = 806.0, 8.5
	axis := array()
	slit := in.Bandwidth.Mean()
	clean := make([]float64, len(axis))
	for i, nm := range axis {
		clean[i] = lamp(nm, slit)
	}
	truth := new(assay.Result)
	p, err := newSpectrum(t, spectrum.Relative, axis, clean).Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	assay.NewEvaluator().Evaluate(p, &assay.Given{Flux: assay.Measured(flux), Power: assay.Measured(power)}, truth)

	response := responseError(t, rng, &in.Response)
	kelvin := in.Reference.draw(rng)
	offset, stretch, width := in.Offset.draw(rng), in.Stretch.draw(rng)/100, in.Bandwidth.draw(rng)
	reading := make([]float64, len(axis))
	mean, largest := 0.0, 0.0
	for i, nm := range axis {
		gain := (1 + response(nm)) * standards.Planck(nm, kelvin) / standards.Planck(nm, in.Reference.Mean()) *
			standards.Planck(560, in.Reference.Mean()) / standards.Planck(560, kelvin)
		reading[i] = lamp(nm+offset+stretch*(nm-550), width) / gain
		mean += reading[i] / float64(len(axis))
		largest = max(largest, reading[i])
	}
	level := mean*in.Stray.draw(rng) + largest*in.Dark.draw(rng)
	for i := range reading {
		share := reading[i] / largest
		sd := math.Sqrt(in.Noise.Floor*in.Noise.Floor*(1-share) + in.Noise.Peak*in.Noise.Peak*share)
		reading[i] += level + largest*sd*rng.NormFloat64()
	}
	given := assay.Given{Flux: assay.Measured(flux), Power: assay.Measured(power)}
	for _, f := range factors {
		x := f.Distribution.draw(rng)
		given.Flux.Value /= math.Pow(1+x, f.Flux+f.Light)
		given.Power.Value /= math.Pow(1+x, f.Power)
	}
	return simulated{truth, Sitting{
		Spectrum: newSpectrum(t, spectrum.Relative, axis, reading),
		Given:    given, Spectrometer: in, Factors: factors,
	}}
}

// responseError draws a relative error of the response as a function of
// wavelength.
func responseError(t testing.TB, rng *rand.Rand, r *Response) func(nm float64) float64 {
	n := len(r.Nm)
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, r.U[i]*r.U[j]*math.Exp(-math.Abs(r.Nm[i]-r.Nm[j])/r.Correlation))
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		t.Fatal("the covariance of the response is not positive definite")
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	z := mat.NewVecDense(n, nil)
	for i := range n {
		z.SetVec(i, rng.NormFloat64())
	}
	var e mat.VecDense
	e.MulVec(&lower, z)
	return func(nm float64) float64 {
		k := 0
		for k+2 < n && r.Nm[k+1] <= nm {
			k++
		}
		f := min(max((nm-r.Nm[k])/(r.Nm[k+1]-r.Nm[k]), 0), 1)
		return (1-f)*e.AtVec(k) + f*e.AtVec(k+1)
	}
}

// TestStatedIntervalsHoldTheTruth simulates 500 benches. An interval of 95 %
// from M draws has in truth q/(M+1), which for 199 is 94.5 %; and of 500 benches
// two standard deviations are 2 %.
func TestStatedIntervalsHoldTheTruth(t *testing.T) {
	const benches, draws = 500, 199
	ids := []quantity.ID{quantity.LuminousFlux, quantity.LuminousEfficacy, quantity.CCT, quantity.Duv, quantity.Ra, quantity.Rf}
	lamps := []source{whiteLED.at, triBand.at, sodium.at}
	factors := append(append(SetUp(White, 0.01, 2), LuxOverAngles(White)...), PlugInMeter(8.5)...)
	held := make([]int, len(ids))
	rng := rand.New(rand.NewPCG(2, 2))
	for k := range benches {
		b := simulateBench(t, rng, lamps[k%len(lamps)], CompactArray(), factors)
		b.sitting.Quantities = ids
		m, err := b.sitting.Model()
		if err != nil {
			t.Fatal(err)
		}
		s, err := m.MonteCarlo(context.Background(), Options{Seed: uint64(k), Draws: draws})
		if err != nil {
			t.Fatal(err)
		}
		for i, id := range ids {
			if v, ok := b.truth.Value(id); ok && s.Outputs[i].Low <= v && v <= s.Outputs[i].High {
				held[i]++
			}
		}
	}
	for i, id := range ids {
		share := float64(held[i]) / benches
		t.Logf("%s: %.1f %%", quantity.Get(id).Key, 100*share)
		if share < 0.93 || share > 0.97 {
			t.Errorf("%s: the 95 %% interval holds the truth in %.1f %% of the benches", quantity.Get(id).Key, 100*share)
		}
	}
}

// A filament is its own reference: its indices are 100, and every error of
// measurement lowers them. The draws alone would never reach that far.
func TestAnIndexAtItsCeilingIsNotDenied(t *testing.T) {
	const benches, draws = 80, 199
	ids := []quantity.ID{quantity.Ra, quantity.Rf, quantity.R(9), quantity.SSI}
	held, alone := make([]int, len(ids)), 0
	rng := rand.New(rand.NewPCG(3, 2))
	for k := range benches {
		b := simulateBench(t, rng, filament, CompactArray(), nil)
		b.sitting.Quantities = ids
		m, err := b.sitting.Model()
		if err != nil {
			t.Fatal(err)
		}
		s, err := m.MonteCarlo(context.Background(), Options{Seed: uint64(k), Draws: draws})
		if err != nil {
			t.Fatal(err)
		}
		at := evaluated(projectedOf(t, b.sitting.Spectrum.Axis(), b.sitting.Spectrum.Values()))
		for i, id := range ids {
			v, _ := at.Value(id)
			truth, _ := b.truth.Value(id)
			f := Figure{ID: id, Estimate: s.Outputs[i], Law: Law{Value: v}}
			if f.High >= truth {
				alone++
			}
			f.reachCeiling()
			if f.Low <= truth && truth <= f.High+0.001 { // Rf of no difference at all is 100.0005
				held[i]++
			}
		}
	}
	if alone > 0 {
		t.Errorf("the draws alone reached the ceiling %d times: what is this for?", alone)
	}
	for i, id := range ids {
		t.Logf("%s: %.1f %%", quantity.Get(id).Key, 100*float64(held[i])/benches)
		// 95 % less two standard deviations of 80 benches.
		if float64(held[i])/benches < 0.90 {
			t.Errorf("%s: the interval holds the truth in only %d of %d benches", quantity.Get(id).Key, held[i], benches)
		}
	}
}

func TestOnlyLikenessHasACeiling(t *testing.T) {
	for _, c := range []struct {
		id   quantity.ID
		v, u float64
		at   bool
	}{
		{quantity.Ra, 97.5, 1, true}, {quantity.Ra, 97, 1, false}, {quantity.R(14), 99, 1, true}, {quantity.SSI, 99, 1, true},
		{quantity.RfHue(16), 99, 1, true}, {quantity.RfSample(1), 99, 1, true},
		{quantity.Rg, 99, 1, false}, {quantity.CCT, 99, 1, false}, {quantity.RcsHue(1), 99, 1, false},
	} {
		f := Figure{ID: c.id, Estimate: Estimate{StdDev: c.u, Low: c.v - 2*c.u, High: c.v + 2*c.u}, Law: Law{Value: c.v}}
		f.reachCeiling()
		if f.AtCeiling != c.at || c.at && f.High < 100 {
			t.Errorf("%s at %g ± %g: %v, up to %g", quantity.Get(c.id).Key, c.v, c.u, f.AtCeiling, f.High)
		}
	}
}

// Low-pressure sodium: some draws have no meaning left and lie hundreds away.
func TestFarDrawsDoNotReachTheCeiling(t *testing.T) {
	f := Figure{ID: quantity.Ra, Estimate: Estimate{StdDev: 200, Low: -59, High: -34}, Law: Law{Value: -46}}
	if f.reachCeiling(); f.AtCeiling {
		t.Error("an index of −46 may be 100")
	}
}
