package claims

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Conformity returns the probability that a quantity lies within the tolerance
// limits, low and high, either of which may be infinite: of a normal
// distribution with the estimate m and standard uncertainty u (JCGM 106:2012
// 7.3 for one limit, 7.4 for two). For u = 0 it is 0 or 1.
func Conformity(m, u, low, high float64) float64 {
	if u == 0 {
		if m >= low && m <= high {
			return 1
		}
		return 0
	}
	// The upper tail by symmetry, so that a small one is not 1 less nearly 1.
	cdf := distuv.UnitNormal.CDF
	below, above := cdf((low-m)/u), cdf((m-high)/u)
	return 1 - below - above
}

// ConformityOfDraws returns the share of the draws within the limits (JCGM
// 106:2012 7.1 with the distribution of JCGM 101:2008); draws that leave the
// quantity undefined do not count. NaN where none does.
func ConformityOfDraws(draws []float64, low, high float64) float64 {
	n, within := 0.0, 0.0
	for _, v := range draws {
		switch {
		case math.IsNaN(v):
			continue
		case v >= low && v <= high:
			within++
		}
		n++
	}
	return within / n
}

// Acceptance returns the acceptance limits for a guard band of width w: inside
// the tolerance limits by w (guarded acceptance, JCGM 106:2012 8.3.2), or beyond
// them where w is negative (guarded rejection, 8.3.3).
func Acceptance(low, high, w float64) (acceptLow, acceptHigh float64) { return low + w, high - w }

// GuardBand returns the width of the guard band by which a value accepted at a
// limit conforms with probability p, for a normal distribution and one limit:
// u·z(p).
func GuardBand(u, p float64) float64 { return u * distuv.UnitNormal.Quantile(p) }
