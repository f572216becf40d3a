package calibration

import (
	"fmt"
	"math"
)

// SecondOrder removes light of λ/2 that a grating without an order-sorting
// filter sends to the place of λ. Ratio is the counts that a line leaves in
// second order over its counts in first order, at the wavelengths Nm where the
// light belongs (not where the ghost lies), straight between and constant beyond
// them.
type SecondOrder struct {
	Nm    []float64 `json:"nm"`
	Ratio []float64 `json:"ratio"`
}

func (s *SecondOrder) at(nm float64) float64 {
	n := len(s.Nm)
	if n == 0 {
		return 0
	}
	if nm <= s.Nm[0] {
		return s.Ratio[0]
	}
	for i := 1; i < n; i++ {
		if nm <= s.Nm[i] {
			f := (nm - s.Nm[i-1]) / (s.Nm[i] - s.Nm[i-1])
			return s.Ratio[i-1]*(1-f) + s.Ratio[i]*f
		}
	}
	return s.Ratio[n-1]
}

// Correct returns counts per pixel without their second-order part. The pixel
// that covers λ₁ to λ₂ loses the ratio times what is counted from λ₁/2 to λ₂/2,
// which lies at shorter wavelengths and is already freed itself. Light below the
// first pixel is unknown, so ghosts of it stay; they end at twice the first
// wavelength.
func (s *SecondOrder) Correct(axis, counts []float64) []float64 {
	n := len(axis)
	out := make([]float64, n)
	edges := pixelEdges(axis)
	sum := make([]float64, n+1) // of out, up to each edge
	k := 0
	upTo := func(nm float64) float64 {
		for k > 0 && edges[k] > nm {
			k--
		}
		for k+1 < n && edges[k+1] <= nm {
			k++
		}
		f := (nm - edges[k]) / (edges[k+1] - edges[k])
		return sum[k] + f*(sum[k+1]-sum[k])
	}
	for p := range counts {
		out[p] = counts[p]
		if hi := edges[p+1] / 2; hi > edges[0] {
			out[p] -= s.at(axis[p]/2) * (upTo(hi) - upTo(max(edges[p]/2, edges[0])))
		}
		sum[p+1] = sum[p] + out[p]
	}
	return out
}

// pixelEdges returns the wavelengths between neighbouring pixels and, with the
// neighbour's step, beyond the first and the last.
func pixelEdges(axis []float64) []float64 {
	n := len(axis)
	edges := make([]float64, n+1)
	for i := 1; i < n; i++ {
		edges[i] = (axis[i-1] + axis[i]) / 2
	}
	edges[0] = axis[0] - (axis[1]-axis[0])/2
	edges[n] = axis[n-1] + (axis[n-1]-axis[n-2])/2
	return edges
}

// Ghost is a line seen again at twice its wavelength.
type Ghost struct {
	Nm    float64 // where the light belongs
	Ratio float64 // counts of the ghost over counts of the line
	U     float64 // standard uncertainty of the ratio from noise
}

// FindGhosts looks for the strong lines of a recording at twice their
// wavelength, where the lamp has no line of its own. A line whose ghost is not
// seen is reported with what was found there, near zero: that is a result too.
func FindGhosts(axis, counts []float64, clipped []bool, lamp Lamp) []Ghost {
	n := len(axis)
	edges := pixelEdges(axis)
	noise := localNoise(counts)
	var ghosts []Ghost
	for _, p := range FindPeaks(counts, clipped) {
		if p.Broad || p.Saturated {
			continue
		}
		i := min(max(int(math.Round(p.Pixel)), 1), n-2)
		slope := (axis[i+1] - axis[i-1]) / 2
		nm := axis[i] + (p.Pixel-float64(i))*slope
		width := p.FWHM * slope
		lo, hi := 2*nm-2.5*width, 2*nm+2.5*width
		if hi > edges[n] || crowded(lamp, nm, lo, hi, width) {
			continue
		}
		ghost, u := areaAbove(axis, counts, noise, lo, hi)
		own, _ := areaAbove(axis, counts, noise, nm-1.25*width, nm+1.25*width)
		if own > 40*u { // else a ratio of 2.5 % would not be seen
			ghosts = append(ghosts, Ghost{nm, ghost / own, u / own})
		}
	}
	return ghosts
}

// crowded reports whether the lamp has lines in a ghost's window, whether the
// first order's line is none of the lamp's, or whether a stronger one stands so
// near that neither's counts can be told apart.
func crowded(lamp Lamp, nm, lo, hi, width float64) bool {
	own, beside := 0.0, 0.0
	for _, l := range lamp.Lines {
		off := math.Abs(l.Nm - nm)
		switch {
		case l.Nm > lo-width && l.Nm < hi+width:
			return true
		case off < width:
			own = max(own, l.Strength)
		case off < 4*width:
			beside = max(beside, l.Strength)
		}
	}
	return own == 0 || beside > own/2
}

// areaAbove sums the counts between two wavelengths above the straight line
// between the means of the two flanks outside, each half as wide, and returns
// the standard uncertainty that the noise leaves.
func areaAbove(axis, counts, noise []float64, lo, hi float64) (area, u float64) {
	side := (hi - lo) / 4
	var left, right, inside []int
	for i, nm := range axis {
		switch {
		case nm >= lo && nm <= hi:
			inside = append(inside, i)
		case nm >= lo-side && nm < lo:
			left = append(left, i)
		case nm > hi && nm <= hi+side:
			right = append(right, i)
		}
	}
	if len(inside) == 0 || len(left)+len(right) == 0 {
		return 0, math.Inf(1)
	}
	base, variance, n := 0.0, 0.0, 0.0
	for _, i := range append(left, right...) {
		base += counts[i]
		variance += noise[i] * noise[i]
		n++
	}
	base /= n
	m := float64(len(inside))
	u = m * m * variance / (n * n)
	for _, i := range inside {
		area += counts[i] - base
		u += noise[i] * noise[i]
	}
	return area, math.Sqrt(u)
}

// NewSecondOrder makes a correction from ghosts, by wavelength. It fails where
// there are none, or where one exceeds what a second order can be.
func NewSecondOrder(ghosts []Ghost) (SecondOrder, error) {
	var s SecondOrder
	for _, g := range ghosts {
		if g.Ratio > 0.5 {
			return s, fmt.Errorf("calibration: the light at %.1f nm is %.0f %% of that at %.1f nm: too much for a second order; the lamp has a line of its own there", 2*g.Nm, 100*g.Ratio, g.Nm)
		}
		if len(s.Nm) > 0 && g.Nm <= s.Nm[len(s.Nm)-1] {
			continue
		}
		s.Nm = append(s.Nm, g.Nm)
		s.Ratio = append(s.Ratio, max(g.Ratio, 0))
	}
	if len(s.Nm) == 0 {
		return s, fmt.Errorf("calibration: the recording shows no strong line whose double wavelength is in range and free of other lines")
	}
	return s, nil
}
