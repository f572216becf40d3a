package colorimetry

import (
	"image/color"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The matrix from linear sRGB as IEC 61966-2-1 prints it, to four decimals.
func TestTheSRGBMatrixIsTheInverseOfThePrintedOne(t *testing.T) {
	printed := matrix{{0.4124, 0.3576, 0.1805}, {0.2126, 0.7152, 0.0722}, {0.0193, 0.1192, 0.9505}}
	forward := srgb.inverse()
	for i := range printed {
		for j := range printed[i] {
			if !near(forward[i][j], printed[i][j], 5e-5) {
				t.Errorf("row %d, column %d: %.9f, printed %g", i, j, forward[i][j], printed[i][j])
			}
		}
	}
}

// IEC 61966-2-1: primaries and white.
func TestPrimariesAndWhiteOfSRGB(t *testing.T) {
	if r, g, b := SRGBFromXYZ(D65()); !near(r, 1, 1e-14) || !near(g, 1, 1e-14) || !near(b, 1, 1e-14) {
		t.Errorf("white: %.17g, %.17g, %.17g", r, g, b)
	}
	forward := srgb.inverse()
	for i, want := range [][2]float64{{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}} {
		x, y := XYZ{forward[0][i], forward[1][i], forward[2][i]}.XY()
		if !near(x, want[0], 1e-14) || !near(y, want[1], 1e-14) {
			t.Errorf("primary %d: %.15f, %.15f", i, x, y)
		}
	}
}

func TestSwatchesOfKnownColours(t *testing.T) {
	for _, c := range []struct {
		name string
		c    XYZ
		hex  string
	}{
		{"white", D65(), "#ffffff"},
		{"brighter than white", D65().Scale(1.5), "#ffffff"},
		{"a blue as bright as white", XYZFromXY(0.15, 0.06, 1.5), "#ffffff"},
		{"black", XYZ{}, "#000000"},
		{"less than black", D65().Scale(-1), "#000000"},
		{"nothing", XYZ{math.NaN(), math.NaN(), math.NaN()}, "#000000"},
		// 18 %: 1.055·0.18^(1/2.4) − 0.055 = 0.4614, of 255 118.
		{"18 % grey", D65().Scale(0.18), "#767676"},
		{"the red primary", XYZFromXY(0.64, 0.33, 0.21263900587), "#ff0000"},
	} {
		if got := Hex(Swatch(c.c)); got != c.hex {
			t.Errorf("%s: %s, want %s", c.name, got, c.hex)
		}
	}
}

// decode is the inverse transfer function of IEC 61966-2-1.
func decode(v uint8) float64 {
	f := float64(v) / 255
	if f <= 0.04045 {
		return f / 12.92
	}
	return math.Pow((f+0.055)/1.055, 2.4)
}

func TestEveryDisplayableColourIsItsOwnSwatch(t *testing.T) {
	forward := srgb.inverse()
	rapid.Check(t, func(r *rapid.T) {
		want := color.NRGBA{rapid.Uint8().Draw(r, "r"), rapid.Uint8().Draw(r, "g"), rapid.Uint8().Draw(r, "b"), 255}
		x, y, z := forward.apply(decode(want.R), decode(want.G), decode(want.B))
		if got := Swatch(XYZ{x, y, z}); got != want {
			r.Errorf("%v became %v", want, got)
		}
	})
}

// xyz turns linear sRGB back.
func xyz(r, g, b float64) XYZ {
	forward := srgb.inverse()
	x, y, z := forward.apply(r, g, b)
	return XYZ{x, y, z}
}

func inGamut(r, g, b float64) bool {
	return min(r, g, b) >= -1e-12 && max(r, g, b) <= 1+1e-12
}

// sameHue compares directions from D65 in the chromaticity diagram.
func sameHue(p, q XYZ) bool {
	px, py := p.XY()
	qx, qy := q.XY()
	a, b := math.Hypot(px-.3127, py-.3290), math.Hypot(qx-.3127, qy-.3290)
	if a < 1e-6 || b < 1e-6 {
		return true // grey has no direction
	}
	return math.Hypot((px-.3127)/a-(qx-.3127)/b, (py-.3290)/a-(qy-.3290)/b) < 1e-6
}

func TestFittingKeepsLuminanceAndDominantWavelength(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		c := colour(r)
		c = c.Scale(rapid.Float64Range(0.001, 0.999).Draw(r, "luminance") / c.Y)
		red, green, blue := fit(c)
		if !inGamut(red, green, blue) {
			r.Fatalf("%v: %g, %g, %g", c, red, green, blue)
		}
		shown := xyz(red, green, blue)
		if !near(shown.Y, c.Y, 1e-12) || !sameHue(c, shown) {
			r.Errorf("%v became %v", c, shown)
		}
	})
}

func TestALightIsShownAtFullBrightnessInItsOwnHue(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		c := colour(r)
		red, green, blue := fitLight(c)
		if !inGamut(red, green, blue) || max(red, green, blue) != 1 {
			r.Fatalf("%v: %g, %g, %g", c, red, green, blue)
		}
		if shown := xyz(red, green, blue); !sameHue(c, shown) {
			r.Errorf("%v became %v", c, shown)
		}
		if a, b := LightSwatch(c), LightSwatch(c.Scale(1000)); a != b {
			r.Errorf("%v is shown as %v, a thousand times brighter as %v", c, a, b)
		}
	})
	if got := Hex(LightSwatch(XYZ{})); got != "#000000" {
		t.Errorf("no light: %s", got)
	}
}
