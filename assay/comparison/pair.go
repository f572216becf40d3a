package comparison

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"lampassay/assay/uncertainty"
)

// Scale says by what two values are compared.
type Scale uint8

const (
	// ByRatio is for quantities that are positive and have a natural zero: flux,
	// power, efficacy.
	ByRatio Scale = iota
	// ByDifference is for the others: indices, colour temperatures,
	// chromaticities, wavelengths.
	ByDifference
)

// Options say how lamps are compared.
type Options struct {
	Scale Scale
	// Coverage is the probability of the coverage intervals, of each pair by
	// itself; 0.95 where 0.
	Coverage float64
	// Correlations join causes of different names.
	Correlations []uncertainty.Correlation
}

// DefaultCoverage is the coverage probability where nobody asks for another.
const DefaultCoverage = 0.95

// Interval is a value with its standard uncertainty and coverage interval.
type Interval struct{ Value, U, Low, High float64 }

// Pair compares two lamps: B against A.
type Pair struct {
	A, B int // places in the list of figures
	// Ratio is B/A, all NaN when compared by difference; Difference is B − A.
	Ratio, Difference Interval
	// Correlation is the correlation coefficient of the two figures.
	Correlation float64
	// Apart tells that the interval of the ratio, or of the difference where
	// that is compared, leaves out that the two are equal.
	Apart bool
}

// field is a list of figures ready to be compared.
type field struct {
	figures []Figure
	v       *mat.SymDense // nil where all have draws
	o       Options
	k       float64 // coverage factor of a normal distribution
}

func newField(figures []Figure, o Options) (*field, error) {
	if o.Coverage == 0 {
		o.Coverage = DefaultCoverage
	}
	if !(o.Coverage > 0 && o.Coverage < 1) {
		return nil, fmt.Errorf("comparison: a coverage probability lies between 0 and 1, not at %g", o.Coverage)
	}
	if len(figures) == 0 {
		return nil, fmt.Errorf("comparison: no figure was given")
	}
	f := &field{figures: figures, o: o, k: distuv.UnitNormal.Quantile((1 + o.Coverage) / 2)}
	drawn := 0
	for i := range figures {
		g := &figures[i]
		if err := g.check(); err != nil {
			return nil, err
		}
		if g.Unit != figures[0].Unit {
			return nil, fmt.Errorf("comparison: %s is in %s and %s in %s: bring them to one unit", figures[0].Lamp, unit(figures[0].Unit), g.Lamp, unit(g.Unit))
		}
		if o.Scale == ByRatio && !(g.Value > 0) {
			return nil, fmt.Errorf("comparison: %s has the value %g: a ratio needs values above zero", g.Lamp, g.Value)
		}
		if g.Draws != nil {
			drawn++
		}
	}
	switch {
	case drawn == len(figures):
		for i := range figures {
			if n := len(figures[i].Draws); n != len(figures[0].Draws) {
				return nil, fmt.Errorf("comparison: %s has %d draws and %s %d: they were not drawn together", figures[0].Lamp, len(figures[0].Draws), figures[i].Lamp, n)
			}
		}
		return f, nil
	case drawn > 0:
		for i := range figures {
			if figures[i].Draws != nil && len(figures[i].Causes) == 0 {
				return nil, fmt.Errorf("comparison: %s has draws alone and others have none: they cannot be compared", figures[i].Lamp)
			}
		}
	}
	var err error
	f.v, err = Covariance(figures, o.Correlations)
	return f, err
}

func unit(u string) string {
	if u == "" {
		return "no unit"
	}
	return u
}

// Between compares figure b with figure a.
func Between(a, b Figure, o Options) (Pair, error) {
	f, err := newField([]Figure{a, b}, o)
	if err != nil {
		return Pair{}, err
	}
	return f.pair(0, 1), nil
}

// pair compares figure b with figure a.
func (f *field) pair(a, b int) Pair {
	if f.v == nil {
		return f.pairFromDraws(a, b)
	}
	va, vb := f.figures[a].Value, f.figures[b].Value
	vaa, vbb, vab := f.v.At(a, a), f.v.At(b, b), f.v.At(a, b)
	p := Pair{A: a, B: b, Ratio: undefined, Correlation: vab / math.Sqrt(vaa*vbb)}
	if vaa == 0 || vbb == 0 {
		p.Correlation = 0
	}
	// Rounding may leave a variance a hair below the zero of full correlation.
	u := math.Sqrt(max(0, vaa+vbb-2*vab))
	d := vb - va
	p.Difference = Interval{d, u, d - f.k*u, d + f.k*u}
	if f.o.Scale == ByDifference {
		p.Apart = p.Difference.Low > 0 || p.Difference.High < 0
		return p
	}
	// On the logarithm the interval is the same whichever lamp is divided by
	// which, and never reaches below zero.
	r, w := vb/va, math.Sqrt(max(0, vaa/(va*va)+vbb/(vb*vb)-2*vab/(va*vb)))
	p.Ratio = Interval{r, r * w, r * math.Exp(-f.k*w), r * math.Exp(f.k*w)}
	p.Apart = p.Ratio.Low > 1 || p.Ratio.High < 1
	return p
}

var undefined = Interval{math.NaN(), math.NaN(), math.NaN(), math.NaN()}

// pairFromDraws compares draw by draw.
func (f *field) pairFromDraws(a, b int) Pair {
	x, y := f.figures[a].Draws, f.figures[b].Draws
	p := Pair{A: a, B: b, Ratio: undefined, Correlation: correlation(x, y)}
	each := make([]float64, len(x))
	for k := range each {
		each[k] = y[k] - x[k]
	}
	p.Difference = f.interval(f.figures[b].Value-f.figures[a].Value, each)
	if f.o.Scale == ByDifference {
		p.Apart = p.Difference.Low > 0 || p.Difference.High < 0
		return p
	}
	for k := range each {
		each[k] = y[k] / x[k]
	}
	p.Ratio = f.interval(f.figures[b].Value/f.figures[a].Value, each)
	p.Apart = p.Ratio.Low > 1 || p.Ratio.High < 1
	return p
}

// interval evaluates draws, which it sorts, by JCGM 101:2008 7.6 and 7.7: the
// probabilistically symmetric coverage interval.
func (f *field) interval(value float64, draws []float64) Interval {
	_, u := moments(draws)
	low, high := Quantiles(draws, f.o.Coverage)
	return Interval{value, u, low, high}
}

// Quantiles returns the ends of the probabilistically symmetric coverage
// interval of draws (JCGM 101:2008 7.7), NaN where fewer than two are numbers.
// It sorts them.
func Quantiles(draws []float64, coverage float64) (low, high float64) {
	draws = slices.DeleteFunc(draws, math.IsNaN)
	n := len(draws)
	if n < 2 {
		return math.NaN(), math.NaN()
	}
	slices.Sort(draws)
	q := min(int(coverage*float64(n)+0.5), n-1)
	r := max((n-q+1)/2, 1)
	return draws[r-1], draws[r-1+q]
}

// correlation of the draws in which both have a value; 0 where one is constant.
func correlation(x, y []float64) float64 {
	var n, mx, my, xx, yy, xy float64
	for k := range x {
		if math.IsNaN(x[k]) || math.IsNaN(y[k]) {
			continue
		}
		n++
		dx, dy := x[k]-mx, y[k]-my
		mx += dx / n
		my += dy / n
		xx += dx * (x[k] - mx)
		yy += dy * (y[k] - my)
		xy += dx * (y[k] - my)
	}
	if xx == 0 || yy == 0 {
		return 0
	}
	return xy / math.Sqrt(xx*yy)
}

// Reverse returns the same comparison with A against B; u of the ratio to first
// order.
func (p Pair) Reverse() Pair {
	r, d := p.Ratio, p.Difference
	p.A, p.B = p.B, p.A
	p.Ratio = Interval{1 / r.Value, r.U / (r.Value * r.Value), 1 / r.High, 1 / r.Low}
	p.Difference = Interval{-d.Value, d.U, -d.High, -d.Low}
	return p
}

// alone returns a figure by itself: its standard uncertainty, correlations
// between its causes included, and its coverage interval.
func (f *field) alone(i int) Interval {
	g := &f.figures[i]
	if f.v == nil {
		return f.interval(g.Value, slices.Clone(g.Draws))
	}
	u := math.Sqrt(f.v.At(i, i))
	return Interval{g.Value, u, g.Value - f.k*u, g.Value + f.k*u}
}
