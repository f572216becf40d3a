package standards

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// exitance is ∫ Planck dλ over a to b, in steps even in the logarithm.
func exitance(kelvin, a, b float64, weight func(float64) float64) float64 {
	const n = 20000
	h := math.Log(b/a) / n
	s := 0.0
	for i := range n {
		l := a * math.Exp(h*(float64(i)+.5))
		s += Planck(l, kelvin) * weight(l) * l * h
	}
	return s
}

func one(float64) float64 { return 1 }

func TestPlanckObeysStefanAndBoltzmann(t *testing.T) {
	// σ = 5.670374419e-8 W/(m² K⁴), CODATA 2018. C2 is rounded to 1.4388e-2
	// here, 1.6e-5 high, which makes the total (1 − 6.3e-5) of it.
	rapid.Check(t, func(t *rapid.T) {
		kelvin := rapid.Float64Range(500, 20000).Draw(t, "kelvin")
		scale := 2898e3 / kelvin // nm: near the maximum
		got := exitance(kelvin, scale/30, scale*3000, one)
		want := 5.670374419e-8 * math.Pow(kelvin, 4)
		if !(math.Abs(got/want-1) <= 1e-4) {
			t.Fatalf("%g K: %.8g W/m², want %.8g", kelvin, got, want)
		}
	})
}

func TestPlanckPeaksWhereWienSays(t *testing.T) {
	// λ_max T = C2/4.965114231744: the root of x = 5(1 − e⁻ˣ).
	rapid.Check(t, func(t *rapid.T) {
		kelvin := rapid.Float64Range(500, 20000).Draw(t, "kelvin")
		peak := C2 / 4.965114231744 / kelvin * 1e9
		at := Planck(peak, kelvin)
		for _, off := range []float64{.99, .999, 1.001, 1.01} {
			if Planck(peak*off, kelvin) >= at {
				t.Fatalf("%g K: more at %g nm than at %g nm", kelvin, peak*off, peak)
			}
		}
	})
}

func TestPlanckAtItsLimits(t *testing.T) {
	// So far in the ultraviolet that the exponential overflows: zero, not NaN.
	near(t, "1 nm at 300 K", Planck(1, 300), 0, 0)
	// Rayleigh and Jeans at the other end: 2πckT/λ⁴.
	l, kelvin := 1e8, 3000.0
	rayleigh := C1 / C2 * kelvin / math.Pow(l*1e-9, 4) * 1e-9
	near(t, "100 mm at 3000 K", Planck(l, kelvin)/rayleigh, 1, 1e-4)
}

func TestEfficacyOfBlackbodies(t *testing.T) {
	// Luminous efficacy of all the radiation, lm/W: an independent computation
	// by the definitions with V(λ) at 5 nm, good to ±0.3 %. The maximum near
	// 6620 K is about 95 lm/W.
	v := V()
	for _, c := range []struct{ kelvin, want float64 }{
		{2700, 12.36}, {2800, 14.91}, {2856, 16.45}, {3000, 20.67},
		{4000, 54.71}, {5800, 92.26}, {6504, 95.37}, {6620, 95.43},
	} {
		scale := 2898e3 / c.kelvin
		lumens := 683.002 * exitance(c.kelvin, 360, 830, v.At)
		watts := exitance(c.kelvin, scale/30, scale*3000, one)
		near(t, "lm/W", lumens/watts, c.want, .003*c.want)
	}
}
