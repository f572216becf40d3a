package calibration

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// Stray removes light that landed on the wrong pixels. Of the three kinds one is
// set:
//
//   - Share: every pixel also sees this share of all light on the detector,
//     y = s + share·Σs. It is the constant pedestal of small instruments, made
//     proportional so that it serves every lamp ([StrayShare]).
//   - Matrix: y = (I + D)s with D the part of the light of each column's pixel
//     that reaches each row's, as line-spread measurements with lasers give it
//     (Zong, Brown, Johnson, Lykke, Ohno, Appl. Opt. 45 (2006) 1111);
//     [StrayMatrix] makes it.
type Stray struct {
	Share  float64     `json:"share_per_pixel,omitempty"`
	Matrix [][]float64 `json:"matrix,omitempty"`

	// inverse inverts the matrix once, when it is first asked for; nil for a
	// matrix that was put in by hand, which is inverted at every call.
	inverse func() (*mat.Dense, error)
}

// StrayMatrix is the stray light that a matrix describes. The matrix must stay
// as it is from then on.
func StrayMatrix(matrix [][]float64) Stray {
	return Stray{Matrix: matrix, inverse: sync.OnceValues(func() (*mat.Dense, error) { return invert(matrix) })}
}

// UnmarshalJSON reads what was marshalled.
func (s *Stray) UnmarshalJSON(b []byte) error {
	type plain Stray
	var p plain
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&p); err != nil {
		return fmt.Errorf("calibration: stray light: %w", err)
	}
	*s = Stray(p)
	if s.Matrix != nil {
		*s = StrayMatrix(s.Matrix)
		s.Share = p.Share
	}
	return nil
}

// Correct returns the counts without their stray part. Calls may run beside one
// another.
func (s *Stray) Correct(counts []float64) ([]float64, error) {
	n := len(counts)
	out := make([]float64, n)
	if s.Matrix == nil {
		sum := 0.0
		for _, c := range counts {
			sum += c
		}
		pedestal := s.Share * sum / (1 + s.Share*float64(n))
		for i, c := range counts {
			out[i] = c - pedestal
		}
		return out, nil
	}
	if len(s.Matrix) != n {
		return nil, fmt.Errorf("calibration: the stray-light matrix is for %d pixels, not %d", len(s.Matrix), n)
	}
	inverse := s.inverse
	if inverse == nil {
		inverse = func() (*mat.Dense, error) { return invert(s.Matrix) }
	}
	m, err := inverse()
	if err != nil {
		return nil, err
	}
	mat.NewVecDense(n, out).MulVec(m, mat.NewVecDense(n, counts))
	return out, nil
}

// invert returns the inverse of I + matrix.
func invert(matrix [][]float64) (*mat.Dense, error) {
	n := len(matrix)
	a := mat.NewDense(n, n, nil)
	for i, row := range matrix {
		if len(row) != n {
			return nil, fmt.Errorf("calibration: row %d of the stray-light matrix has %d entries, not %d", i, len(row), n)
		}
		a.SetRow(i, row)
		a.Set(i, i, a.At(i, i)+1)
	}
	inverse := new(mat.Dense)
	if err := inverse.Inverse(a); err != nil {
		return nil, fmt.Errorf("calibration: the stray-light matrix cannot be inverted: its entries are not small parts of the light")
	}
	return inverse, nil
}

// StrayShare finds the stray light of an instrument from a recording of broad
// light (a filament lamp) behind a long-pass filter, on the axis given in nm:
// below the filter's edge no light is transmitted, so what is counted there
// comes from elsewhere. The edge is the wavelength below which the filter passes
// nothing; pixels within 10 nm of it are left out. u is the standard uncertainty
// of the share from the scatter of those pixels.
func StrayShare(axis, counts []float64, edgeNm float64) (s Stray, u float64, err error) {
	if len(axis) != len(counts) {
		return s, 0, fmt.Errorf("calibration: %d wavelengths but %d counts", len(axis), len(counts))
	}
	var sum, below, square float64
	blind := 0.0
	for i, c := range counts {
		sum += c
		if axis[i] < edgeNm-10 {
			below += c
			square += c * c
			blind++
		}
	}
	if blind < 8 {
		return s, 0, fmt.Errorf("calibration: only %.0f pixels lie below the filter's edge at %g nm: too few to see stray light", blind, edgeNm)
	}
	if sum <= 0 {
		return s, 0, fmt.Errorf("calibration: the recording behind the filter holds no light")
	}
	mean := below / blind
	// Σ counts = Σ light (1 + share·n).
	share := mean / sum
	n := float64(len(counts))
	if share*n > 0.3 {
		return s, 0, fmt.Errorf("calibration: %.0f %% of the light behind the filter lies below its edge at %g nm: is this the recording without the filter?", 100*share*n, edgeNm)
	}
	s.Share = share / (1 - share*n)
	u = math.Sqrt(max(square/blind-mean*mean, 0)/blind) / sum
	return s, u, nil
}

// Pedestal returns the mean count below a wavelength under which no light can
// reach the detector, and its standard uncertainty; ok is false where fewer than
// eight pixels lie there.
func Pedestal(axis, counts []float64, blindBelowNm float64) (mean, u float64, ok bool) {
	var sum, square, n float64
	for i, nm := range axis {
		if nm < blindBelowNm {
			sum += counts[i]
			square += counts[i] * counts[i]
			n++
		}
	}
	if n < 8 {
		return 0, 0, false
	}
	mean = sum / n
	return mean, math.Sqrt(max(square/n-mean*mean, 0) / n), true
}
