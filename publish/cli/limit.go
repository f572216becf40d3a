package cli

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"lampassay/light/limits"
	"lampassay/publish/figure"
)

// limitOptions are the options of the limit command.
type limitOptions struct {
	cct, duv, xy    string
	ra, r9, rf      optionalFloat
	rg, sp, melDER  string
	rng, bands      string
	width           optionalFloat
	emitters        string
	lines, restarts int
	front           string
	mapped          bool
	json, noCache   bool
	figure          string
	read            readOptions
}

func newLimit(s streams) *cobra.Command {
	var o limitOptions
	c := &cobra.Command{
		Use:   "limit [FILE]",
		Short: "How far light could go: the most lumens per watt under conditions",
		Long: `Computes the light of the largest luminous efficacy of radiation that has the
colour and everything else that is asked for, made of lines of a given width, or of
given emitters mixed for the most lumens per electrical watt. It says which
conditions cost something, and how much one more unit of each would cost.

With a FILE the conditions are this lamp's own colour and Ra, so that the answer
is how far it stands from the best light of its kind.

A range is written from:to, with either end left out where it is open: --rg 95:,
--sp :1.2. Answers are kept in the user's cache folder by the hash of the question.
See docs/method/limits.md. The exit code is 1 where no light meets the conditions.`,
		Example: `  lampassay limit --cct 3000 --ra 80
  lampassay limit --cct 2700:6500 --duv=-0.006:0.006 --ra 90 --r9 50 --width 4.71 --figure best.svg
  lampassay limit --cct 4000 --front ra --width 20 --figure front.svg
  lampassay limit --cct 3500 --ra 90 --emitters leds.csv
  lampassay limit tube.csv`,
		Args: atMostOne("file"),
		RunE: func(c *cobra.Command, args []string) error {
			return runLimit(c.Context(), s, &o, args)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.cct, "cct", "", "correlated colour temperature in `K`, or a range of it")
	f.StringVar(&o.duv, "duv", "0", "distance from the Planckian locus, or a `range` of it")
	f.StringVar(&o.xy, "xy", "", "a given chromaticity `x,y` in place of --cct")
	f.Var(&o.ra, "ra", "Ra at least this `value`")
	f.Var(&o.r9, "r9", "R9 at least this `value`")
	f.Var(&o.rf, "rf", "Rf at least this `value`")
	f.StringVar(&o.rg, "rg", "", "Rg within this `range`")
	f.StringVar(&o.sp, "sp", "", "S/P ratio within this `range`")
	f.StringVar(&o.melDER, "mel-der", "", "melanopic DER within this `range`")
	f.StringVar(&o.rng, "range", "380:780", "where lines may be, in `nm`")
	f.Var(&o.width, "width", "full width at half maximum of a line in `nm` (default 0: ideal lines)")
	f.StringVar(&o.bands, "bands", "", "ranges with a width each, `from:to:width,...` in nm, in place of --range and --width")
	f.StringVar(&o.emitters, "emitters", "", "mix the emitters that this `FILE` lists: name,efficiency,file")
	f.IntVar(&o.lines, "lines", 0, "at most `N` lines or emitters (default: any number)")
	f.IntVar(&o.restarts, "restarts", 2, "look again from `N` random lights")
	f.StringVar(&o.front, "front", "", "what one measure costs: the limits from 50 to 95 of `ra|rf`")
	f.BoolVar(&o.mapped, "map", false, "the limits over 2700–6500 K and Ra 70–95")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	f.StringVar(&o.figure, "figure", "", "also draw the light, the front or the map to a `FILE`, .svg or .png")
	f.BoolVar(&o.noCache, "no-cache", false, "compute even what is kept from before")
	o.read.registerReading(f)
	return c
}

// lampAsked is what a file's lamp has.
type lampAsked struct {
	name    string
	ra, ler float64
}

func runLimit(ctx context.Context, s streams, o *limitOptions, args []string) error {
	if err := checkPicture(o.figure); err != nil {
		return err
	}
	if o.front != "" && o.mapped {
		return badInput("--front and --map are two pictures: ask for one")
	}
	c, err := o.conditions()
	if err != nil {
		return err
	}
	var lamp *lampAsked
	if len(args) == 1 {
		if lamp, err = o.askedBy(s, args[0], &c); err != nil {
			return err
		}
	}
	solver := new(limits.Solver)
	if !o.noCache {
		solver.Cache = openLimitCache()
	}
	switch {
	case o.front != "":
		return runFront(ctx, s, o, solver, c, lamp)
	case o.mapped:
		return runMap(ctx, s, o, solver, c)
	}
	best, err := solver.Solve(ctx, c)
	if err != nil {
		return limitError(s, err)
	}
	if err := drawTo(s, o.figure, func() (*figure.Picture, error) { return limitPicture(&best, &c) }); err != nil {
		return err
	}
	return emit(s.out, o.json, limitRecord(&best, &c, lamp), func(v *view) { v.limit(&best, &c, lamp) })
}

// limitError is the answer no where the conditions cannot be met, bad input
// where they make no sense.
func limitError(s streams, err error) error {
	var unreachable *limits.Unreachable
	switch {
	case errors.As(err, &unreachable), errors.Is(err, limits.ErrUnsettled):
		fmt.Fprintf(s.err, "lampassay: %s\n", plainly(err))
		return errNo
	}
	return spoken(err)
}
