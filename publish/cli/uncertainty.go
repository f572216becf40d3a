package cli

import (
	"cmp"
	"context"
	"errors"
	"io"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/publish/sheet"
)

// uncertaintyOptions say how sure the inputs of a sitting are.
type uncertaintyOptions struct {
	class   string
	sitting string
	seed    uint64
	draws   int

	lamp       string                  // type of lamp, where the spectrum need not tell
	conditions *uncertainty.Conditions // from the sitting file
	stated     []string                // key=u of --u, where the command has it
	record     *fluxRecord             // of --flux-record
	repeats    []string                // of --repeats

	scattered *uncertainty.Repeats // of the spectra that were averaged; nil for none
	averaged  *averaged            // which these are
}

// none is the class that leaves uncertainties out.
const none = "none"

func (o *uncertaintyOptions) register(f *pflag.FlagSet) {
	f.StringVar(&o.class, "uncertainty", "compact", "class of spectrometer whose usual uncertainties stand in: `home|compact|bench|exact`, or none to leave uncertainties out")
	f.StringVar(&o.sitting, "sitting", "", "read how sure each input is from a `FILE`: see \"lampassay sitting new\"")
	f.IntVar(&o.draws, "draws", 0, "make exactly `N` draws (default: until they settle)")
	f.Uint64Var(&o.seed, "seed", 1, "of the draws: the same `N` gives the same figures")
}

// prepare reads the sitting file and holds the options to their rules.
func (o *uncertaintyOptions) prepare(classGiven bool) error {
	if o.draws != 0 && (o.draws < 100 || o.draws > mostDraws) {
		return badInput("--draws %d: it takes 100 to %d", o.draws, mostDraws)
	}
	if o.sitting != "" {
		if classGiven {
			return badInput("--sitting and --uncertainty both say how sure the spectrometer is: use one, the file names a class too")
		}
		var err error
		o.conditions, err = readConditions(o.sitting)
		return err
	}
	if o.class == none {
		return nil
	}
	if _, err := uncertainty.SpectrometerClass(o.class); err != nil {
		return badInput("--uncertainty %q: it is home, compact, bench, exact or none", o.class)
	}
	return nil
}

// own names what says how sure the figures of one lamp are, "" for nothing.
func (o *uncertaintyOptions) own() string {
	switch {
	case o.sitting != "":
		return "--sitting"
	case o.record != nil:
		return "--flux-record"
	case len(o.stated) > 0:
		return "--u"
	case len(o.repeats) > 0:
		return "--repeats"
	}
	return ""
}

// mostDraws bounds memory: a draw keeps eight bytes for each quantity.
const mostDraws = 500_000

// off reports whether uncertainties are to be left out.
func (o *uncertaintyOptions) off() bool { return o.class == none && o.conditions == nil }

func readConditions(name string) (*uncertainty.Conditions, error) {
	data, err := readBounded(name, sittingLimit, "a sitting file")
	if err != nil {
		return nil, err
	}
	c, err := uncertainty.ParseConditions(data)
	if err != nil {
		return nil, badInput("%s: %w", name, err)
	}
	return c, nil
}

const sittingLimit = 4 << 20

// given adds what the sitting file holds of flux and power.
func (o *uncertaintyOptions) given(g assay.Given) (assay.Given, error) {
	if o.conditions == nil {
		return g, nil
	}
	g, err := o.conditions.With(g)
	if err != nil {
		return g, badInput("%s: %w", o.sitting, err)
	}
	return g, nil
}

// assess gives every figure of a lamp its uncertainty. bare is what was given on
// the command line alone; ids nil stands for all that a page shows; chain is how
// the spectrum came from raw counts, nil where the file has it.
func (o *uncertaintyOptions) assess(ctx context.Context, s streams, lamp *sheet.Lamp, file *ingest.File, chain *instrument.Applied, bare assay.Given, ids []quantity.ID) error {
	if o.off() {
		return nil
	}
	c := o.conditions
	if c == nil {
		c = &uncertainty.Conditions{Defaults: uncertainty.Usual()}
		c.Defaults.Spectrometer = o.class
		if c.Defaults.Lamp = o.lamp; o.lamp == "" && lamp.Emission != nil {
			c.Defaults.Lamp = uncertainty.LampOfFamily(lamp.Emission.Family.Key).String()
		}
	}
	given, err := o.given(bare)
	if err != nil {
		return err
	}
	own := *c
	c = &own
	if own.Parts, err = o.parts(given); err != nil {
		return err
	}
	if chain != nil {
		if err := chain.State(&own); err != nil {
			return spoken(err)
		}
	}
	k := uncertainty.Case{
		Spectrum: file.Spectrum, Kind: file.Projection, Given: bare, Result: lamp.Result, Repeats: o.scattered, Quantities: ids,
	}
	if o.conditions == nil && chain == nil && lamp.Emission != nil && lamp.Emission.BandwidthMeasured {
		k.Bandwidth = lamp.Emission.Bandwidth
	}
	wait := waiting{w: s.err, total: o.draws}
	defer wait.stop()
	warnings, err := c.Assess(ctx, &k, uncertainty.Options{Seed: o.seed, Draws: o.draws, Progress: wait.made, MaxDraws: 50_000})
	switch {
	case errors.Is(err, context.Canceled):
		return err
	case err != nil:
		return badInput("%s: %w", file.Name, err)
	}
	lamp.Warnings = append(lamp.Warnings, warnings...)
	return nil
}

// waiting shows a bar once a run takes longer than a second.
type waiting struct {
	w     io.Writer
	mu    sync.Mutex
	begun time.Time
	bar   *progress
	shown int
	total int // how many draws will be made, usualDraws where 0
}

// usualDraws is where most runs settle.
const usualDraws = 20_000

// made hears how many draws were made.
func (w *waiting) made(draws int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.begun.IsZero() {
		w.begun = time.Now()
	}
	if w.bar == nil && time.Since(w.begun) > time.Second {
		w.bar = startProgress(w.w, "draws", cmp.Or(w.total, usualDraws))
	}
	if w.bar != nil {
		w.bar.add(draws - w.shown)
		w.shown = draws
	}
}

func (w *waiting) stop() {
	if w.bar != nil {
		w.bar.stop()
	}
}

func newSitting(s streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "sitting",
		Short: "How sure each input of a measurement is",
		Long: `A sitting file says how sure every input of one measurement is: wavelengths,
response, distance, light meter, power meter and so on, with distributions,
repeats and correlations. "lampassay sitting new" writes one from the usual
figures of a class, to be edited; "lampassay assay FILE --sitting SITTING" reads
it.`,
		Args: exactly(0, "new or inputs"),
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newSittingNew(s), newSittingInputs(s))
	return c
}

func newSittingNew(s streams) *cobra.Command {
	classes := uncertainty.Usual()
	var flux, power optionalFloat
	c := &cobra.Command{
		Use:   "new",
		Short: "Write a sitting file of a class, to be edited",
		Long: `Writes the usual figures of a class as a sitting file. They are this project's
own estimates and say so; replace each by what you measured or by a certificate.
An input that is taken out of the file stands at its class's figure; give it
"u": 0 to call it exact.`,
		Example: `  lampassay sitting new --spectrometer bench --lamp filament --flux 806 --power 60 > bulb.json
  lampassay assay bulb.csv --sitting bulb.json`,
		Args: exactly(0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			if err := allPositive([]positive{{"flux", flux}, {"power", power}}); err != nil {
				return err
			}
			conditions, err := uncertainty.NewConditions(classes, flux.v, power.v)
			if err != nil {
				return badInput("%w", err)
			}
			data, err := conditions.JSON()
			if err != nil {
				return err
			}
			_, err = s.out.Write(data)
			return err
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&classes.Spectrometer, "spectrometer", classes.Spectrometer, "`home|compact|bench|exact`")
	f.StringVar(&classes.Lamp, "lamp", classes.Lamp, "how the lamp answers to supply and air: `white|filament|choke|electronic|narrow|unknown`")
	f.StringVar(&classes.Flux, "route", classes.Flux, "to the luminous flux: `angles|sphere|sphere-label|direction|laboratory|declared|unstated|exact`")
	f.StringVar(&classes.Power, "meter", classes.Power, "of the power: `plug-in|analyser|exact`")
	f.Var(&flux, "flux", "luminous flux in `lm`")
	f.Var(&power, "power", "power at the mains in `W`")
	return c
}

func newSittingInputs(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "inputs",
		Short: "List every input that a sitting file can state",
		Args:  exactly(0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			v := &view{w: s.out}
			var part uncertainty.Part
			for _, m := range uncertainty.Meanings() {
				if m.Part != part {
					if part != "" {
						v.printf("\n")
					}
					part = m.Part
					v.printf("%s\n", part)
				}
				v.wrapped("  "+pad(m.Name, 34)+pad(strings.Join(m.Units, ", "), 18), m.About, "")
			}
			return v.err
		},
	}
}
