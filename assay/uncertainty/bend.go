package uncertainty

import (
	"fmt"
	"math"
	"slices"

	"lampassay/light/spectrum"
)

// AxisErrors say how a wavelength axis that was fitted to lines may err: the
// curves in nm, at the wavelengths Nm, that independent standard normal values
// multiply and that add up. They are the columns of a root of the fit's covariance,
// so that errors at two wavelengths go together as the fit lets them, and grow
// beyond the outermost lines.
type AxisErrors struct {
	Nm     []float64
	Curves [][]float64
}

func (a *AxisErrors) check() error {
	if len(a.Curves) == 0 {
		return nil
	}
	if len(a.Nm) < 2 || !slices.IsSorted(a.Nm) {
		return fmt.Errorf("uncertainty: the errors of a wavelength axis need two or more rising wavelengths")
	}
	for k, c := range a.Curves {
		if len(c) != len(a.Nm) {
			return fmt.Errorf("uncertainty: curve %d of the wavelength axis has %d values for %d wavelengths", k+1, len(c), len(a.Nm))
		}
		if slices.ContainsFunc(c, func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }) {
			return fmt.Errorf("uncertainty: curve %d of the wavelength axis has a value that is not a finite number", k+1)
		}
	}
	return nil
}

// onGrid lays the curves on the grid, straight between their wavelengths and as
// at the ends beyond them.
func (a *AxisErrors) onGrid() [][]float64 {
	grid := make([][]float64, len(a.Curves))
	for k, c := range a.Curves {
		grid[k] = make([]float64, gridPoints)
		for i := range grid[k] {
			grid[k][i] = straight(a.Nm, c, float64(spectrum.GridFirst+i))
		}
	}
	return grid
}

const gridPoints = spectrum.GridLast - spectrum.GridFirst + 1

// straight reads a curve between its points, and at its ends beyond them.
func straight(x, y []float64, at float64) float64 {
	i, _ := slices.BinarySearch(x, at)
	switch i {
	case 0:
		return y[0]
	case len(x):
		return y[len(y)-1]
	}
	f := (at - x[i-1]) / (x[i] - x[i-1])
	return y[i-1] + f*(y[i]-y[i-1])
}

// bend is one draw of the axis errors on the grid.
type bend struct {
	nm    []float64
	slope []float64 // nm per nm
}

func newBend() *bend {
	return &bend{make([]float64, gridPoints), make([]float64, gridPoints)}
}

// set makes the draw z of curves on the grid.
func (b *bend) set(grid [][]float64, z []float64) {
	clear(b.nm)
	for k, c := range grid {
		for i, v := range c {
			b.nm[i] += z[k] * v
		}
	}
	last := len(b.nm) - 1
	for i := range b.slope {
		lo, hi := max(i-1, 0), min(i+1, last)
		b.slope[i] = (b.nm[hi] - b.nm[lo]) / float64(hi-lo)
	}
}

// at is by how much a wavelength errs.
func (b *bend) at(lambda float64) float64 {
	x := min(max(lambda-spectrum.GridFirst, 0), gridPoints-1)
	i := min(int(x), gridPoints-2)
	f := x - float64(i)
	return b.nm[i] + f*(b.nm[i+1]-b.nm[i])
}

// bent is the power that the bend's slope adds between two wavelengths, 0 for
// the end of the grid.
func (a axisError) bent(src *spectrum.Projected, from, to int) float64 {
	if a.bend == nil {
		return 0
	}
	first := max(from-spectrum.GridFirst, 0)
	last := gridPoints
	if to != 0 {
		last = min(max(to-spectrum.GridFirst, 0), gridPoints)
	}
	sum := 0.0
	for i := first; i < last; i++ {
		sum += src.B[i] * a.bend.slope[i]
	}
	return sum
}

// bentMoment is what the bend adds to the sum of wavelength times power.
func (a axisError) bentMoment(src *spectrum.Projected) float64 {
	if a.bend == nil {
		return 0
	}
	sum := 0.0
	for i, b := range src.B {
		sum += b * (a.bend.nm[i] + a.bend.slope[i]*float64(spectrum.GridFirst+i))
	}
	return sum
}
