package figure

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/plot/vg"
)

// checkCurve reports what keeps a curve from being drawn: fewer than two
// samples, unequal lengths, a wavelength that does not increase, a value that
// is not finite.
func checkCurve(name string, nm, values []float64) error {
	if len(nm) < 2 || len(nm) != len(values) {
		return fmt.Errorf("figure: %s: %d wavelengths and %d values make no curve", name, len(nm), len(values))
	}
	for i := range nm {
		if !finite(nm[i], values[i]) {
			return fmt.Errorf("figure: %s: sample %d is not a finite number", name, i+1)
		}
		if i > 0 && nm[i] <= nm[i-1] {
			return fmt.Errorf("figure: %s: wavelength %g nm does not increase", name, nm[i])
		}
	}
	return nil
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// valueAt reads a curve at a wavelength within it, straight between samples.
func valueAt(nm, values []float64, at float64) float64 {
	i := sort.SearchFloat64s(nm, at)
	switch {
	case i == 0:
		return values[0]
	case i == len(nm):
		return values[len(values)-1]
	}
	t := (at - nm[i-1]) / (nm[i] - nm[i-1])
	return values[i-1] + t*(values[i]-values[i-1])
}

// extreme returns the least and the largest value from a to b nm, and the
// wavelength of the largest; ok is false where the curve has nothing there.
func extreme(nm, values []float64, a, b float64) (lo, hi, at float64, ok bool) {
	for i, v := range values {
		if nm[i] < a || nm[i] > b {
			continue
		}
		if !ok || v > hi {
			hi, at = v, nm[i]
		}
		if !ok || v < lo {
			lo = v
		}
		ok = true
	}
	return lo, hi, at, ok
}

// trace returns a curve's points in a frame. Where several samples fall in half
// a pixel only the first, the lowest, the highest and the last of them remain:
// the line looks the same and a long waveform does not swell the page.
func trace(f frame, nm, values []float64) []vg.Point {
	var pts []vg.Point
	for i := 0; i < len(nm); {
		cell := math.Floor(float64(f.x(nm[i])) * 2)
		end, low, high := i+1, i, i
		for end < len(nm) && math.Floor(float64(f.x(nm[end]))*2) == cell {
			if values[end] < values[low] {
				low = end
			}
			if values[end] > values[high] {
				high = end
			}
			end++
		}
		before := -1
		for _, k := range []int{i, min(low, high), max(low, high), end - 1} {
			if k > before {
				pts = append(pts, f.at(nm[k], values[k]))
				before = k
			}
		}
		i = end
	}
	return pts
}

// spectrumCurve draws a curve with a pale area down to zero.
func (p *pen) spectrumCurve(f frame, nm, values []float64, c ink) {
	pts := trace(f, nm, values)
	n := len(pts)
	zero := f.y(0)
	area := append([]vg.Point{{X: pts[0].X, Y: zero}}, pts...)
	area = append(area, vg.Point{X: pts[n-1].X, Y: zero})
	p.polygon(inkWash, clipArea(f.box, area)...)
	for _, part := range clip(f.box, pts) {
		p.line(c, 1.5, part...)
	}
}
