package cli

import (
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/spf13/pflag"

	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/light/spectrum"
)

// correctOptions say how raw counts become a spectrum.
type correctOptions struct {
	instrument string
	frames     []string
	skip       []string
	bandwidth  bool
	steps      string
	raw        rawOptions
}

func (o *correctOptions) register(f *pflag.FlagSet) {
	f.StringVar(&o.instrument, "instrument", "", "the file holds raw counts: correct them by this instrument `FILE`, which \"lampassay calibrate\" makes")
	f.StringSliceVar(&o.frames, "frames", nil, "further exposures of the same light, `FILES` of raw counts")
	o.raw.register(f)
	f.StringSliceVar(&o.skip, "skip", nil, "leave out these `steps` of the correction")
	f.BoolVar(&o.bandwidth, "bandwidth-correction", false, "also correct for the instrument's bandwidth: for smooth light in even steps only")
	f.StringVar(&o.steps, "steps", "", "also write the curve before and after every step to a `FILE`, as JSON")
}

// check refuses options that only an instrument gives a meaning.
func (o *correctOptions) check() error {
	if o.instrument == "" && (len(o.frames) > 0 || len(o.raw.darks) > 0 || o.raw.exposure.set || len(o.skip) > 0 || o.bandwidth || o.steps != "") {
		return badInput("--frames, --dark, --exposure, --skip, --bandwidth-correction and --steps are for raw counts: name their --instrument")
	}
	return nil
}

// axis turns pixels into nm: by the instrument, or one to one without one.
func (o *correctOptions) axis() (ingest.PixelAxis, error) {
	if o.instrument == "" {
		return instrument.PixelsAsNm, nil
	}
	in, err := loadInstrument(o.instrument)
	if err != nil {
		return nil, err
	}
	axis, err := in.PixelAxis()
	if err != nil {
		return nil, spoken(err)
	}
	return axis, nil
}

// read reads raw counts and corrects them. The file it returns has the spectrum
// that came of them; its report is that of the first file read.
func (o *correctOptions) read(s streams, name string, read *readOptions) (*ingest.File, *instrument.Applied, error) {
	skip, err := skippedSteps(o.skip)
	if err != nil {
		return nil, nil, err
	}
	in, err := loadInstrument(o.instrument)
	if err != nil {
		return nil, nil, err
	}
	o.raw.read = *read
	m, first, err := o.raw.measurement(s, append([]string{name}, o.frames...))
	if err != nil {
		return nil, nil, err
	}
	if err := timed(&m); err != nil {
		return nil, nil, err
	}
	opt := instrument.Options{Skip: skip, Bandwidth: o.bandwidth}
	c, err := in.Apply(m, opt, first.axis())
	if err != nil {
		return nil, nil, spoken(err)
	}
	if o.steps != "" {
		if err := createFile(o.steps, c.WriteSteps); err != nil {
			return nil, nil, err
		}
		fmt.Fprintf(s.err, "lampassay: wrote %s\n", o.steps)
	}
	return first.corrected(c), c, nil
}

// corrected is the spectrum that came of the counts as one that was read.
func (first *recorded) corrected(c *instrument.Applied) *ingest.File {
	f := &ingest.File{Name: first.input.name, Spectrum: c.Spectrum, Projection: spectrum.Sampled, Report: *first.report}
	if first.input.wide != nil {
		f.SHA256 = first.input.wide.SHA256
	} else {
		f.SHA256 = first.input.file.SHA256
	}
	r := &f.Report
	from, to := c.Spectrum.Range()
	r.From, r.To = math.Round(10*from)/10, math.Round(10*to)/10 // for reading
	r.Gaps, r.Unit = nil, ""
	r.Quantity, r.QuantityFrom = c.Spectrum.Quantity().String(), "raw counts, corrected by "+c.Instrument.Name
	r.Projection, r.ProjectionFrom = f.Projection.String(), "the detector's own pixels"
	r.Conversion = fmt.Sprintf("the calibration of %s, of %s", c.Instrument.Name, c.Instrument.Wavelength.Made.Format(time.DateOnly))
	r.Reversed = false
	r.Warnings = append(slices.Clone(r.Warnings), c.Warnings(instrument.DayOf(time.Now()))...)
	return f
}
