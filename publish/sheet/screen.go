package sheet

import (
	"image/color"
	"math"
	"sync"

	"lampassay/assay"
	"lampassay/light/colorimetry"
	"lampassay/light/rendition"
)

// ownColour is the colour that a lamp's own light computes to.
func ownColour(r *assay.Result) color.NRGBA { return colorimetry.LightSwatch(r.XYZ) }

// screen is a screen with a D65 white, seen as CIE 224:2017 has its samples
// seen: 100 cd/m², average surround, full adaptation.
var screen = sync.OnceValue(func() *colorimetry.CAM02 {
	v := colorimetry.NewCAM02(colorimetry.D65().Scale(100), 100, 20, colorimetry.Average)
	return &v
})

// screenColour returns the screen colour that looks, to an observer adapted to
// the screen, as a sample looked under its light. It solves for the stimulus by
// Newton's method and reports whether there is one. Nothing measured comes from
// here: it is for showing.
func screenColour(target rendition.UCS) (color.NRGBA, bool) {
	view := screen()
	miss := func(c colorimetry.XYZ) [3]float64 {
		j, a, b := view.UCS(c)
		return [3]float64{j - target.J, a - target.A, b - target.B}
	}
	// From the grey of about the same lightness: J′ is roughly cube-root in Y.
	c := colorimetry.D65().Scale(100 * math.Pow(max(target.J, 5)/100, 2.2))
	for range 30 {
		m := miss(c)
		size := math.Hypot(math.Hypot(m[0], m[1]), m[2])
		if math.IsNaN(size) {
			return color.NRGBA{}, false
		}
		if size < 0.05 { // far below what eight bits can show
			return colorimetry.Swatch(c.Scale(0.01)), true
		}
		const h = 1e-4
		dx := difference(miss(colorimetry.XYZ{X: c.X + h, Y: c.Y, Z: c.Z}), m, h)
		dy := difference(miss(colorimetry.XYZ{X: c.X, Y: c.Y + h, Z: c.Z}), m, h)
		dz := difference(miss(colorimetry.XYZ{X: c.X, Y: c.Y, Z: c.Z + h}), m, h)
		det := dot(dx, cross(dy, dz))
		if det == 0 {
			return color.NRGBA{}, false
		}
		step := colorimetry.XYZ{X: dot(m, cross(dy, dz)) / det, Y: dot(dx, cross(m, dz)) / det, Z: dot(dx, cross(dy, m)) / det}
		// At most half of the luminance at a time keeps the stimulus a light.
		k := min(1, 0.5*c.Y/max(math.Abs(step.Y), 1e-9))
		c = colorimetry.XYZ{X: c.X - k*step.X, Y: c.Y - k*step.Y, Z: c.Z - k*step.Z}
	}
	return color.NRGBA{}, false
}

func difference(a, b [3]float64, h float64) [3]float64 {
	return [3]float64{(a[0] - b[0]) / h, (a[1] - b[1]) / h, (a[2] - b[2]) / h}
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func cross(a, b [3]float64) [3]float64 {
	return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}
