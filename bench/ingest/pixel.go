package ingest

import (
	"fmt"
	"math"
)

// fewestPixels is how long a bare count must be to be taken for pixels.
const fewestPixels = 10

// countsPixels reports an axis that counts on from 0 or 1, one at a time.
func countsPixels(s []sample) bool {
	if len(s) < fewestPixels || s[0].x != 0 && s[0].x != 1 {
		return false
	}
	for i, p := range s {
		if p.x != s[0].x+float64(i) {
			return false
		}
	}
	return true
}

// pixelsToNm turns an axis of pixels into nanometres, by a calibration. A count
// that begins with 1 is taken to call the first pixel so.
func pixelsToNm(s []sample, axis PixelAxis, r *Report) *Problem {
	low, high := s[0].x, s[0].x
	for _, p := range s {
		low, high = min(low, p.x), max(high, p.x)
	}
	if axis == nil {
		return &Problem{Found: fmt.Sprintf("a first column of pixels, %g to %g", low, high), Want: "attach the instrument's wavelength calibration, or save the file with wavelengths in nm", kind: ErrPixels}
	}
	first := 0.0
	if low == 1 && countsPixels(s) {
		first = 1
		r.warn("the file counts pixels from 1: its 1 is taken as the detector's first")
	}
	for i := range s {
		nm, err := axis(s[i].x - first)
		if err == nil && (math.IsNaN(nm) || math.IsInf(nm, 0) || nm <= 0) {
			err = fmt.Errorf("its wavelength comes to %g nm", nm)
		}
		if err != nil {
			return &Problem{Line: s[i].line, Found: fmt.Sprintf("the pixel %g", s[i].x), Want: "the calibration has no wavelength for it: " + err.Error()}
		}
		s[i].x = nm
	}
	r.WavelengthUnit = "pixel"
	r.Conversion = "pixels to nm by the instrument's calibration"
	return nil
}
