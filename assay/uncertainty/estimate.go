package uncertainty

import (
	"math"
	"slices"
)

// Estimate is what the draws say about one output. All figures are NaN where no
// draw gave it a value.
type Estimate struct {
	Mean   float64
	StdDev float64 // standard uncertainty u(y)
	Skew   float64 // third standardised moment: 0 for a symmetric distribution
	// Low and High bound the probabilistically symmetric coverage interval, and
	// ShortLow and ShortHigh the shortest (JCGM 101:2008 5.3.4).
	Low, High           float64
	ShortLow, ShortHigh float64
	// Defined is the share of the draws in which the output has a value.
	Defined float64
	// Tolerance is the numerical tolerance δ of JCGM 101:2008 7.9.2 and Scatter
	// what was reached: twice the largest standard deviation of the averages
	// over the sequences. Both 0 after a run of a fixed number of draws.
	Tolerance, Scatter float64
}

// estimate evaluates draws, which it sorts in place (JCGM 101:2008 7.6, 7.7).
func estimate(draws []float64, coverage float64) Estimate {
	all := len(draws)
	draws = slices.DeleteFunc(draws, math.IsNaN)
	slices.Sort(draws)
	n := len(draws)
	nan := math.NaN()
	e := Estimate{Mean: nan, StdDev: nan, Skew: nan, Low: nan, High: nan, ShortLow: nan, ShortHigh: nan}
	e.Defined = float64(n) / float64(all)
	if n < 2 {
		return e
	}
	sum := 0.0
	for _, v := range draws {
		sum += v - draws[0]
	}
	e.Mean = draws[0] + sum/float64(n)
	var m2, m3 float64
	for _, v := range draws {
		d := v - e.Mean
		m2 += d * d
		m3 += d * d * d
	}
	e.StdDev = math.Sqrt(m2 / float64(n-1))
	e.Skew = 0
	if m2 > 0 {
		e.Skew = m3 / float64(n) / math.Pow(m2/float64(n), 1.5)
	}
	q := min(int(coverage*float64(n)+0.5), n-1)
	r := max((n-q+1)/2, 1)
	e.Low, e.High = draws[r-1], draws[r-1+q]
	best := 0
	for i := range n - q {
		if draws[i+q]-draws[i] < draws[best+q]-draws[best] {
			best = i
		}
	}
	e.ShortLow, e.ShortHigh = draws[best], draws[best+q]
	return e
}

// numericalTolerance is δ of JCGM 101:2008 7.9.2: half a unit in the last of
// the given number of significant digits of u.
func numericalTolerance(u float64, digits int) float64 {
	if !(u > 0) {
		return 0
	}
	exponent := math.Floor(math.Log10(u)) - float64(digits-1)
	// u = c·10^l with c rounded to the digits: 9.96 is 10 in two digits.
	if math.Round(u/math.Pow(10, exponent)) >= math.Pow(10, float64(digits)) {
		exponent++
	}
	return math.Pow(10, exponent) / 2
}

// scatter returns twice the largest of the standard deviations that the
// averages over the sequences of mean, standard uncertainty and the ends of the
// interval have (JCGM 101:2008 7.9.4 g–j).
func scatter(history [][]Estimate, output int) float64 {
	largest := 0.0
	for _, of := range [...]func(*Estimate) float64{
		func(e *Estimate) float64 { return e.Mean }, func(e *Estimate) float64 { return e.StdDev },
		func(e *Estimate) float64 { return e.Low }, func(e *Estimate) float64 { return e.High },
	} {
		h := float64(len(history))
		mean, squares := 0.0, 0.0
		for b := range history {
			mean += of(&history[b][output]) / h
		}
		for b := range history {
			d := of(&history[b][output]) - mean
			squares += d * d
		}
		largest = max(largest, 2*math.Sqrt(squares/(h*(h-1))))
	}
	return largest
}

// pooled returns the standard deviation of an output over all sequences so far.
func (s *Simulation) pooled(history [][]Estimate, output int) float64 {
	var within, mean float64
	h := float64(len(history))
	for b := range history {
		mean += history[b][output].Mean / h
	}
	for b := range history {
		e := &history[b][output]
		within += (e.StdDev*e.StdDev + (e.Mean-mean)*(e.Mean-mean)) / h
	}
	return math.Sqrt(within)
}

// stable reports whether every watched output meets its tolerance. One without
// a value, or that does not vary, has nothing to settle.
func (s *Simulation) stable(history [][]Estimate, o *Options) bool {
	return !slices.ContainsFunc(o.Watch, func(output int) bool {
		u := s.pooled(history, output)
		return u > 0 && scatter(history, output) > numericalTolerance(u, o.Digits)
	})
}

// tolerances notes what was asked and what was reached.
func (s *Simulation) tolerances(history [][]Estimate, o *Options) {
	if len(history) < 2 {
		return
	}
	for i := range s.Outputs {
		e := &s.Outputs[i]
		e.Tolerance, e.Scatter = numericalTolerance(e.StdDev, o.Digits), scatter(history, i)
	}
}
