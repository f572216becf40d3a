package cli

import (
	"fmt"
	"math"
	"strings"

	"lampassay/light/limits"
)

// limit writes the answer for reading.
func (v *view) limit(o *limits.Optimum, c *limits.Conditions, lamp *lampAsked) {
	v.printf("%.1f lm/W is the most%s\n", o.Efficacy, askedFor(c))
	if len(c.Emitters) > 0 {
		v.printf("of these emitters, per electrical watt; %.1f lm per watt of radiation\n", o.LER)
	}
	if lamp != nil {
		v.printf("%s has %.1f lm/W, %s of it\n", lamp.name, lamp.ler, wholePercent(lamp.ler/o.LER))
	}
	v.printf("\nThe light\n")
	parts := o.Lines()
	if len(c.Emitters) == 0 {
		v.printf("  %s%s%s\n", padLeft("nm", 8), padLeft("radiation", 12), padLeft("light", 9))
	} else {
		v.printf("  %s%s%s\n", pad("emitter", 24), padLeft("radiation", 12), padLeft("light", 9))
	}
	const trace = 5e-4
	for _, p := range parts {
		if p.Power < trace {
			continue
		}
		name := padLeft(fmt.Sprintf("%.1f", p.Centre), 8)
		if p.Emitter >= 0 {
			name = pad(c.Emitters[p.Emitter].Name, 24)
		}
		v.printf("  %s%10.1f %%%7.1f %%\n", name, 100*p.Power, 100*p.Light)
	}
	v.printf("\nIts colour and measures\n")
	if !math.IsNaN(o.CCT) {
		v.printf("  CCT %.0f K, Duv %s, x %.4f, y %.4f\n", o.CCT, strings.Replace(fmt.Sprintf("%+.4f", tidyZero(o.Duv, 5e-5)), "-", "−", 1), o.X, o.Y)
	} else {
		v.printf("  x %.4f, y %.4f; no CCT so far from the Planckian locus\n", o.X, o.Y)
	}
	v.printf("  %s\n", strings.Join(measures(o), ", "))
	if len(o.Binding) > 0 || c.Colour != (limits.Colour{}) {
		v.printf("\nWhat costs light\n")
	}
	if len(o.Binding) == 0 && c.Colour != (limits.Colour{}) {
		v.printf("  only the colour\n")
	}
	for _, b := range o.Binding {
		v.wrapped("  ", bindingText(b), "")
	}
	v.printf("\nHow sure this is\n")
	v.wrapped("  ", evidenceText(o), "")
}

// askedFor says the conditions in a line.
func askedFor(c *limits.Conditions) string {
	var parts []string
	col := c.Colour
	switch {
	case col.CCT.From > 0 && col.CCT.From == col.CCT.To:
		parts = append(parts, fmt.Sprintf("at %.0f K", col.CCT.From))
	case col.CCT.From > 0:
		parts = append(parts, fmt.Sprintf("from %.0f to %.0f K", col.CCT.From, col.CCT.To))
	case col.X > 0:
		parts = append(parts, fmt.Sprintf("at x %.4f, y %.4f", col.X, col.Y))
	}
	if col.CCT.From > 0 && (col.Duv.From != 0 || col.Duv.To != 0) {
		duv := fmt.Sprintf("Duv %.4f", col.Duv.From)
		if col.Duv.From != col.Duv.To {
			duv = fmt.Sprintf("Duv %g to %g", col.Duv.From, col.Duv.To)
		}
		parts = append(parts, strings.ReplaceAll(duv, "-", "−"))
	}
	for _, d := range c.Demands {
		parts = append(parts, d.String())
	}
	if c.Lines > 0 {
		parts = append(parts, fmt.Sprintf("at most %d lines", c.Lines))
	}
	if len(parts) == 0 {
		return " that any light has"
	}
	return " " + strings.Join(parts, ", ")
}

func tidyZero(v, below float64) float64 {
	if math.Abs(v) < below {
		return 0
	}
	return v
}

// measures lists what the light has.
func measures(o *limits.Optimum) []string {
	var all []string
	for m, v := range o.Values {
		if math.IsNaN(v) {
			continue
		}
		form := "%v %.0f"
		if m := limits.Measure(m); m == limits.SP || m == limits.MelDER {
			form = "%v %.2f"
		}
		all = append(all, strings.Replace(fmt.Sprintf(form, limits.Measure(m), tidyZero(v, 0.005)), "-", "−", 1))
	}
	return all
}

// bindingText says a binding condition and what more of it costs.
func bindingText(b limits.Binding) string {
	unit, price := "one more point costs", b.Price
	switch b.Demand.Measure {
	case limits.SP, limits.MelDER, limits.Duv:
		step := 0.1
		if b.Demand.Measure == limits.Duv {
			step = 0.001
		}
		price *= step
		unit = fmt.Sprintf("another %g of it costs", step)
		if b.Demand.Most {
			unit = fmt.Sprintf("%g less of it costs", step)
		}
	}
	return strings.ReplaceAll(fmt.Sprintf("%v: %s %.2g lm/W", b.Demand, unit, price), "-", "−")
}

// evidenceText says what was checked.
func evidenceText(o *limits.Optimum) string {
	e := o.Evidence
	text := fmt.Sprintf("%d of %d independent starts end within 0.05 %% of the best.", e.Agreed, e.Starts)
	if e.Starts == 1 {
		text = "One start."
	}
	switch {
	case math.IsNaN(e.Bound):
		text += " With a limit on their number no bound is known: another start might find better."
	case e.Exact:
		text += fmt.Sprintf(" The dual of the linear program proves that no light has more than %.2f lm/W.", math.Ceil(100*e.Bound)/100)
	default:
		text += fmt.Sprintf(" At the prices found no line would pay for itself: a bound of %.2f lm/W, as far as colour differences are convex.", math.Ceil(100*e.Bound)/100)
	}
	return text
}

// The record of an answer.
type (
	limitJSON struct {
		Key      string              `json:"key"`
		Efficacy float64             `json:"efficacy_lm_per_w"`
		LER      float64             `json:"ler_lm_per_w"`
		CCT      *float64            `json:"cct_k"`
		Duv      *float64            `json:"duv"`
		X        float64             `json:"x"`
		Y        float64             `json:"y"`
		Measures map[string]*float64 `json:"measures"`
		Parts    []partJSON          `json:"parts"`
		Binding  []bindingJSON       `json:"binding"`
		Evidence evidenceJSON        `json:"evidence"`
		Lamp     *limitLampJSON      `json:"lamp"`
	}
	partJSON struct {
		Centre  *float64 `json:"centre_nm"`
		Width   *float64 `json:"fwhm_nm"`
		Emitter string   `json:"emitter"`
		Power   float64  `json:"share_of_radiation"`
		Light   float64  `json:"share_of_light"`
	}
	bindingJSON struct {
		Condition string  `json:"condition"`
		Measure   string  `json:"measure"`
		Price     float64 `json:"lm_per_w_per_unit"`
	}
	evidenceJSON struct {
		Starts  int      `json:"starts"`
		Agreed  int      `json:"agreed"`
		Lowest  float64  `json:"lowest_lm_per_w"`
		Highest float64  `json:"highest_lm_per_w"`
		Bound   *float64 `json:"bound_lm_per_w"`
		Exact   bool     `json:"bound_is_proof"`
	}
	limitLampJSON struct {
		Name string   `json:"name"`
		Ra   *float64 `json:"ra"`
		LER  float64  `json:"ler_lm_per_w"`
	}
)

// measureKeys are those of the quantities.
var measureKeys = map[limits.Measure]string{
	limits.Ra: "ra", limits.R9: "r9", limits.Rf: "rf", limits.Rg: "rg", limits.SP: "sp_ratio", limits.MelDER: "mel_der", limits.Duv: "duv",
}

func limitRecord(o *limits.Optimum, c *limits.Conditions, lamp *lampAsked) limitJSON {
	j := limitJSON{
		Key: c.Key(), Efficacy: rounded(o.Efficacy, 10), LER: rounded(o.LER, 10),
		CCT: figures(o.CCT, 10), Duv: figures(o.Duv, 10), X: rounded(o.X, 10), Y: rounded(o.Y, 10),
		Measures: make(map[string]*float64), Parts: []partJSON{}, Binding: []bindingJSON{},
		Evidence: evidenceJSON{o.Evidence.Starts, o.Evidence.Agreed, rounded(o.Evidence.Lowest, 10), rounded(o.Evidence.Highest, 10), figures(o.Evidence.Bound, 10), o.Evidence.Exact},
	}
	for m, v := range o.Values {
		j.Measures[measureKeys[limits.Measure(m)]] = figures(v, 10)
	}
	for _, p := range o.Lines() {
		part := partJSON{Power: rounded(p.Power, 10), Light: rounded(p.Light, 10)}
		if p.Emitter >= 0 {
			part.Emitter = c.Emitters[p.Emitter].Name
		} else {
			part.Centre, part.Width = figures(p.Centre, 10), figures(p.FWHM, 10)
		}
		j.Parts = append(j.Parts, part)
	}
	for _, b := range o.Binding {
		j.Binding = append(j.Binding, bindingJSON{b.Demand.String(), measureKeys[b.Demand.Measure], rounded(b.Price, 5)})
	}
	if lamp != nil {
		j.Lamp = &limitLampJSON{lamp.name, figures(lamp.ra, 10), rounded(lamp.ler, 10)}
	}
	return j
}
