package assay

import (
	"sync"

	"lampassay/assay/quantity"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Limits on what a spectrum may leave unseen of a weighting, as shares of the
// weighting's own area. They are this project's own choice.
const (
	MissingLimit = 0.01  // above it the quantity is undefined
	missingWarn  = 0.001 // above it a warning names the share
)

type weightingIndex int

const (
	weightV weightingIndex = iota
	weightX
	weightZ
	weightX10
	weightY10
	weightZ10
	weightVPrime
	weightSCone
	weightMCone
	weightLCone
	weightRhodopic
	weightMelanopic
	weightingCount
)

// covered is a weighting with its running integral, so that the share outside
// any range is two look-ups.
type covered struct {
	name string
	w    *spectrum.Weighting
	cum  []float64 // ∫ W from the first entry to entry i
}

var weightings = sync.OnceValue(func() [weightingCount]covered {
	o2, o10, alpha := standards.CIE1931(), standards.CIE1964(), standards.AlphaOpic()
	all := [weightingCount]covered{
		weightV:         {name: "V(λ)", w: o2.Y},
		weightX:         {name: "x̄(λ)", w: o2.X},
		weightZ:         {name: "z̄(λ)", w: o2.Z},
		weightX10:       {name: "x̄₁₀(λ)", w: o10.X},
		weightY10:       {name: "ȳ₁₀(λ)", w: o10.Y},
		weightZ10:       {name: "z̄₁₀(λ)", w: o10.Z},
		weightVPrime:    {name: "V′(λ)", w: standards.VPrime()},
		weightSCone:     {name: "the S-cone-opic spectrum", w: alpha.SCone},
		weightMCone:     {name: "the M-cone-opic spectrum", w: alpha.MCone},
		weightLCone:     {name: "the L-cone-opic spectrum", w: alpha.LCone},
		weightRhodopic:  {name: "the rhodopic spectrum", w: alpha.Rhodopic},
		weightMelanopic: {name: "the melanopic spectrum", w: alpha.Melanopic},
	}
	for i := range all {
		w := all[i].w.W
		cum := make([]float64, len(w))
		for k := 1; k < len(w); k++ {
			cum[k] = cum[k-1] + (w[k-1]+w[k])/2
		}
		all[i].cum = cum
	}
	return all
})

// upTo returns ∫ W from the first entry to a wavelength.
func (c *covered) upTo(lambda float64) float64 {
	x := lambda - float64(c.w.First)
	if x <= 0 {
		return 0
	}
	i := int(x)
	if i >= len(c.cum)-1 {
		return c.cum[len(c.cum)-1]
	}
	return c.cum[i] + (x-float64(i))*(c.w.W[i]+c.w.At(lambda))/2
}

// missing returns the share of the weighting outside from…to.
func (c *covered) missing(from, to float64) float64 {
	return 1 - (c.upTo(to)-c.upTo(from))/c.cum[len(c.cum)-1]
}

// lacksAny reports whether the range misses too much of any of the weightings.
func (r *Result) lacksAny(ws ...weightingIndex) bool {
	for _, w := range ws {
		if r.missing[w] > MissingLimit {
			return true
		}
	}
	return false
}

// worstObserver returns the colour-matching function of which most is missing.
func (r *Result) worstObserver() weightingIndex {
	worst := weightV
	for _, w := range []weightingIndex{weightX, weightZ, weightX10, weightY10, weightZ10} {
		if r.missing[w] > r.missing[worst] {
			worst = w
		}
	}
	return worst
}

// weightingOf returns the weighting behind a quantity of the eye.
func weightingOf(id quantity.ID) weightingIndex {
	switch id {
	case quantity.SConeDER, quantity.SConeEDI:
		return weightSCone
	case quantity.MConeDER, quantity.MConeEDI:
		return weightMCone
	case quantity.LConeDER, quantity.LConeEDI:
		return weightLCone
	case quantity.RhodopicDER, quantity.RhodopicEDI:
		return weightRhodopic
	case quantity.MelDER, quantity.MelEDI:
		return weightMelanopic
	}
	return weightVPrime
}
