package cli

import (
	"bufio"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/bench/ingest"
	"lampassay/light/calibration"
	"lampassay/light/spectrum"
)

// inspectOptions are the options of the inspect command.
type inspectOptions struct {
	ambient    string
	fullScale  optionalFloat
	mains      optionalFloat
	blindBelow optionalFloat
	bandwidth  optionalFloat
	json       bool
	read       readOptions
	correct    correctOptions
}

func newInspect(s streams) *cobra.Command {
	var o inspectOptions
	c := &cobra.Command{
		Use:   "inspect FILE",
		Short: "What is in this file, and how good is it",
		Long: `Shows how a file is read: where its data begin, the first values, what was
detected. Then it looks for what spoils readings: clipping,
noise, stray light, lines that were sampled too coarsely, a range that ends too
soon. Each finding carries the figure that tripped it, what it may do to the
results, and what to do about it.

With any of --full-scale, --exposure, --dark and --ambient the values are taken
as raw counts of one exposure, and what only raw counts show is looked at as well.
With --instrument they are also corrected, and the gates look at both.

Of a series over time it is asked whether the lamp drifted. Of a zip archive every
file is looked at.

The exit code is 1 where a finding is a refusal: figures from this file would
mislead. docs/method/instrument.md has the limits.`,
		Example: `  lampassay inspect kitchen.csv
  lampassay inspect raw.txt --full-scale 65535 --exposure 100 --mains 50 --dark dark.txt`,
		Args: exactly(1, "one file"),
		RunE: func(c *cobra.Command, args []string) error { return runInspect(c.Context(), s, &o, args[0]) },
	}
	f := c.Flags()
	f.SortFlags = false
	o.correct.register(f)
	f.StringVar(&o.ambient, "ambient", "", "what is there with the lamp off, a `FILE` of the same exposure")
	f.Var(&o.fullScale, "full-scale", "the `counts` at which the detector saturates")
	f.Var(&o.mains, "mains", "frequency in `Hz` of the mains that the lamp runs on")
	f.Var(&o.blindBelow, "blind-below", "wavelength in `nm` below which no light can reach the detector")
	f.Var(&o.bandwidth, "bandwidth", "the instrument's full width at half maximum in `nm`")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	o.read.register(f)
	return c
}

func runInspect(ctx context.Context, s streams, o *inspectOptions, name string) error {
	if err := o.check(); err != nil {
		return err
	}
	read, err := o.read.options()
	if err != nil {
		return err
	}
	src, err := openSource(s, name)
	if err != nil {
		return err
	}
	defer src.Close()
	in, err := src.readAny(read)
	if errors.Is(err, ingest.ErrPixels) && (o.correct.instrument != "" || o.raw()) {
		if read.Axis, err = o.correct.axis(); err != nil {
			return err
		}
		in, err = src.readAny(read)
	}
	if err == nil && in.archive {
		return inspectArchive(ctx, s, o, in, read)
	}
	w := bufio.NewWriter(s.out)
	preview, lookErr := src.look(read)
	bare := preview != nil && preview.Report.WavelengthUnit == "pixel" && o.correct.instrument == ""
	if bare {
		preview.Report.Conversion = "one nm stands for one pixel, since no instrument is named"
	}
	if preview != nil && !o.json {
		if viewErr := previewView(w, src.name, preview, bare); viewErr != nil {
			return viewErr
		}
	}
	if err = cmp.Or(err, lookErr); err != nil {
		return errors.Join(err, w.Flush())
	}
	if err := o.read.keep(s, in.report(), &read); err != nil {
		return errors.Join(err, w.Flush())
	}
	found, err := o.judge(s, src, in, name, read)
	if err != nil {
		return errors.Join(err, w.Flush())
	}
	if o.json {
		err = json.NewEncoder(w).Encode(inspectRecord(src.name, in.sum(), preview, found))
	} else {
		err = findingsView(w, found)
	}
	if err = cmp.Or(err, w.Flush()); err != nil {
		return err
	}
	if refused(found) {
		return errNo
	}
	return nil
}

// judge runs the gates that belong to what the file holds.
func (o *inspectOptions) judge(s streams, src *source, in *input, name string, read ingest.Options) ([]weighed, error) {
	switch {
	case o.correct.instrument != "":
		file, chain, err := o.correct.read(s, name, &o.read)
		if err != nil {
			return nil, err
		}
		return weigh(chain.Findings(o.mains.v), chain.Spectrum, file.Projection), nil
	case in.series != nil:
		return weighSeries(in.series), nil
	case in.wide != nil:
		series, err := src.series(read)
		if err != nil { // its columns are no times
			return nil, badInput("%s holds %d spectra: choose one with --column to see how good it is", src.name, in.wide.Columns())
		}
		return weighSeries(series), nil
	}
	evidence, err := o.evidence(s, in.file, read)
	if err != nil {
		return nil, err
	}
	return weigh(calibration.Inspect(evidence), evidence.Spectrum, in.file.Projection), nil
}

func (o *inspectOptions) check() error {
	if o.correct.instrument != "" && (o.fullScale.set || o.ambient != "" || o.blindBelow.set || o.bandwidth.set) {
		return badInput("--instrument says --full-scale, --blind-below and --bandwidth itself, and --ambient is not for corrected counts: leave them out")
	}
	if o.correct.instrument == "" && (len(o.correct.frames) > 0 || len(o.correct.skip) > 0 || o.correct.bandwidth || o.correct.steps != "") {
		return badInput("--frames, --skip, --bandwidth-correction and --steps are for raw counts to be corrected: name their --instrument")
	}
	return allPositive([]positive{
		{"exposure", o.correct.raw.exposure}, {"full-scale", o.fullScale}, {"mains", o.mains},
		{"blind-below", o.blindBelow}, {"bandwidth", o.bandwidth},
	})
}

// raw reports whether the options say that the file holds raw counts.
func (o *inspectOptions) raw() bool {
	return o.correct.raw.exposure.set || o.fullScale.set || len(o.correct.raw.darks) > 0 || o.ambient != ""
}

// evidence is what the gates may look at: the file's curve, and its raw counts
// where the options say that it has them.
func (o *inspectOptions) evidence(s streams, file *ingest.File, read ingest.Options) (*calibration.Evidence, error) {
	e := &calibration.Evidence{
		Axis: file.Spectrum.Axis(), Spectrum: file.Spectrum,
		FullScale: o.fullScale.v, MainsHz: o.mains.v, BlindBelowNm: o.blindBelow.v, BandwidthNm: o.bandwidth.v,
	}
	if !o.raw() {
		return e, nil
	}
	if file.Report.WavelengthUnit == "pixel" { // no curve can be judged on them
		e.Axis, e.Spectrum = nil, nil
	}
	exposure := o.correct.raw.exposure.v
	light := calibration.Frame{Counts: file.Spectrum.Values(), ExposureMs: exposure}
	e.Frames = []calibration.Frame{light}
	dark := ""
	if n := len(o.correct.raw.darks); n > 1 {
		return nil, badInput("one dark belongs to one exposure, and %d are named: for several exposures name the --instrument", n)
	} else if n == 1 {
		dark = o.correct.raw.darks[0]
	}
	for _, beside := range []struct {
		name string
		to   **calibration.Frame
	}{{dark, &e.Dark}, {o.ambient, &e.Ambient}} {
		if beside.name == "" {
			continue
		}
		src, err := openSource(s, beside.name)
		if err != nil {
			return nil, err
		}
		other, err := src.single(read)
		if err := errors.Join(err, src.Close()); err != nil {
			return nil, err
		}
		if n := other.Spectrum.Len(); n != file.Spectrum.Len() {
			return nil, badInput("%s has %d samples and %s has %d: they are not from one instrument", other.Name, n, file.Name, file.Spectrum.Len())
		}
		*beside.to = &calibration.Frame{Counts: other.Spectrum.Values(), ExposureMs: exposure}
	}
	if e.Dark == nil || e.Spectrum == nil {
		return e, nil
	}
	// A dark that cannot be subtracted is the dark gate's to report.
	if net, err := calibration.SubtractDark(light, *e.Dark); err == nil {
		if e.Spectrum, err = spectrum.New(file.Spectrum.Quantity(), e.Axis, net.Counts); err != nil {
			return nil, badInput("%s: %w", file.Name, err)
		}
	}
	return e, nil
}

// weighed is a finding with what it may do to the results.
type weighed struct {
	calibration.Finding
	change calibration.Change
	known  bool
	now    calibration.Figures // NaN what the curve does not have
}

// weigh evaluates what each finding may change in the results of a spectrum.
func weigh(findings []calibration.Finding, present *spectrum.Spectrum, projection spectrum.Projection) []weighed {
	evaluator, given, r := assay.NewEvaluator(), new(assay.Given), new(assay.Result)
	figures := func(s *spectrum.Spectrum) calibration.Figures {
		none := calibration.Figures{Flux: math.NaN(), CCT: math.NaN(), Duv: math.NaN(), Ra: math.NaN()}
		p, err := s.Project(projection)
		if err != nil {
			return none
		}
		evaluator.Evaluate(p, given, r)
		all := none
		all.Flux = r.XYZ.Y // of any unit: only its ratio counts
		for id, to := range map[quantity.ID]*float64{quantity.CCT: &all.CCT, quantity.Duv: &all.Duv, quantity.Ra: &all.Ra} {
			if v, ok := r.Value(id); ok {
				*to = v
			}
		}
		return all
	}
	var now calibration.Figures
	if present != nil {
		now = figures(present)
	}
	var all []weighed
	for _, f := range findings {
		w := weighed{Finding: f, now: now}
		w.change, w.known = f.Change(present, figures)
		all = append(all, w)
	}
	return all
}

// effect says what a finding may do to the results, in a sentence; empty where
// that cannot be told.
func (f *weighed) effect() string {
	if !f.known {
		return ""
	}
	var parts []string
	for _, p := range []struct {
		now  float64
		text string
	}{
		{f.now.Flux, fmt.Sprintf("lumens by %+.1f %%", 100*f.change.Flux)},
		{f.now.CCT, fmt.Sprintf("CCT by %+.0f K", f.change.CCT)},
		{f.now.Duv, fmt.Sprintf("Duv by %+.4f", f.change.Duv)},
		{f.now.Ra, fmt.Sprintf("Ra by %+.1f", f.change.Ra)},
	} {
		if !math.IsNaN(p.now) {
			parts = append(parts, p.text)
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "Without it the results may move: " + strings.ReplaceAll(strings.Join(parts, ", "), "-", "−") + "."
}

// previewView writes how a file begins and how it is read; pixels tells that what
// stands as nm are pixels.
func previewView(w io.Writer, name string, p *ingest.Preview, pixels bool) error {
	v := &view{w: w}
	v.printf("%s\n", filepath.Base(name))
	if p.Report.Rows > 0 {
		for _, s := range p.Report.Sentences() {
			v.wrapped("", s, "")
		}
	}
	line := func(l ingest.Line) {
		v.printf("  %s  %s\n", padLeft(fmt.Sprint(l.Number), 5), strings.TrimRight(l.Text, " \t\r"))
	}
	v.printf("\nThe file\n")
	for _, l := range p.Before {
		line(l)
	}
	if len(p.Curves) > 0 && p.Report.FirstLine > 0 {
		v.printf("  %s the data begin here\n", strings.Repeat("─", 24))
	}
	for _, l := range p.Data {
		line(l)
	}
	for _, c := range p.Curves {
		v.printf("\nThe first values of %s\n", c.Name)
		for i, nm := range c.Nm {
			if pixels { // see instrument.PixelsAsNm
				v.printf("  %s  %.6g\n", padLeft(fmt.Sprintf("pixel %.0f", nm-1), 12), c.Values[i])
				continue
			}
			v.printf("  %s nm  %.6g\n", padLeft(fmt.Sprintf("%.3f", nm), 9), c.Values[i])
		}
	}
	if len(p.Report.Warnings) > 0 {
		v.printf("\nBefore you rely on this\n")
		for _, s := range p.Report.Warnings {
			v.wrapped("  ! ", s, "")
		}
	}
	return v.err
}

// findingsView writes what the gates found, and the answer.
func findingsView(w io.Writer, found []weighed) error {
	v := &view{w: w}
	v.printf("\nHow good it is\n")
	worst := calibration.Note
	for i := range found {
		f := &found[i]
		worst = max(worst, f.Severity)
		v.printf("  %s: %s (%.4g %s, limit %.4g)\n", f.Severity, f.Gate, f.Figure, f.Unit, f.Limit)
		v.wrapped("    ", sentence(f.Text), "")
		if effect := f.effect(); effect != "" {
			v.wrapped("    ", effect, "")
		}
		v.wrapped("    → ", sentence(f.Remedy), "")
	}
	switch {
	case len(found) == 0:
		v.wrapped("  ", "Nothing was found against it, as far as this file can show.", "")
	case worst == calibration.Refusal:
		v.printf("\nThe answer is no: figures from this file would mislead.\n")
	}
	return v.err
}

// sentence gives a clause its capital and its stop.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}
