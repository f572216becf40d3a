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

// furthestShift is how far, in line widths, lines are looked for from where they
// were.
const furthestShift = 6

// StretchLimit is the stretch in nm that a shift cannot repair. A tenth of a
// nanometre is 0.7 % of the light of a narrow blue emitter.
const StretchLimit = 0.1

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
	moves := consensus(d, old, peaks)
	if len(moves) < 2 {
		return Shift{}, fmt.Errorf("calibration: %s shows none of the lines the instrument was calibrated with near their places: is it the lamp named, or has the instrument been knocked out of its calibration?", name)
	}
	level, _, _ := straight(moves, 1)
	s := Shift{Pixels: level.coef[0], U: math.Sqrt(level.cov.At(0, 0)), Lines: len(moves)}
	slope := d.Slope(float64(d.Pixels) / 2)
	s.Nm = s.Pixels * slope
	if len(moves) >= 4 {
		if fit, span, ok := straight(moves, 2); ok {
			s.StretchNm = fit.coef[1] * span * slope
			s.StretchU = math.Sqrt(fit.cov.At(1, 1)) * span * slope
		}
		if math.Abs(s.StretchNm) > StretchLimit && math.Abs(s.StretchNm) > 3*s.StretchU {
			return s, fmt.Errorf("calibration: in %s the lines have moved by %.2f nm against one another, which no shift repairs: calibrate the wavelength axis anew", name, s.StretchNm)
		}
	}
	return s, nil
}

// move is by how much one line has moved, and where it was, in pixels.
type move struct{ by, at, u float64 }

// consensus returns the moves that most lines agree on: first about one offset,
// then about a straight line through what agreed, so that a stretch is seen and
// not cut off.
func consensus(d *Dispersion, old []AnchorLine, peaks []Peak) []move {
	matches := func(offset func(at float64) float64) (all []move, near float64) {
		for _, l := range old {
			best, width := move{by: math.Inf(1)}, 1.0
			expected := offset(l.Pixel)
			for _, p := range peaks {
				if by := p.Pixel - l.Pixel; math.Abs(by-expected) < math.Abs(best.by-expected) {
					// The line's own uncertainty is that of unresolved company,
					// which may differ from lamp to lamp.
					u := math.Hypot(math.Hypot(p.U, 0.01), l.UNm/d.Slope(l.Pixel))
					best, width = move{by, l.Pixel, u}, p.FWHM
				}
			}
			if off := math.Abs(best.by-expected) / width; off < 0.5 {
				all = append(all, best)
				near += 1 - off
			}
		}
		return all, near
	}
	var moves []move
	most := 0.0
	for _, l := range old {
		for _, p := range peaks {
			by := p.Pixel - l.Pixel
			if math.Abs(by) > furthestShift*p.FWHM {
				continue
			}
			if m, near := matches(func(float64) float64 { return by }); near > most {
				moves, most = m, near
			}
		}
	}
	for range 4 {
		if len(moves) < 3 {
			break
		}
		fit, _, ok := straight(moves, 2)
		if !ok {
			break
		}
		middle := meanPlace(moves)
		more, _ := matches(func(at float64) float64 { return fit.coef[0] + fit.coef[1]*(at-middle) })
		if len(more) < len(moves) {
			break
		}
		moves = more
	}
	return moves
}

// straight fits moves by a constant (terms 1) or a straight line about their
// mean place (terms 2), each weighted by its uncertainty and by how far it lies
// from the median of all. span is the distance of the outermost lines.
func straight(moves []move, terms int) (fit linearFit, span float64, ok bool) {
	middle := meanPlace(moves)
	lo, hi := math.Inf(1), math.Inf(-1)
	basis := make([][]float64, len(moves))
	y, residual, weight := make([]float64, len(moves)), make([]float64, len(moves)), make([]float64, len(moves))
	for i, m := range moves {
		basis[i] = []float64{1, m.at - middle}[:terms]
		y[i], residual[i] = m.by, m.by
		lo, hi = min(lo, m.at), max(hi, m.at)
	}
	centre := quantile(y, 0.5)
	for i := range residual {
		residual[i] -= centre
	}
	for range 8 {
		for i := range residual {
			weight[i] = math.Abs(residual[i])
		}
		spread := max(quantile(weight, 0.5)/normalMedian, 0.005)
		for i, m := range moves {
			z := residual[i] / math.Hypot(m.u, spread)
			weight[i] = 1 / (m.u*m.u + spread*spread) / (1 + z*z/4)
		}
		if fit, ok = solveLinear(basis, y, weight); !ok {
			return fit, hi - lo, false
		}
		for i, row := range basis {
			residual[i] = y[i]
			for j, c := range fit.coef {
				residual[i] -= c * row[j]
			}
		}
	}
	return fit, hi - lo, true
}

func meanPlace(moves []move) float64 {
	sum := 0.0
	for _, m := range moves {
		sum += m.at
	}
	return sum / float64(len(moves))
}
