package mismatch

import (
	"fmt"
	"math"
	"sync"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Response is a light meter's relative spectral responsivity on the grid,
// prepared by [New].
type Response struct {
	w *spectrum.Weighting
	k float64 // ∫ S_A V dλ / ∫ S_A s dλ: adjusts the meter to illuminant A
}

// mostUnseen is the share of V(λ) that a response or a lamp's spectrum may leave
// unseen, this project's own choice.
const mostUnseen = 0.01

// New takes a response as finite values at increasing wavelengths in nm, a
// straight line between them and nothing beyond. Slightly negative values, as
// noise makes them, are data. It fails where the curve is not one, leaves more
// than 1 % of V(λ) unseen, or responds to illuminant A with nothing.
func New(wavelengths, values []float64) (*Response, error) {
	s, err := spectrum.New(spectrum.Relative, wavelengths, values)
	if err != nil {
		return nil, fmt.Errorf("mismatch: the meter's response: %w", err)
	}
	from, to := s.Range()
	if missing := standards.V().Missing(from, to); missing > mostUnseen {
		return nil, fmt.Errorf("mismatch: the meter's response covers only %.4g–%.4g nm, and %.2g %% of V(λ) lies outside", from, to, 100*missing)
	}
	r := &Response{w: onGrid(s)}
	seen := r.w.Of(illuminantA())
	if !(seen > 0) {
		return nil, fmt.Errorf("mismatch: the meter responds to illuminant A with nothing or less")
	}
	r.k = standards.V().Of(illuminantA()) / seen
	return r, nil
}

// onGrid reads a curve at whole nanometres.
func onGrid(s *spectrum.Spectrum) *spectrum.Weighting {
	axis, values := s.Axis(), s.Values()
	first := max(int(math.Ceil(axis[0])), spectrum.GridFirst)
	last := min(int(axis[len(axis)-1]), spectrum.GridLast)
	w := &spectrum.Weighting{Name: "s(λ)", First: first, W: make([]float64, last-first+1)}
	k := 0
	for i := range w.W {
		nm := float64(first + i)
		for k+2 < len(axis) && axis[k+1] <= nm {
			k++
		}
		f := (nm - axis[k]) / (axis[k+1] - axis[k])
		w.W[i] = (1-f)*values[k] + f*values[k+1]
	}
	return w
}

// illuminantA is CIE standard illuminant A by its formula (CIE 15:2018 4.1.1,
// ISO 11664-2), at whole nanometres over 300–830 nm.
var illuminantA = sync.OnceValue(func() *spectrum.Projected {
	var nm, v []float64
	for l := 300.0; l <= 830; l++ {
		nm = append(nm, l)
		v = append(v, math.Pow(560/l, 5)*math.Expm1(1.435e7/(2848*560))/math.Expm1(1.435e7/(2848*l)))
	}
	s, err := spectrum.New(spectrum.Relative, nm, v)
	if err != nil {
		panic(err)
	}
	p, err := s.Project(spectrum.Tabulated)
	if err != nil {
		panic(err)
	}
	return p
})

// F1Prime returns the general V(λ) mismatch index f₁′ as a fraction: ∫|s* − V| dλ
// over ∫V dλ, where s* is the response adjusted to illuminant A (ISO/CIE
// 19476:2014). Both curves are straight between whole nanometres.
func (r *Response) F1Prime() float64 {
	v := standards.V()
	first, last := min(v.First, r.w.First), max(v.Last(), r.w.Last())
	sum, before := 0.0, 0.0
	for nm := first; nm <= last+1; nm++ {
		after := 0.0
		if nm <= last {
			after = r.k*r.w.At(float64(nm)) - v.At(float64(nm))
		}
		sum += area(before, after)
		before = after
	}
	return sum / v.Integral(float64(v.First), float64(v.Last()))
}

// area is the area between zero and a line from a to b over one nanometre.
func area(a, b float64) float64 {
	if a*b >= 0 {
		return math.Abs(a+b) / 2
	}
	return (a*a + b*b) / (2 * (math.Abs(a) + math.Abs(b))) // two triangles
}

// Correction returns the spectral mismatch correction factor of ISO/CIE
// 19476:2014 for a lamp: what a reading of the adjusted meter must be multiplied
// by. It fails where the lamp's spectrum leaves more than 1 % of V(λ) unseen, or
// where lamp or meter sum to nothing.
func (r *Response) Correction(lamp *spectrum.Projected) (float64, error) {
	if missing := standards.V().Missing(lamp.Extent()); missing > mostUnseen {
		return 0, fmt.Errorf("mismatch: the lamp's spectrum covers only %.4g–%.4g nm, and %.2g %% of V(λ) lies outside", lamp.From, lamp.To, 100*missing)
	}
	light, seen := standards.V().Of(lamp), r.k*r.w.Of(lamp)
	if !(light > 0 && seen > 0) {
		return 0, fmt.Errorf("mismatch: the lamp's light sums to nothing for the eye or for the meter")
	}
	return light / seen, nil
}
