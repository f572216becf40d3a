package figure

import (
	"image/color"
	"math"
	"sync"

	"lampassay/light/colorimetry"
	"lampassay/light/standards"
)

// SpectralColours is the palette of a figure that is given none: for each
// wavelength from 380 to 780 nm the colour of that light with what a screen
// cannot show cut off primary by primary, at the screen's full brightness. It
// names a wavelength; it does not match it.
func SpectralColours(nm float64) color.NRGBA {
	if nm < 380 || nm > 780 {
		return color.NRGBA{}
	}
	return spectralColours()[int(math.Round(nm))-380]
}

var spectralColours = sync.OnceValue(func() (list [401]color.NRGBA) {
	o := standards.CIE1931()
	for i := range list {
		// Beyond 700 nm the chromaticity stays where it is there.
		nm := min(float64(380+i), 700)
		r, g, b := colorimetry.SRGBFromXYZ(colorimetry.XYZ{X: o.X.At(nm), Y: o.Y.At(nm), Z: o.Z.At(nm)})
		full := max(r, g, b)
		list[i] = color.NRGBA{eightBits(r / full), eightBits(g / full), eightBits(b / full), 255}
	}
	return list
})

// hueColour is a screen colour for a hue angle in radians, all of one CIELAB
// lightness (CIE 15:2018 clause 8.2.1, white D65), so that no hue stands out, and
// of one chroma as far as the screen has it. At lightness 60 the contrast to the
// light and to the dark ground is above 3 : 1.
func hueColour(angle float64) color.NRGBA {
	const lightness, chroma = 60, 48
	sin, cos := math.Sincos(angle)
	fy := (lightness + 16) / 116.0
	cube := func(f float64) float64 { return f * f * f } // above the linear part for these values
	white := colorimetry.D65()
	return colorimetry.Swatch(colorimetry.XYZ{
		X: white.X * cube(fy+chroma*cos/500),
		Y: white.Y * cube(fy),
		Z: white.Z * cube(fy-chroma*sin/200),
	})
}

// eightBits encodes a linear primary, cut to what the screen has.
func eightBits(v float64) uint8 { return uint8(encode(v)*255 + 0.5) }

// binHue is the middle of a hue bin of ANSI/IES TM-30-20, 0 to 15, in radians.
func binHue(bin int) float64 { return (float64(bin) + 0.5) * math.Pi / 8 }
