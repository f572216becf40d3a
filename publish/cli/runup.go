package cli

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
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

The numbers of the rules are from memory; --window, --spread, --burning, --step and
--give-up set others. A sitting that has a rule of its own is judged by that, but for
what these say. See docs/method/runup.md. The exit code is 1 where the lamp is not
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
	rec := live.NewRecord(live.Photometer())
	by, err := o.readInto(ctx, s, args, rec)
	if err != nil {
		return err
	}
	light, power, err := o.rule.picks(rec)
	if err != nil {
		return err
	}
	options := temporal.Options{Criterion: by.Criterion, SwitchOn: rec.SwitchedOn()}
	if o.switchedOn.set {
		options.SwitchOn = &o.switchedOn.v
	}
	standing, err := live.JudgeRunUp(rec.Trace(light), rec.Trace(power), options)
	if err != nil {
		return spoken(err)
	}
	r := runUpReport{of: rec, light: light, power: power, rule: by, Standing: standing, marks: rec.Marks}
	for _, name := range args {
		r.names = append(r.names, filepath.Base(name))
	}
	if err := drawTo(s, o.figure, r.picture); err != nil {
		return err
	}
	if err := drawTo(s, o.waterfall, func() (*figure.Picture, error) { return r.waterfall(rec) }); err != nil {
		return err
	}
	if err := emit(s.out, o.json, r.record(), r.view); err != nil {
		return err
	}
	if !r.Verdict.Stable {
		return errNo
	}
	return nil
}

// readInto reads what is to be judged, and says by which rule.
func (o *runUpOptions) readInto(ctx context.Context, s streams, args []string, rec *live.Record) (rule, error) {
	if o.sitting != 0 {
		if err := o.read.keep(s, nil, nil); err != nil {
			return rule{}, err
		}
		sit, err := sittingInto(ctx, args, o.sitting, rec)
		if err != nil {
			return rule{}, err
		}
		return o.rule.of(sit)
	}
	by, err := o.rule.of(nil)
	if err != nil {
		return by, err
	}
	return by, filesInto(s, args, o, rec)
}

// runUpReport is a run-up with what is said of it.
type runUpReport struct {
	live.Standing
	of           readings
	names        []string
	light, power live.Pick
	rule         rule
	marks        []live.Mark
}

// view writes the report for reading.
func (r *runUpReport) view(v *view) {
	if len(r.names) > 0 {
		v.printf("%s\n\n", strings.Join(r.names, ", "))
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
	row("rule", "%s", r.rule.text())
	if r.Verdict.Stable {
		row("light", "%.4g%s, the mean of %s", r.Level, space(r.of.Unit(r.light)), r.light)
		if !math.IsNaN(r.PowerLevel) {
			row("power", "%.4g%s, the mean of %s", r.PowerLevel, space(r.of.Unit(r.power)), r.power)
		}
		row("first light", "%s", span(r.FirstLight))
		for _, reach := range r.Reached {
			row(fmt.Sprintf("%.0f %%", 100*reach.Share), "%s", span(reach.Seconds))
		}
		if r.Overshoot > r.rule.Spread {
			row("overshoot", "%.1f %% above its stabilised light", 100*r.Overshoot)
		}
	}
	for _, i := range r.Interruptions {
		row("interrupted", "%s", i.Words(span))
	}
	if r.SwitchOn > 0.5 {
		v.printf("\nTimes are from switch-on, %s into the record.\n", span(r.SwitchOn))
	} else {
		v.printf("\nTimes are from the beginning of the record.\n")
	}
}

func space(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}
