package colorimetry

import (
	"math"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"

	"pgregory.net/rapid"
)

// whites are achromatic stimuli in use: E, illuminant A and D65.
var whites = []struct{ x, y float64 }{{1.0 / 3, 1.0 / 3}, {.44758, .40745}, {.3127, .3290}}

// line returns the chromaticity of monochromatic light.
func line(nm int) (x, y float64) {
	p := new(spectrum.Projected)
	p.B[nm-spectrum.GridFirst] = 1
	return Tristimulus(standards.CIE1931(), p).XY()
}

// Primaries of IEC 61966-2-1 against D65: 611.3, 549.1 and 464.3 nm, from
// memory; tolerance 0.1 nm, for the printed digit.
func TestDominantWavelengthsOfTheSRGBPrimaries(t *testing.T) {
	for _, c := range []struct{ x, y, nm float64 }{{.64, .33, 611.3}, {.30, .60, 549.1}, {.15, .06, 464.3}} {
		lambda, purity, ok := Dominant(c.x, c.y, .3127, .3290)
		if !ok || !near(lambda, c.nm, 0.1) || purity >= 1 || purity <= 0 {
			t.Errorf("%g, %g: %.2f nm, %.4f, %v; want %g nm", c.x, c.y, lambda, purity, ok, c.nm)
		}
	}
}

func TestMonochromaticLightIsItsOwnDominantWavelength(t *testing.T) {
	for _, w := range whites {
		for nm := spectralFirst; nm <= spectralLast; nm++ {
			x, y := line(nm)
			lambda, purity, ok := Dominant(x, y, w.x, w.y)
			if !ok || !near(lambda, float64(nm), 1e-7) || !near(purity, 1, 1e-12) {
				t.Errorf("%d nm against %g, %g: %.9f nm, %.15f, %v", nm, w.x, w.y, lambda, purity, ok)
			}
		}
	}
}

// From 699 nm on the tables leave one chromaticity and their rounding, 2e-7 in
// x, y, where a nanometre is 1e-5.
func TestFarRedLightIsTheEndOfTheLocus(t *testing.T) {
	for _, w := range whites {
		for nm := spectralLast; nm <= 830; nm++ {
			x, y := line(nm)
			lambda, purity, ok := Dominant(x, y, w.x, w.y)
			if !ok || !near(lambda, spectralLast, 0.02) || !near(purity, 1, 1e-6) {
				t.Errorf("%d nm against %g, %g: %.4f nm, %.9f, %v", nm, w.x, w.y, lambda, purity, ok)
			}
		}
	}
}

func TestPurityIsTheShareOfTheWayToTheLocus(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		w := whites[rapid.IntRange(0, len(whites)-1).Draw(r, "white")]
		nm := rapid.IntRange(400, 680).Draw(r, "nm")
		share := rapid.Float64Range(0.001, 1).Draw(r, "share")
		x, y := line(nm)
		x, y = w.x+share*(x-w.x), w.y+share*(y-w.y)
		lambda, purity, ok := Dominant(x, y, w.x, w.y)
		if !ok || !near(lambda, float64(nm), 1e-6) || !near(purity, share, 1e-12) {
			r.Errorf("%d nm at %g: %g nm, %g, %v", nm, share, lambda, purity, ok)
		}
	})
}

func TestPurplesHaveTheComplementaryWavelengthWithAMinusSign(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		w := whites[rapid.IntRange(0, len(whites)-1).Draw(r, "white")]
		along := rapid.Float64Range(0.001, 0.999).Draw(r, "along")
		share := rapid.Float64Range(0.001, 1).Draw(r, "share")
		vx, vy := line(spectralFirst)
		rx, ry := line(spectralLast)
		x, y := vx+along*(rx-vx), vy+along*(ry-vy)
		x, y = w.x+share*(x-w.x), w.y+share*(y-w.y)
		lambda, purity, ok := Dominant(x, y, w.x, w.y)
		if !ok || lambda > -490 || lambda < -580 || !near(purity, share, 1e-12) {
			r.Fatalf("%g, %g: %g nm, %g, %v; want purity %g", x, y, lambda, purity, ok, share)
		}
		// What lies opposite has that dominant wavelength.
		opposite, _, ok := Dominant(w.x-0.01*(x-w.x), w.y-0.01*(y-w.y), w.x, w.y)
		if !ok || !near(opposite, -lambda, 1e-6) {
			r.Errorf("opposite %g nm lies %g nm, %v", lambda, opposite, ok)
		}
	})
}

func TestNoDominantWavelengthWithoutADirection(t *testing.T) {
	for _, c := range []struct{ x, y, xw, yw float64 }{
		{.3127, .3290, .3127, .3290},
		{.3127 + 1e-12, .3290, .3127, .3290},
		{math.NaN(), math.NaN(), .3127, .3290},
		{.3, .3, math.NaN(), math.NaN()},
		{.3, .3, .9, .9}, // the achromatic stimulus is no colour
		{.3, .3, .1, .1},
		{.9, .9, .1, .1},
	} {
		if lambda, purity, ok := Dominant(c.x, c.y, c.xw, c.yw); ok {
			t.Errorf("%+v: %g nm, %g", c, lambda, purity)
		}
	}
}
