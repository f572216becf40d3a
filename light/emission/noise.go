package emission

import (
	"math"
	"slices"
)

// The noise is read from third differences, which no parabola disturbs:
// d = −y₀ + 3y₁ − 3y₂ + y₃ has the variance 20 σ². A low quantile of |d| within
// a window is little moved by the lines that stand in it.
const (
	noiseWindow   = 224  // samples
	noiseEnd      = 48   // samples at either end that are looked at by themselves
	noiseQuantile = 0.30 // P(|z| < 0.3853) = 0.30 for a normal deviate
	noiseDeviate  = 0.3853
	// Below this share of the largest sample nothing is called noise-free: a
	// table is rounded, an array converter has steps.
	noiseFloor = 2e-4
	// coarseNoise is that share for a table of 2.5 nm step or more, whose
	// entries are typically given to three digits.
	coarseNoise = 2e-3
)

// estimateNoise fills t.sigma. A given noise (> 0) is taken as it is.
//
// Differences of neighbouring samples see only uncorrelated noise. An
// instrument that smooths, or a file that was interpolated, leaves noise that
// neighbours share; differences at the distance of a bandwidth see that as
// well, but they also see the lines. Their ratio in the quietest windows
// therefore scales the first.
func (t *trace) estimateNoise(given float64) {
	n := len(t.y)
	t.sigma = t.floats.take(n)
	if given > 0 {
		for i := range t.sigma {
			t.sigma[i] = given
		}
		return
	}
	if t.coarse() {
		// Structure and noise are one at this step. A published table is
		// rounded, not noisy.
		for i := range t.sigma {
			t.sigma[i] = max(coarseNoise*t.top, math.SmallestNonzeroFloat32)
		}
		return
	}
	window := min(noiseWindow, max(96, n/3), n)
	count := max(1, 2*n/window-1) // half-overlapping
	if n > 6*window {
		count = n / window
	}
	far := max(2, int(math.Round(max(1, 3*t.medianPitch())/t.medianPitch())))
	if far*3+8 > window {
		far = 1
	}
	var scratch [2 * noiseWindow]float64
	near, ratio := t.floats.take(count), t.floats.take(count)[:0]
	clipped := slices.Contains(t.y, 0)
	start := func(w int) int {
		if count == 1 {
			return 0
		}
		return w * (n - window) / (count - 1)
	}
	for w := range near {
		y := t.y[start(w) : start(w)+window]
		near[w] = differenceNoise(y, 1, scratch[:0])
		if clipped {
			near[w] = max(near[w], clippedNoise(y, scratch[:0]))
		}
		if w%2 != 0 && count > 8 && n <= 6*window && near[w] > 0 { // its neighbours cover the same samples
			continue
		}
		distant := differenceNoise(y, far, scratch[:0])
		if near[w] > 0 {
			ratio = append(ratio, distant/near[w])
		} else {
			near[w] = distant
		}
	}
	correlated := 1.0
	if len(ratio) >= 4 {
		slices.Sort(ratio)
		correlated = min(6, max(1, ratio[len(ratio)/6]))
	}
	floor := noiseFloor * t.top
	if floor == 0 {
		floor = 1 // a dark record: nothing will stand above that
	}
	for w := range near {
		near[w] = max(near[w]*correlated, floor)
	}
	for i := range t.sigma {
		if count == 1 {
			t.sigma[i] = near[0]
			continue
		}
		// Straight between the windows' middles.
		p := (float64(i) - float64(window)/2) * float64(count-1) / float64(n-window)
		w := min(max(int(p), 0), count-2)
		f := min(max(p-float64(w), 0), 1)
		t.sigma[i] = near[w]*(1-f) + near[w+1]*f
	}
	// Towards the ends an instrument goes blind and its corrected noise grows
	// within less than a window.
	if end := noiseEnd; n > 4*end {
		first := differenceNoise(t.y[:end], 1, scratch[:0]) * correlated
		last := differenceNoise(t.y[n-end:], 1, scratch[:0]) * correlated
		for i := range end {
			t.sigma[i] = max(t.sigma[i], first)
			t.sigma[n-1-i] = max(t.sigma[n-1-i], last)
		}
	}
}

func differenceNoise(y []float64, lag int, scratch []float64) float64 {
	for i := 0; i+3*lag < len(y); i++ {
		scratch = append(scratch, math.Abs(y[i+3*lag]-y[i]+3*(y[i+lag]-y[i+2*lag])))
	}
	if len(scratch) == 0 {
		return 0
	}
	return quantileIn(scratch, scratch[len(scratch):2*len(scratch)], noiseQuantile) / noiseDeviate / math.Sqrt(20)
}

// clippedNoise is for windows in which negative readings were cut off at zero,
// 0 where an eighth of the samples or less was. What noise left there has as
// many positive samples as zeros, the smallest ones, and those are the upper
// half of a normal distribution: their median is 0.6745 σ.
func clippedNoise(y, scratch []float64) float64 {
	zeros := 0
	for _, v := range y {
		if v == 0 {
			zeros++
		} else if v > 0 {
			scratch = append(scratch, v)
		}
	}
	if 8*zeros <= len(y) || zeros > 2*len(scratch) {
		return 0
	}
	return quantileIn(scratch, scratch[len(scratch):2*len(scratch)], min(0.5, 0.5*float64(zeros)/float64(len(scratch)))) / 0.6745
}

// quantile returns the q-quantile of v, whose contents it changes.
func quantile(v []float64, q float64) float64 { return quantileIn(v, make([]float64, len(v)), q) }

// quantileIn is quantile with other, at least as long as v, to work in. It parts v
// at one of its values again and again, by the sign of the difference: a branch on
// noise is a branch mistaken.
func quantileIn(v, other []float64, q float64) float64 {
	k := int(q * float64(len(v)-1))
	for {
		pivot := v[len(v)/2]
		other = other[:len(v)]
		below, above := 0, 0
		for _, x := range v {
			v[below], other[above] = x, x
			less := int(math.Float64bits(x-pivot) >> 63)
			below += less
			above += 1 - less
		}
		switch {
		case above == 0: // not a number
			return pivot
		case k < below:
			v = v[:below]
			continue
		}
		k -= below
		v, other = other[:above], v
		if below > 0 {
			continue
		}
		// The pivot is the least: what equals it comes out, or nothing might.
		for _, x := range v {
			v[below] = x
			if x > pivot {
				below++
			}
		}
		equal := len(v) - below
		if k < equal {
			return pivot
		}
		k, v = k-equal, v[:below]
	}
}
