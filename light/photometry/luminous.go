package photometry

import (
	"math"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// The maximum luminous efficacies, lm/W (ISO/CIE 23539): 683 lm/W divided by
// V(555.016 nm) and by V′(555.016 nm). Rounded values, 683 and 1700, are also in
// use.
const (
	Km      = 683.002
	KmPrime = 1700.06
)

// Luminous returns Km ∫ S V dλ: the photopic quantity that belongs to the
// spectrum, lm where it is in W/nm.
func Luminous(p *spectrum.Projected) float64 { return Km * standards.V().Of(p) }

// Scotopic returns K′m ∫ S V′ dλ, the scotopic quantity.
func Scotopic(p *spectrum.Projected) float64 { return KmPrime * standards.VPrime().Of(p) }

// LER returns the luminous efficacy of radiation K = Km ∫ S V dλ / ∫ S dλ in
// lm/W, the denominator over all that is covered: the same lamp has a lower one
// where more of its infrared was measured.
func LER(p *spectrum.Projected) float64 { return ratio(Luminous(p), p.Total) }

// SPRatio returns the scotopic to photopic ratio, K′m ∫ S V′ dλ over Km ∫ S V dλ
// (CIE 191:2010).
func SPRatio(p *spectrum.Projected) float64 { return ratio(Scotopic(p), Luminous(p)) }

// PhotonsPerLumen returns the photons of 400–700 nm that come with a unit of
// light, in µmol/s per lm (and so µmol/(m²·s) per lx).
func PhotonsPerLumen(p *spectrum.Projected) float64 { return ratio(p.Micromol, Luminous(p)) }

// ratio is a/b, NaN where b is not positive.
func ratio(a, b float64) float64 {
	if !(b > 0) {
		return math.NaN()
	}
	return a / b
}
