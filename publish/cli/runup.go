package cli

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"lampassay/bench/ingest"
	"lampassay/bench/live"
	"lampassay/bench/notebook"
	"lampassay/bench/notebook/sqlite"
	"lampassay/light/temporal"
	"lampassay/publish/figure"
)

// runUpOptions are the options of the runup command.
type runUpOptions struct {
	rule       ruleOptions
	switchedOn optionalFloat
	sitting    notebook.ID
	figure     string
	waterfall  string
	json       bool
	read       readOptions
}

func newRunUp(s streams) *cobra.Command {
	var o runUpOptions
	c := &cobra.Command{
		Use:   "runup FILE...",
		Short: "How a lamp runs up, and whether it is stable",
		Long: `Reads readings over time and says when the lamp gave 60, 80, 90 and 95 % of its
stabilised light, since when it is stable by a rule on light and power together,
what interrupted it, and how long it may still need where it is not stable.

A FILE is a table that "lampassay record" wrote; a table of your own whose first
column is the time (seconds, or date and time of day) and whose others are headed
like "illuminance (lx)" or "power (W)"; or a series of spectra over time, of which
light, CCT and Duv are computed. Of several files the times are laid together: by
the day where both tell it, or else by their beginnings. A notebook is read with
--sitting.

The numbers of the rules are from memory; --window, --spread, --burning and --step
set others. See docs/method/runup.md. The exit code is 1 where the lamp is not
stable.`,
		Example: `  lampassay runup readings.csv --figure run-up.svg
  lampassay runup log.csv --rule lm-79-08 --switched-on 12
  lampassay runup spectra.csv --waterfall waterfall.png
  lampassay runup bench.notebook --sitting 3`,
		Args: atLeastOneFile,
		RunE: func(c *cobra.Command, args []string) error { return runRunUp(c.Context(), s, &o, args) },
	}
	f := c.Flags()
	f.SortFlags = false
	o.rule.register(f)
	f.Var(&o.switchedOn, "switched-on", "when the lamp was switched on, in `seconds` of the record (default: a mark, or the power)")
	f.Var((*idValue)(&o.sitting), "sitting", "read this sitting of a notebook, by its `number`")
	f.StringVar(&o.figure, "figure", "", "also draw the run-up to a `FILE`, .svg or .png")
	f.StringVar(&o.waterfall, "waterfall", "", "also draw the spectra over time to a `FILE`, .svg or .png")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	o.read.register(f)
	return c
}

func runRunUp(ctx context.Context, s streams, o *runUpOptions, args []string) error {
	if err := checkPicture(o.figure); err != nil {
		return err
	}
	if checkPicture(o.waterfall) != nil {
		return badInput("--waterfall %s: its name has to end in .svg or .png", o.waterfall)
	}
	criterion, err := o.rule.criterion()
	if err != nil {
		return err
	}
	rec := live.NewRecord(live.Photometer())
	if o.sitting != 0 {
		err = sittingInto(ctx, args, o.sitting, rec)
	} else {
		err = filesInto(s, args, o, rec)
	}
	if err != nil {
		return err
	}
	light, power, err := o.rule.picks(rec)
	if err != nil {
		return err
	}
	options := temporal.Options{Criterion: criterion, SwitchOn: rec.SwitchedOn()}
	if o.switchedOn.set {
		options.SwitchOn = &o.switchedOn.v
	}
	standing, err := live.JudgeRunUp(rec.Trace(light), rec.Trace(power), options)
	if err != nil {
		return inputError{err}
	}
	r := runUpReport{of: rec, light: light, power: power, criterion: criterion, Standing: standing, marks: rec.Marks}
	for _, name := range args {
		r.names = append(r.names, filepath.Base(name))
	}
	if o.figure != "" {
		p, err := r.picture()
		if err != nil {
			return err
		}
		if err := writePicture(s, o.figure, p); err != nil {
			return err
		}
	}
	if o.waterfall != "" {
		p, err := r.waterfall(rec)
		if err != nil {
			return err
		}
		if err := writePicture(s, o.waterfall, p); err != nil {
			return err
		}
	}
	w := bufio.NewWriter(s.out)
	if o.json {
		err = json.NewEncoder(w).Encode(r.record())
	} else {
		err = r.view(w)
	}
	if err := errors.Join(err, w.Flush()); err != nil {
		return err
	}
	if !r.Verdict.Stable {
		return errNo
	}
	return nil
}

// sittingInto reads a sitting of a notebook.
func sittingInto(ctx context.Context, args []string, sitting notebook.ID, rec *live.Record) error {
	if len(args) != 1 {
		return badInput("--sitting is of one notebook, not of %d files", len(args))
	}
	return withNotebook(ctx, args[0], sqlite.OpenReadOnly, func(nb *sqlite.Store) error {
		kept, err := nb.Sittings().Get(ctx, sitting)
		if err != nil {
			return err
		}
		for r, err := range nb.Readings(ctx, notebook.Readings{Sitting: sitting}) {
			if err != nil {
				return err
			}
			if kept.StruckOut(r.N) == "" {
				rec.Add(r)
			}
		}
		return nil
	})
}

// filesInto reads tables and series.
func filesInto(s streams, args []string, o *runUpOptions, rec *live.Record) error {
	read, err := o.read.options()
	if err != nil {
		return err
	}
	for _, name := range args {
		if err := fileInto(s, name, o, &read, rec); err != nil {
			return err
		}
	}
	return nil
}

func fileInto(s streams, name string, o *runUpOptions, read *ingest.Options, rec *live.Record) error {
	src, err := openSource(s, name)
	if err != nil {
		return err
	}
	defer src.Close()
	if err := live.ReadTable(filepath.Base(src.name), src.f, rec); !errors.Is(err, live.ErrNoTable) {
		if err != nil {
			return inputError{err}
		}
		return nil
	}
	if _, err := src.f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	series, err := ingest.ReadSeries(src.name, src.f, *read)
	if err != nil {
		return err
	}
	if err := o.read.keep(s, &series.Report, read); err != nil {
		return err
	}
	offset := 0.0
	switch {
	case series.Start.IsZero():
	case rec.Start.IsZero():
		rec.Start = series.Start
	default:
		offset = series.Start.Sub(rec.Start).Seconds()
	}
	for i, at := range series.Times {
		rec.AddAt(offset+at, &notebook.Reading{Channel: "spectra", Curve: &notebook.Curve{
			Quantity: series.Quantity.String(), Axis: series.Axis, Samples: series.Values[i],
		}})
	}
	return nil
}

// waterfall draws the spectra that share the first one's wavelengths.
func (r *runUpReport) waterfall(rec *live.Record) (*figure.Picture, error) {
	w := figure.Waterfall{Title: "Spectra over time: " + listNames(r.names), Flags: r.flags()}
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

func listNames(names []string) string {
	text := ""
	for i, n := range names {
		if i > 0 {
			text += ", "
		}
		text += n
	}
	return text
}

// runUpReport is a run-up with what is said of it.
type runUpReport struct {
	live.Standing
	of           readings
	names        []string
	light, power live.Pick
	criterion    temporal.Criterion
	marks        []live.Mark
}

// view writes the report for reading.
func (r *runUpReport) view(w io.Writer) error {
	v := &view{w: w}
	if len(r.names) > 0 {
		v.printf("%s\n\n", listNames(r.names))
	}
	row := func(name, format string, args ...any) {
		v.wrapped("  "+pad(name, 16), fmt.Sprintf(format, args...), "")
	}
	v.printf("Run-up\n")
	if r.Verdict.Stable {
		row("stable since", "%s: %s", span(r.StableSince), r.Verdict.Why)
	} else {
		row("not stable", "%s", r.Why)
		row("left", "%s", leftText(r.Left))
	}
	row("rule", "%s", r.criterion.Source)
	if r.Verdict.Stable {
		row("light", "%.4g%s, the mean of %s", r.Level, space(r.of.Unit(r.light)), r.light)
		if !math.IsNaN(r.PowerLevel) {
			row("power", "%.4g%s, the mean of %s", r.PowerLevel, space(r.of.Unit(r.power)), r.power)
		}
		row("first light", "%s", span(r.FirstLight))
		for _, reach := range r.Reached {
			row(fmt.Sprintf("%.0f %%", 100*reach.Share), "%s", span(reach.Seconds))
		}
		if r.Overshoot > r.criterion.Spread {
			row("overshoot", "%.1f %% above its stabilised light", 100*r.Overshoot)
		}
	}
	for _, i := range r.Interruptions {
		row("interrupted", "%s", interruptionText(i))
	}
	if r.SwitchOn > 0.5 {
		v.printf("\nTimes are from switch-on, %s into the record.\n", span(r.SwitchOn))
	} else {
		v.printf("\nTimes are from the beginning of the record.\n")
	}
	return v.err
}

func interruptionText(i temporal.Interruption) string {
	text := "light went out at " + span(i.Out)
	if math.IsNaN(i.Back) {
		return text + " and did not come back"
	}
	text += ", was back at " + span(i.Back)
	switch {
	case !math.IsNaN(i.Restrike):
		return text + fmt.Sprintf("; power was lost, and the lamp struck again %s after it returned", span(i.Restrike))
	case i.PowerLost:
		return text + "; power was lost"
	}
	return text + "; power was not seen to fail"
}

func space(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

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
		add(r.StableSince, "stable from here on, "+r.criterion.Name)
	}
	slices.SortStableFunc(all, func(a, b figure.EmissionEvent) int {
		switch {
		case a.Seconds < b.Seconds:
			return -1
		case a.Seconds > b.Seconds:
			return 1
		}
		return 0
	})
	return all[:min(len(all), mostFlags)]
}

const (
	mostFlags  = 20 // in one picture
	mostPanels = 6
)

// picture draws every value that was read, light and power first.
func (r *runUpReport) picture() (*figure.Picture, error) {
	p := figure.RunUp{Flags: r.flags(), Note: "Rule: " + r.criterion.Source + "."}
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
		Source string  `json:"source"`
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
	c := r.criterion
	j := &runUpJSON{
		Files: listed(r.names), Light: r.light.String(), LightUnit: r.of.Unit(r.light), Rule: ruleJSON{c.Name, c.Least, c.Window, c.Every, c.Spread, c.Source},
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
