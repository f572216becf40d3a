package calibration

import (
	"fmt"
	"math"
	"slices"
)

// Response is the relative spectral response of an instrument: counts per pixel
// for equal power per nanometre, 1 at its largest. It includes the width of the
// pixels in nanometres. It is known only from FromNm to ToNm.
type Response struct {
	Nm    []float64 `json:"nm"`
	Value []float64 `json:"value"`
	// U is the relative standard uncertainty of each value from noise, stray
	// light and certificate, taken as independent between wavelengths.
	U []float64 `json:"u_relative"`
	// Tilt is the relative error that one standard uncertainty of the
	// reference's temperature leaves at each wavelength, all together.
	Tilt      []float64 `json:"tilt_relative"`
	FromNm    float64   `json:"from_nm"`
	ToNm      float64   `json:"to_nm"`
	Reference string    `json:"reference"`
}

// ResponseOptions are what is known of the recording beside its counts.
type ResponseOptions struct {
	// Stray is the stray light, in counts, that may be left in each pixel after
	// whatever correction was made. The range ends where the signal is less
	// than ten times that.
	Stray float64
	// Clipped marks saturated pixels, nil for none.
	Clipped []bool
}

const (
	// trustedSignal is the least signal over possible stray light.
	trustedSignal = 10
	// trustedNoise is the least signal over noise in one pixel.
	trustedNoise = 20
)

// NewResponse divides a recording of a reference lamp by the lamp's spectrum.
// The counts are dark-corrected, linear and freed of stray light as far as that
// is possible; axis is in nm. The range is the unbroken run about the largest
// signal in which the reference is known, nothing is clipped, and the signal
// stands ten times above what stray light may be left and twenty times above the
// noise. Nothing is smoothed, filled or extrapolated.
func NewResponse(axis, counts []float64, ref Reference, opt ResponseOptions) (Response, error) {
	if len(axis) != len(counts) {
		return Response{}, fmt.Errorf("calibration: %d wavelengths but %d counts", len(axis), len(counts))
	}
	if len(counts) < 8 {
		return Response{}, fmt.Errorf("calibration: %d pixels are too few for a response", len(counts))
	}
	if err := smooth(counts); err != nil {
		return Response{}, err
	}
	noise := localNoise(counts)
	top := 0
	for i := range counts {
		if _, ok := ref.At(axis[i]); ok && (counts[i] > counts[top] || axis[top] < ref.FromNm) {
			top = i
		}
	}
	trusted := func(i int) bool {
		_, known := ref.At(axis[i])
		return known && !anyWithin(opt.Clipped, float64(i), 2) &&
			counts[i] > 0 && counts[i] >= trustedSignal*opt.Stray && counts[i] >= trustedNoise*noise[i]
	}
	if !trusted(top) {
		why := "is hidden in noise or stray light"
		if anyWithin(opt.Clipped, float64(top), 2) {
			why = "is saturated at its peak: shorten the exposure"
		}
		return Response{}, fmt.Errorf("calibration: the recording of the reference (%s) %s", ref.Name, why)
	}
	first, last := top, top
	for first > 0 && trusted(first-1) {
		first--
	}
	for last+1 < len(counts) && trusted(last+1) {
		last++
	}
	if last-first < 8 {
		return Response{}, fmt.Errorf("calibration: the recording of the reference (%s) is trustworthy in %d pixels only", ref.Name, last-first+1)
	}
	r := Response{FromNm: axis[first], ToNm: axis[last], Reference: ref.Name}
	largest := 0.0
	for i := first; i <= last; i++ {
		power, _ := ref.At(axis[i])
		v := counts[i] / power
		largest = max(largest, v)
		certificate := 0.0
		if ref.u != nil {
			certificate = ref.u(axis[i])
		}
		r.Nm = append(r.Nm, axis[i])
		r.Value = append(r.Value, v)
		r.U = append(r.U, math.Hypot(certificate, math.Hypot(noise[i]/counts[i], opt.Stray/counts[i])))
		r.Tilt = append(r.Tilt, ref.Tilt(axis[i]))
	}
	for i := range r.Value {
		r.Value[i] /= largest
	}
	return r, nil
}

// smooth refuses a recording that shows lines: a filament's light has none.
func smooth(counts []float64) error {
	var area, all float64
	for _, p := range FindPeaks(counts, nil) {
		if !p.Broad && p.FWHM < float64(len(counts))/20 {
			area += p.Area
		}
	}
	for _, c := range counts {
		all += max(c, 0)
	}
	if all <= 0 {
		return fmt.Errorf("calibration: the recording of the reference holds no light: were light and dark swapped?")
	}
	if area > 0.1*all {
		return fmt.Errorf("calibration: the recording of the reference shows lines with %.0f %% of its light: is it the line lamp's?", 100*area/all)
	}
	return nil
}

// Check reports what is wrong with a response that was read from somewhere.
func (r *Response) Check() error {
	n := len(r.Nm)
	if n < 2 || len(r.Value) != n || len(r.U) != n || len(r.Tilt) != n {
		return fmt.Errorf("calibration: the response has %d wavelengths, %d values, %d uncertainties and %d tilts: all must be as many", n, len(r.Value), len(r.U), len(r.Tilt))
	}
	for i, v := range r.Value {
		switch {
		case i > 0 && r.Nm[i] <= r.Nm[i-1]:
			return fmt.Errorf("calibration: the response's wavelengths do not rise at %g nm", r.Nm[i])
		case !(v > 0) || math.IsInf(v, 0):
			return fmt.Errorf("calibration: the response is %g at %g nm: nothing can be divided by it; end its range before", v, r.Nm[i])
		}
	}
	return nil
}

// At returns the response at a wavelength in nm, straight between its points; ok
// is false outside its range.
func (r *Response) At(nm float64) (value float64, ok bool) {
	return r.interpolate(r.Value, nm)
}

// UAt returns the relative standard uncertainty at a wavelength: the independent
// part and the tilt.
func (r *Response) UAt(nm float64) (u, tilt float64, ok bool) {
	u, ok = r.interpolate(r.U, nm)
	tilt, _ = r.interpolate(r.Tilt, nm)
	return u, tilt, ok
}

func (r *Response) interpolate(y []float64, nm float64) (float64, bool) {
	n := len(r.Nm)
	if n < 2 || nm < r.Nm[0] || nm > r.Nm[n-1] {
		return 0, false
	}
	i, found := slices.BinarySearch(r.Nm, nm)
	if found {
		return y[i], true
	}
	f := (nm - r.Nm[i-1]) / (r.Nm[i] - r.Nm[i-1])
	return y[i-1]*(1-f) + y[i]*f, true
}

// Correct divides counts by the response and returns the part of the axis where
// it is known; the rest is not zero but unknown.
func (r *Response) Correct(axis, counts []float64) (nm, values []float64, err error) {
	if err := r.Check(); err != nil {
		return nil, nil, err
	}
	for i, l := range axis {
		if v, ok := r.At(l); ok {
			nm = append(nm, l)
			values = append(values, counts[i]/v)
		}
	}
	if len(nm) < 2 {
		return nil, nil, fmt.Errorf("calibration: the spectrum (%.0f–%.0f nm) lies outside the response's range (%.0f–%.0f nm)", axis[0], axis[len(axis)-1], r.FromNm, r.ToNm)
	}
	return nm, values, nil
}
