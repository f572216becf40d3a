package cli

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
	"lampassay/light/temporal"
)

// ruleOptions say by which rule a lamp is called stable, and what is looked at.
type ruleOptions struct {
	name                         string
	window, least, every, giveUp time.Duration
	spread                       optionalFloat
	light, power                 string
	given                        func(flag string) bool
}

func (o *ruleOptions) register(f *pflag.FlagSet) {
	f.StringVar(&o.light, "light", "", "what is the light, as `channel:name` (default: found by its name)")
	f.StringVar(&o.power, "power", "", "what is the power, as `channel:name`, or none")
	f.StringVar(&o.name, "rule", "", "when the lamp is stable: `"+strings.Join(ruleNames(), "|")+"` (default: the sitting's, or "+temporal.Usual().Name+")")
	f.Var(&o.spread, "spread", "in its place: the largest spread in `%`")
	f.DurationVar(&o.window, "window", 0, "in its place: the `time` looked back on, such as 15m")
	f.DurationVar(&o.least, "burning", 0, "in its place: the least `time` of burning")
	f.DurationVar(&o.every, "step", 0, "in its place: the `time` between the readings compared, 0s for all")
	f.DurationVar(&o.giveUp, "give-up", 0, "in its place: the `time` of burning after which to stop waiting, 0s for never")
	o.given = f.Changed
}

func ruleNames() []string {
	var names []string
	for _, c := range temporal.Criteria() {
		names = append(names, c.Name)
	}
	return names
}

// rule is a rule with where it is from.
type rule struct {
	temporal.Criterion
	from string // the published one that it is, or was begun from
	by   string // ruleOfSitting, ruleAsked or ruleUsual
}

// Whose choice a rule was.
const (
	ruleOfSitting = "sitting"
	ruleAsked     = "options"
	ruleUsual     = "usual"
)

// of is the rule that was asked for. What no option says is as in the sitting's own
// rule, or else as usual; the sitting may be nil.
func (o *ruleOptions) of(sit *notebook.Sitting) (rule, error) {
	r := rule{temporal.Usual(), temporal.Usual().Name, ruleUsual}
	if sit != nil && sit.Rule != nil {
		r = rule{live.RuleOf(sit), sit.Rule.Origin(), ruleOfSitting}
	}
	if o.given("rule") {
		known := false
		if r.Criterion, known = temporal.Published(o.name); !known {
			return r, badInput("--rule %s: there is no such rule: use %s", o.name, strings.Join(ruleNames(), ", "))
		}
		r.from, r.by = o.name, ruleAsked
	}
	set := func(flag string, to *float64, value float64) {
		if o.given(flag) {
			*to, r.by = value, ruleAsked
		}
	}
	set("window", &r.Window, o.window.Seconds())
	set("burning", &r.Least, o.least.Seconds())
	set("step", &r.Every, o.every.Seconds())
	set("give-up", &r.GiveUp, o.giveUp.Seconds())
	set("spread", &r.Spread, o.spread.v/100)
	r.Criterion = r.BegunFrom(r.from)
	if faults := r.Faults(); len(faults) > 0 {
		return r, inputError{faults[0]}
	}
	return r, nil
}

// text says by which rule a lamp was judged, and whose choice it was where that can
// surprise.
func (r *rule) text() string {
	if r.by == ruleOfSitting {
		return r.Source + "; kept with the sitting"
	}
	return r.Source
}

// readings is what a record and a session have in common.
type readings interface {
	Picks() []live.Pick
	Trace(live.Pick) temporal.Trace
	Unit(live.Pick) string
}

// picks says what of the readings is light and what power.
func (o *ruleOptions) picks(of readings) (light, power live.Pick, err error) {
	among := of.Picks()
	named := func(option, text string) (live.Pick, error) {
		p, ok := live.ParsePick(text)
		if !ok {
			return p, badInput("--%s %q: write channel:name, such as lux:illuminance", option, text)
		}
		if of.Trace(p).Len() == 0 {
			return p, badInput("--%s %s: there are no numbers of it, but of %s", option, text, listPicks(among))
		}
		return p, nil
	}
	var found bool
	if o.light != "" {
		if light, err = named("light", o.light); err != nil {
			return light, power, err
		}
	} else if light, found = live.FindLight(among); !found {
		return light, power, badInput("nothing in it is called light: say with --light which of %s it is", listPicks(among))
	}
	switch o.power {
	case "":
		power, _ = live.FindPower(among)
	case "none":
	default:
		power, err = named("power", o.power)
	}
	return light, power, err
}

func listPicks(all []live.Pick) string {
	if len(all) == 0 {
		return "nothing at all"
	}
	var names []string
	for _, p := range all {
		names = append(names, p.String())
	}
	return strings.Join(names, ", ")
}

// span writes seconds as a person says a time.
func span(s float64) string {
	switch {
	case math.IsNaN(s):
		return "–"
	case s < 90:
		return fmt.Sprintf("%.0f s", s)
	}
	return fmt.Sprintf("%.1f min", s/60)
}

// leftText says how long a lamp may still need.
func leftText(p temporal.Prediction) string {
	switch {
	case p.Why != "":
		return "not to be told: " + p.Why
	case p.Slower == "time" && p.High-p.Low < 1:
		return "about " + span(p.Left) + ", the rule's own waiting"
	case math.IsInf(p.High, 1):
		return fmt.Sprintf("about %s or much longer: the record does not show where %s ends", span(p.Left), p.Slower)
	}
	return fmt.Sprintf("about %s (%s to %s, nine times of ten), waiting for %s", span(p.Left), span(p.Low), span(p.High), p.Slower)
}
