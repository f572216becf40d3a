package temporal

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Prediction is when a rule is expected to hold.
type Prediction struct {
	// Left is the time from the record's end to the first reading at which the rule
	// holds, in s, and Low and High bound it with 90 %: how often they do is measured
	// on simulated lamps of ten kinds, in docs/method/runup.md. High is +Inf where the
	// record does not bound it.
	Left, Low, High float64
	// Slower names what is waited for: "light", "power" or "time", the rule's
	// own waiting.
	Slower string
	// Why says why there is no prediction, empty where there is.
	Why string
}

const (
	// fitShare is the part of the burning time that the fit looks at, its end: the
	// beginning of a run-up follows other laws (judgement).
	fitShare = 2.0 / 3
	// leastFit is the number of readings below which no curve is fitted.
	leastFit = 8
	// mostFit is the number of readings to which longer records are averaged.
	mostFit = 200
	// horizon is how far ahead is looked, in burning times or windows, whichever is
	// longer (judgement).
	horizon = 8
)

// Predict says when the rule will first hold if the lamp goes on as it does: many
// ways on that agree with the end of each trace are drawn, read with the traces' own
// noise and judged. switchOn is on the traces' clock. A lamp for which the rule
// holds has nothing left. The same record gives the same prediction.
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
	burning := end - switchOn
	wait := max(c.Least-burning, c.Window-burning, 0)
	rng := rand.New(rand.NewPCG(13032, 4)) // always the same
	var names []string
	var courses []course
	var p places
	var between float64
	for _, one := range []struct {
		name string
		t    Trace
	}{{"light", light}, {"power", power}} {
		if one.t.Len() == 0 {
			continue
		}
		part := one.t.Within(end-fitShare*burning, end)
		if part.Len() < leastFit {
			return unpredicted(one.name, "%d readings of %s in the later two thirds of the burning time; a curve wants %d", part.Len(), one.name, leastFit), nil
		}
		if !(slices.Min(part.Values) > 0) {
			return unpredicted(one.name, "%s is not above 0 throughout the later two thirds of the burning time", one.name), nil
		}
		from, to := part.Span()
		if courses == nil { // light, whose readings the rule is judged at
			between = (to - from) / float64(part.Len()-1)
			p = c.places(between, horizon*max(burning, c.Window))
		}
		averaged, each := part.averaged(mostFit)
		r := relax(averaged)
		// Scatter from one reading to the next, and what wanders more slowly.
		s := scatter(part) / r.level
		noise := math.Sqrt(s*s + max(0, r.noise*r.noise-s*s/each))
		readings := c.Window/((to-from)/float64(part.Len()-1)) + 1
		if c.Every > 0 {
			readings = float64(c.compared())
		}
		switch alone := rangeOfNoise(readings); {
		case s*alone > c.Spread:
			return unpredicted(one.name, "the scatter of %s alone spreads by about %s, more than the %s allowed: average longer for each reading",
				one.name, percent(s*alone), percent(c.Spread)), nil
		case noise*alone > c.Spread:
			return unpredicted(one.name, "%s does not yet show where it ends", one.name), nil
		}
		begins, _ := averaged.Span()
		names = append(names, one.name)
		courses = append(courses, newCourse(one.t.Within(switchOn, end), &r, begins, end, noise, p, rng))
	}
	at, late := firstHolds(c, courses, wait, rng)
	slower := names[0]
	if len(late) > 1 && late[1] > late[0] {
		slower = names[1]
	}
	slices.Sort(at)
	quantile := func(share float64) float64 { return at[int(share*drawn)] }
	out := Prediction{Left: quantile(0.5), Low: quantile(0.05), High: quantile(0.95), Slower: slower}
	if math.IsInf(out.Left, 1) {
		return unpredicted(slower, "%s does not yet show where it ends", slower), nil
	}
	if out.Left <= wait {
		out.Slower = "time"
	}
	if p.group > 1 {
		// Between two places nothing is resolved but the reading that ends there, and
		// the rule is judged at the next reading.
		out.Low = max(out.Low-p.step+between, wait)
		if out.High > wait {
			out.High += between
		}
	}
	return out, nil
}

func unpredicted(name, why string, args ...any) Prediction {
	none := math.NaN()
	return Prediction{Left: none, Low: none, High: none, Slower: name, Why: fmt.Sprintf(why, args...)}
}

// rangeOfNoise is the range of so many normal readings in standard deviations:
// twice the median of the largest, which is below x with Φ(x)ⁿ.
func rangeOfNoise(n float64) float64 {
	return 2 * distuv.UnitNormal.Quantile(math.Pow(0.5, 1/n))
}
