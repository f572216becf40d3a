package temporal

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Prediction is when a rule is expected to hold.
type Prediction struct {
	// Left is the time from the record's end, in s, and Low and High bound it
	// with 90 % where the model is true, which of a real lamp nobody knows; where
	// it is not, with less (see the package's doc). High is +Inf where the record does not bound it.
	Left, Low, High float64
	// Constant is the time constant of the slower approach, in s.
	Constant float64
	// Slower names what is waited for: "light", "power" or "time", the rule's
	// own waiting.
	Slower string
	// Why says why there is no prediction, empty where there is.
	Why string
}

// fitShare is the part of the burning time that the fit looks at, its end: the
// beginning of a run-up follows other laws.
const fitShare = 0.5

// leastFit is the number of readings below which no curve is fitted.
const leastFit = 8

// mostFit is the number of readings to which longer records are averaged.
const mostFit = 400

// Predict fits an exponential approach to the later half of each trace and
// says when the rule will hold if it goes on so. switchOn is on the traces'
// clock. A lamp for which the rule holds has nothing left.
//
// With y = f + a·exp(−t/τ) the spread over a window of W that ends at t is
// |a|·exp(−t/τ)·(exp(W/τ) − 1) over the least of y in it, so the time sought
// follows from τ, f and a.
// τ enters alone unlinearly: for each of a row of τ the fit is linear and its
// marginal likelihood |XᵀX|^−½·RSS^−(ν/2), ν = n − 2, weighs that τ (f and a
// integrated out under a flat prior, the noise under 1/σ). Of readings whose
// residuals go together with their neighbours' only n(1 − ρ)/(1 + ρ) count.
func Predict(light, power Trace, c Criterion, switchOn float64) (Prediction, error) {
	if err := c.check(); err != nil {
		return Prediction{}, err
	}
	if light.Len() == 0 {
		return Prediction{}, fmt.Errorf("temporal: no readings of light")
	}
	end := lastCommon(light, power)
	if c.Judge(light, power, switchOn, end).Stable {
		return Prediction{Slower: "time"}, nil
	}
	wait := max(c.Least-(end-switchOn), c.Window-(end-switchOn), 0)
	p := Prediction{Left: wait, Low: wait, High: wait, Slower: "time"}
	from := end - fitShare*(end-switchOn)
	for _, one := range []struct {
		name string
		t    Trace
	}{{"light", light}, {"power", power}} {
		if one.t.Len() == 0 {
			continue
		}
		part := one.t.Within(from, end)
		if part.Len() < leastFit {
			return Prediction{Left: math.NaN(), Low: math.NaN(), High: math.NaN(), Slower: one.name,
				Why: fmt.Sprintf("%d readings of %s in the later half of the burning time; a curve wants %d", part.Len(), one.name, leastFit)}, nil
		}
		averaged, each := part.averaged(mostFit)
		a := fitApproach(averaged, end)
		if noise := a.noise * math.Sqrt(each) / a.level * spreadOfNoise; noise > c.Spread {
			if a.rho > together {
				return Prediction{Left: math.NaN(), Low: math.NaN(), High: math.NaN(), Slower: one.name,
					Why: fmt.Sprintf("%s does not yet approach its end as an exponential does", one.name)}, nil
			}
			return Prediction{Left: math.NaN(), Low: math.NaN(), High: math.NaN(), Slower: one.name,
				Why: fmt.Sprintf("the scatter of %s alone spreads by about %s, more than the %s allowed: average longer for each reading",
					one.name, percent(noise), percent(c.Spread))}, nil
		}
		left, low, high := a.settles(c)
		if left > p.Left {
			p.Left, p.Slower, p.Constant = left, one.name, a.constant
		}
		p.Low, p.High = max(p.Low, low), max(p.High, high)
	}
	return p, nil
}

// spreadOfNoise is the range of a handful of normal readings in standard
// deviations (about 3 for nine; order statistics of the normal distribution).
const spreadOfNoise = 3

// together is the correlation of neighbouring residuals from which they count as a
// curve that the model does not have, and not as scatter (judgement).
const together = 0.7

// linear is the fit for one time constant: y = f + a·exp(−(s − end)/τ).
type linear struct {
	tau, f, a float64
	ua        float64 // standard deviation of a, for a noise of 1
	spread    float64 // determinant of the normal equations, but for n
	rss       float64 // sum of squared residuals
}

// approach is the posterior over time constants.
type approach struct {
	fits     []linear
	weight   []float64 // sums to 1
	dof      float64
	rho      float64 // correlation of a residual with its neighbour's
	open     bool    // the longest constant still weighs
	densest  float64
	level    float64 // at the record's end
	noise    float64 // standard deviation of one reading about the best fit
	constant float64
}

// fitApproach finds the best time constant from a twentieth of the fitted time
// to twenty times it, and weighs others at distances from it that grow from
// hardly any, so that neither a sharp peak nor a long tail is missed.
func fitApproach(t Trace, end float64) approach {
	const steps = 60
	from, _ := t.Span()
	least, most := (end-from)/20, (end-from)*20
	best := linear{rss: math.Inf(1)}
	for lo, hi := least, most; hi/lo > 1+1e-9; {
		k, row := 0, make([]linear, steps)
		for i := range row {
			row[i] = fitConstant(t, end, lo*math.Pow(hi/lo, float64(i)/(steps-1)))
			if row[i].rss < row[k].rss {
				k = i
			}
		}
		best = row[k]
		lo, hi = row[max(k-1, 0)].tau, row[min(k+1, steps-1)].tau
	}
	n := float64(t.Len())
	r := approach{constant: best.tau, level: best.f + best.a, noise: math.Sqrt(best.rss / max(n-3, 1))}
	r.rho = neighbours(t, func(s float64) float64 { return best.f + best.a*math.Exp((end-s)/best.tau) })
	r.dof = max(n*(1-r.rho)/(1+r.rho), 4) - 2

	away := []float64{0}
	for i := range 2 * steps {
		u := 1e-5 * math.Pow(math.Log(most/least)/1e-5, float64(i)/(2*steps-1))
		away = append(away, u, -u)
	}
	slices.Sort(away)
	sum := 0.0
	for i, u := range away {
		tau := best.tau * math.Exp(u)
		if tau < least || tau > most {
			continue
		}
		fit := fitConstant(t, end, tau)
		// The piece of log τ that this one stands for.
		piece := (away[min(i+1, len(away)-1)] - away[max(i-1, 0)]) / 2
		w := piece * math.Exp(-0.5*math.Log(fit.spread)-0.5*r.dof*math.Log(fit.rss/best.rss))
		r.open = w/piece > 0.01*r.densest && tau > most/1.2
		r.densest = max(r.densest, w/piece)
		fit.ua *= math.Sqrt(fit.rss / r.dof)
		r.fits, r.weight = append(r.fits, fit), append(r.weight, w)
		sum += w
	}
	for k := range r.weight {
		r.weight[k] /= sum
	}
	return r
}

// fitConstant is the linear fit for one time constant.
func fitConstant(t Trace, end, tau float64) linear {
	// The curve is 1 at the beginning, so that nothing overflows; both columns
	// are taken about their means, and what remains is summed anew, so that
	// nothing cancels.
	from, _ := t.Span()
	curve := func(s float64) float64 { return math.Exp(-(s - from) / tau) }
	n := float64(t.Len())
	middle, mean := 0.0, 0.0
	for i, s := range t.Seconds {
		middle += curve(s) / n
		mean += t.Values[i] / n
	}
	var see, sey float64
	for i, s := range t.Seconds {
		e := curve(s) - middle
		see, sey = see+e*e, sey+e*(t.Values[i]-mean)
	}
	a := sey / see
	l := linear{tau: tau, f: mean - a*middle, spread: see, rss: 1e-300}
	for i, s := range t.Seconds {
		e := t.Values[i] - l.f - a*curve(s)
		l.rss += e * e
	}
	atEnd := curve(end)
	l.a, l.ua = a*atEnd, atEnd/math.Sqrt(see)
	return l
}

// neighbours is the correlation of residuals with their neighbours, not below 0.
func neighbours(t Trace, fit func(float64) float64) float64 {
	var with, own, before float64
	for i, s := range t.Seconds {
		e := t.Values[i] - fit(s)
		own += e * e
		if i > 0 {
			with += e * before
		}
		before = e
	}
	if own == 0 {
		return 0
	}
	return min(max(with/own, 0), 0.99)
}

// settles returns when the spread falls to the rule's, in s from the record's
// end: the median of the posterior and its 5 % and 95 % points. For each τ the
// amplitude's own doubt is spread over five points of its t-distribution.
func (r approach) settles(c Criterion) (left, low, high float64) {
	student := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: r.dof}
	var at, weight []float64
	for k, fit := range r.fits {
		if r.weight[k] < 1e-9 {
			continue
		}
		tau := fit.tau
		for j := range 5 {
			a := fit.a + student.Quantile((float64(j)+0.5)/5)*fit.ua
			// The least of the window is its beginning where light rises, its end
			// where it falls.
			per := math.Expm1(c.Window/tau) - c.Spread
			if a < 0 {
				per = math.Expm1(c.Window/tau) + c.Spread*math.Exp(c.Window/tau)
			}
			t := tau * math.Log(math.Abs(a)*per/(c.Spread*math.Abs(fit.f)))
			at = append(at, max(t, 0))
			weight = append(weight, r.weight[k]/5)
		}
	}
	stat.SortWeighted(at, weight)
	q := func(p float64) float64 { return stat.Quantile(p, stat.Empirical, at, weight) }
	low, left, high = q(0.05), q(0.5), q(0.95)
	// Where the longest constants that are tried still weigh, the record shows no
	// end.
	if r.open {
		high = math.Inf(1)
	}
	return left, low, high
}
