package limits

import (
	"math"

	"lampassay/light/spectrum"
)

// grid is what of the house's grid a column is carried on: more than all the
// weightings used here, 360–830 nm.
const (
	gridFirst = 340
	gridLast  = 850
)

// projection is a light of 1 W, bᵢ = ∫ S hatᵢ dλ, on the stretch of that part of
// the grid where it is not zero. What lies outside is power all the same.
type projection struct {
	first int // nm, of b[0]
	b     []float64
}

// sigmaFromFWHM of a Gaussian.
var sigmaFromFWHM = 1 / (2 * math.Sqrt(2*math.Ln2))

// lineProjection projects a Gaussian line of 1 W, exactly. The integral of a
// density over a hat is the second difference of its second antiderivative
//
//	F(x) = x·Φ(x/σ) + σ²·φ_σ(x),
//
// which for the ideal line, σ = 0, is max(x, 0): its watt is divided between the
// two neighbouring nodes.
func lineProjection(centre, fwhm float64) *projection {
	sigma := fwhm * sigmaFromFWHM
	reach := 9*sigma + 1
	first := max(int(math.Floor(centre-reach)), gridFirst)
	last := min(int(math.Ceil(centre+reach)), gridLast)
	p := &projection{first, make([]float64, max(last-first+1, 0))}
	for i := range p.b {
		x := float64(first+i) - centre
		p.b[i] = ramp(x-1, sigma) - 2*ramp(x, sigma) + ramp(x+1, sigma)
	}
	return p
}

// ramp is F, as the corner max(x, 0) and what rounds it off.
func ramp(x, sigma float64) float64 {
	if sigma == 0 {
		return max(x, 0)
	}
	t := math.Abs(x) / sigma
	tail := sigma * (math.Exp(-t*t/2)/math.Sqrt(2*math.Pi) - t*math.Erfc(t/math.Sqrt2)/2)
	return max(x, 0) + tail
}

// emitterProjection takes a projected spectrum as a light of 1 W.
func emitterProjection(s *spectrum.Projected) *projection {
	p := &projection{gridFirst, make([]float64, gridLast-gridFirst+1)}
	for i := range p.b {
		p.b[i] = s.B[gridFirst+i-spectrum.GridFirst] / s.Total
	}
	return p
}

// of weighs the projection.
func (p *projection) of(w *spectrum.Weighting) float64 {
	from, to := max(p.first, w.First), min(p.first+len(p.b)-1, w.Last())
	if from > to {
		return 0
	}
	return spectrum.Dot(w.W[from-w.First:to-w.First+1], p.b[from-p.first:])
}
