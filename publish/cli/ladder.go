package cli

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/assay"
	"lampassay/assay/ladder"
	"lampassay/light/limits"
	"lampassay/publish/figure"
	"lampassay/publish/sheet"
)

// ladderOptions are the options of the ladder command. What was measured is
// given as to assay.
type ladderOptions struct {
	given  assayOptions
	gear   optionalFloat
	json   bool
	figure string
}

func newLadder(s streams) *cobra.Command {
	o := ladderOptions{given: assayOptions{lightType: "ndls"}}
	c := &cobra.Command{
		Use:   "ladder FILE",
		Short: "Where the lamp stands between what it is and what physics allows",
		Long: `Goes down from 683 lm/W, which only a line at 555 nm has, to what the lamp gives
per watt: the best light of this lamp's colour with at least its Ra, the lamp's
own spectrum, what it gives per watt at its terminals and at the mains. Each rung
says what was lost on the way, and whether it was defined, computed, measured or
assumed. Light of a single colour has its own limit, 683·V(λ).`,
		Example: `  lampassay ladder tube.csv --flux 3350 --power 41 --power-lamp 36
  lampassay ladder bulb.csv --flux 806 --power 8.5 --gear-efficiency 0.85 --figure ladder.svg`,
		Args: exactly(1, "one file"),
		RunE: func(c *cobra.Command, args []string) error { return runLadder(c.Context(), s, &o, args[0]) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.Var(&o.given.flux, "flux", "luminous flux in `lm`")
	f.Var(&o.given.power, "power", "electrical power in `W`")
	f.StringVar(&o.given.powerAt, "power-at", "mains", "where --power was measured: `mains|lamp`")
	f.Var(&o.given.powerLamp, "power-lamp", "power at the lamp's terminals in `W`, beside --power at the mains")
	f.Var(&o.gear, "gear-efficiency", "assume that this `share` of the power at the mains reaches the lamp, where only one end was measured")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	f.StringVar(&o.figure, "figure", "", "also draw it to a `FILE`, .svg or .png")
	o.given.read.registerReading(f)
	return c
}

func runLadder(ctx context.Context, s streams, o *ladderOptions, name string) error {
	given, err := o.given.given()
	if err != nil {
		return err
	}
	if o.gear.set && !(o.gear.v > 0 && o.gear.v <= 1) {
		return badInput("--gear-efficiency %g: it is a share of the power, above 0 and up to 1", o.gear.v)
	}
	if err := checkPicture(o.figure); err != nil {
		return err
	}
	read, err := o.given.read.options()
	if err != nil {
		return err
	}
	file, err := readOnly(s, name, read)
	if err != nil {
		return err
	}
	lamp, err := assayFile(file, given)
	if err != nil {
		return err
	}
	l, err := ladder.Of(ctx, lamp.Result, ladder.Options{Best: ladder.Search(new(limits.Solver)), Gear: o.gear.v})
	if err != nil {
		return err
	}
	if err := drawTo(s, o.figure, func() (*figure.Picture, error) { return sheet.LadderPicture(l) }); err != nil {
		return err
	}
	return emit(s.out, o.json, ladderRecord(filepath.Base(file.Name), l), func(v *view) { v.ladder(lamp.Name, l) })
}

// ladderOf builds the ladder of a lamp, assuming nothing.
func ladderOf(ctx context.Context, r *assay.Result) (*ladder.Ladder, error) {
	return ladder.Of(ctx, r, ladder.Options{Best: ladder.Search(new(limits.Solver))})
}

// ladder writes the ladder for reading.
func (v *view) ladder(name string, l *ladder.Ladder) {
	v.printf("%s\n\n", name)
	for i := range l.Rungs {
		r := &l.Rungs[i]
		if !r.Known() {
			v.wrapped("      – lm/W  ", r.Name+": "+r.Why, "")
			continue
		}
		if r.Loss != "" {
			v.wrapped("           │  ", fmt.Sprintf("%s lost: %s", wholePercent(1-r.Kept), r.Loss), "")
		}
		v.wrapped(padLeft(fmt.Sprintf("%.*f", decimalsOf(r.Efficacy), r.Efficacy), 7)+" lm/W  ", fmt.Sprintf("%s (%s)", r.Name, r.Basis), "")
	}
	v.printf("\n")
	if kept := l.Kept(); kept > 0 {
		v.wrapped("", fmt.Sprintf("In all %s of what the eye could have.", wholePercent(kept)), "")
	}
}

// decimalsOf are those an efficacy in lm/W is read with.
func decimalsOf(efficacy float64) int {
	if efficacy < 100 {
		return 1
	}
	return 0
}

// wholePercent writes a share; a small one is not written as nothing.
func wholePercent(share float64) string {
	p := 100 * share
	switch {
	case p > 0 && p < 0.1:
		return "less than 0.1 %"
	case math.Abs(p) < 9.95:
		return strings.Replace(fmt.Sprintf("%.1f %%", p), "-", "−", 1)
	}
	return strings.Replace(fmt.Sprintf("%.0f %%", p), "-", "−", 1)
}

func ladderRecord(file string, l *ladder.Ladder) any {
	type rung struct {
		Key      ladder.Key   `json:"key"`
		Name     string       `json:"name"`
		Efficacy *float64     `json:"efficacy_lm_per_w"`
		Why      string       `json:"why"`
		Basis    ladder.Basis `json:"basis"`
		Kept     *float64     `json:"kept"`
		Loss     string       `json:"loss"`
	}
	out := struct {
		File   string        `json:"file"`
		Colour ladder.Colour `json:"colour"`
		Rungs  []rung        `json:"rungs"`
	}{File: file, Colour: l.Colour}
	for i := range l.Rungs {
		r := l.Rungs[i]
		one := rung{Key: r.Key, Name: r.Name, Why: r.Why, Basis: r.Basis, Loss: r.Loss}
		if r.Known() {
			one.Efficacy = figures(r.Efficacy, 10)
			if i > 0 {
				one.Kept = figures(r.Kept, 10)
			}
		}
		out.Rungs = append(out.Rungs, one)
	}
	return out
}
