package temporal

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The bed on which predictions are measured: kinds of run-up, each with a power
// of its own, read with a noise and judged by a rule on the readings themselves.

// kind is a family of run-ups. draw returns light and power, 1 at the end, as
// functions of the seconds since switch-on; slow stretches all times.
type kind struct {
	name string
	draw func(rng *rand.Rand, slow float64) (light, power func(s float64) float64)
}

// between draws evenly, ratio evenly in the logarithm.
func between(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

func ratio(rng *rand.Rand, lo, hi float64) float64 {
	return lo * math.Pow(hi/lo, rng.Float64())
}

// powerOf is a power that approaches its end from either side, on its own time.
func powerOf(rng *rand.Rand, slow float64) func(float64) float64 {
	a, tau := between(rng, -0.1, 0.3), slow*ratio(rng, 40, 300)
	return func(s float64) float64 { return 1 - a*math.Exp(-s/tau) }
}

// kinds are the families on which the prediction was tuned; strangers were never
// looked at while tuning.
func kinds() []kind {
	return []kind{
		{"one exponential", func(rng *rand.Rand, slow float64) (_, _ func(float64) float64) {
			a, tau := between(rng, 0.1, 0.8), slow*ratio(rng, 80, 500)
			return func(s float64) float64 { return 1 - a*math.Exp(-s/tau) }, powerOf(rng, slow)
		}},
		{"two exponentials (amalgam)", func(rng *rand.Rand, slow float64) (_, _ func(float64) float64) {
			a, b := between(rng, 0.2, 0.6), between(rng, 0.03, 0.2)
			tau := slow * ratio(rng, 30, 120)
			late := tau * ratio(rng, 3, 10)
			return func(s float64) float64 { return 1 - a*math.Exp(-s/tau) - b*math.Exp(-s/late) }, powerOf(rng, slow)
		}},
		{"stretched exponential", func(rng *rand.Rand, slow float64) (_, _ func(float64) float64) {
			a, beta, tau := between(rng, 0.1, 0.8), between(rng, 0.55, 1.3), slow*ratio(rng, 60, 300)
			return func(s float64) float64 { return 1 - a*math.Exp(-math.Pow(max(s, 0)/tau, beta)) }, powerOf(rng, slow)
		}},
		{"logistic start (discharge)", func(rng *rand.Rand, slow float64) (_, _ func(float64) float64) {
			t0, w := slow*ratio(rng, 60, 240), slow*ratio(rng, 15, 50)
			a, tau := between(rng, 0.05, 0.4), slow*ratio(rng, 100, 400)
			return func(s float64) float64 { return (0.03 + 0.97/(1+math.Exp(-(s-t0)/w))) * (1 - a*math.Exp(-s/tau)) }, powerOf(rng, slow)
		}},
		{"overshoot (fluorescent)", func(rng *rand.Rand, slow float64) (_, _ func(float64) float64) {
			a, tau := between(rng, 0.3, 0.6), slow*ratio(rng, 30, 100)
			b, late := between(rng, 0.03, 0.15), slow*ratio(rng, 200, 800)
			return func(s float64) float64 { return 1 - a*math.Exp(-s/tau) + b*math.Exp(-s/late) }, powerOf(rng, slow)
		}},
		{"falling (LED)", func(rng *rand.Rand, slow float64) (_, _ func(float64) float64) {
			all, share := between(rng, 0.03, 0.08), between(rng, 0.2, 0.6)
			tau, late := slow*ratio(rng, 20, 90), slow*ratio(rng, 300, 1200)
			light := func(s float64) float64 {
				return 1 + all*(share*math.Exp(-s/tau)+(1-share)*math.Exp(-s/late))
			}
			p := between(rng, 0.005, 0.03)
			return light, func(s float64) float64 { return 1 + p*math.Exp(-s/late) }
		}},
		{"vapour that warms (sodium)", func(rng *rand.Rand, slow float64) (_, _ func(float64) float64) {
			// The law of the bench's simulated lamp, in other sizes.
			warming, latent := slow*ratio(rng, 120, 300), ratio(rng, 8000, 15000)
			at := func(s float64) float64 {
				kelvin := 293 + 240*(1-math.Exp(-max(s, 0)/warming))
				v := math.Exp(-latent * (1/kelvin - 1.0/533))
				return 1.1*v/(v+0.1) + 0.02*(0.001+0.05/(1+math.Pow(v/0.02, 1.5)))
			}
			return at, powerOf(rng, slow)
		}},
	}
}

func strangers() []kind {
	return []kind{
		{"Gompertz", func(rng *rand.Rand, slow float64) (_, _ func(float64) float64) {
			b, tau := between(rng, 1, 5), slow*ratio(rng, 80, 400)
			return func(s float64) float64 { return math.Exp(-b * math.Exp(-s/tau)) }, powerOf(rng, slow)
		}},
		{"power law", func(rng *rand.Rand, slow float64) (_, _ func(float64) float64) {
			a, p, tau := between(rng, 0.1, 0.6), between(rng, 1.5, 4), slow*ratio(rng, 80, 300)
			return func(s float64) float64 { return 1 - a*math.Pow(1+max(s, 0)/tau, -p) }, powerOf(rng, slow)
		}},
		{"hyperbolic tangent", func(rng *rand.Rand, slow float64) (_, _ func(float64) float64) {
			a, tau, p := between(rng, 0, 0.3), slow*ratio(rng, 200, 800), between(rng, 1, 2)
			return func(s float64) float64 { return a + (1-a)*math.Pow(math.Tanh(max(s, 0)/tau), p) }, powerOf(rng, slow)
		}},
	}
}

// trial is one lamp on the bed.
type trial struct {
	light, power Trace
	rule         Criterion
	holds        float64 // when the rule first holds on the readings; NaN where it does not within the record
	step         float64
	quiet        float64 // when the lamp's drift alone would be within the rule for good
}

// rules are the product's, as they are and without their least burning, and a
// short one.
func rulesOnBed() []Criterion {
	all := Criteria()
	for _, c := range Criteria() {
		c.Least = 0
		all = append(all, c)
	}
	return append(all, Criterion{Name: "short", Window: 300, Spread: 0.005})
}

// tryOn reads a lamp of a kind. The record is as long as it takes the rule to
// hold, or ten hours.
func tryOn(rng *rand.Rand, k kind, noise float64) trial {
	rules := rulesOnBed()
	one := trial{rule: rules[rng.IntN(len(rules))], step: []float64{1, 5, 30}[rng.IntN(3)], holds: math.NaN()}
	slow := ratio(rng, 0.7, 3)
	if one.rule.Window < 600 {
		slow /= 2
	}
	light, power := k.draw(rng, slow)
	const longest = 36000
	reading := func(f func(float64) float64, s float64) float64 { return f(s) * (1 + noise*rng.NormFloat64()) }
	c := one.rule
	for s := 0.0; s <= longest; s += one.step {
		one.light.Seconds = append(one.light.Seconds, s)
		one.light.Values = append(one.light.Values, reading(light, s))
		one.power.Values = append(one.power.Values, reading(power, s))
		one.power.Seconds = one.light.Seconds
		if s < c.Least || s < c.Window {
			continue
		}
		drift := func(f func(float64) float64) float64 {
			a, b := f(s), f(s-c.Window)
			return math.Abs(a-b) / min(a, b)
		}
		if max(drift(light), drift(power)) > c.Spread {
			one.quiet = s
		}
		// Not before the drift alone comes near the rule.
		if math.IsNaN(one.holds) && max(drift(light), drift(power)) < 2*c.Spread && c.Judge(one.light, one.power, 0, s).Stable {
			one.holds = s
		}
		if !math.IsNaN(one.holds) && s > one.quiet+c.Window {
			break
		}
	}
	return one
}

// until is the record's beginning.
func (t Trace) until(s float64) Trace { return t.Within(math.Inf(-1), s) }

// tally counts how predictions fared.
type tally struct {
	asked, refused, unbounded, inside, below, above int
	errors, widths                                  []float64
}

func (t *tally) put(one trial, end float64, p Prediction) {
	truth := one.holds - end
	wait := max(one.rule.Least-end, one.rule.Window-end, 0)
	switch {
	case p.Why != "":
		t.asked++
		t.refused++
		return
	case truth <= wait+one.step && p.High <= wait+one.step:
		return // the rule's own waiting, which is no prediction
	}
	t.asked++
	switch {
	case truth < p.Low-1e-6:
		t.below++
	case truth > p.High+1e-6:
		t.above++
	default:
		t.inside++
	}
	if math.IsInf(p.High, 1) {
		t.unbounded++
	}
	if !math.IsInf(truth, 1) {
		t.errors = append(t.errors, math.Log((p.Left+one.step)/(truth+one.step)))
		t.widths = append(t.widths, (p.High-p.Low)/(truth+one.step))
	}
}

// add takes in another's counts.
func (t *tally) add(o *tally) {
	t.asked, t.refused, t.unbounded = t.asked+o.asked, t.refused+o.refused, t.unbounded+o.unbounded
	t.inside, t.below, t.above = t.inside+o.inside, t.below+o.below, t.above+o.above
	t.errors, t.widths = append(t.errors, o.errors...), append(t.widths, o.widths...)
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return v[len(v)/2]
}

// coverage is the share of the intervals that held the truth.
func (t tally) coverage() float64 { return float64(t.inside) / float64(t.asked-t.refused) }

// shareOfWay are the times at which a prediction is asked for, as shares of the
// burning after which the lamp's drift alone is within the rule. They do not depend
// on when the readings happened to be, which would choose among the outcomes.
var shareOfWay = []float64{0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97, 1.03}

// measure asks for predictions on so many lamps of a kind and adds up by share of
// the way.
func measure(t testing.TB, seed uint64, k kind, noise float64, lamps int) map[float64]*tally {
	found := map[float64]*tally{0: {}}
	for _, q := range shareOfWay {
		found[q] = &tally{}
	}
	rng := rand.New(rand.NewPCG(seed, 17))
	for range lamps {
		one := tryOn(rng, k, noise)
		if math.IsNaN(one.holds) {
			one.holds = math.Inf(1) // only an interval without an upper end holds that
		}
		for _, q := range shareOfWay {
			end := math.Floor(q*one.quiet/one.step) * one.step
			if end >= one.holds {
				continue
			}
			p, err := Predict(one.light.until(end), one.power.until(end), one.rule, 0)
			if err != nil {
				t.Fatal(err)
			}
			found[0].put(one, end, p)
			found[q].put(one, end, p)
		}
	}
	return found
}
