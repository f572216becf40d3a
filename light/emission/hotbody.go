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
// −c₂/T; the factor that makes it Planck's is put in by iteration. A bin counts
// by how well its logarithm is known: 2 %, its noise, and a hundredth of the
// largest for stray light. ok is false where a third of the bins is not clearly
// positive, or the slope is not that of a temperature.
func fitHotBody(bins []bin, from, to float64, use func(nm float64) bool) (h hotBody, ok bool) {
	top := 0.0
	for _, b := range bins {
		if b.nm >= from && b.nm <= to {
			top = max(top, b.value)
		}
	}
	h.kelvin = math.Inf(1) // no correction in the first round
	for round := range 5 {
		var n, dark int
		var sw, sx, sy, sxx, sxy, syy float64
		for _, b := range bins {
			if b.nm < from || b.nm > to || (use != nil && !use(b.nm)) {
				continue
			}
			n++
			if b.value <= 2*b.sd {
				dark++
				continue
			}
			noise, stray := b.sd/b.value, 0.01*top/b.value
			w := 1 / (4e-4 + noise*noise + stray*stray)
			x := 1e3 / b.nm
			y := math.Log(b.value) + 5*math.Log(b.nm)
			if round > 0 {
				y += math.Log1p(-math.Exp(-standards.C2 / (b.nm * 1e-9 * h.kelvin)))
			}
			sw += w
			sx += w * x
			sy += w * y
			sxx += w * x * x
			sxy += w * x * y
			syy += w * y * y
		}
		if n-dark < 8 || 3*dark > n {
			return h, false
		}
		slope := (sw*sxy - sx*sy) / (sw*sxx - sx*sx)
		if slope >= 0 {
			return h, false
		}
		intercept := (sy - slope*sx) / sw
		h.kelvin = -standards.C2 * 1e6 / slope
		h.misfit = math.Sqrt(max(0, (syy-slope*sxy-intercept*sy)/sw))
		// With λ in nm the intercept is ln(scale · C₁ · 10³⁶): C₁ λ⁻⁵ per metre
		// is C₁·10⁴⁵ λ⁻⁵ with λ in nm, and 10⁻⁹ of that per nanometre.
		h.scale = math.Exp(intercept) * 1e-36 / standards.C1
	}
	return h, h.kelvin > 500 && h.kelvin < 40000
}
