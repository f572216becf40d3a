package cli

import (
	"bufio"
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
	dark, ambient string
	exposure      optionalFloat
	fullScale     optionalFloat
	mains         optionalFloat
	blindBelow    optionalFloat
	bandwidth     optionalFloat
	json          bool
	read          readOptions
}

func newInspect(s streams) *cobra.Command {
	var o inspectOptions
	c := &cobra.Command{
		Use:   "inspect FILE",
		Short: "What is in this file, and how good is it",
		Long: `Shows how a file with one spectrum is read: where its data begin, the first
values, what was detected. Then it looks for what spoils readings: clipping,
noise, stray light, lines that were sampled too coarsely, a range that ends too
soon. Each finding carries the figure that tripped it, what it may do to the
results, and what to do about it.

With any of --full-scale, --exposure, --dark and --ambient the values are taken
as raw counts of one exposure, and what only raw counts show is looked at as well.

The exit code is 1 where a finding is a refusal: figures from this file would
mislead. docs/method/instrument.md has the limits.`,
		Example: `  lampassay inspect kitchen.csv
  lampassay inspect raw.txt --full-scale 65535 --exposure 100 --mains 50 --dark dark.txt`,
		Args: exactly(1, "one file"),
		RunE: func(c *cobra.Command, args []string) error { return runInspect(s, &o, args[0]) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.dark, "dark", "", "the dark that belongs to it, a `FILE` of the same exposure")
	f.StringVar(&o.ambient, "ambient", "", "what is there with the lamp off, a `FILE` of the same exposure")
	f.Var(&o.exposure, "exposure", "exposure time in `ms`")
	f.Var(&o.fullScale, "full-scale", "the `counts` at which the detector saturates")
	f.Var(&o.mains, "mains", "frequency in `Hz` of the mains that the lamp runs on")
	f.Var(&o.blindBelow, "blind-below", "wavelength in `nm` below which no light can reach the detector")
	f.Var(&o.bandwidth, "bandwidth", "the instrument's full width at half maximum in `nm`")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	o.read.register(f)
	return c
}

func runInspect(s streams, o *inspectOptions, name string) error {
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
	preview, err := ingest.Look(src.name, src.f, read)
	w := bufio.NewWriter(s.out)
	if preview != nil && !o.json {
		if viewErr := previewView(w, src.name, preview); viewErr != nil {
			return viewErr
		}
	}
	if err != nil {
		return errors.Join(err, w.Flush())
	}
	if n := preview.Report.Spectra; n > 1 {
		return errors.Join(badInput("%s holds %d spectra: choose one with --column to see how good it is", src.name, n), w.Flush())
	}
	file, err := src.single(read)
	if err != nil {
		return errors.Join(err, w.Flush())
	}
	evidence, err := o.evidence(s, file, read)
	if err != nil {
		return errors.Join(err, w.Flush())
	}
	found := weigh(evidence, file.Projection)
	if o.json {
		err = json.NewEncoder(w).Encode(inspectRecord(file, preview, found))
	} else {
		err = findingsView(w, found)
	}
	if err != nil {
		return err
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for _, f := range found {
		if f.Severity == calibration.Refusal {
			return errNo
		}
	}
	return nil
}

func (o *inspectOptions) check() error {
	return allPositive([]positive{
		{"exposure", o.exposure}, {"full-scale", o.fullScale}, {"mains", o.mains},
		{"blind-below", o.blindBelow}, {"bandwidth", o.bandwidth},
	})
}

// evidence is what the gates may look at: the file's curve, and its raw counts
// where the options say that it has them.
func (o *inspectOptions) evidence(s streams, file *ingest.File, read ingest.Options) (*calibration.Evidence, error) {
	e := &calibration.Evidence{
		Axis: file.Spectrum.Axis(), Spectrum: file.Spectrum,
		FullScale: o.fullScale.v, MainsHz: o.mains.v, BlindBelowNm: o.blindBelow.v, BandwidthNm: o.bandwidth.v,
	}
	if !o.exposure.set && !o.fullScale.set && o.dark == "" && o.ambient == "" {
		return e, nil
	}
	light := calibration.Frame{Counts: file.Spectrum.Values(), ExposureMs: o.exposure.v}
	e.Frames = []calibration.Frame{light}
	for _, beside := range []struct {
		name string
		to   **calibration.Frame
	}{{o.dark, &e.Dark}, {o.ambient, &e.Ambient}} {
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
		*beside.to = &calibration.Frame{Counts: other.Spectrum.Values(), ExposureMs: o.exposure.v}
	}
	if e.Dark == nil {
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

// weigh runs the gates and evaluates what each finding may change.
func weigh(e *calibration.Evidence, projection spectrum.Projection) []weighed {
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
	now := figures(e.Spectrum)
	var all []weighed
	for _, f := range calibration.Inspect(e) {
		w := weighed{Finding: f, now: now}
		w.change, w.known = f.Change(e.Spectrum, figures)
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

// previewView writes how a file begins and how it is read.
func previewView(w io.Writer, name string, p *ingest.Preview) error {
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

// The record of an inspection. A figure that does not exist is null.
type (
	inspectJSON struct {
		File     string          `json:"file"`
		SHA256   string          `json:"sha256"`
		Preview  *ingest.Preview `json:"preview"`
		Usable   bool            `json:"usable"` // no gate refuses it
		Findings []findingJSON   `json:"findings"`
	}
	findingJSON struct {
		Gate     string      `json:"gate"`
		Severity string      `json:"severity"`
		Figure   *float64    `json:"figure"`
		Limit    *float64    `json:"limit"`
		Unit     string      `json:"unit"`
		Text     string      `json:"text"`
		Remedy   string      `json:"remedy"`
		Change   *changeJSON `json:"change"`
	}
	changeJSON struct {
		Flux *float64 `json:"flux_relative"`
		CCT  *float64 `json:"cct_k"`
		Duv  *float64 `json:"duv"`
		Ra   *float64 `json:"ra"`
	}
)

func inspectRecord(file *ingest.File, p *ingest.Preview, found []weighed) *inspectJSON {
	j := &inspectJSON{File: filepath.Base(file.Name), SHA256: file.SHA256, Preview: p, Usable: true, Findings: []findingJSON{}}
	for _, f := range found {
		j.Usable = j.Usable && f.Severity != calibration.Refusal
		one := findingJSON{f.Gate, f.Severity.String(), number(f.Figure), number(f.Limit), f.Unit, f.Text, f.Remedy, nil}
		if f.known {
			// A change of what the curve does not have is no number.
			where := func(now, change float64) *float64 { return number(change + 0*now) }
			one.Change = &changeJSON{where(f.now.Flux, f.change.Flux), where(f.now.CCT, f.change.CCT), where(f.now.Duv, f.change.Duv), where(f.now.Ra, f.change.Ra)}
		}
		j.Findings = append(j.Findings, one)
	}
	return j
}
