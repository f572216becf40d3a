package calibration

import "math"

// A pixel counts all light that falls on its width, so the shape of a line is
// integrated over the pixel before it is fitted. That keeps the centre of a
// line unbiased even where it is hardly wider than a pixel.

// sigmaPerFWHM is the standard deviation of a Gaussian of unit full width at
// half maximum.
var sigmaPerFWHM = 1 / (2 * math.Sqrt(2*math.Ln2))

// gaussPixel returns the part of a Gaussian of unit area that falls on the pixel
// whose middle is x pixels from the centre of the line.
func gaussPixel(x, fwhm float64) float64 {
	k := 1 / (math.Sqrt2 * sigmaPerFWHM * fwhm)
	return (math.Erf((x+0.5)*k) - math.Erf((x-0.5)*k)) / 2
}

// lorentzPixel is the same for a Lorentzian.
func lorentzPixel(x, fwhm float64) float64 {
	return (math.Atan((x+0.5)*2/fwhm) - math.Atan((x-0.5)*2/fwhm)) / math.Pi
}

// profilePixel is the pseudo-Voigt profile: share of Lorentzian, the rest
// Gaussian, of one width.
func profilePixel(x, fwhm, share float64) float64 {
	g := gaussPixel(x, fwhm)
	if share == 0 {
		return g
	}
	return (1-share)*g + share*lorentzPixel(x, fwhm)
}
