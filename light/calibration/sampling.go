package calibration

import "math"

// SamplingError returns how far, as shares of the true area, the apparent area of
// a Gaussian line can be off when its curve is picked at single points: least
// (negative) and greatest over all positions of the line between the points. The
// argument is the line's full width at half maximum over the step. Summing the
// points times the step, as every weighted sum of a table does, counts
//
//	A(φ) = h Σₖ g(kh + φ),
//
// 1 where the points lie dense and anything from almost nothing to a spike where
// they do not.
func SamplingError(widthOverStep float64) (least, greatest float64) {
	sigma := widthOverStep * sigmaPerFWHM
	area := func(phase float64) float64 {
		sum := 0.0
		for k := -math.Ceil(6*sigma) - 1; k <= math.Ceil(6*sigma)+1; k++ {
			z := (k + phase) / sigma
			sum += math.Exp(-z*z/2) / (sigma * math.Sqrt(2*math.Pi))
		}
		return sum
	}
	// By symmetry the extremes are a point on the line and one half way.
	return area(0.5) - 1, area(0) - 1
}

// samplingLimit is the ratio of width to step below which a line is too coarsely
// sampled: there the area is uncertain by 6 %.
const samplingLimit = 1.0

// pickedLine is a line that a curve shows in too few points.
type pickedLine struct {
	index           int
	nm, width, step float64 // width is an upper bound where the flanks are noise
	share           float64 // of the curve's total
	least, greatest float64 // possible error of its area
}

// pickedLines returns the lines of a curve that are narrower than the step they
// were sampled at. bandwidth, where it is known, is how narrow they may be. Three points of a Gaussian give its width wherever it lies
// between them,
//
//	ln y₀ − ½(ln y₋ + ln y₊) = 4 ln 2 (h/w)²,
//
// once what the line stands on is taken off.
func pickedLines(axis, values []float64, bandwidth float64) []pickedLine {
	var all []pickedLine
	noise := localNoise(values)
	total, top := 0.0, 0.0
	for i := 1; i < len(axis); i++ {
		total += (axis[i] - axis[i-1]) * (values[i] + values[i-1]) / 2
	}
	for _, v := range values {
		top = max(top, v)
	}
	for i := 2; i+2 < len(axis); i++ {
		v := values[i]
		if v < values[i-1] || v <= values[i+1] || v < 0.02*top {
			continue
		}
		step := (axis[i+1] - axis[i-1]) / 2
		base := under(axis, values, i)
		rise := v - base[1]
		floor := max(1e-4*rise, noise[i], 1e-12*top)
		left, right := max(values[i-1]-base[0], floor), max(values[i+1]-base[2], floor)
		if rise < 0.1*v || rise < 8*noise[i] {
			continue
		}
		bend := math.Log(rise) - (math.Log(left)+math.Log(right))/2
		if bend <= 0 {
			continue
		}
		width := step * math.Sqrt(4*math.Ln2/bend)
		if width >= samplingLimit*step {
			continue
		}
		if bandwidth > 0 {
			width = min(width, bandwidth)
		}
		line := pickedLine{index: i, nm: axis[i], width: width, step: step}
		line.share = step * (rise + max(values[i-1]-base[0], 0) + max(values[i+1]-base[2], 0)) / total
		line.least, line.greatest = SamplingError(width / step)
		all = append(all, line)
	}
	return all
}

// under returns what a line at sample i stands on, at the sample and its two
// neighbours: a straight line through the samples two away.
func under(axis, values []float64, i int) (base [3]float64) {
	for k := range base {
		f := (axis[i-1+k] - axis[i-2]) / (axis[i+2] - axis[i-2])
		base[k] = values[i-2]*(1-f) + values[i+2]*f
	}
	return base
}
