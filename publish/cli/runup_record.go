package cli

import "lampassay/bench/live"

// The record of a run-up. A figure that does not exist is null.
type (
	runUpJSON struct {
		Files         []string           `json:"files"`
		Light         string             `json:"light"`
		LightUnit     string             `json:"light_unit"`
		Power         string             `json:"power"`
		PowerUnit     string             `json:"power_unit"`
		Rule          ruleJSON           `json:"rule"`
		SwitchOn      float64            `json:"switch_on_s"` // on the record's clock
		Stable        bool               `json:"stable"`
		Why           string             `json:"why"`
		Burning       *float64           `json:"burning_s"`
		StableSince   *float64           `json:"stable_since_s"`
		Level         *float64           `json:"light_level"`
		PowerLevel    *float64           `json:"power_level"`
		FirstLight    *float64           `json:"first_light_s"`
		Reached       []reachJSON        `json:"reached"`
		Overshoot     float64            `json:"overshoot"`
		Interruptions []interruptionJSON `json:"interruptions"`
		Left          leftJSON           `json:"left"`
	}
	ruleJSON struct {
		Name   string  `json:"name"`
		Least  float64 `json:"burning_s"`
		Window float64 `json:"window_s"`
		Every  float64 `json:"step_s"`
		Spread float64 `json:"spread"`
		GiveUp float64 `json:"give_up_s"` // 0 for never
		Source string  `json:"source"`
		By     string  `json:"by"` // sitting, options or usual
	}
	reachJSON struct {
		Share   float64  `json:"share"`
		Seconds *float64 `json:"seconds"`
	}
	interruptionJSON struct {
		Out       float64  `json:"out_s"`
		Back      *float64 `json:"back_s"`
		PowerLost bool     `json:"power_lost"`
		Restrike  *float64 `json:"restrike_s"`
	}
	leftJSON struct {
		Seconds *float64 `json:"seconds"`
		Low     *float64 `json:"low_s"`
		High    *float64 `json:"high_s"`
		Slower  string   `json:"slower"`
		Why     string   `json:"why"`
	}
)

func (r *runUpReport) record() *runUpJSON {
	c := r.rule
	j := &runUpJSON{
		Files: listed(r.names), Light: r.light.String(), LightUnit: r.of.Unit(r.light), Rule: ruleJSON{c.Name, c.Least, c.Window, c.Every, c.Spread, c.GiveUp, c.Source, c.by},
		SwitchOn: r.SwitchOn, Stable: r.Verdict.Stable, Why: r.Verdict.Why, Burning: number(r.Verdict.Burning), StableSince: number(r.StableSince),
		Level: number(r.Level), PowerLevel: number(r.PowerLevel), FirstLight: number(r.FirstLight), Overshoot: r.Overshoot,
		Reached: []reachJSON{}, Interruptions: []interruptionJSON{},
		Left: leftJSON{number(r.Left.Left), number(r.Left.Low), number(r.Left.High), r.Left.Slower, r.Left.Why},
	}
	if r.power != (live.Pick{}) {
		j.Power, j.PowerUnit = r.power.String(), r.of.Unit(r.power)
	}
	if j.Why == "" {
		j.Why = r.Why
	}
	for _, reach := range r.Reached {
		j.Reached = append(j.Reached, reachJSON{reach.Share, number(reach.Seconds)})
	}
	for _, i := range r.Interruptions {
		j.Interruptions = append(j.Interruptions, interruptionJSON{i.Out, number(i.Back), i.PowerLost, number(i.Restrike)})
	}
	return j
}
