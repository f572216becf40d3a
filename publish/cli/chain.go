package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/light/calibration"
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

// chained is a spectrum that was made of raw counts.
type chained struct {
	*instrument.Corrected
	in  *instrument.Instrument
	m   instrument.Measurement
	opt instrument.Options
	own []float64 // the wavelengths the file itself gives its pixels; nil for none
}

// sureness puts what the instrument's calibrations and the frames say of the
// spectrum in place of the class.
func (c *chained) sureness(conditions *uncertainty.Conditions) error {
	class, err := uncertainty.SpectrometerClass(conditions.Defaults.Spectrometer)
	if err != nil {
		return spoken(err)
	}
	known, err := c.in.Sureness(c.m, c.Corrected, c.opt, class)
	if err != nil {
		return spoken(err)
	}
	conditions.Known = &known
	return nil
}

// read reads raw counts and corrects them. The file it returns has the spectrum
// that came of them; its report is that of the first file read.
func (o *correctOptions) read(s streams, name string, read *readOptions) (*ingest.File, *chained, error) {
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
	corrected, err := in.Correct(m, opt)
	if err != nil {
		return nil, nil, spoken(err)
	}
	c := &chained{corrected, in, m, opt, first.axis()}
	if o.steps != "" {
		if err := createFile(o.steps, c.writeSteps); err != nil {
			return nil, nil, err
		}
		fmt.Fprintf(s.err, "lampassay: wrote %s\n", o.steps)
	}
	return c.file(first), c, nil
}

// file is the corrected spectrum as one that was read.
func (c *chained) file(first *recorded) *ingest.File {
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
	r.Quantity, r.QuantityFrom = c.Spectrum.Quantity().String(), "raw counts, corrected by "+c.in.Name
	r.Projection, r.ProjectionFrom = f.Projection.String(), "the detector's own pixels"
	r.Conversion = fmt.Sprintf("the calibration of %s, of %s", c.in.Name, c.in.Wavelength.Made.Format(time.DateOnly))
	r.Reversed = false
	r.Warnings = append(slices.Clone(r.Warnings), c.warnings()...)
	return f
}

// warnings are what is overdue or lost, and the cautions of the gates.
func (c *chained) warnings() (all []string) {
	for _, s := range c.in.Overdue(instrument.DayOf(time.Now())) {
		all = append(all, c.in.Name+": "+s)
	}
	if n := len(c.Lost); n > 0 {
		all = append(all, fmt.Sprintf("%d pixels from %.1f nm to %.1f nm are clipped in every exposure: their light is a lower bound; add a shorter exposure with --frames", n, c.Lost[0], c.Lost[n-1]))
	}
	for _, seam := range c.Seams {
		if math.Abs(seam.Ratio-1) > 0.005 {
			all = append(all, fmt.Sprintf("the exposures of %g ms and %g ms differ by %s %%: the lamp drifted or the detector is not linear", seam.LongMs, seam.ShortMs, signedNumber(100*(seam.Ratio-1), 1)))
		}
	}
	for _, f := range c.found(0) {
		if f.Severity >= calibration.Caution {
			all = append(all, f.Text)
		}
	}
	return all
}

// found runs the gates: those on counts over the longest exposure that is
// nowhere clipped, or the shortest, and those on the curve over what came of
// them.
func (c *chained) found(mainsHz float64) []calibration.Finding {
	frames, dark := c.judged()
	made := func(name instrument.StepName) bool {
		return slices.ContainsFunc(c.Steps, func(s instrument.Step) bool { return s.Name == name && s.Made })
	}
	d, err := c.in.Dispersion()
	if err != nil {
		return nil // Correct would not have come so far
	}
	counts := &calibration.Evidence{
		Axis: d.Axis(), Frames: frames, Dark: dark, FullScale: c.in.FullScale, MainsHz: mainsHz, OrderSorted: true,
	}
	if !made(instrument.StepStray) {
		counts.BlindBelowNm = c.in.BlindBelowNm
	}
	curve := &calibration.Evidence{
		Axis: c.Spectrum.Axis(), Spectrum: c.Spectrum, OrderSorted: made(instrument.StepSecondOrder),
	}
	if b := c.in.Wavelength.Value.Bandwidth; b.Lines > 0 {
		from, to := c.Spectrum.Range()
		curve.BandwidthNm = b.At((from + to) / 2)
	}
	all := calibration.Inspect(counts)
	for _, f := range calibration.Inspect(curve) {
		if !slices.ContainsFunc(all, func(g calibration.Finding) bool { return g.Gate == f.Gate }) {
			all = append(all, f)
		}
	}
	if c.own != nil {
		all = append(all, calibration.CheckAxis(c.own, &c.in.Wavelength.Value, nil)...)
	}
	return all
}

// judged picks the frames that gates on counts look at, of one exposure, in the
// order of wavelengths, and their dark.
func (c *chained) judged() (frames []calibration.Frame, dark *calibration.Frame) {
	clipped := func(f calibration.Frame) bool {
		return slices.Contains(calibration.ClipMask(f.Counts, c.in.FullScale), true)
	}
	var exposures []float64
	for _, f := range c.m.Frames {
		exposures = append(exposures, f.ExposureMs)
	}
	pick := slices.Min(exposures)
	for _, t := range exposures {
		if t > pick && !slices.ContainsFunc(c.m.Frames, func(f calibration.Frame) bool { return f.ExposureMs == t && clipped(f) }) {
			pick = t
		}
	}
	forwards := func(f calibration.Frame) calibration.Frame {
		f.Counts = slices.Clone(f.Counts)
		if c.in.Backwards {
			slices.Reverse(f.Counts)
		}
		return f
	}
	for _, f := range c.m.Frames {
		if f.ExposureMs == pick {
			frames = append(frames, forwards(f))
		}
	}
	for _, f := range c.m.Darks {
		if f.ExposureMs == pick && dark == nil {
			d := forwards(f)
			dark = &d
		}
	}
	return frames, dark
}

// sentences say what the chain did, a line a step.
func (c *chained) sentences() (all []string) {
	for i := range c.Steps {
		text := stepSentence(&c.Steps[i])
		all = append(all, "Correction, "+text+".")
	}
	return all
}

// writeSteps writes every curve of the chain.
func (c *chained) writeSteps(w io.Writer) error {
	type curve struct {
		X []float64 `json:"x"`
		Y []float64 `json:"y"`
	}
	type step struct {
		Step   string `json:"step"`
		Made   bool   `json:"made"`
		Note   string `json:"note"`
		Before curve  `json:"before"`
		After  curve  `json:"after"`
	}
	var all []step
	for _, s := range c.Steps {
		all = append(all, step{string(s.Name), s.Made, s.Note, curve(s.Before), curve(s.After)})
	}
	return json.NewEncoder(w).Encode(struct {
		Instrument string `json:"instrument"`
		XIs        string `json:"x_is"`
		Steps      []step `json:"steps"`
	}{c.in.Name, "pixels before the wavelength step, nm after it", all})
}

// withKey adds a key to a line that holds one JSON object.
func withKey(line []byte, key string, value any) ([]byte, error) {
	b, err := json.Marshal(value)
	if err != nil {
		return nil, err
	}
	object := strings.TrimSuffix(strings.TrimRight(string(line), "\n"), "}")
	return fmt.Appendf(nil, "%s,%q:%s}\n", object, key, b), nil
}
