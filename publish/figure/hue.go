package figure

import (
	"image/color"
	"math"
	"sync"

	"lampassay/light/colorimetry"
	"lampassay/light/standards"
)

// SpectralColours is the palette of a figure that is given none: for each
// wavelength from 380 to 780 nm the brightest colour of its hue that a screen
// can show ([colorimetry.LightSwatch]).
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
		list[i] = colorimetry.LightSwatch(colorimetry.XYZ{X: o.X.At(nm), Y: o.Y.At(nm), Z: o.Z.At(nm)})
	}
	return list
})

// hueColour is a screen colour for a hue angle in radians, all of one CIELAB
// lightness and chroma (CIE 15:2018 clause 8.2.1, white D65), so that no hue
// stands out. At lightness 62 it has a contrast above 3 : 1 to white and to
// the dark ground.
func hueColour(angle float64) color.NRGBA {
	const lightness, chroma = 62, 46
	sin, cos := math.Sincos(angle)
	fy := (lightness + 16) / 116.0
	cube := func(f float64) float64 { return f * f * f } // above the linear part for these values
	white := colorimetry.D65()
	r, g, b := colorimetry.SRGBFromXYZ(colorimetry.XYZ{
		X: white.X * cube(fy+chroma*cos/500),
		Y: white.Y * cube(fy),
		Z: white.Z * cube(fy-chroma*sin/200),
	})
	eight := func(v float64) uint8 { return uint8(encode(v)*255 + 0.5) }
	return color.NRGBA{eight(r), eight(g), eight(b), 255}
}

// binHue is the middle of a hue bin of ANSI/IES TM-30-20, 0 to 15, in radians.
func binHue(bin int) float64 { return (float64(bin) + 0.5) * math.Pi / 8 }
