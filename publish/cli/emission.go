package cli

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/assay"
	"lampassay/bench/ingest"
	"lampassay/light/emission"
	"lampassay/publish/sheet"
)

// emissionOptions are the options of the emission command.
type emissionOptions struct {
	bandwidth   optionalFloat
	wavelengthU optionalFloat
	at          string
	figure      string
	json        bool
	read        readOptions
	correct     correctOptions
}

func (o *emissionOptions) analysis() emission.Options {
	return emission.Options{Bandwidth: o.bandwidth.v, WavelengthU: o.wavelengthU.v}
}

func newEmission(s streams) *cobra.Command {
	var o emissionOptions
	c := &cobra.Command{
		Use:   "emission FILE...",
		Short: "What makes this light: lines, bands, elements, the kind of lamp",
		Long: `Finds lines and bands in a spectrum, names what emits them by their whole
pattern, and says what kind of lamp this therefore is, each with its score and
the reasons a person can check on the curve. A score is a probability only under
the method's assumptions: see docs/method/emission.md.

Of a series of spectra, or of several files with --at, it tells when the lines of
each emitter rise and fall, and when anything changes.`,
		Example: `  lampassay emission yard-lamp.txt --bandwidth 1.2 --wavelength-u 0.2
  lampassay emission run-up.csv --figure run-up.svg
  lampassay emission cold.txt warm.txt --at 0,600`,
		Args: atLeastOneFile,
		RunE: func(c *cobra.Command, args []string) error {
			return runEmission(s, &o, args)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.Var(&o.bandwidth, "bandwidth", "the instrument's full width at half maximum in `nm` (default: from the narrowest lines)")
	f.Var(&o.wavelengthU, "wavelength-u", fmt.Sprintf("standard uncertainty of the wavelength axis in `nm` (default %g)", emission.DefaultWavelengthU))
	f.StringVar(&o.at, "at", "", "when each of several files was taken, in `seconds,...`")
	f.StringVar(&o.figure, "figure", "", "draw the spectrum with its lines named, or the course of a series, as `FILE`.svg or .png")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	o.correct.register(f)
	o.read.register(f)
	return c
}

func runEmission(s streams, o *emissionOptions, names []string) error {
	if err := allPositive([]positive{{"bandwidth", o.bandwidth}, {"wavelength-u", o.wavelengthU}}); err != nil {
		return err
	}
	if err := checkPicture(o.figure); err != nil {
		return err
	}
	read, err := o.read.options()
	if err != nil {
		return err
	}
	if err := o.correct.check(); err != nil {
		return err
	}
	if o.correct.instrument != "" && len(names) == 1 {
		return runCorrectedSpectrum(s, o, names[0])
	}
	if len(names) > 1 || o.at != "" {
		return runMoments(s, o, names, read)
	}
	src, err := openSource(s, names[0])
	if err != nil {
		return err
	}
	defer src.Close()
	in, err := src.read(read)
	switch {
	case errors.Is(err, ingest.ErrSeries):
		return runCourse(s, o, src, read)
	case err == nil && in.wide != nil:
		err := runCourse(s, o, src, read)
		if problem := (*ingest.Problem)(nil); errors.As(err, &problem) {
			return badInput("%s holds %d spectra: choose one with --column, or head each with its time (%w)", in.name, in.wide.Columns(), err)
		}
		return err
	case err != nil:
		return err
	}
	if err := o.read.keep(s, in.report(), &read); err != nil {
		return err
	}
	return runSpectrum(s, o, in.file)
}

// runCorrectedSpectrum analyses raw counts after their correction. What the
// instrument's calibration knows of its axis and bandwidth need not be said again.
func runCorrectedSpectrum(s streams, o *emissionOptions, name string) error {
	file, chain, err := o.correct.read(s, name, &o.read)
	if err != nil {
		return err
	}
	w, known := &chain.Instrument.Wavelength.Value, *o
	if from, to := chain.Spectrum.Range(); !o.bandwidth.set && w.Bandwidth.Lines > 0 {
		known.bandwidth = optionalFloat{w.Bandwidth.At((from + to) / 2), true}
	}
	if !o.wavelengthU.set && w.UNm > 0 {
		known.wavelengthU = optionalFloat{w.UNm, true}
	}
	return runSpectrum(s, &known, file)
}

// runSpectrum analyses one spectrum.
func runSpectrum(s streams, o *emissionOptions, file *ingest.File) error {
	r, err := emission.Analyse(file.Spectrum, o.analysis())
	if err != nil {
		return badInput("%s: %w", file.Name, err)
	}
	if err := emit(s.out, o.json, emissionRecord(file, r), func(v *view) { v.emission(file, r) }); err != nil || o.figure == "" {
		return err
	}
	return drawSpectrum(s, o.figure, file, r)
}

// drawSpectrum draws the spectrum as it stands on a lamp's sheet.
func drawSpectrum(s streams, name string, file *ingest.File, r *emission.Result) error {
	lamp, err := assayFile(file, assay.Given{})
	if err != nil {
		return err
	}
	lamp.Emission = r
	pictures, err := sheet.Pictures(lamp)
	if err != nil {
		return err
	}
	for _, p := range pictures {
		if p.Name == "emission" {
			return writePicture(s, name, p)
		}
	}
	return badInput("--figure %s: there is nothing to draw of %s", name, file.Name)
}

// emission writes the analysis for reading.
func (v *view) emission(file *ingest.File, r *emission.Result) {
	v.printf("%s\n", filepath.Base(file.Name))
	for _, s := range file.Report.Sentences() {
		v.wrapped("", s, "")
	}
	v.printf("\nThe kind of lamp\n")
	v.wrapped("  ", fmt.Sprintf("%s (score %.2f)", r.Family.Name, r.Family.Score), "")
	for _, reason := range r.Family.Reasons {
		v.wrapped("    · ", reason, "")
	}
	for _, a := range r.Family.Alternatives {
		v.wrapped("    or ", fmt.Sprintf("%s (%.2f)", a.Name, a.Score), "")
	}
	if len(r.Elements) > 0 {
		v.printf("\nWhat emits\n")
	}
	for _, e := range r.Elements {
		name := e.Symbol
		if e.Role != "" {
			name += ", " + e.Role
		}
		v.wrapped("  ", fmt.Sprintf("%s (score %.2f)", name, e.Score), "")
		for _, reason := range e.Reasons {
			v.wrapped("    · ", reason, "")
		}
		if len(e.Alternatives) > 0 {
			v.wrapped("    or ", strings.Join(e.Alternatives, ", "), "")
		}
	}
	if len(r.Lines) > 0 {
		v.printf("\nLines, bandwidth %.2g nm\n  %s%s%s%s  %s\n", r.Bandwidth, padLeft("nm", 9), padLeft("±", 8), padLeft("width", 8), padLeft("SNR", 9), "emitter")
	}
	for _, l := range r.Lines {
		what := l.Emitter
		if what == "" {
			what = "unexplained"
		}
		if l.Unresolved != "" {
			what += ", unresolved: " + l.Unresolved
		}
		v.wrapped(fmt.Sprintf("  %9.2f%8.2f%8.2f%9.0f  ", l.Centre, l.CentreU, l.Width, l.SNR), what, "")
	}
	if len(r.Bands) > 0 {
		v.printf("\nBands\n")
	}
	for _, b := range r.Bands {
		text := fmt.Sprintf("%s, %.0f nm, %.0f nm wide, %.0f %% of the radiation", b.Name, b.Centre, b.Width, 100*b.Share)
		if !math.IsNaN(b.Temperature) {
			text = fmt.Sprintf("%s, %.0f K, %.0f %% of the radiation", b.Name, b.Temperature, 100*b.Share)
		}
		v.wrapped("  ", text, "")
	}
	v.cautions(append(append([]string(nil), file.Report.Warnings...), r.Warnings...))
}

// cautions writes what to know before relying on a result.
func (v *view) cautions(all []string) {
	if len(all) == 0 {
		return
	}
	v.printf("\nBefore you rely on this\n")
	for _, s := range all {
		v.wrapped("  ! ", s, "")
	}
}

// The record of an analysis. A figure that does not exist is null.
type (
	emissionJSON struct {
		Input    map[string]any `json:"input"`
		Family   familyJSON     `json:"family"`
		Elements []elementJSON  `json:"elements"`
		Lines    []lineJSON     `json:"lines"`
		Bands    []bandJSON     `json:"bands"`
		// Bandwidth in nm; Shift is how much the axis reads too high, nm.
		Bandwidth         float64  `json:"bandwidth_nm"`
		BandwidthMeasured bool     `json:"bandwidth_measured"`
		Shift             *float64 `json:"shift_nm"`
		ShiftU            *float64 `json:"shift_u_nm"`
		Warnings          []string `json:"warnings"`
	}
	familyJSON struct {
		Key          string            `json:"key"`
		Name         string            `json:"name"`
		Score        float64           `json:"score"`
		Reasons      []string          `json:"reasons"`
		Alternatives []alternativeJSON `json:"alternatives"`
	}
	alternativeJSON struct {
		Key   string  `json:"key"`
		Name  string  `json:"name"`
		Score float64 `json:"score"`
	}
	elementJSON struct {
		Symbol       string    `json:"symbol"`
		Spectrum     string    `json:"spectrum"`
		Role         string    `json:"role"`
		Score        float64   `json:"score"`
		Reasons      []string  `json:"reasons"`
		Alternatives []string  `json:"alternatives"`
		Found        []float64 `json:"found_nm"`
		Missing      []float64 `json:"missing_nm"`
	}
	lineJSON struct {
		Centre         float64  `json:"centre_nm"`
		CentreU        *float64 `json:"centre_u_nm"`
		Area           float64  `json:"area"`
		AreaU          *float64 `json:"area_u"`
		Width          *float64 `json:"width_nm"`
		WidthU         *float64 `json:"width_u_nm"`
		SNR            float64  `json:"snr"`
		Emitter        string   `json:"emitter"`
		Unresolved     string   `json:"unresolved"`
		ResolvingPower *float64 `json:"resolving_power"`
	}
	bandJSON struct {
		Kind        string   `json:"kind"`
		Name        string   `json:"name"`
		Centre      *float64 `json:"centre_nm"`
		Width       *float64 `json:"width_nm"`
		Area        float64  `json:"area"`
		Share       float64  `json:"share"`
		Temperature *float64 `json:"temperature_k"`
		Reasons     []string `json:"reasons"`
	}
)

func emissionRecord(file *ingest.File, r *emission.Result) *emissionJSON {
	from, to := file.Spectrum.Range()
	j := &emissionJSON{
		Input: map[string]any{
			"file": filepath.Base(file.Name), "sha256": file.SHA256, "samples": file.Spectrum.Len(), "from_nm": from, "to_nm": to,
		},
		Family:    familyJSON{Key: r.Family.Key, Name: r.Family.Name, Score: r.Family.Score, Reasons: listed(r.Family.Reasons), Alternatives: []alternativeJSON{}},
		Elements:  []elementJSON{},
		Lines:     []lineJSON{},
		Bands:     []bandJSON{},
		Bandwidth: r.Bandwidth, BandwidthMeasured: r.BandwidthMeasured,
		Shift: number(r.Shift), ShiftU: number(r.ShiftU),
		Warnings: listed(append(append([]string(nil), file.Report.Warnings...), r.Warnings...)),
	}
	for _, a := range r.Family.Alternatives {
		j.Family.Alternatives = append(j.Family.Alternatives, alternativeJSON(a))
	}
	for _, e := range r.Elements {
		j.Elements = append(j.Elements, elementJSON{e.Symbol, e.Spectrum, e.Role, e.Score, listed(e.Reasons), listed(e.Alternatives), listed(e.Found), listed(e.Missing)})
	}
	for _, l := range r.Lines {
		line := lineJSON{
			Centre: l.Centre, CentreU: number(l.CentreU), Area: l.Area, AreaU: number(l.AreaU), Width: number(l.Width), WidthU: number(l.WidthU),
			SNR: l.SNR, Emitter: l.Emitter, Unresolved: l.Unresolved,
		}
		if l.ResolvingPower > 0 {
			line.ResolvingPower = &l.ResolvingPower
		}
		j.Lines = append(j.Lines, line)
	}
	for _, b := range r.Bands {
		j.Bands = append(j.Bands, bandJSON{b.Kind, b.Name, number(b.Centre), number(b.Width), b.Area, b.Share, number(b.Temperature), listed(b.Reasons)})
	}
	return j
}

// number is nil for what JSON cannot hold.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// listed makes an empty list print as [].
func listed[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}
