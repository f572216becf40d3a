package emission

import (
	"math"

	"lampassay/light/standards"
)

// hotBody is a Planck curve fitted to a spectrum.
type hotBody struct {
	kelvin float64
	scale  float64 // of [standards.Planck]
	misfit float64 // root mean square of the logarithm of the ratio
}

func (h *hotBody) at(nm float64) float64 { return h.scale * standards.Planck(nm, h.kelvin) }

// fitHotBody fits Planck's law to the bins within [from, to] for which use
// returns true. In ln(S λ⁵) against 1/λ Wien's law is a straight line of slope
// −c₂/T; the factor that makes it Planck's is put in by iteration. ok is false
// where a bin is not clearly positive, or the slope is not that of a
// temperature.
func fitHotBody(bins []bin, from, to float64, use func(nm float64) bool) (h hotBody, ok bool) {
	kelvin := math.Inf(1) // no correction in the first round
	for round := range 5 {
		var n, sx, sy, sxx, sxy, syy float64
		for _, b := range bins {
			if b.nm < from || b.nm > to || (use != nil && !use(b.nm)) {
				continue
			}
			if b.value <= 2*b.sd {
				return h, false
			}
			x := 1e3 / b.nm
			y := math.Log(b.value) + 5*math.Log(b.nm)
			if round > 0 {
				y += math.Log1p(-math.Exp(-standards.C2 / (b.nm * 1e-9 * kelvin)))
			}
			n++
			sx += x
			sy += y
			sxx += x * x
			sxy += x * y
			syy += y * y
		}
		if n < 8 {
			return h, false
		}
		det := n*sxx - sx*sx
		slope := (n*sxy - sx*sy) / det
		if slope >= 0 {
			return h, false
		}
		kelvin = -standards.C2 * 1e6 / slope
		intercept := (sy - slope*sx) / n
		h.kelvin = kelvin
		h.misfit = math.Sqrt(max(0, (syy-slope*sxy-intercept*sy)/n))
		h.scale = math.Exp(intercept) * 1e-36 / standards.C1
	}
	if !(h.kelvin > 500 && h.kelvin < 40000) {
		return h, false
	}
	// ln(S λ⁵) = intercept − c₂/λT with λ in nm: C₁ in the same unit is
	// C1·10³⁶.
	return h, true
}
