package calibration

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Seam is what two exposures of a bracket say of each other where both are
// sound.
type Seam struct {
	LongMs  float64 `json:"long_ms"`
	ShortMs float64 `json:"short_ms"`
	// Ratio is the light of the short exposure over that of the long one: 1
	// for a steady lamp and a proportional detector. U is its standard
	// uncertainty.
	Ratio  float64 `json:"ratio"`
	U      float64 `json:"u"`
	Pixels int     `json:"pixels"`
}

// Stitched is one curve in counts per millisecond made of several exposures.
type Stitched struct {
	Rate []float64 // counts per ms
	// Lost marks pixels that are clipped in every exposure: their rate is the
	// shortest exposure's, a lower bound.
	Lost  []bool
	Seams []Seam
}

// DriftLimit is the difference between two exposures of a bracket that is still
// laid to noise and left to the weights.
const DriftLimit = 0.02

// Stitch joins dark-corrected exposures of one light, with clip masks from their
// raw counts. Each pixel is the mean of its sound exposures weighted by their
// inverse variance (read noise as found in the frames, and counting noise of one
// count per count). Pixels beside clipped ones are left out as well, where
// charge may have spilled. Exposures that disagree by more than [DriftLimit] are
// refused: the lamp drifted, or the exposure times are not what they say.
func Stitch(frames []Frame, clipped [][]bool) (Stitched, error) {
	if len(frames) == 0 || len(frames) != len(clipped) {
		return Stitched{}, fmt.Errorf("calibration: %d exposures with %d clip masks cannot be stitched", len(frames), len(clipped))
	}
	order := make([]int, len(frames))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(frames[b].ExposureMs, frames[a].ExposureMs) })
	n := len(frames[0].Counts)
	sound := make([][]bool, len(frames))
	read := make([]float64, len(frames))
	for i, f := range frames {
		if len(f.Counts) != n || len(clipped[i]) != n {
			return Stitched{}, fmt.Errorf("calibration: the exposures have %d and %d pixels: they are not from one instrument", n, len(f.Counts))
		}
		if f.ExposureMs <= 0 {
			return Stitched{}, fmt.Errorf("calibration: an exposure of %g ms cannot be normalised", f.ExposureMs)
		}
		sound[i] = make([]bool, n)
		for p := range n {
			sound[i][p] = !anyWithin(clipped[i], float64(p), 2)
		}
		read[i] = max(quantile(localNoise(f.Counts), 0.1), 1e-9)
	}
	variance := func(i, p int) float64 {
		f := &frames[i]
		return (read[i]*read[i] + max(f.Counts[p], 0)) / (f.ExposureMs * f.ExposureMs)
	}
	out := Stitched{Rate: make([]float64, n), Lost: make([]bool, n)}
	for k := 1; k < len(order); k++ {
		seam := seamOf(frames, sound, order[k-1], order[k], variance)
		out.Seams = append(out.Seams, seam)
		if math.Abs(seam.Ratio-1) > DriftLimit && math.Abs(seam.Ratio-1) > 3*seam.U {
			return out, fmt.Errorf("calibration: the exposures of %g ms and %g ms disagree by %.1f %%: the lamp drifted between them, or the detector is not proportional", seam.LongMs, seam.ShortMs, 100*(seam.Ratio-1))
		}
	}
	for p := range n {
		var sum, weight float64
		for i := range frames {
			if sound[i][p] {
				w := 1 / variance(i, p)
				sum += w * frames[i].Counts[p] / frames[i].ExposureMs
				weight += w
			}
		}
		if weight == 0 {
			shortest := order[len(order)-1]
			out.Rate[p] = frames[shortest].Counts[p] / frames[shortest].ExposureMs
			out.Lost[p] = clipped[shortest][p]
			continue
		}
		out.Rate[p] = sum / weight
	}
	return out, nil
}

// seamOf compares two exposures: the ratio of sums over pixels that are sound in
// both, each weighted by how well both know it.
func seamOf(frames []Frame, sound [][]bool, long, short int, variance func(i, p int) float64) Seam {
	s := Seam{LongMs: frames[long].ExposureMs, ShortMs: frames[short].ExposureMs, Ratio: 1, U: math.Inf(1)}
	var product, square float64
	for p := range frames[long].Counts {
		if !sound[long][p] || !sound[short][p] {
			continue
		}
		a, b := frames[long].Counts[p]/s.LongMs, frames[short].Counts[p]/s.ShortMs
		va, vb := variance(long, p), variance(short, p)
		if a*a < 25*va {
			continue // nothing but noise in the longer one
		}
		w := 1 / (va + vb)
		product += w * a * b
		square += w * a * a
		s.Pixels++
	}
	if square > 0 {
		s.Ratio, s.U = product/square, 1/math.Sqrt(square)
	}
	return s
}
