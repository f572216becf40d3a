package calibration

import (
	"fmt"
	"math"
)

// Shift is what a day's recording of one lamp says about a calibration: by how
// much every line has moved.
type Shift struct {
	Pixels float64 `json:"pixels"` // upwards; add to the dispersion by [Dispersion.Shifted]
	U      float64 `json:"u_pixels"`
	Nm     float64 `json:"nm"` // by how much unshifted wavelengths read high, mid-range
	Lines  int     `json:"lines"`
	// StretchNm is the difference in shift between the two ends of the lines
	// seen, nm, and StretchU its standard uncertainty.
	StretchNm float64 `json:"stretch_nm"`
	StretchU  float64 `json:"stretch_u_nm"`
}

const (
	// furthestShift is how far, in line widths, lines are looked for from where
	// they were.
	furthestShift = 6
	// stretchLimit is the stretch in nm that a shift cannot repair. A tenth of
	// a nanometre is 0.7 % of the light of a narrow blue emitter.
	stretchLimit = 0.1
)

// CheckShift compares the lines of a new recording with where the calibration
// had them. The lamp may be any that took part in it. It fails where the lines
// are not found together, and where they have moved apart by more than a shift
// repairs: then the instrument needs a new calibration.
func (w *Wavelength) CheckShift(name string, counts []float64, clipped []bool) (Shift, error) {
	d := &w.Dispersion
	if len(counts) != d.Pixels {
		return Shift{}, fmt.Errorf("calibration: %s has %d pixels but the instrument has %d", name, len(counts), d.Pixels)
	}
	var peaks []Peak
	for _, p := range FindPeaks(counts, clipped) {
		if !p.Broad && !p.Saturated {
			peaks = append(peaks, p)
		}
	}
	var old []AnchorLine
	for _, l := range w.Lines {
		if l.Used {
			old = append(old, l)
		}
	}
	type move struct{ by, at, u float64 }
	matches := func(offset float64) (all []move, near float64) {
		for _, l := range old {
			best := move{by: math.Inf(1)}
			width := 0.0
			for _, p := range peaks {
				if by := p.Pixel - l.Pixel; math.Abs(by-offset) < math.Abs(best.by-offset) {
					best, width = move{by, l.Pixel, math.Hypot(p.U, 0.01)}, p.FWHM
				}
			}
			if d := math.Abs(best.by-offset) / width; d < 0.5 {
				all = append(all, best)
				near += 1 - d
			}
		}
		return all, near
	}
	var moves []move
	most := 0.0
	for _, l := range old {
		for _, p := range peaks {
			offset := p.Pixel - l.Pixel
			if math.Abs(offset) > furthestShift*p.FWHM {
				continue
			}
			if m, near := matches(offset); near > most {
				moves, most = m, near
			}
		}
	}
	if len(moves) < 2 {
		return Shift{}, fmt.Errorf("calibration: %s shows none of the lines the instrument was calibrated with near their places: is it the lamp named, or has the instrument been knocked out of its calibration?", name)
	}

	var by []float64
	for _, m := range moves {
		by = append(by, m.by)
	}
	middle := quantile(by, 0.5)
	var deviations []float64
	for _, v := range by {
		deviations = append(deviations, math.Abs(v-middle))
	}
	spread := max(quantile(deviations, 0.5)/0.6745, 0.005)
	var basis [][]float64
	var y, weight []float64
	lo, hi, mean := math.Inf(1), math.Inf(-1), 0.0
	for _, m := range moves {
		if math.Abs(m.by-middle) > 4*spread+3*m.u {
			continue
		}
		y = append(y, m.by)
		weight = append(weight, 1/(m.u*m.u+spread*spread))
		basis = append(basis, []float64{1, m.at})
		lo, hi, mean = min(lo, m.at), max(hi, m.at), mean+m.at
	}
	mean /= float64(len(y))
	for i := range basis {
		basis[i][1] -= mean
	}
	flat := make([][]float64, len(basis))
	for i := range flat {
		flat[i] = basis[i][:1]
	}
	s := Shift{Pixels: middle, U: spread, Lines: len(y)}
	if fit, ok := solveLinear(flat, y, weight); ok {
		s.Pixels, s.U = fit.coef[0], math.Sqrt(fit.cov.At(0, 0))
	}
	slope := d.Slope(float64(d.Pixels) / 2)
	s.Nm = s.Pixels * slope
	if fit, ok := solveLinear(basis, y, weight); ok && len(y) >= 4 {
		s.StretchNm = fit.coef[1] * (hi - lo) * slope
		s.StretchU = math.Sqrt(fit.cov.At(1, 1)) * (hi - lo) * slope
		if math.Abs(s.StretchNm) > stretchLimit && math.Abs(s.StretchNm) > 3*s.StretchU {
			return s, fmt.Errorf("calibration: in %s the lines have moved by %.2f nm against one another, which no shift repairs: calibrate the wavelength axis anew", name, s.StretchNm)
		}
	}
	return s, nil
}
