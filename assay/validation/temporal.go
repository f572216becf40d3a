package validation

import (
	"math"

	"lampassay/light/temporal"
)

// stabilisation: when a lamp is called stable.
func stabilisation(l *list) {
	const memory = "IES LM-79-08, EN 13032-4"
	trace := func(f func(s float64) float64, step, to float64) temporal.Trace {
		var t temporal.Trace
		for s := 0.0; s <= to; s += step {
			t.Seconds, t.Values = append(t.Seconds, s), append(t.Values, f(s))
		}
		return t
	}
	steady := trace(func(float64) float64 { return 10 }, 10, 9000)
	// One reading a quarter of an hour: 100, 100.3, then as asked.
	third := func(v float64) temporal.Trace {
		return temporal.Trace{Seconds: []float64{0, 900, 1800}, Values: []float64{100, 100.3, v}}
	}
	yes := func(v temporal.Verdict) float64 {
		if v.Stable {
			return 1
		}
		return 0
	}
	rules := temporal.Criteria()
	lm79, en := rules[0], rules[2]
	l.add("LM-79-08: three readings over 30 min that spread by", 0.0049, lm79.Judge(third(100.49), steady, 0, 1800).Light.Value, 1e-12, "1", Defined, "(max − min)/min")
	l.add("LM-79-08: a spread of 0.49 % is stable", 1, yes(lm79.Judge(third(100.49), steady, 0, 1800)), 0, "", Memory, memory)
	l.add("LM-79-08: a spread of 0.51 % is not", 0, yes(lm79.Judge(third(100.51), steady, 0, 1800)), 0, "", Memory, memory)
	l.add("EN 13032-4: nothing before 30 min", 0, yes(en.Judge(steady, steady, 0, 1790)), 0, "", Memory, memory)
	l.add("EN 13032-4: steady from 30 min on", 1, yes(en.Judge(steady, steady, 0, 1800)), 0, "", Memory, memory)
	l.add("EN 13032-4: steady light with drifting power is not stable", 0,
		yes(en.Judge(steady, trace(func(s float64) float64 { return 10 + s/1e4 }, 10, 9000), 0, 1800)), 0, "", Memory, memory)

	// 1 − (1 − p)·exp(−t/τ) is at a share q at τ·ln((1 − p)/(1 − q)).
	const tau, start = 240.0, 0.3
	run := trace(func(s float64) float64 { return 1000 * (1 - (1-start)*math.Exp(-s/tau)) }, 1, 9000)
	r, err := temporal.Analyse(run, temporal.Trace{}, temporal.Options{})
	reached := func(i int) float64 {
		if err != nil || i >= len(r.Reached) {
			return math.NaN()
		}
		return r.Reached[i].Seconds
	}
	for i, share := range []float64{0.6, 0.8, 0.9, 0.95} {
		l.add(format("an exponential of 240 s from 30 %%: time to %g %%", 100*share), tau*math.Log((1-start)/(1-share)), reached(i), 0.01, "s", Defined, "the exponential")
	}
	// Its spread over a window falls to s at τ·ln(a(e^{W/τ} − 1 + s·e^{W/τ})/s), a = 1 − p.
	s, w := en.Spread, en.Window/900*300
	own := temporal.Criterion{Name: "own", Window: w, Spread: s}
	settles := tau * math.Log((1-start)*(math.Expm1(w/tau)+s*math.Exp(w/tau))/s)
	until := run.Within(0, 600)
	p, err := temporal.Predict(until, temporal.Trace{}, own, 0)
	if err != nil {
		p.Left = math.NaN()
	}
	l.add("the same after 10 min: time left to 0.5 % over 5 min", settles-600, p.Left, 1, "s", Defined, "the exponential")
}
