package calibration

import (
	"fmt"
	"math"
	"slices"
)

// Frame is what one exposure counted.
type Frame struct {
	Counts     []float64
	ExposureMs float64
}

// clippedFrom is the share of full scale from which a count is not believed:
// detectors bend before they stop.
const clippedFrom = 0.985

// ClipMask marks the counts at or within 1.5 % of full scale, which have lost
// what lay above. A full scale of 0 is unknown and marks nothing. It looks at
// raw counts: after a dark is subtracted or frames are averaged, clipping hides
// ([HiddenClipping]).
func ClipMask(counts []float64, fullScale float64) []bool {
	mask := make([]bool, len(counts))
	if fullScale <= 0 {
		return mask
	}
	for i, c := range counts {
		mask[i] = c >= clippedFrom*fullScale
	}
	return mask
}

// HiddenClipping looks for flat tops below full scale, as averaging, dark
// subtraction and resampling leave them. It returns the level and the mask, or
// false.
//
// A smooth maximum falls with the square of the distance, so the stretch within
// nine times a small drop from the top is three times as long as the stretch
// within that drop. A curve that was cut off leaves both about equally long.
func HiddenClipping(counts []float64) (level float64, mask []bool, found bool) {
	if len(counts) < 8 {
		return 0, nil, false
	}
	level = slices.Max(counts)
	noise := quantile(localNoise(counts), 0.5)
	drop := max(2e-3*level, 6*noise)
	if level <= 0 || 9*drop > 0.5*level {
		return 0, nil, false
	}
	mask = make([]bool, len(counts))
	for i := 0; i < len(counts); i++ {
		if counts[i] < level-drop {
			continue
		}
		from, to := runAbove(counts, i, level-drop)
		wideFrom, wideTo := runAbove(counts, i, level-9*drop)
		inside := wideFrom > 0 && wideTo < len(counts)
		if n := to - from; inside && n >= 3 && float64(wideTo-wideFrom) <= 1.6*float64(n) {
			for k := from; k < to; k++ {
				mask[k] = true
			}
			found = true
		}
		i = wideTo
	}
	return level, mask, found
}

// runAbove returns the run about i that stays at or above a level.
func runAbove(y []float64, i int, level float64) (from, to int) {
	from, to = i, i+1
	for from > 0 && y[from-1] >= level {
		from--
	}
	for to < len(y) && y[to] >= level {
		to++
	}
	return from, to
}

// SubtractDark returns light minus dark, which must be of one exposure.
// Negative counts stay. A dark that is brighter than the light is refused.
func SubtractDark(light, dark Frame) (Frame, error) {
	switch {
	case len(light.Counts) != len(dark.Counts):
		return Frame{}, fmt.Errorf("calibration: the light has %d pixels but its dark %d", len(light.Counts), len(dark.Counts))
	case math.Abs(light.ExposureMs-dark.ExposureMs) > 1e-3*light.ExposureMs:
		return Frame{}, fmt.Errorf("calibration: the dark was exposed for %g ms but the light for %g ms: a dark serves its own exposure only", dark.ExposureMs, light.ExposureMs)
	}
	out := Frame{make([]float64, len(light.Counts)), light.ExposureMs}
	sum, scatter := 0.0, 0.0
	for i, c := range light.Counts {
		out.Counts[i] = c - dark.Counts[i]
		sum += out.Counts[i]
	}
	for _, s := range localNoise(out.Counts) {
		scatter += s * s
	}
	if sum < -4*math.Sqrt(scatter) {
		return Frame{}, fmt.Errorf("calibration: the dark is brighter than the light: were the two files swapped?")
	}
	return out, nil
}

// Linearity is a detector's departure from proportion: it counts
// c·(1 + a₁x + a₂x² …) where it should count c, with x the share of full scale
// that it shows.
type Linearity struct {
	FullScale    float64   `json:"full_scale"`
	Coefficients []float64 `json:"coefficients"` // a₁, a₂, …
}

// Correct returns the counts that a proportional detector would have shown.
func (l *Linearity) Correct(counts []float64) []float64 {
	out := make([]float64, len(counts))
	for i, c := range counts {
		out[i] = c / l.factor(c/l.FullScale)
	}
	return out
}

// Distort is the inverse of [Linearity.Correct]: what the detector shows.
func (l *Linearity) Distort(counts []float64) []float64 {
	out := make([]float64, len(counts))
	for i, c := range counts {
		shown := c
		for range 50 {
			shown = c * l.factor(shown/l.FullScale)
		}
		out[i] = shown
	}
	return out
}

func (l *Linearity) factor(x float64) float64 {
	f := 0.0
	for k := len(l.Coefficients) - 1; k >= 0; k-- {
		f = (f + l.Coefficients[k]) * x
	}
	return 1 + f
}

// FitLinearity finds the departure from an exposure series: dark-corrected
// frames of one steady light. Counts above 98.5 % and below half a per cent of
// full scale take no part. Order 1 to 3; two exposures at least, whose counts
// overlap in range.
func FitLinearity(series []Frame, fullScale float64, order int) (Linearity, error) {
	l := Linearity{FullScale: fullScale, Coefficients: make([]float64, order)}
	if order < 1 || order > 3 || len(series) < 2 || fullScale <= 0 {
		return l, fmt.Errorf("calibration: linearity needs an order of 1 to 3, two exposures at least and the full scale")
	}
	pixels := len(series[0].Counts)
	for _, f := range series {
		if len(f.Counts) != pixels || f.ExposureMs <= 0 {
			return l, fmt.Errorf("calibration: the exposure series mixes detectors, or has a frame without an exposure")
		}
	}
	// For a given bend the light on each pixel follows from its frames, so only
	// the bend is searched. Each frame weighs as its counting noise lets it.
	var used [][]int // per pixel with two sound frames or more: which
	var pixelOf []int
	rows := 0
	for p := range pixels {
		var sound []int
		for i, f := range series {
			if x := f.Counts[p] / fullScale; x > 0.005 && x < clippedFrom {
				sound = append(sound, i)
			}
		}
		if len(sound) >= 2 {
			used, pixelOf = append(used, sound), append(pixelOf, p)
			rows += len(sound)
		}
	}
	refused := fmt.Errorf("calibration: the exposure series does not determine the linearity: too few pixels are well exposed in two frames")
	if len(used) < 2*order {
		return l, refused
	}
	residual := func(a, r []float64) {
		bend := Linearity{fullScale, a}
		row := 0
		for k, sound := range used {
			p := pixelOf[k]
			var product, square float64
			for _, i := range sound {
				f := &series[i]
				model := f.ExposureMs * bend.factor(f.Counts[p]/fullScale)
				product += model
				square += model * model / f.Counts[p]
			}
			light := product / square
			for _, i := range sound {
				f := &series[i]
				model := light * f.ExposureMs * bend.factor(f.Counts[p]/fullScale)
				r[row] = (f.Counts[p] - model) / math.Sqrt(f.Counts[p])
				row++
			}
		}
	}
	steps := make([]float64, order)
	for k := range steps {
		steps[k] = 1e-5
	}
	if _, cov := descend(residual, l.Coefficients, steps, rows); cov == nil {
		return l, refused
	}
	return l, nil
}
