package cli

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest"
	"lampassay/light/spectrum"
)

// mostRepeats bounds the work of a draw, which goes through all of them.
const mostRepeats = 100

// averaged says of what a spectrum is the mean.
type averaged struct {
	Spectra int      `json:"spectra"`
	Files   []string `json:"files"`
}

func (a *averaged) sentence() string {
	return fmt.Sprintf("The mean of %d spectra, in %s.", a.Spectra, strings.Join(a.Files, ", "))
}

// repeatFiles are the further spectra of the lamp: those of --repeats, or those
// that the sitting file names, which lie beside it.
func (o *uncertaintyOptions) repeatFiles() ([]string, error) {
	if o.conditions == nil || len(o.conditions.Repeats) == 0 {
		return o.repeats, nil
	}
	if len(o.repeats) > 0 {
		return nil, badInput("--repeats and the \"repeats\" of %s both name spectra: use one", o.sitting)
	}
	var names []string
	for _, name := range o.conditions.Repeats {
		if !filepath.IsAbs(name) {
			name = filepath.Join(filepath.Dir(o.sitting), name)
		}
		names = append(names, name)
	}
	return names, nil
}

// average puts the mean of a spectrum and its repeats in its place, and keeps
// their scatter. Each repeat is read as the spectrum was.
func (o *uncertaintyOptions) average(file *ingest.File, read func(name string) (*ingest.File, error)) (*ingest.File, error) {
	names, err := o.repeatFiles()
	if err != nil || len(names) == 0 {
		return file, err
	}
	spectra := [][]float64{file.Spectrum.Values()}
	all := []string{file.Name}
	for _, name := range names {
		more, err := read(name)
		if err != nil {
			return nil, err
		}
		switch {
		case more.Spectrum.Quantity() != file.Spectrum.Quantity():
			return nil, badInput("%s holds %s and %s %s: repeats are all of one kind", more.Name, more.Spectrum.Quantity(), file.Name, file.Spectrum.Quantity())
		case !slices.Equal(more.Spectrum.Axis(), file.Spectrum.Axis()):
			return nil, badInput("%s has other wavelengths than %s: repeats are all from one instrument in one state", more.Name, file.Name)
		}
		spectra, all = append(spectra, more.Spectrum.Values()), append(all, more.Name)
	}
	mean, err := o.scatter(file.Name, file.Spectrum.Axis(), spectra, file.Spectrum.Quantity())
	if err != nil {
		return nil, err
	}
	out := *file
	out.Spectrum = mean
	o.averaged = &averaged{len(all), baseNames(all)}
	return &out, nil
}

// scatter returns the mean of repeated spectra and keeps how they scatter.
func (o *uncertaintyOptions) scatter(name string, axis []float64, spectra [][]float64, q spectrum.Quantity) (*spectrum.Spectrum, error) {
	if len(spectra) > mostRepeats {
		return nil, badInput("%s: %d repeats of a spectrum: up to %d are possible", name, len(spectra), mostRepeats)
	}
	mean, repeats, err := uncertainty.RepeatedSpectra(spectra, q.Absolute())
	if err != nil {
		return nil, badInput("%s: %s", name, strings.TrimPrefix(err.Error(), "uncertainty: "))
	}
	s, err := spectrum.New(q, axis, mean)
	if err != nil {
		return nil, badInput("%s: %w", name, err)
	}
	o.scattered = &repeats
	return s, nil
}

// meanOf makes one spectrum of a file with several of one lamp.
func (o *uncertaintyOptions) meanOf(in *input) (*ingest.File, error) {
	f := &ingest.File{Name: in.name, SHA256: in.sum(), Report: *in.report()}
	var axis []float64
	var spectra [][]float64
	var q spectrum.Quantity
	switch {
	case in.file != nil:
		return nil, badInput("%s holds one spectrum, and --mean is for several: name the others with --repeats", in.name)
	case in.wide != nil:
		values, _, err := allColumns(in.wide)
		if err != nil {
			return nil, err
		}
		axis, spectra, q, f.Projection = in.wide.Axis, values, in.wide.Quantity, in.wide.Projection
	default:
		axis, spectra, q, f.Projection = in.series.Axis, in.series.Values, in.series.Quantity, in.series.Projection
	}
	var err error
	f.Spectrum, err = o.scatter(in.name, axis, spectra, q)
	o.averaged = &averaged{len(spectra), baseNames([]string{in.name})}
	return f, err
}
