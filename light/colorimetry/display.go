package colorimetry

import (
	"fmt"
	"image/color"
	"math"
)

// D65 returns the white of sRGB, x = 0.3127, y = 0.3290 (IEC 61966-2-1), with
// Y = 1.
func D65() XYZ { return XYZFromXY(0.3127, 0.3290, 1) }

// srgb takes X, Y, Z to linear R, G, B. It follows from the primaries of IEC
// 61966-2-1 (ITU-R BT.709) and the white by inversion, unrounded; the standard
// prints it to four decimals.
var srgb = matrix{
	{3.2409699419045226, -1.5373831775700939, -0.49861076029300341},
	{-0.96924363628087983, 1.8759675015077207, 0.041555057407175613},
	{0.055630079696993608, -0.20397695888897657, 1.0569715142428786},
}

// SRGBFromXYZ returns linear sRGB, 1 each for [D65] (IEC 61966-2-1). It is not
// bounded: a colour outside the triangle of the primaries has a negative value,
// one brighter than the white a value above 1.
func SRGBFromXYZ(c XYZ) (r, g, b float64) { return srgb.apply(c.X, c.Y, c.Z) }

// Swatch returns the displayable colour for a colour relative to the [D65]
// white with Y = 1, encoded as sRGB. What the screen cannot show is drawn
// straight towards the grey of the same Y until it fits: luminance and dominant
// wavelength stay and only purity is lost. Y ≤ 0 gives black and Y ≥ 1 white.
func Swatch(c XYZ) color.NRGBA { return encode(fit(c)) }

func fit(c XYZ) (r, g, b float64) {
	switch {
	case !(c.Y > 0):
		return 0, 0, 0
	case c.Y >= 1:
		return 1, 1, 1
	}
	r, g, b = SRGBFromXYZ(c)
	low, high := min(r, g, b), max(r, g, b)
	keep := 1.0
	if low < 0 {
		keep = c.Y / (c.Y - low)
	}
	if high > 1 {
		keep = min(keep, (1-c.Y)/(high-c.Y))
	}
	return c.Y + keep*(r-c.Y), c.Y + keep*(g-c.Y), c.Y + keep*(b-c.Y)
}

// LightSwatch returns the brightest displayable colour with a light's dominant
// wavelength against [D65], encoded as sRGB. The scale of c does not matter;
// purity is lost only as far as no primary can be negative. Black where Y is
// not positive.
func LightSwatch(c XYZ) color.NRGBA { return encode(fitLight(c)) }

func fitLight(c XYZ) (r, g, b float64) {
	if !(c.Y > 0) {
		return 0, 0, 0
	}
	r, g, b = SRGBFromXYZ(c.Scale(1 / c.Y))
	keep := 1.0
	if low := min(r, g, b); low < 0 {
		keep = 1 / (1 - low)
	}
	r, g, b = 1+keep*(r-1), 1+keep*(g-1), 1+keep*(b-1)
	high := max(r, g, b)
	return r / high, g / high, b / high
}

// encode applies the sRGB transfer function and rounds to eight bits.
func encode(r, g, b float64) color.NRGBA {
	return color.NRGBA{encode8(r), encode8(g), encode8(b), 255}
}

func encode8(v float64) uint8 {
	v = max(0, min(1, v)) // rounding may leave the range by an ulp
	if v <= 0.0031308 {
		v *= 12.92
	} else {
		v = 1.055*math.Pow(v, 1/2.4) - 0.055
	}
	return uint8(math.Round(255 * v))
}

// Hex writes a colour as #rrggbb.
func Hex(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }
