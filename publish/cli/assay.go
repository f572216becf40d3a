package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/light/emission"
	"lampassay/publish/sheet"
)

// assayOptions are the options of the assay command.
type assayOptions struct {
	name       string
	flux       optionalFloat
	fluxRecord string
	power      optionalFloat
	powerAt    string
	powerLamp  optionalFloat
	adaptation optionalFloat
	lightType  string
	gear       string
	quantities []string
	json       bool
	sheet      string
	figures    string
	colour     string
	jobs       int
	mean       bool
	read       readOptions
	sure       uncertaintyOptions
	law        lawOptions
	correct    correctOptions
}

func newAssay(s streams) *cobra.Command {
	var o assayOptions
	c := &cobra.Command{
		Use:   "assay FILE...",
		Short: "Every quantity of a lamp from its spectrum file",
		Long: `Reads spectrum files and prints every photometric and colorimetric quantity of
the lamp. A file with one spectrum is text in any common shape, or IES TM-27
XML, a JSON document or a spreadsheet; "-" reads standard input. A file with a
wavelength column and several spectra is a batch, and so is a series over time:
it prints one JSON object a line. A zip archive is read file by file.

With --instrument the file holds raw counts, which are corrected first: dark,
stray light, response and the rest, each step shown with what it did.

Lumens and watts are yours to give. Without --flux a relative spectrum yields
everything that needs no scale: colour, rendition, efficacy of radiation, shares.

Each figure carries its uncertainty, from draws through the whole calculation.
What is known of your instruments goes into a sitting file; until there is one
the usual figures of a class stand in, and are marked so. A batch is not
assessed: take a spectrum out of it with --column.`,
		Example: `  lampassay assay tube.csv --flux 3350 --power 36
  lampassay assay sodium.txt --flux 4560 --power 46 --power-lamp 36 --sheet sodium.html
  lampassay assay many.csv --json --quantity cct,duv,ra > figures.jsonl
  lampassay assay counts.csv --instrument club.json --dark dark.csv`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return badInput("assay takes at least one file: see %q", c.CommandPath()+" --help")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if err := o.sure.prepare(c.Flags().Changed("uncertainty")); err != nil {
				return err
			}
			return runAssay(c.Context(), s, &o, args)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.name, "name", "", "what to call the lamp (default: the file's name)")
	f.Var(&o.flux, "flux", "luminous flux in `lm`: total, or useful in the cone for a directional lamp")
	f.StringVar(&o.fluxRecord, "flux-record", "", "take the flux, with what makes it unsure, from a `FILE` that \"lampassay flux … --json\" wrote")
	f.Var(&o.power, "power", "electrical power in `W`")
	f.StringVar(&o.powerAt, "power-at", "mains", "where --power was measured: `mains|lamp`")
	f.Var(&o.powerLamp, "power-lamp", "power at the lamp's terminals in `W`, beside --power at the mains")
	f.Var(&o.adaptation, "adaptation", "photopic adaptation luminance in `cd/m²`, for mesopic vision")
	f.StringVar(&o.lightType, "light", "ndls", "for the energy class: `ndls|dls`, non-directional or directional")
	f.StringVar(&o.gear, "supply", "", "for the energy class: `mains|gear`, run on the mains directly or on separate gear (default: mains where power at the mains is known)")
	f.StringSliceVarP(&o.quantities, "quantity", "q", nil, "only these `keys`, comma-separated; rcs_h* takes a run, all takes everything")
	f.BoolVar(&o.json, "json", false, "print JSON, one object a line")
	f.StringVar(&o.sheet, "sheet", "", "also write the lamp's sheet, an HTML `FILE` that needs nothing else")
	f.StringVar(&o.figures, "figures", "", "also write every figure to a `FOLDER`, as SVG and as PNG")
	f.StringVar(&o.colour, "colour", "auto", "draw the strip in colour: `auto|always|never`")
	f.IntVar(&o.jobs, "jobs", 0, "how many cores a batch uses (default: all)")
	o.law.register(f)
	o.sure.register(f)
	f.StringArrayVar(&o.sure.stated, "u", nil, "standard uncertainty of a figure given here, as `KEY=NUMBER` in its unit or KEY=4% of its value; may be repeated")
	f.StringSliceVar(&o.sure.repeats, "repeats", nil, "three or more further spectra of the same lamp, `FILES`: take the mean, and its uncertainty from their scatter")
	f.BoolVar(&o.mean, "mean", false, "the spectra in the file are such repeats of one lamp")
	o.correct.register(f)
	o.read.register(f)
	return c
}

// given turns options into what was measured.
func (o *assayOptions) given() (assay.Given, error) {
	var g assay.Given
	err := allPositive([]positive{{"flux", o.flux}, {"power", o.power}, {"power-lamp", o.powerLamp}, {"adaptation", o.adaptation}})
	if err != nil {
		return g, err
	}
	known := func(q optionalFloat) assay.Optional { return assay.Optional{Value: q.v, Known: q.set} }
	g.Flux, g.Power, g.PowerLamp, g.Adaptation = known(o.flux), known(o.power), known(o.powerLamp), known(o.adaptation)
	switch o.powerAt {
	case "mains":
	case "lamp":
		if g.PowerLamp.Known {
			return g, badInput("--power-at lamp and --power-lamp both give the power at the lamp: use one")
		}
		g.Power, g.PowerLamp = assay.Optional{}, g.Power
	default:
		return g, badInput("--power-at %q: it is mains or lamp", o.powerAt)
	}
	if g.Power.Known && g.PowerLamp.Known && g.PowerLamp.Value > g.Power.Value {
		return g, badInput("%g W at the lamp is more than %g W at the mains: were they swapped?", g.PowerLamp.Value, g.Power.Value)
	}
	switch o.lightType {
	case "ndls", "dls":
		g.Source.Directional = o.lightType == "dls"
	default:
		return g, badInput("--light %q: it is ndls or dls", o.lightType)
	}
	switch o.gear {
	case "":
		g.Source.Mains = g.Power.Known
	case "mains", "gear":
		g.Source.Mains = o.gear == "mains"
	default:
		return g, badInput("--supply %q: it is mains or gear", o.gear)
	}
	g.Law, err = o.law.question()
	return g, err
}

// chosen turns --quantity into IDs; nil where it was not given.
func (o *assayOptions) chosen() ([]quantity.ID, error) {
	if len(o.quantities) == 0 {
		return nil, nil
	}
	var ids []quantity.ID
	for _, key := range o.quantities {
		key = strings.TrimSpace(key)
		found := false
		for _, d := range quantity.All() {
			ok, err := filepath.Match(key, d.Key)
			if err != nil || !ok && key != "all" {
				continue
			}
			found = true
			if !slices.Contains(ids, d.ID) { // two patterns may meet in one
				ids = append(ids, d.ID)
			}
		}
		if !found {
			return nil, badInput("there is no quantity %q: \"lampassay assay FILE --json --quantity all\" lists their keys", key)
		}
	}
	return ids, nil
}

func runAssay(ctx context.Context, s streams, o *assayOptions, files []string) error {
	if err := o.takeRecord(); err != nil {
		return err
	}
	bare, err := o.given()
	if err != nil {
		return err
	}
	given, err := o.sure.given(bare)
	if err != nil {
		return err
	}
	if _, err := o.sure.parts(given); err != nil {
		return err
	}
	ids, err := o.chosen()
	if err != nil {
		return err
	}
	if (o.sheet != "" || o.figures != "") && len(files) > 1 {
		return badInput("--sheet and --figures take one lamp: run it once per file")
	}
	repeats, err := o.sure.repeatFiles()
	switch {
	case err != nil:
		return err
	case len(repeats) > 0 && o.mean:
		return badInput("--repeats and --mean both say where the repeats are: use one")
	case (len(repeats) > 0 || o.mean) && len(files) > 1:
		return badInput("--repeats and --mean are for one lamp: run it once per lamp")
	}
	read, err := o.read.options()
	if err != nil {
		return err
	}
	if err := o.correct.check(); err != nil {
		return err
	}
	for i, name := range files {
		if err := ctx.Err(); err != nil {
			return err
		}
		if i > 0 && !o.json {
			fmt.Fprintln(s.out)
		}
		if err := assayOne(ctx, s, o, name, bare, given, ids, read); err != nil {
			return err
		}
	}
	return nil
}

// assayOne reads one file and prints what it holds. bare is what the options
// give and given what the sitting file adds to that.
func assayOne(ctx context.Context, s streams, o *assayOptions, name string, bare, given assay.Given, ids []quantity.ID, read ingest.Options) error {
	if o.correct.instrument != "" {
		if o.mean {
			return badInput("--mean is for spectra: frames of raw counts are averaged as they are")
		}
		file, chain, err := o.correct.read(s, name, &o.read)
		if err != nil {
			return err
		}
		again := o.correct
		again.frames, again.steps = nil, ""
		file, err = o.sure.average(file, func(name string) (*ingest.File, error) {
			more, _, err := again.read(s, name, &o.read)
			return more, err
		})
		if err != nil {
			return err
		}
		return assayFileWhole(ctx, s, o, file, chain, bare, given, ids)
	}
	src, err := openSource(s, name)
	if err != nil {
		return err
	}
	defer src.Close()
	in, err := src.readAny(read)
	if err != nil {
		return err
	}
	if err := o.read.keep(s, in.report(), &read); err != nil {
		return err
	}
	switch {
	case o.mean && !in.archive:
		file, err := o.sure.meanOf(in)
		if err != nil {
			return err
		}
		return assayFileWhole(ctx, s, o, file, nil, bare, given, ids)
	case in.archive:
		return assayArchive(ctx, s, o, in, bare, given, ids, read)
	case in.series != nil:
		return assaySeries(ctx, s, o, in.series, given, ids)
	case in.wide != nil:
		if o.sheet != "" || o.figures != "" {
			return badInput("%s holds %d spectra, and --sheet and --figures take one: choose it with --column", in.name, in.wide.Columns())
		}
		if what := o.sure.own(); what != "" {
			return badInput("%s holds %d spectra, and %s is for one: choose it with --column", in.name, in.wide.Columns(), what)
		}
		return runBatch(ctx, s, o, in.wide, given, ids)
	}
	file, err := o.sure.average(in.file, func(name string) (*ingest.File, error) { return readOne(s, name, read) })
	if err != nil {
		return err
	}
	return assayFileWhole(ctx, s, o, file, nil, bare, given, ids)
}

// assayFileWhole assays one spectrum and prints or writes all that was asked
// for. chain is how it came from raw counts; nil where the file has it.
func assayFileWhole(ctx context.Context, s streams, o *assayOptions, file *ingest.File, chain *instrument.Applied, bare, given assay.Given, ids []quantity.ID) error {
	lamp, err := assayFile(file, given)
	if err != nil {
		return err
	}
	if o.name != "" {
		lamp.Name = o.name
	}
	if o.sure.averaged != nil {
		lamp.Reading = append(lamp.Reading, o.sure.averaged.sentence())
	}
	if r := o.sure.record; r != nil {
		lamp.Reading = append(lamp.Reading, r.sentence())
		for _, text := range r.cautions {
			lamp.Warnings = append(lamp.Warnings, r.name+": "+text)
		}
	}
	asked := ids
	if o.sheet != "" || o.figures != "" {
		asked = nil // a page shows all
		if lamp.Ladder, err = ladderOf(ctx, lamp.Result); err != nil {
			return err
		}
	}
	if err := o.sure.assess(ctx, s, &lamp, file, chain, bare, asked); err != nil {
		return err
	}
	if o.sheet != "" {
		lamp := lamp
		if chain != nil {
			lamp.Reading = append(lamp.Reading, chain.Sentences()...)
		}
		err := createFile(o.sheet, func(w io.Writer) error { return sheet.Write(w, lamp, sheet.Options{Version: version()}) })
		if err != nil {
			return err
		}
		fmt.Fprintf(s.err, "lampassay: wrote %s\n", o.sheet)
	}
	if o.figures != "" {
		if err := writeFigures(s, o.figures, lamp); err != nil {
			return err
		}
	}
	if o.json {
		if ids == nil {
			ids = assay.Default()
		}
		line := assay.NewRecorder(ids).Append(nil, &lamp.Input, lamp.Result, lamp.Warnings)
		if o.sure.averaged != nil {
			if line, err = assay.WithKey(line, "mean_of", o.sure.averaged); err != nil {
				return err
			}
		}
		if chain != nil {
			if line, err = assay.WithKey(line, "corrections", instrument.Records(chain.Steps)); err != nil {
				return err
			}
		}
		_, err := s.out.Write(line)
		return err
	}
	strip := ""
	if wantColour(o.colour, s.out) {
		strip = stripLine(lamp.Spectrum, viewWidth)
	}
	if err := writeView(s.out, lamp.Name, strip, lamp.Reading, lamp.Result, lamp.Warnings, ids); err != nil || chain == nil {
		return err
	}
	v := &view{w: s.out}
	v.steps(chain.Steps)
	if ids != nil { // the view of a few quantities leaves warnings out
		for _, text := range lamp.Warnings {
			fmt.Fprintf(s.err, "lampassay: %s\n", text)
		}
	}
	return v.err
}

// assayFile evaluates one file's spectrum.
func assayFile(file *ingest.File, given assay.Given) (sheet.Lamp, error) {
	p, err := file.Spectrum.Project(file.Projection)
	if err != nil {
		return sheet.Lamp{}, badInput("%s: %w", file.Name, err)
	}
	r := new(assay.Result)
	assay.NewEvaluator().Evaluate(p, &given, r)
	if r.Emission, err = emission.Analyse(file.Spectrum, emission.Options{}); err != nil && !errors.Is(err, emission.ErrTooFew) && !errors.Is(err, emission.ErrScale) {
		return sheet.Lamp{}, badInput("%s: %w", file.Name, err)
	}
	from, to := file.Spectrum.Range()
	return sheet.Lamp{
		Name: strings.TrimSuffix(filepath.Base(file.Name), filepath.Ext(file.Name)),
		Input: assay.Input{
			File: filepath.Base(file.Name), SHA256: file.SHA256, Samples: file.Spectrum.Len(), FromNm: from, ToNm: to,
			Quantity: file.Spectrum.Quantity().String(), Projection: file.Projection.String(),
		},
		Result:   r,
		Spectrum: file.Spectrum,
		Emission: r.Emission,
		Reading:  file.Report.Sentences(),
		Warnings: file.Report.Warnings,
	}, nil
}
