package temporal

import (
	"fmt"
	"math"
)

// Options say how to read a run-up. The zero value takes the rule that [Usual]
// returns, finds switch-on in the power and calls 1 % of the stabilised light
// first light.
type Options struct {
	Criterion Criterion
	// SwitchOn is when the lamp was switched on, on the traces' clock; nil finds
	// it: the first power above 5 % of its largest, or the first reading where
	// power was not recorded.
	SwitchOn *float64
	// FirstLight is the share of the stabilised light that counts as light.
	FirstLight float64
}

// shares are the shares of stabilised output to which times are given.
var shares = [...]float64{0.60, 0.80, 0.90, 0.95}

// dark is the share of the running output, of light or power, below which a
// lamp counts as out (judgement).
const dark = 0.05

// Reach is when a share of the stabilised light was first there.
type Reach struct {
	Share   float64
	Seconds float64 // after switch-on; NaN where it never was
}

// RunUp is what a record shows of a lamp's start.
type RunUp struct {
	SwitchOn float64 // on the traces' clock
	Verdict  Verdict // at the record's end
	// StableSince is the earliest time, in s after switch-on, from which the
	// rule held to the record's end; NaN where it does not hold there.
	StableSince float64
	// Level and PowerLevel are the stabilised light and power, means over the
	// rule's window at the end; NaN without.
	Level, PowerLevel float64
	FirstLight        float64 // s after switch-on, NaN without
	Reached           []Reach // 60, 80, 90 and 95 %
	// Overshoot is how far the light stood above Level at most, a fraction; 0
	// where it never did.
	Overshoot     float64
	Interruptions []Interruption
	// Why says why there are no times, empty where there are.
	Why string
}

// Analyse reads a run-up from light, and from power where it was recorded. It
// fails on fewer than three readings of light, on a rule that is none and on a
// switch-on that is not finite.
func Analyse(light, power Trace, o Options) (RunUp, error) {
	if o.Criterion == (Criterion{}) {
		o.Criterion = Usual()
	}
	if o.FirstLight == 0 {
		o.FirstLight = 0.01
	}
	if err := o.Criterion.check(); err != nil {
		return RunUp{}, err
	}
	if light.Len() < 3 {
		return RunUp{}, fmt.Errorf("temporal: a run-up needs three readings of light or more, not %d", light.Len())
	}
	r := RunUp{
		StableSince: math.NaN(), FirstLight: math.NaN(),
		Level: math.NaN(), PowerLevel: math.NaN(),
	}
	switch {
	case o.SwitchOn == nil:
		r.SwitchOn = switchOn(light, power)
	case bad(*o.SwitchOn):
		return RunUp{}, fmt.Errorf("temporal: the lamp was switched on at %g s, where a finite number is wanted", *o.SwitchOn)
	default:
		r.SwitchOn = *o.SwitchOn
	}
	r.Interruptions = interruptions(light, power, r.SwitchOn)
	end := lastCommon(light, power)
	started := r.BurningSince()
	if math.IsNaN(started) {
		r.Why = "the record ends in the dark"
		return r, nil
	}
	r.Verdict = o.Criterion.Judge(light, power, started, end)
	if !r.Verdict.Stable {
		r.Why = "the output has not stabilised, so there is no full output to reckon from: " + r.Verdict.Why
		return r, nil
	}
	since, few := o.Criterion.since(light, power, started, end)
	r.StableSince = since - r.SwitchOn
	if few != "" {
		r.Verdict.Why += fmt.Sprintf("; that is so since %s after switch-on, and for before there are too few readings of %s to tell", minutes(r.StableSince), few)
	}
	r.Level = light.MeanOver(end-o.Criterion.Window, end)
	r.PowerLevel = power.MeanOver(end-o.Criterion.Window, end)
	r.FirstLight = light.rises(o.FirstLight*r.Level, r.SwitchOn) - r.SwitchOn
	for _, share := range shares {
		r.Reached = append(r.Reached, Reach{share, light.rises(share*r.Level, r.SwitchOn) - r.SwitchOn})
	}
	for _, v := range light.Within(r.SwitchOn, end).Values {
		r.Overshoot = max(r.Overshoot, v/r.Level-1)
	}
	return r, nil
}

// BurningSince is when the burning that counts began, on the traces' clock: at
// switch-on, or when light came back last, since after a break a lamp warms
// anew. NaN where the record ends in the dark.
func (r RunUp) BurningSince() float64 {
	if n := len(r.Interruptions); n > 0 {
		return r.SwitchOn + r.Interruptions[n-1].Back
	}
	return r.SwitchOn
}

// switchOn is when power came, or the record's beginning.
func switchOn(light, power Trace) float64 {
	most := 0.0
	for _, p := range power.Values {
		most = max(most, p)
	}
	if most > 0 {
		for i, p := range power.Values {
			if p > dark*most {
				return power.Seconds[i]
			}
		}
	}
	return light.Seconds[0]
}

// lastCommon is the last time for which everything recorded is known.
func lastCommon(light, power Trace) float64 {
	_, end := light.Span()
	if power.Len() > 0 {
		_, to := power.Span()
		end = min(end, to)
	}
	return end
}

// since walks back from the end, reading by reading, for as long as the rule holds.
// Where it ends at a gap in the record, few names what there are too few readings of.
func (c Criterion) since(light, power Trace, started, end float64) (first float64, few string) {
	first = end
	for i := light.Len() - 1; i >= 0; i-- {
		at := light.Seconds[i]
		if at > end {
			continue
		}
		if v := c.Judge(light, power, started, at); !v.Stable {
			return first, v.Few
		}
		first = at
	}
	return first, ""
}

// interruptions finds where light that was there went. What counts as dark is
// reckoned from the largest light so far, so that a slow beginning is none, and
// light counts as having been there once it is not dark beside the largest of all,
// so that the noise before switch-on is none either.
func interruptions(light, power Trace, switchOn float64) []Interruption {
	var found []Interruption
	most, out := 0.0, -1
	largest := 0.0
	for _, v := range light.Values {
		largest = max(largest, v)
	}
	for i, v := range light.Values {
		at := light.Seconds[i]
		if at < switchOn {
			continue
		}
		most = max(most, v)
		switch {
		case out < 0 && most > dark*largest && v < dark*most:
			out = i
		case out >= 0 && v >= dark*most:
			found = append(found, interruption(power, light.Seconds[out], at, switchOn))
			out = -1
		}
	}
	if out >= 0 {
		found = append(found, interruption(power, light.Seconds[out], math.NaN(), switchOn))
	}
	return found
}

func interruption(power Trace, out, back, switchOn float64) Interruption {
	i := Interruption{Out: out - switchOn, Back: back - switchOn, Restrike: math.NaN()}
	until := back
	if math.IsNaN(back) {
		until = math.Inf(1)
	}
	most := 0.0
	for _, p := range power.Within(switchOn, out).Values {
		most = max(most, p)
	}
	// Power goes a reading before or after the light does.
	_, end := power.Span()
	lost := math.NaN()
	for k, p := range power.Values {
		at := power.Seconds[k]
		if at >= out && at <= min(until, end) && p < dark*most {
			lost = at
			i.PowerLost = true
		}
	}
	if i.PowerLost && !math.IsNaN(back) {
		if on := power.rises(dark*most, lost); on <= back {
			i.Restrike = back - on
		}
	}
	return i
}
