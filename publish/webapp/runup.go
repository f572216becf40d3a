package webapp

import (
	"cmp"
	"fmt"
	"math"
	"strconv"

	"lampassay/bench/course"
	"lampassay/bench/live"
	"lampassay/light/temporal"
)

// runUpView is what a record shows of the lamp's start, in words.
type runUpView struct {
	Stable bool
	Head   string
	Why    string
	Left   string
	Times  [][2]string
	// Dark says when light was out, and how long the lamp took to strike again.
	Dark []string
}

// runUpOf judges a run-up by the light and the power that were recorded; nil where
// there is too little of either.
func runUpOf(c *course.Course, rule temporal.Criterion) *runUpView {
	light := c.Find("illuminance", keyFlux, "luminance", live.LightKey)
	if light == nil || light.Len() < 3 {
		return nil
	}
	var power temporal.Trace
	if l := c.Find(keyPower); l != nil {
		power = l.Trace
	}
	run, err := live.JudgeRunUp(light.Trace, power, temporal.Options{Criterion: rule, SwitchOn: c.SwitchedOn})
	if err != nil {
		return &runUpView{Head: "Not judged", Why: sentence(err.Error())}
	}
	v := &runUpView{Stable: run.Verdict.Stable, Head: "Not yet stable", Why: sentence(cmp.Or(run.Verdict.Why, run.Why))}
	for _, i := range run.Interruptions {
		v.Dark = append(v.Dark, sentence(i.Words(minutes)))
	}
	if v.Stable {
		v.Head = "Stable"
		add := func(name string, seconds float64) {
			if !math.IsNaN(seconds) {
				v.Times = append(v.Times, [2]string{name, minutes(seconds)})
			}
		}
		add("First light", run.FirstLight)
		for _, reach := range run.Reached {
			add(fmt.Sprintf("%.0f %% of the stabilised light", 100*reach.Share), reach.Seconds)
		}
		add("Stable since", run.StableSince)
		if run.Overshoot > rule.Spread {
			v.Times = append(v.Times, [2]string{"Overshoot", fmt.Sprintf("%.1f %% above the stabilised light", 100*run.Overshoot)})
		}
		return v
	}
	by := "going by the " + run.Left.Slower
	if run.Left.Slower == "time" {
		by = "the rule's own waiting"
	}
	switch p := run.Left; {
	case p.Why != "":
		v.Left = sentence(p.Why)
	case math.IsInf(p.High, 1):
		v.Left = fmt.Sprintf("About %s more, %s; the record does not say how long at most.", minutes(p.Left), by)
	case minutes(p.Low) == minutes(p.High):
		v.Left = fmt.Sprintf("About %s more, %s.", minutes(p.Left), by)
	default:
		v.Left = fmt.Sprintf("About %s more (%s to %s nine times of ten), %s.", minutes(p.Left), minutes(p.Low), minutes(p.High), by)
	}
	return v
}

// minutes writes a time as a person would say it.
func minutes(seconds float64) string {
	if seconds < 90 {
		return fmt.Sprintf("%.0f s", seconds)
	}
	return strconv.FormatFloat(seconds/60, 'f', 1, 64) + " min"
}
