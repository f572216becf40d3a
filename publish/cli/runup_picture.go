package cli

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampassay/bench/live"
	"lampassay/publish/figure"
)

// flags are what the figures point at, in seconds from switch-on.
func (r *runUpReport) flags() []figure.EmissionEvent {
	var all []figure.EmissionEvent
	add := func(seconds float64, text string) {
		if !math.IsNaN(seconds) {
			all = append(all, figure.EmissionEvent{Seconds: seconds, Text: text})
		}
	}
	marked := false
	for _, m := range r.marks {
		marked = marked || m.Seconds == r.SwitchOn
		add(m.Seconds-r.SwitchOn, m.Text)
	}
	if !marked && r.SwitchOn > 0 {
		add(0, "switched on")
	}
	for _, i := range r.Interruptions {
		add(i.Out, "light goes out")
		add(i.Back, "light is back")
	}
	if r.Verdict.Stable {
		add(r.StableSince, "stable from here on, "+r.rule.Name)
	}
	slices.SortStableFunc(all, func(a, b figure.EmissionEvent) int { return cmp.Compare(a.Seconds, b.Seconds) })
	return all[:min(len(all), mostFlags)]
}

const (
	mostFlags  = 20 // in one picture
	mostPanels = 6
)

// picture draws every value that was read, light and power first.
func (r *runUpReport) picture() (*figure.Picture, error) {
	p := figure.RunUp{Flags: r.flags(), Note: "Rule: " + r.rule.text() + "."}
	for _, pick := range r.panels() {
		t := r.of.Trace(pick)
		if len(p.Panels) == mostPanels || t.Len() == 0 {
			continue
		}
		t = t.Decimate(figure.Wide)
		panel := figure.RunUpPanel{Name: panelName(pick), Unit: r.of.Unit(pick), Level: math.NaN(), Values: t.Values}
		for _, at := range t.Seconds {
			panel.Seconds = append(panel.Seconds, at-r.SwitchOn)
		}
		switch pick {
		case r.light:
			panel.Level, panel.FromZero = r.Level, true
			for _, reach := range r.Reached {
				if !math.IsNaN(reach.Seconds) {
					mark := figure.RunUpMark{Seconds: reach.Seconds, Value: reach.Share * r.Level}
					if reach.Share < 0.95 { // there, no room is left for words
						mark.Text = fmt.Sprintf("%.0f %% after %s", 100*reach.Share, span(reach.Seconds))
					}
					panel.Reached = append(panel.Reached, mark)
				}
			}
		case r.power:
			panel.Level = r.PowerLevel
		}
		p.Panels = append(p.Panels, panel)
	}
	if r.Verdict.Stable {
		p.Stable, p.StableTo = r.StableSince, r.Verdict.Seconds-r.SwitchOn
		p.Title = fmt.Sprintf("80 %% of its light after %s, stable after %s", span(r.Reached[1].Seconds), span(r.StableSince))
	} else {
		p.Title = "Not stable after " + span(r.Verdict.Burning)
	}
	return p.Picture()
}

// panels is the order of what was read: light, power, colour, anything else.
func (r *runUpReport) panels() []live.Pick {
	order := []live.Pick{r.light, r.power}
	among := r.of.Picks()
	for _, key := range []string{live.CCTKey, live.DuvKey} {
		if p, ok := live.Find(among, key); ok {
			order = append(order, p)
		}
	}
	for _, p := range among {
		if !slices.Contains(order, p) {
			order = append(order, p)
		}
	}
	return order
}

// panelName is what a panel is called.
func panelName(p live.Pick) string {
	switch p.Key {
	case live.CCTKey:
		return "CCT"
	case live.DuvKey:
		return "Duv"
	case live.LightKey:
		return "Light of the spectra"
	}
	name := []rune(p.Key)
	if name[0] >= 'a' && name[0] <= 'z' {
		name[0] -= 'a' - 'A'
	}
	for i, c := range name {
		if c == '_' {
			name[i] = ' '
		}
	}
	return string(name)
}

// waterfall draws the spectra that share the first one's wavelengths.
func (r *runUpReport) waterfall(rec *live.Record) (*figure.Picture, error) {
	w := figure.Waterfall{Title: "Spectra over time: " + strings.Join(r.names, ", "), Flags: r.flags()}
	latest := math.Inf(-1)
	for _, m := range rec.Spectra {
		at := m.Seconds - r.SwitchOn
		if w.Wavelengths == nil {
			w.Wavelengths = m.Curve.Axis
		}
		if at > latest && slices.Equal(m.Curve.Axis, w.Wavelengths) && !slices.ContainsFunc(m.Curve.Samples, math.IsNaN) {
			w.Seconds, w.Values, latest = append(w.Seconds, at), append(w.Values, m.Curve.Samples), at
		}
	}
	if len(w.Seconds) < 2 {
		return nil, badInput("there are %d spectra that could be drawn over time: two are needed", len(w.Seconds))
	}
	from, to := w.Seconds[0], w.Seconds[len(w.Seconds)-1]
	w.Flags = slices.DeleteFunc(w.Flags, func(f figure.EmissionEvent) bool { return f.Seconds < from || f.Seconds > to })
	return w.Picture()
}
