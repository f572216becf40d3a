package standards

import (
	"errors"
	"math"
)

// Constants of the reference radiators.
const (
	// C1 is the first radiation constant 2πhc², W·m² (CODATA 2018, exact).
	C1 = 3.741771852192758e-16
	// C2 is the second radiation constant in m·K as the CIE fixes it for
	// colorimetry, the rounded figure of ITS-90 (CIE 15:2018 clause 9.5).
	C2 = 1.4388e-2
)

// Planck returns the spectral exitance of a blackbody in W/(m²·nm) at a
// wavelength in nm and a temperature in K, both positive, with the refractive
// index taken as 1 (CIE 15:2018).
func Planck(lambda, kelvin float64) float64 {
	l := lambda * 1e-9
	return C1 / (l * l * l * l * l * math.Expm1(C2/(l*kelvin))) * 1e-9
}

// ErrDaylightRange is returned by [DaylightChromaticity] outside 4000–25 000 K.
var ErrDaylightRange = errors.New("standards: CIE daylight is defined from 4000 K to 25 000 K")

// DaylightChromaticity returns x_D, y_D of the CIE daylight of a correlated
// colour temperature in K (CIE 15:2018, illuminants D). The nominal 6500 K of
// D65 is 6500 × 1.4388/1.4380 here: the daylights are older than today's C2.
func DaylightChromaticity(kelvin float64) (x, y float64, err error) {
	if !(kelvin >= 4000 && kelvin <= 25000) {
		return 0, 0, ErrDaylightRange
	}
	x, y = daylightXY(kelvin)
	return x, y, nil
}

func daylightXY(t float64) (x, y float64) {
	if t <= 7000 {
		x = ((-4.6070e9/t+2.9678e6)/t+0.09911e3)/t + 0.244063
	} else {
		x = ((-2.0064e9/t+1.9018e6)/t+0.24748e3)/t + 0.237040
	}
	return x, (-3.000*x+2.870)*x - 0.275
}

// DaylightWeights returns M1 and M2, the amounts of S1 and S2 in the daylight
// of chromaticity x, y (CIE 15:2018, illuminants D), unrounded.
func DaylightWeights(x, y float64) (m1, m2 float64) {
	m := 0.0241 + 0.2562*x - 0.7341*y
	return (-1.3515 - 1.7703*x + 5.9114*y) / m, (0.0300 - 31.4424*x + 30.0717*y) / m
}

// DaylightWeightsAt is [DaylightWeights] for a colour temperature within
// 4000–25 000 K.
func DaylightWeightsAt(kelvin float64) (m1, m2 float64) {
	return DaylightWeights(daylightXY(kelvin))
}
