package temporal

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// sampled reads a curve at equal steps.
func sampled(t testing.TB, from, to, step float64, f func(s float64) float64) Trace {
	t.Helper()
	var seconds, values []float64
	for s := from; s <= to+1e-9; s += step {
		seconds, values = append(seconds, s), append(values, f(s))
	}
	tr, err := NewTrace(seconds, values)
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// approaching is an exponential run-up to 1000 from a share of it.
func approaching(share, tau float64) func(float64) float64 {
	return func(s float64) float64 { return 1000 * (1 - (1-share)*math.Exp(-s/tau)) }
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.6g, want %.6g ± %g", what, got, want, tolerance)
	}
}

func TestClocksThatDoNotAdvanceAreRefused(t *testing.T) {
	for name, tc := range map[string]struct {
		seconds, values []float64
		want            string
	}{
		"jump back":      {[]float64{0, 2, 1}, []float64{1, 1, 1}, "reading 3 is at 1 s, the one before it at 2 s"},
		"standing":       {[]float64{0, 0}, []float64{1, 1}, "does not advance"},
		"not a number":   {[]float64{0, 1}, []float64{1, math.NaN()}, "reading 2 is NaN at 1 s"},
		"unequal length": {[]float64{0, 1}, []float64{1}, "2 times for 1 values"},
	} {
		if _, err := NewTrace(tc.seconds, tc.values); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: %v, want %q in it", name, err, tc.want)
		}
	}
}

// An exponential 1 − (1 − s)·exp(−t/τ) is at a share q at τ·ln((1 − s)/(1 − q)).
func TestTimesOfAnExponentialRunUp(t *testing.T) {
	const tau, start = 120.0, 0.2
	light := sampled(t, 0, 5400, 1, approaching(start, tau))
	power := sampled(t, 0, 5400, 1, func(float64) float64 { return 10 })
	r, err := Analyse(light, power, Options{})
	if err != nil || r.Why != "" {
		t.Fatal(err, r.Why)
	}
	near(t, "level", r.Level, 1000, 1e-6)
	near(t, "first light", r.FirstLight, 0, 0)
	for _, reach := range r.Reached {
		near(t, "reach", reach.Seconds, tau*math.Log((1-start)/(1-reach.Share)), 0.01)
	}
	// At 30 min, when the rule first looks, its window holds the last 4 · 10⁻⁴ of the rise.
	near(t, "stable since", r.StableSince, 1800, 1)
}

func TestLM79ComparesReadingsFifteenMinutesApart(t *testing.T) {
	c := Criteria()[0]
	// Published rule: three readings over 30 min, (max − min)/min below 0.5 %
	// (IES LM-79-08, from memory). Between its readings it sees nothing.
	at := func(a, b, d float64) Trace {
		tr, _ := NewTrace([]float64{0, 1200, 2100, 2500, 3000}, []float64{a, a, b, 5, d})
		return tr
	}
	if v := c.Judge(at(100, 100.2, 100.4), Trace{}, 0, 3000); !v.Stable {
		t.Errorf("0.4 %% is within the rule: %s", v.Why)
	}
	v := c.Judge(at(100, 100.2, 100.6), Trace{}, 0, 3000)
	near(t, "spread", v.Light.Value, 0.006, 1e-12)
	if v.Stable || v.Light.Readings != 3 {
		t.Errorf("0.6 %% is outside the rule, from 3 readings: %+v", v)
	}
}

func TestBothLightAndPowerMustStand(t *testing.T) {
	steady := sampled(t, 0, 3600, 10, func(float64) float64 { return 50 })
	drifting := sampled(t, 0, 3600, 10, func(s float64) float64 { return 50 + s/1000 })
	c := Criteria()[2]
	for name, tc := range map[string]struct {
		light, power Trace
		stable       bool
		says         string
	}{
		"both":        {steady, steady, true, "power"},
		"light moves": {drifting, steady, false, "light still spreads"},
		"power moves": {steady, drifting, false, "power still spreads"},
		"neither":     {drifting, drifting, false, "light spreads"},
		"no power":    {steady, Trace{}, true, "power was not recorded"},
	} {
		v := c.Judge(tc.light, tc.power, 0, 3600)
		if v.Stable != tc.stable || !strings.Contains(v.Why, tc.says) {
			t.Errorf("%s: %v, %q", name, v.Stable, v.Why)
		}
	}
	if v := c.Judge(steady, steady, 0, 600); v.Stable || !strings.Contains(v.Why, "20 min more burning") {
		t.Errorf("before its least time the rule says nothing: %q", v.Why)
	}
	if v := c.Judge(sampled(t, 0, 9100, 10, func(s float64) float64 { return 50 + s/100 }), Trace{}, 0, 9100); !strings.Contains(v.Why, "gives up after 150 min") {
		t.Errorf("after 150 min the rule gives up: %q", v.Why)
	}
}

func TestSwitchOnIsFoundOnlyWhereNobodySaysIt(t *testing.T) {
	light := sampled(t, 0, 5400, 10, func(s float64) float64 { return max(0, min(s-60, 1)) })
	power := sampled(t, 0, 5400, 10, func(s float64) float64 { return max(0, min(s-40, 1)) })
	for name, tc := range map[string]struct {
		power Trace
		said  *float64
		want  float64
	}{
		"by the power":     {power, nil, 50},
		"without power":    {Trace{}, nil, 0},
		"said, at 0":       {power, new(0.0), 0},
		"said, before all": {power, new(-30.0), -30},
	} {
		r, err := Analyse(light, tc.power, Options{SwitchOn: tc.said})
		if err != nil {
			t.Fatal(name, err)
		}
		near(t, name, r.SwitchOn, tc.want, 0)
		near(t, name+": 90 %", r.Reached[2].Seconds, 69-tc.want, 1e-9) // between the readings at 60 s and 70 s
	}
	for _, none := range []float64{math.NaN(), math.Inf(1)} {
		if _, err := Analyse(light, power, Options{SwitchOn: new(none)}); err == nil || !strings.Contains(err.Error(), "finite") {
			t.Errorf("switched on at %g: %v", none, err)
		}
	}
}

func TestALampThatIsStillDriftingHasNoRunUpTimes(t *testing.T) {
	r, err := Analyse(sampled(t, 0, 3600, 10, func(s float64) float64 { return 100 + s/10 }), Trace{}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Reached) != 0 || !math.IsNaN(r.Level) || !strings.Contains(r.Why, "has not stabilised") {
		t.Errorf("%+v", r)
	}
}

func TestDropOutsRestartsAndRestrike(t *testing.T) {
	// Burns to 600 s, power is lost for 30 s, light is back 240 s after power.
	light := sampled(t, 0, 5000, 2, func(s float64) float64 {
		if s >= 600 && s < 870 {
			return 0.1
		}
		return 1000
	})
	power := sampled(t, 0, 5000, 2, func(s float64) float64 {
		if s >= 600 && s < 630 {
			return 0
		}
		return 70
	})
	r, err := Analyse(light, power, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Interruptions) != 1 {
		t.Fatalf("interruptions: %+v", r.Interruptions)
	}
	i := r.Interruptions[0]
	near(t, "out", i.Out, 600, 0)
	near(t, "back", i.Back, 870, 0)
	near(t, "restrike", i.Restrike, 240, 2)
	if !i.PowerLost {
		t.Error("power was lost")
	}
	// The burning that counts began at 870 s: 30 min later the rule may hold.
	near(t, "stable since", r.StableSince, 870+1800, 2)

	steady := sampled(t, 0, 5000, 2, func(float64) float64 { return 70 })
	r, err = Analyse(light, steady, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if i := r.Interruptions[0]; i.PowerLost || !math.IsNaN(i.Restrike) {
		t.Errorf("with power throughout, the lamp itself dropped out: %+v", i)
	}
}

func TestNoiseBeforeSwitchOnIsNoInterruption(t *testing.T) {
	light := sampled(t, 0, 4000, 10, func(s float64) float64 {
		if s < 60 {
			return 0.01 * math.Sin(s)
		}
		return 1000
	})
	r, err := Analyse(light, Trace{}, Options{})
	if err != nil || len(r.Interruptions) != 0 {
		t.Errorf("%v %+v", err, r.Interruptions)
	}
}

func TestARecordThatEndsInTheDark(t *testing.T) {
	r, err := Analyse(sampled(t, 0, 100, 1, func(s float64) float64 { return max(0, 50-s) }), Trace{}, Options{})
	if err != nil || r.Why != "the record ends in the dark" || !math.IsNaN(r.Interruptions[0].Back) {
		t.Errorf("%v %+v", err, r)
	}
}

func TestOvershootIsKept(t *testing.T) {
	light := sampled(t, 0, 6000, 5, func(s float64) float64 { return 1000 * (1 + 0.3*(s/200)*math.Exp(1-s/200)) })
	r, err := Analyse(light, Trace{}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "overshoot", r.Overshoot, 0.3, 1e-3) // t·exp(1−t) is 1 at most
}

func TestScaleAndClockChangeNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		tau := rapid.Float64Range(20, 400).Draw(rt, "tau")
		scale := rapid.Float64Range(1e-3, 1e3).Draw(rt, "scale")
		offset := rapid.Float64Range(1, 1e5).Draw(rt, "offset")
		f := approaching(0.3, tau)
		one, err1 := Analyse(sampled(t, 1, 4001, 10, f), Trace{}, Options{SwitchOn: new(1.0)})
		two, err2 := Analyse(sampled(t, 1+offset, 4001+offset, 10, func(s float64) float64 { return scale * f(s-offset) }),
			Trace{}, Options{SwitchOn: new(1 + offset)})
		if err1 != nil || err2 != nil {
			rt.Fatal(err1, err2)
		}
		for k := range one.Reached {
			if d := math.Abs(one.Reached[k].Seconds - two.Reached[k].Seconds); d > 1e-5 {
				rt.Fatalf("%v and %v", one.Reached[k], two.Reached[k])
			}
		}
	})
}

func TestDecimationKeepsEveryColumnsExtremes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 3000).Draw(rt, "n")
		columns := rapid.IntRange(1, 50).Draw(rt, "columns")
		seed := rapid.Uint64().Draw(rt, "seed")
		rng := rand.New(rand.NewPCG(seed, 0))
		tr := Trace{}
		for i := range n {
			tr.Seconds = append(tr.Seconds, float64(i)+0.5*rng.Float64())
			tr.Values = append(tr.Values, rng.NormFloat64())
		}
		d := tr.Decimate(columns)
		if d.Len() > max(4*columns, 1) && d.Len() != n || d.Len() > n {
			rt.Fatalf("%d of %d readings in %d columns", d.Len(), n, columns)
		}
		if _, err := NewTrace(d.Seconds, d.Values); err != nil {
			rt.Fatal(err)
		}
		from, to := tr.Span()
		for c := range columns {
			lo, hi := math.Inf(1), math.Inf(-1)
			for i := range tr.Seconds {
				if n > 1 && tr.column(i, from, to, columns) == c {
					lo, hi = min(lo, tr.Values[i]), max(hi, tr.Values[i])
				}
			}
			for i := range d.Seconds {
				if n > 1 && d.column(i, from, to, columns) == c {
					if d.Values[i] == lo {
						lo = math.Inf(1)
					}
					if d.Values[i] == hi {
						hi = math.Inf(-1)
					}
				}
			}
			if !math.IsInf(lo, 1) || !math.IsInf(hi, -1) {
				rt.Fatalf("column %d lost an extreme", c)
			}
		}
	})
}

func BenchmarkDecimate(b *testing.B) {
	tr := sampled(b, 0, 18000, 0.1, func(s float64) float64 { return math.Sin(s) })
	b.ReportAllocs()
	for b.Loop() {
		tr.Decimate(1200)
	}
}
