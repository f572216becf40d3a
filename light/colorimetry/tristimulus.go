package colorimetry

import (
	"math"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// XYZ holds tristimulus values of either CIE observer, at whatever scale the
// caller keeps.
type XYZ struct{ X, Y, Z float64 }

// Tristimulus returns ∫S x̄ dλ, ∫S ȳ dλ and ∫S z̄ dλ (CIE 15:2018 clause 7.1 with
// k = 1) in the unit of the spectrum times nm. Multiplied by 683.002 lm/W the Y
// of the 2° observer is the photometric quantity.
func Tristimulus(o *standards.Observer, p *spectrum.Projected) XYZ {
	return XYZ{o.X.Of(p), o.Y.Of(p), o.Z.Of(p)}
}

// Scale returns all three values times k.
func (c XYZ) Scale(k float64) XYZ { return XYZ{k * c.X, k * c.Y, k * c.Z} }

// XY returns the chromaticity coordinates x, y (CIE 15:2018 clause 7.3); NaN
// both where X + Y + Z is not positive, which is no colour.
func (c XYZ) XY() (x, y float64) { return project(c.X, c.Y, c.X+c.Y+c.Z) }

// UV returns the coordinates u, v of the 1960 uniform-chromaticity-scale
// diagram, in which CCT and Duv are defined (CIE 15:2018 clause 9.5); NaN both
// where X + 15Y + 3Z is not positive.
func (c XYZ) UV() (u, v float64) { return project(4*c.X, 6*c.Y, c.X+15*c.Y+3*c.Z) }

// UVPrime returns the coordinates u′, v′ of the 1976 diagram (CIE 15:2018
// clause 8.1); NaN both where X + 15Y + 3Z is not positive.
func (c XYZ) UVPrime() (u, v float64) { return project(4*c.X, 9*c.Y, c.X+15*c.Y+3*c.Z) }

func project(a, b, sum float64) (float64, float64) {
	if !(sum > 0) {
		return math.NaN(), math.NaN()
	}
	return a / sum, b / sum
}

// XYZFromXY returns the colour of chromaticity x, y (y not 0) and the given Y.
func XYZFromXY(x, y, luminance float64) XYZ {
	k := luminance / y
	return XYZ{x * k, luminance, (1 - x - y) * k}
}

// XYFromUV returns the 1931 chromaticity of a 1960 one; with v = v′·2/3 it
// serves the 1976 diagram too.
func XYFromUV(u, v float64) (x, y float64) {
	d := 2*u - 8*v + 4
	return 3 * u / d, 2 * v / d
}
