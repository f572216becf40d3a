package flux

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"lampassay/assay/uncertainty"
	"lampassay/light/distribution"
)

// truthOf integrates a lamp finely.
func truthOf(lamp func(gamma, c float64) float64) float64 {
	sum := 0.0
	for g := 0.25; g < 180; g += 0.5 {
		for c := 0.0; c < 360; c += 3 {
			sum += lamp(g, c) * math.Sin(g*deg)
		}
	}
	return sum * 0.5 * deg * 3 * deg
}

// holds counts how many of n simulated benches state an interval that holds the
// truth, and wants a share of 93 % to 97 %.
func holds(t *testing.T, n int, once func(rng *rand.Rand) (truth float64, r *Result)) {
	t.Helper()
	rng := rand.New(rand.NewPCG(3, 14))
	held := 0
	for range n {
		if truth, r := once(rng); r.Low <= truth && truth <= r.High {
			held++
		}
	}
	share := float64(held) / float64(n)
	t.Logf("%.1f %% of the intervals hold the truth", 100*share)
	if share < 0.93 || share > 0.97 {
		t.Errorf("%.1f %% of the intervals hold the truth, want 93 %% to 97 %%", 100*share)
	}
}

var few = uncertainty.Options{Draws: 2000}

// The bench's errors are drawn from what its owner believes; the code under test
// makes none of the readings.
func TestIntervalsOverAnglesHoldTheTruth(t *testing.T) {
	lamps := []func(g, c float64) float64{
		func(g, c float64) float64 { return 300 * math.Pow(cosine(g, c), 1.3) },
		func(g, c float64) float64 { return 60 + 30*math.Cos(g*deg)*math.Cos(g*deg) },
		func(g, c float64) float64 {
			return 500 * math.Exp(-g*g/(2*30*30)) * (1 + 0.2*math.Cos(2*c*deg) + 0.1*math.Sin(c*deg)*math.Sin(g*deg))
		},
	}
	truths := []float64{truthOf(lamps[0]), truthOf(lamps[1]), truthOf(lamps[2])}
	at, k := 0, 0
	holds(t, 600, func(rng *rand.Rand) (float64, *Result) {
		at, k = k%3, k+1
		lamp := lamps[at]
		a := bench(nil, distribution.None)
		m := a.Meter
		gain := (1 + m.Scale.U*rng.NormFloat64()) * (1 + m.Cosine.U*rng.NormFloat64()) * (m.Mismatch.Factor + m.Mismatch.U*rng.NormFloat64())
		distance, zero := 2+a.DistanceU.U*rng.NormFloat64(), a.AngleU.U*rng.NormFloat64()
		room := 1 + leftover*rng.NormFloat64()
		for c := 0.0; c < 360; c += 45 {
			for g := 0.0; g <= 180; g += 7.5 {
				direct := lamp(g+zero, c) / (distance * distance) / gain * (1 + m.Reading.U*rng.NormFloat64())
				const ambient = 1.0
				a.Readings = append(a.Readings, Reading{Gamma: g, Plane: c, Value: max(0, direct+room*ambient), Ambient: ambient, Distance: 2})
			}
		}
		r, err := a.Assess(context.Background(), few)
		if err != nil {
			t.Fatal(err)
		}
		return truths[at], &r.Result
	})
}

func TestIntervalsFromOneDirectionHoldTheTruth(t *testing.T) {
	holds(t, 1000, func(rng *rand.Rand) (float64, *Result) {
		d := OneDirection{Meter: MeterFor(uncertainty.Narrow), Distance: 1.5, DistanceU: Part{0.02, "tape"}, Model: distribution.Lambertian(), ModelU: ModelUncertainty(), Size: 0.3}
		const flux = 800.0
		m := d.Meter
		intensity := flux / math.Pi / (1 + d.ModelU.U*rng.NormFloat64())
		distance := d.Distance + d.DistanceU.U*rng.NormFloat64()
		gain := (1 + m.Scale.U*rng.NormFloat64()) * (1 + m.Cosine.U*rng.NormFloat64()) * (1 + m.Mismatch.U*rng.NormFloat64())
		direct := intensity / (distance * distance) * distribution.Ratio(d.Shape, d.Size, distance) / gain
		for range 3 {
			d.Lux = append(d.Lux, direct*(1+0.01*rng.NormFloat64())+4*(1+leftover*rng.NormFloat64()))
		}
		d.Ambient = 4
		r, err := d.Assess(context.Background(), few)
		if err != nil {
			t.Fatal(err)
		}
		return flux, r
	})
}

func TestIntervalsBySubstitutionHoldTheTruth(t *testing.T) {
	holds(t, 1000, func(rng *rand.Rand) (float64, *Result) {
		s := SubstitutionFor(uncertainty.White, Part{0.02, "certificate"}, true)
		const flux, throughput, dark = 640.0, 0.03, 0.2
		const alpha = 0.93 // the lamp absorbs more than the reference lamp
		s.Reference, s.Dark = 806, dark
		reference := s.Reference * (1 + s.ReferenceU.U*rng.NormFloat64())
		gain := throughput * alpha / (1 + s.Mismatch.U*rng.NormFloat64()) / (1 + s.Absorption.U*rng.NormFloat64()) / (1 + s.Uniformity.U*rng.NormFloat64())
		read := func(light float64) (list []float64) {
			for range 4 {
				list = append(list, light*(1+0.004*rng.NormFloat64())+dark)
			}
			return list
		}
		s.Lamp, s.Standard = read(flux*gain), read(reference*throughput)
		s.AuxiliaryLamp, s.AuxiliaryStandard = read(20*alpha), read(20)
		r, err := s.Assess(context.Background(), few)
		if err != nil {
			t.Fatal(err)
		}
		return flux, r
	})
}

func TestIntervalsFromSpectralIrradianceHoldTheTruth(t *testing.T) {
	holds(t, 1000, func(rng *rand.Rand) (float64, *Result) {
		const flux = 500.0
		s := Irradiance{Scale: ScaleOf(uncertainty.CompactArray()), OneDirection: OneDirection{
			Meter: MeterFor(uncertainty.White), Distance: 1, DistanceU: Part{0.01, "tape"}, Model: distribution.BeamAngle(60), ModelU: ModelUncertainty(),
		}}
		distance := s.Distance + s.DistanceU.U*rng.NormFloat64()
		lux := flux / s.Model.PerCandela() / (1 + s.ModelU.U*rng.NormFloat64()) / (distance * distance)
		lux /= (1 + s.Scale.U*rng.NormFloat64()) * (1 + s.Meter.Cosine.U*rng.NormFloat64()) * (1 + ambientU().U*rng.NormFloat64())
		s.Spectrum = irradiance(t, lux)
		r, err := s.Assess(context.Background(), few)
		if err != nil {
			t.Fatal(err)
		}
		return flux, r
	})
}

func TestIntervalsOfDeclaredValuesHoldTheTruth(t *testing.T) {
	holds(t, 1000, func(rng *rand.Rand) (float64, *Result) {
		truth := 806 * (1 + 0.1*(2*rng.Float64()-1))
		r, err := (&Declared{Flux: 806}).Assess(context.Background(), few)
		if err != nil {
			t.Fatal(err)
		}
		return truth, r
	})
}
