package rendition

import (
	"math"
	"sync"

	"lampassay/light/spectrum"
)

// What a method asks of its reference light, such as its samples' tristimulus
// values, depends on the temperature alone once it is settled how sums are made.
// A chart holds these figures as polynomials in the reciprocal temperature (in
// mired, 1e-6 K⁻¹), in which they are smooth: 297 sums of twelve terms take the
// place of a light made anew, folded and put to 99 samples.
//
// The chart stops at tristimulus values. J′a′b′ are not smooth: the chroma of
// CIECAM02 goes as the power 0.9, so that a sample on its way past grey has a
// bend there that no polynomial follows.
//
// Each panel is a sum of Chebyshev polynomials through the figures at twelve
// temperatures. It is made when first asked for, in about a third of a
// millisecond, and serves all evaluators; the panels of the three methods for
// one range of temperature take 36 kB.
type chart struct {
	panels [len(chartEdges) - 1]func() []series
}

// figures computes what a method asks of the light e.reference has turned to.
type figures func(e *Evaluator, out []float64)

// series holds the coefficients of the Chebyshev polynomials.
type series [chartTerms]float64

const chartTerms = 12

// chartEdges bound the panels, in K. Each takes in its cold end, and only the
// first its hot one. The references change their formulae at 4000, 5000 and 7000 K, which
// itself belongs to what is colder (CIE 15:2018, illuminants D). The other edges
// keep the panels narrow enough for their terms.
var chartEdges = [...]float64{
	daylightTo, 11000, math.Nextafter(7000, daylightTo), blendTo, blendFrom,
	3000, 2400, 2000, 1600, 1300, 1100, 900, 750, 650, chartTo,
}

// chartTo is the cold end of the charts in K. Near 520 K the green signal of the
// white passes through zero in CIECAM02's adaptation, which magnifies the last
// digits of anything without bound.
const chartTo = 600

func newChart(t *tables, s sums, n int, direct figures) *chart {
	c := new(chart)
	for k := range c.panels {
		c.panels[k] = sync.OnceValue(func() []series { return newPanel(t, k, s, n, direct) })
	}
	return c
}

// newPanel interpolates n figures over panel k.
func newPanel(t *tables, k int, s sums, n int, direct figures) []series {
	e := t.evaluator()
	y := make([]float64, n)
	all := make([]series, n)
	for j := range chartTerms {
		angle := math.Pi * (float64(j) + 0.5) / chartTerms
		hot, cold := 1e6/chartEdges[k], 1e6/chartEdges[k+1]
		e.reference.turn(referenceKey{1e6 / ((hot + cold + (cold-hot)*math.Cos(angle)) / 2), s})
		direct(e, y)
		for term := range chartTerms {
			weight := 2 / float64(chartTerms) * math.Cos(float64(term)*angle)
			if term == 0 {
				weight /= 2
			}
			for i := range y {
				all[i][term] += weight * y[i]
			}
		}
	}
	return all
}

// at fills out with the figures at a temperature. It reports false where the
// chart, which may be nil, does not have them.
func (c *chart) at(cct float64, out []float64) bool {
	if c == nil || !(cct >= chartTo && cct <= daylightTo) {
		return false
	}
	k := 0
	for cct < chartEdges[k+1] {
		k++
	}
	hot, cold := 1e6/chartEdges[k], 1e6/chartEdges[k+1]
	t := (2e6/cct - hot - cold) / (cold - hot)
	p := series{1, t}
	for i := 2; i < len(p); i++ {
		p[i] = 2*t*p[i-1] - p[i-2]
	}
	all := c.panels[k]()
	for i := range out {
		s := &all[i]
		out[i] = ((s[0] + s[1]*p[1]) + (s[2]*p[2] + s[3]*p[3])) + ((s[4]*p[4] + s[5]*p[5]) + (s[6]*p[6] + s[7]*p[7])) +
			((s[8]*p[8] + s[9]*p[9]) + (s[10]*p[10] + s[11]*p[11]))
	}
	return true
}

// charts are those of the three methods for one way of making sums.
type charts struct{ cri, fidelity, ssi *chart }

// newCharts makes the charts for curves, and for tables at the steps in use.
// References for any other table are computed each time.
func newCharts(t *tables) map[sums]charts {
	all := make(map[sums]charts)
	for _, s := range []sums{
		{kind: spectrum.Sampled, step: 1},
		{kind: spectrum.Tabulated, step: 1},
		{kind: spectrum.Tabulated, step: 2},
		{kind: spectrum.Tabulated, step: 5},
		{kind: spectrum.Tabulated, step: 10},
	} {
		all[s] = charts{
			cri:      newChart(t, s, len(criColours{}), (*Evaluator).criReference),
			fidelity: newChart(t, s, len(cesColours{}), (*Evaluator).fidelityReference),
			ssi:      newChart(t, s, ssiBins, (*Evaluator).ssiReference),
		}
	}
	return all
}
