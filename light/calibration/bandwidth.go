package calibration

import (
	"fmt"
	"math"
)

// Bandpass corrections undo, to the order of the second or fourth derivative,
// what a triangular bandpass as wide as the step between samples does to a
// smooth spectrum.
//
// They must not be used where the samples are noisier than the correction is
// large (it amplifies noise by about a quarter), where the step is not the
// bandwidth, or on lines: a line narrower than the bandwidth is not smooth, and
// no formula of five points brings its shape back. Its area, which is what
// counts in a weighted sum, was right to begin with.

// CorrectBandpass3 applies the three-point formula of Stearns and Stearns, Color
// Res. Appl. 13 (1988) 257,
//
//	P(i) = −α P'(i−1) + (1 + 2α) P'(i) − α P'(i+1), α = 0.083,
//
// and at the ends P = (1 + α)P' − α P'(neighbour), each from the measured values
// throughout.
func CorrectBandpass3(values []float64) []float64 {
	const a = 0.083
	n := len(values)
	out := make([]float64, n)
	if n < 2 {
		copy(out, values)
		return out
	}
	out[0] = (1+a)*values[0] - a*values[1]
	out[n-1] = (1+a)*values[n-1] - a*values[n-2]
	for i := 1; i+1 < n; i++ {
		out[i] = -a*values[i-1] + (1+2*a)*values[i] - a*values[i+1]
	}
	return out
}

// CorrectBandpass5 applies the five-point formula of the same paper,
//
//	P(i) = (P'(i−2) − 12 P'(i−1) + 120 P'(i) − 12 P'(i+1) + P'(i+2))/98,
//
// taken up in CIE 214:2014 (coefficients from memory; they sum to 1 and remove
// h²/12 times the second derivative but for 2 % of it). The outermost two values
// are corrected by the three-point formula.
func CorrectBandpass5(values []float64) []float64 {
	out := CorrectBandpass3(values)
	for i := 2; i+2 < len(values); i++ {
		out[i] = (values[i-2] - 12*values[i-1] + 120*values[i] - 12*values[i+1] + values[i+2]) / 98
	}
	return out
}

// bandpassNoise is the least ratio of peak to noise for a bandpass correction.
const bandpassNoise = 100

// CorrectBandpass applies the five-point formula to a spectrum on an even axis,
// with the step taken as the whole number of samples nearest to the bandwidth
// (FWHM, nm). It refuses what the formula was not made for, in a sentence that
// says so.
func CorrectBandpass(axis, values []float64, bandwidthNm float64) ([]float64, error) {
	n := len(axis)
	if n != len(values) || n < 5 {
		return nil, fmt.Errorf("calibration: a bandwidth correction needs five samples at least, each with its wavelength")
	}
	step := (axis[n-1] - axis[0]) / float64(n-1)
	for i := 1; i < n; i++ {
		if math.Abs(axis[i]-axis[i-1]-step) > 0.01*step {
			return nil, fmt.Errorf("calibration: the bandwidth is not corrected because the samples are not evenly spaced: %.4g nm at %.1f nm against %.4g nm on average", axis[i]-axis[i-1], axis[i], step)
		}
	}
	stride := int(math.Round(bandwidthNm / step))
	if stride < 1 || math.Abs(float64(stride)*step-bandwidthNm) > 0.1*bandwidthNm {
		return nil, fmt.Errorf("calibration: the bandwidth of %.2f nm is not corrected because it is no whole number of the %.4g nm steps", bandwidthNm, step)
	}
	if n < 4*stride+1 {
		return nil, fmt.Errorf("calibration: the bandwidth is not corrected because the range is not five bandwidths wide")
	}
	if why := unfit(values, stride); why != "" {
		return nil, fmt.Errorf("calibration: the bandwidth is not corrected because %s", why)
	}
	// Samples a stride apart are corrected among themselves.
	out := make([]float64, n)
	for first := range stride {
		var own []float64
		for i := first; i < n; i += stride {
			own = append(own, values[i])
		}
		for k, v := range CorrectBandpass5(own) {
			out[first+k*stride] = v
		}
	}
	return out, nil
}

// unfit says why values must not be bandwidth-corrected, or nothing. Lines as
// narrow as the instrument show as a second difference that is a large part of
// the curve itself.
func unfit(values []float64, stride int) string {
	top, noise := 0.0, localNoise(values)
	for _, v := range values {
		top = max(top, v)
	}
	if floor := quantile(noise, 0.5); floor*bandpassNoise > top {
		return fmt.Sprintf("the noise is 1/%.0f of the peak and would be amplified: average more exposures", top/floor)
	}
	for i := stride; i+stride < len(values); i++ {
		bend := 2*values[i] - values[i-stride] - values[i+stride]
		if bend > 0.6*values[i] && bend > 0.05*top {
			return "the spectrum has lines no wider than the instrument, whose shape it cannot restore; their areas need no correction"
		}
	}
	return ""
}
