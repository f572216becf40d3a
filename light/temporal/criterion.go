package temporal

import (
	"fmt"
	"math"
	"strings"
)

// Criterion is a rule for calling a lamp stable: it has burned Least seconds,
// and over the last Window seconds neither its light nor its power spreads by
// more than Spread.
type Criterion struct {
	Name  string // its key
	Title string // what people call it
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
		{"lm-79-08", "IES LM-79-08", 1800, 1800, 900, 0.005, 0, "IES LM-79-08: three readings over 30 min, 15 min apart (from memory)"},
		{"lm-79-19", "IES LM-79-19", 1200, 1200, 600, 0.005, 0, "IES LM-79-19: three readings about 10 min apart (from memory, uncertain)"},
		usual,
	}
}

var usual = Criterion{"en-13032-4", "EN 13032-4", 1800, 900, 0, 0.005, 9000, "EN 13032-4 and CIE S 025: 30 min burning, then 15 min (from memory)"}

// Usual is the rule that holds where nobody chose one: that of EN 13032-4.
func Usual() Criterion { return usual }

// Published finds one of [Criteria] by its name.
func Published(name string) (Criterion, bool) {
	for _, c := range Criteria() {
		if c.Name == name {
			return c, true
		}
	}
	return Criterion{}, false
}

// BegunFrom names a rule by the published one that its numbers were begun from.
// With the same numbers it is that one. With any other it is a rule of one's own,
// which says so in its name, and in its source what differs: numbers that were
// changed are no longer the standard's. A name that is not published stands in
// the name alone.
func (c Criterion) BegunFrom(name string) Criterion {
	from, known := Published(name)
	if known && c.SameNumbers(from) {
		return from
	}
	c.Name = "own rule, begun from " + name
	c.Title = c.Name
	if known {
		c.Title = "own rule, begun from " + from.Title
	}
	c.Source = c.Name
	if known {
		c.Source += ": " + strings.Join(c.Differences(from), ", ")
	}
	return c
}

// SameNumbers reports whether two rules judge alike, whatever they are called.
func (c Criterion) SameNumbers(d Criterion) bool {
	c.Name, c.Title, c.Source = "", "", ""
	d.Name, d.Title, d.Source = "", "", ""
	return c == d
}

// Differences lists in words which numbers differ from those of another rule.
func (c Criterion) Differences(from Criterion) (all []string) {
	add := func(what string, is, was float64, say func(float64) string) {
		if is != was {
			all = append(all, fmt.Sprintf("%s %s instead of %s", what, say(is), say(was)))
		}
	}
	or := func(none string) func(float64) string {
		return func(s float64) string {
			if s == 0 {
				return none
			}
			return minutes(s)
		}
	}
	add("burning", c.Least, from.Least, minutes)
	add("window", c.Window, from.Window, minutes)
	add("step", c.Every, from.Every, or("every reading"))
	add("spread", c.Spread, from.Spread, percent)
	add("giving up after", c.GiveUp, from.GiveUp, or("never"))
	return all
}

// RuleError is a number that no rule can have.
type RuleError struct {
	Field string // of [Criterion]
	Text  string // a clause: what was found, and what would do
}

func (e *RuleError) Error() string { return "temporal: " + e.Text }

// longest bounds the times of a rule, in s: no lamp is watched for longer than a
// week, and a number beyond is a slip of the unit.
const longest = 7 * 24 * 3600

// Faults lists what is wrong with a rule's numbers, in their order.
func (c Criterion) Faults() (all []*RuleError) {
	add := func(field, format string, args ...any) {
		all = append(all, &RuleError{field, fmt.Sprintf(format, args...)})
	}
	if !(c.Least >= 0 && c.Least <= longest) {
		add("Least", "a criterion's least burning is from 0 s up to a week, not %g s", c.Least)
	}
	if !(c.Window > 0 && c.Window <= longest) {
		add("Window", "a criterion needs a window above 0 s, of a week at most, not %g s", c.Window)
	}
	switch {
	case !(c.Every >= 0):
		add("Every", "a criterion's step is 0 s or more, not %g s", c.Every)
	case c.Window > 0 && c.Every > c.Window:
		add("Every", "a criterion's step of %g s does not fit its window of %g s: at most the window itself will do", c.Every, c.Window)
	}
	if !(c.Spread > 0 && c.Spread < 1) {
		add("Spread", "a criterion needs a spread between 0 and 1, not %g", c.Spread)
	}
	switch {
	case !(c.GiveUp >= 0 && c.GiveUp <= longest):
		add("GiveUp", "a criterion gives up after 0 s, which is never, up to a week, not after %g s", c.GiveUp)
	case c.GiveUp > 0 && c.GiveUp < max(c.Least, c.Window):
		add("GiveUp", "a criterion that gives up after %g s never looks: it begins to after %g s", c.GiveUp, max(c.Least, c.Window))
	}
	return all
}

// check returns the first of [Criterion.Faults].
func (c Criterion) check() error {
	if all := c.Faults(); len(all) > 0 {
		return all[0]
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
	// Few names what there were too few readings of to judge, "light" or "power"; ""
	// where there were enough.
	Few string
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
		v.Few = "light"
		v.Why = fmt.Sprintf("too few readings of light in the last %s", minutes(c.Window))
	case power.Len() > 0 && short(v.Power):
		v.Few = "power"
		v.Why = fmt.Sprintf("too few readings of power in the last %s", minutes(c.Window))
	case v.Light.Value > c.Spread && !(v.Power.Value > c.Spread):
		v.Why = fmt.Sprintf("light still spreads by %s over %s, where %s is allowed", spreading(v.Light.Value), minutes(c.Window), percent(c.Spread))
	case v.Power.Value > c.Spread && !(v.Light.Value > c.Spread):
		v.Why = fmt.Sprintf("power still spreads by %s over %s, where %s is allowed", spreading(v.Power.Value), minutes(c.Window), percent(c.Spread))
	case v.Light.Value > c.Spread:
		v.Why = fmt.Sprintf("light spreads by %s and power by %s over %s, where %s is allowed",
			spreading(v.Light.Value), spreading(v.Power.Value), minutes(c.Window), percent(c.Spread))
	default:
		v.Stable = true
		v.Why = fmt.Sprintf("over the last %s light spreads by %s, power by %s", minutes(c.Window), spreading(v.Light.Value), spreading(v.Power.Value))
		if power.Len() == 0 {
			v.Why = fmt.Sprintf("over the last %s light spreads by %s; power was not recorded, so half of the rule is unjudged",
				minutes(c.Window), spreading(v.Light.Value))
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

// spreading writes a spread that was seen. Digits that no meter has are not shown.
func spreading(fraction float64) string {
	switch {
	case math.IsNaN(fraction):
		return "an unknown share"
	case fraction < 1e-4:
		return "less than 0.01 %"
	case fraction > 10:
		return "more than 1000 %"
	}
	return percent(fraction)
}

func percent(fraction float64) string {
	if fraction >= 0.1 {
		return fmt.Sprintf("%.0f %%", 100*fraction)
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
