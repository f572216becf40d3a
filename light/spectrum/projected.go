package spectrum

import (
	"math"
	"slices"
)

// Projection says how a curve's samples are read.
type Projection uint8

const (
	// Sampled reads a straight line between the samples: an instrument's curve.
	Sampled Projection = iota
	// Tabulated reads point masses S(λₖ)·Δλ at whole nanometres: a published
	// table, summed at its own step.
	Tabulated
)

// String returns "sampled" or "tabulated".
func (k Projection) String() string {
	if k == Tabulated {
		return "tabulated"
	}
	return "sampled"
}

// Band is one of the wavelength ranges of the CIE vocabulary, or a share
// beside the visible.
type Band uint8

// The bands. UVC, UVB, UVA and IRA are those of CIE S 017:2020 ("ultraviolet
// radiation", and 17-21-004 "infrared radiation"); Visible is 380 nm to 780 nm
// by convention, so that UVA and Visible overlap. BelowVisible, Visible and
// AboveVisible add up to the whole.
const (
	UVC          Band = iota // 100–280 nm
	UVB                      // 280–315 nm
	UVA                      // 315–400 nm
	Visible                  // 380–780 nm
	IRA                      // 780–1400 nm
	BelowVisible             // under 380 nm
	AboveVisible             // over 780 nm
	bandCount
)

// Projected is a spectrum ready for every weighted sum. Integrals are in the
// unit of the spectrum times nm, so W for [Flux], W/m² for [Irradiance], and an
// arbitrary unit where there is no scale.
type Projected struct {
	// B[i] is ∫ S(λ) hat(λ) dλ for the grid wavelength GridFirst+i.
	B [GridLen]float64

	Quantity Quantity
	Kind     Projection
	// Step is the distance in nm of the grid points that a reference spectrum
	// must be summed at to be treated like this one: 1 for a sampled curve, the
	// table's own step for a tabulated one.
	Step int
	// From and To are the first and the last covered wavelength, nm.
	From, To float64
	// Pitch is the widest distance between neighbouring samples in nm.
	Pitch float64

	// Total is ∫ S dλ over all that is covered, and Moment ∫ S·λ dλ.
	Total, Moment float64
	// Micromol is the photon number 400–700 nm, ∫ S λ/(N_A h c) dλ, in µmol
	// per second where S is in watts.
	Micromol float64
	// Power holds the integral over each [Band].
	Power [bandCount]float64

	// Peak is the wavelength of the largest sample and PeakValue its value.
	// HalfBelow and HalfAbove are where the curve falls to half of it on either
	// side, NaN where it does not within the covered range.
	Peak, PeakValue      float64
	HalfBelow, HalfAbove float64
	// Negative is the share of the area between the curve and zero that the
	// negative samples account for, each sample standing for half the distance
	// to its neighbours: 0 for a clean curve, 1 for one negative throughout.
	Negative float64
	// Zero reports that every sample is exactly zero.
	Zero bool
}

// Covers reports whether all of a to b (nm) lies within the samples. For a
// tabulated curve half a step beyond the ends counts as covered: the end point
// stands for that much.
func (p *Projected) Covers(a, b float64) bool {
	from, to := p.Extent()
	return from <= a && b <= to
}

// Extent returns the covered range: the first to the last sample and, for a
// tabulated curve, half a step on either side.
func (p *Projected) Extent() (from, to float64) {
	if p.Kind == Tabulated {
		h := float64(p.Step) / 2
		return p.From - h, p.To + h
	}
	return p.From, p.To
}

// Centroid returns the centroid wavelength ∫Sλ/∫S in nm (CIE S 017:2020), NaN
// where the total is not positive.
func (p *Projected) Centroid() float64 {
	if p.Total <= 0 {
		return math.NaN()
	}
	return p.Moment / p.Total
}

// FWHM returns the full width at half maximum of the tallest feature in nm, NaN
// where the curve does not fall to half on both sides.
func (p *Projected) FWHM() float64 { return p.HalfAbove - p.HalfBelow }

// Share returns the part of the covered total that lies in a band; NaN where
// the total is not positive.
func (p *Projected) Share(b Band) float64 {
	if p.Total <= 0 {
		return math.NaN()
	}
	return p.Power[b] / p.Total
}

// shape finds peak, half-height points and sign of a curve. Each sample stands
// for a span.
func (p *Projected) shape(axis, spans, values []float64) {
	k, top := 0, values[0]
	for i, v := range values {
		if v > top {
			k, top = i, v
		}
	}
	p.Peak, p.PeakValue = axis[k], top
	p.Negative = negativeShare(spans, values)
	p.Zero = top == 0 && !slices.ContainsFunc(values, func(v float64) bool { return v != 0 })

	half := top / 2
	p.HalfBelow, p.HalfAbove = math.NaN(), math.NaN()
	if half <= 0 {
		return
	}
	for i := k; i > 0; i-- {
		if values[i-1] <= half {
			p.HalfBelow = crossing(axis[i-1], axis[i], values[i-1], values[i], half)
			break
		}
	}
	for i := k; i+1 < len(values); i++ {
		if values[i+1] <= half {
			p.HalfAbove = crossing(axis[i], axis[i+1], values[i], values[i+1], half)
			break
		}
	}
}

// negativeShare returns the part of the area between curve and zero that is
// negative. It knows no branches: the sign of noise cannot be foreseen.
func negativeShare(spans, values []float64) float64 {
	values = values[:len(spans)]
	var twice, all float64
	for i, w := range spans {
		area := w * values[i]
		size := math.Abs(area)
		twice += size - area
		all += size
	}
	if !(all > 0) {
		return 0
	}
	return twice / 2 / all
}

// crossing returns where the straight line from (x0, y0) to (x1, y1) has the
// height y, with y between y0 and y1 and y0 ≠ y1.
func crossing(x0, x1, y0, y1, y float64) float64 {
	return x0 + (x1-x0)*(y-y0)/(y1-y0)
}
