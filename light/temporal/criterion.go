package temporal

import (
	"fmt"
	"math"
)

// Criterion is a rule for calling a lamp stable: it has burned Least seconds,
// and over the last Window seconds neither its light nor its power spreads by
// more than Spread.
type Criterion struct {
	Name string
	// Least is how long the lamp must have burned, in s.
	Least float64
	// Window is the time looked back on, in s.
	Window float64
	// Every is the distance of the readings that are compared, in s: the trace
	// is read at the window's end, one step before, and so on to its beginning.
	// Zero compares all readings of the window.
	Every float64
	// Spread is the largest allowed (max − min)/min, a fraction.
	Spread float64
	// GiveUp is when to stop waiting, in s of burning; zero never does.
	GiveUp float64
	// Source says where the numbers are from.
	Source string
}

// Criteria returns the rules that come with the product. Their numbers are
// from memory.
func Criteria() []Criterion {
	return []Criterion{
		{"lm-79-08", 1800, 1800, 900, 0.005, 0, "IES LM-79-08: three readings over 30 min, 15 min apart (from memory)"},
		{"lm-79-19", 1200, 1200, 600, 0.005, 0, "IES LM-79-19: three readings about 10 min apart (from memory, uncertain)"},
		{"en-13032-4", 1800, 900, 0, 0.005, 9000, "EN 13032-4 and CIE S 025: 30 min burning, then 15 min (from memory)"},
	}
}

func (c Criterion) check() error {
	switch {
	case !(c.Window > 0):
		return fmt.Errorf("temporal: a criterion needs a window above 0 s, not %g", c.Window)
	case !(c.Spread > 0 && c.Spread < 1):
		return fmt.Errorf("temporal: a criterion needs a spread between 0 and 1, not %g", c.Spread)
	case !(c.Least >= 0) || !(c.Every >= 0) || c.Every > c.Window || !(c.GiveUp >= 0):
		return fmt.Errorf("temporal: a criterion's times are 0 s or more and its readings within its window of %g s", c.Window)
	}
	return nil
}

// Spread is what a criterion saw on one trace.
type Spread struct {
	// Value is (max − min)/min over the window, NaN where it can't be told.
	Value float64
	// Readings is how many readings it is from.
	Readings int
}

// Verdict is what a criterion says at one time.
type Verdict struct {
	Stable       bool
	Seconds      float64 // when, on the traces' clock
	Burning      float64 // s since switch-on
	Light, Power Spread
	// Why is a sentence: what holds it back, or what it rests on.
	Why string
}

// Judge applies the rule at a time. Power may be empty; the verdict then says
// that it rests on light alone.
func (c Criterion) Judge(light, power Trace, switchOn, at float64) Verdict {
	v := Verdict{Seconds: at, Burning: at - switchOn, Light: c.spread(light, at), Power: c.spread(power, at)}
	short := func(s Spread) bool { return math.IsNaN(s.Value) }
	switch {
	case v.Burning < c.Least:
		v.Why = fmt.Sprintf("%s more burning before the rule looks at all", minutes(c.Least-v.Burning))
	case at-c.Window < switchOn:
		v.Why = fmt.Sprintf("%s more until the rule's window holds nothing but burning", minutes(switchOn+c.Window-at))
	case short(v.Light):
		v.Why = fmt.Sprintf("too few readings of light in the last %s", minutes(c.Window))
	case power.Len() > 0 && short(v.Power):
		v.Why = fmt.Sprintf("too few readings of power in the last %s", minutes(c.Window))
	case v.Light.Value > c.Spread && !(v.Power.Value > c.Spread):
		v.Why = fmt.Sprintf("light still spreads by %s over %s, where %s is allowed", percent(v.Light.Value), minutes(c.Window), percent(c.Spread))
	case v.Power.Value > c.Spread && !(v.Light.Value > c.Spread):
		v.Why = fmt.Sprintf("power still spreads by %s over %s, where %s is allowed", percent(v.Power.Value), minutes(c.Window), percent(c.Spread))
	case v.Light.Value > c.Spread:
		v.Why = fmt.Sprintf("light spreads by %s and power by %s over %s, where %s is allowed",
			percent(v.Light.Value), percent(v.Power.Value), minutes(c.Window), percent(c.Spread))
	default:
		v.Stable = true
		v.Why = fmt.Sprintf("over the last %s light spreads by %s, power by %s", minutes(c.Window), percent(v.Light.Value), percent(v.Power.Value))
		if power.Len() == 0 {
			v.Why = fmt.Sprintf("over the last %s light spreads by %s; power was not recorded, so half of the rule is unjudged",
				minutes(c.Window), percent(v.Light.Value))
		}
	}
	if !v.Stable && c.GiveUp > 0 && v.Burning >= c.GiveUp {
		v.Why += fmt.Sprintf("; the rule gives up after %s", minutes(c.GiveUp))
	}
	return v
}

// spread looks at one trace over the window that ends at a time.
func (c Criterion) spread(t Trace, at float64) Spread {
	s := Spread{Value: math.NaN()}
	least, most := math.Inf(1), math.Inf(-1)
	see := func(v float64) {
		s.Readings++
		least, most = min(least, v), max(most, v)
	}
	if c.Every > 0 {
		for k := 0; float64(k)*c.Every <= c.Window*(1+1e-9); k++ {
			v := t.At(at - float64(k)*c.Every)
			if math.IsNaN(v) {
				return s
			}
			see(v)
		}
	} else {
		// A record that begins within the window shows only part of it.
		from, to := t.Span()
		if !(from <= at-c.Window && to >= at-c.Window/4) {
			return s
		}
		see(t.At(at - c.Window))
		for _, v := range t.Within(at-c.Window, at).Values {
			see(v)
		}
		if s.Readings < 4 {
			return s
		}
	}
	if least > 0 {
		s.Value = (most - least) / least
	}
	return s
}

func percent(fraction float64) string {
	if math.IsNaN(fraction) {
		return "an unknown share"
	}
	return fmt.Sprintf("%.2g %%", 100*fraction)
}

// minutes writes a time as a person would say it.
func minutes(s float64) string {
	if s < 90 {
		return fmt.Sprintf("%.0f s", math.Ceil(s))
	}
	return fmt.Sprintf("%.3g min", s/60)
}
