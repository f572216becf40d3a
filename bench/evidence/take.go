package evidence

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"math"
	"slices"
	"strings"

	"lampassay/assay"
	"lampassay/assay/conformity"
	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/light/calibration"
	"lampassay/light/spectrum"
)

// Take reads the inputs of an assay from its sitting.
func Take(ctx context.Context, nb notebook.Notebook, sit *notebook.Sitting, inputs []notebook.Input, terms Terms) (*Evidence, error) {
	terms.PowerAt = cmp.Or(terms.PowerAt, sit.SetUp.PowerAt)
	t := &taker{nb: nb, sit: sit, e: &Evidence{Inputs: inputs, Terms: terms, sitting: sit.ID}}
	for _, in := range inputs {
		if err := t.read(ctx, in); err != nil {
			return nil, err
		}
	}
	if len(t.light) == 0 {
		return nil, notebook.Errorf(notebook.Invalid, "the assay names no spectrum")
	}
	for _, step := range []func() error{t.spectrum, t.projection, t.given} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return t.e, nil
}

// taker gathers what the inputs are, and makes evidence of it.
type taker struct {
	nb          notebook.Notebook
	sit         *notebook.Sitting
	e           *Evidence
	light, dark []*notebook.Reading
	darkFrame   []calibration.Frame // of a file
	in          *instrument.Instrument
}

// read fetches one input.
func (t *taker) read(ctx context.Context, in notebook.Input) (err error) {
	switch in.What {
	case Spectrum, Dark:
		of, err := t.span(ctx, in)
		if in.What == Spectrum {
			t.light = append(t.light, of...)
		} else {
			t.dark = append(t.dark, of...)
		}
		return err
	case InstrumentFile, DarkFile, SittingFile:
		raw, err := t.nb.File(ctx, in.SHA256)
		if err != nil {
			return err
		}
		switch in.What {
		case InstrumentFile:
			t.in, err = instrument.Read(bytes.NewReader(raw))
		case SittingFile:
			t.e.conditions, err = uncertainty.ParseConditions(raw)
			if err == nil && len(t.e.conditions.Repeats) > 0 {
				err = errors.New("the sitting file names further files of spectra under \"repeats\": take them out, and average recordings of the sitting")
			}
		default:
			t.darkFrame, err = instrument.ReadFrames(ctx, "the dark", raw)
		}
		return invalid(err)
	}
	of, err := t.span(ctx, notebook.Input{What: in.What, From: in.To, To: in.To, SHA256: in.SHA256})
	if err != nil {
		return err
	}
	return t.value(in.What, of[0])
}

// value takes a measured value from its reading.
func (t *taker) value(key string, r *notebook.Reading) error {
	for i := range besideKinds {
		k := &besideKinds[i]
		if k.key != key {
			continue
		}
		x, why, has := k.of(r)
		switch {
		case !has:
			return notebook.Errorf(notebook.Invalid, "reading %d of sitting %d has no %s", r.N, t.sit.ID, k.name)
		case why != "":
			return notebook.Errorf(notebook.Invalid, "the %s of reading %d cannot be used: %s", k.name, r.N, why)
		}
		switch known := assay.Measured(x); {
		case key == Flux:
			t.e.beside.Flux = known
		case key == PowerLamp || t.e.Terms.PowerAt == AtLamp:
			t.e.beside.PowerLamp = known
		default:
			t.e.beside.Power = known
		}
		return nil
	}
	return notebook.Errorf(notebook.Invalid, "the assay names %q among its inputs, which this program knows nothing of", key)
}

// span fetches the readings of an input: of spectra those from the source of the
// first. The last has to have the sum that the assay names, which holds all before it.
func (t *taker) span(ctx context.Context, in notebook.Input) (all []*notebook.Reading, err error) {
	wrong := notebook.Errorf(notebook.Damaged, "reading %d of sitting %d is not the one that the assay names", in.To, t.sit.ID)
	if in.From < 1 || in.To < in.From {
		return nil, wrong
	}
	var last *notebook.Reading
	for r, err := range t.nb.Readings(ctx, notebook.Readings{Sitting: t.sit.ID, After: in.From - 1, Limit: int(in.To - in.From + 1)}) {
		if err != nil {
			return nil, err
		}
		last = r
		if r.N == in.From || len(all) > 0 && isSpectrum(r) && alike(r, all[0]) {
			all = append(all, r)
		}
	}
	switch {
	case last == nil || last.N != in.To || len(all) == 0:
		return nil, notebook.Errorf(notebook.NotFound, "there is no reading %d in sitting %d", in.To, t.sit.ID)
	case last.Chain != in.SHA256:
		return nil, wrong
	case (in.What == Spectrum || in.What == Dark) && !isSpectrum(all[0]):
		return nil, notebook.Errorf(notebook.Invalid, "reading %d is no spectrum", in.From)
	}
	return all, nil
}

// spectrum makes one spectrum of the readings.
func (t *taker) spectrum() error {
	e := t.e
	first, last := t.light[0], t.light[len(t.light)-1]
	e.day = instrument.DayOf(last.At)
	var spectra [][]float64
	for _, r := range t.light {
		s, err := t.one(r)
		if err != nil {
			return err
		}
		switch {
		case e.Spectrum == nil:
			e.Spectrum = s
		case s.Quantity() != e.Spectrum.Quantity():
			return notebook.Errorf(notebook.Invalid, "reading %d holds %s and reading %d %s: a mean is taken of spectra of one kind", r.N, s.Quantity(), first.N, e.Spectrum.Quantity())
		case !slices.Equal(s.Axis(), e.Spectrum.Axis()):
			return notebook.Errorf(notebook.Invalid, "reading %d has other wavelengths than reading %d: a mean is taken of spectra from one instrument in one state", r.N, first.N)
		}
		e.Readings, spectra = append(e.Readings, r.N), append(spectra, s.Values())
	}
	if len(spectra) == 1 {
		return nil
	}
	q, axis := e.Spectrum.Quantity(), e.Spectrum.Axis()
	mean, repeats, err := uncertainty.RepeatedSpectra(spectra, q.Absolute())
	if err != nil {
		return invalid(err)
	}
	e.Repeats = &repeats
	e.Spectrum, err = spectrum.New(q, axis, mean)
	return invalid(err)
}

// one makes a spectrum of a reading, by the instrument's file where there is one.
func (t *taker) one(r *notebook.Reading) (*spectrum.Spectrum, error) {
	if t.in == nil {
		return OfCurve(r.Curve)
	}
	if !IsRaw(r) {
		return nil, notebook.Errorf(notebook.Invalid, "reading %d holds %s, not raw counts: the file of %s is not applied to what was corrected before", r.N, r.Curve.Quantity, t.in.Name)
	}
	frame, own, err := t.frame(r)
	if err != nil {
		return nil, err
	}
	m := instrument.Measurement{Frames: []calibration.Frame{frame}, Darks: slices.Clone(t.darkFrame)}
	for i := range m.Darks {
		t.timed(&m.Darks[i])
	}
	for _, d := range t.dark {
		dark, _, err := t.frame(d)
		if err != nil {
			return nil, err
		}
		m.Darks = append(m.Darks, dark)
	}
	a, err := t.in.Apply(m, instrument.Options{}, own)
	if err != nil {
		return nil, notebook.Errorf(notebook.Invalid, "reading %d: %s", r.N, plain(err))
	}
	switch {
	case t.e.Applied == nil:
		t.e.Applied = a
	case len(a.Lost) > 0:
		t.e.clipped = append(t.e.clipped, r.N)
	}
	return a.Spectrum, nil
}

// frame takes the counts out of a reading.
func (t *taker) frame(r *notebook.Reading) (calibration.Frame, []float64, error) {
	q, err := spectrum.ParseQuantity(r.Curve.Quantity)
	if err == nil {
		var f calibration.Frame
		var own []float64
		if f, own, err = t.in.FrameFromCurve(q, r.Curve.Axis, r.Curve.Samples, r.Curve.ExposureMs); err == nil {
			t.timed(&f)
			return f, own, nil
		}
	}
	return calibration.Frame{}, nil, notebook.Errorf(notebook.Invalid, "reading %d: %s", r.N, plain(err))
}

// timed gives a frame that does not tell its exposure the one of the terms.
func (t *taker) timed(f *calibration.Frame) {
	if f.ExposureMs == 0 {
		f.ExposureMs = t.e.Terms.ExposureMs
	}
}

// projection settles how samples are read.
func (t *taker) projection() error {
	asked := t.e.Terms.Projection
	if asked == "" {
		asked = "auto"
	}
	chosen, err := ingest.ParseProjection(asked)
	switch {
	case err != nil:
		return invalid(err)
	case t.e.Applied != nil && chosen != nil && *chosen != spectrum.Sampled:
		return notebook.Errorf(notebook.Invalid, "raw counts are an instrument's curve, and no published table")
	case t.e.Applied != nil:
		t.e.Projection = spectrum.Sampled // the detector's own pixels
	case chosen != nil:
		t.e.Projection = *chosen
	default:
		t.e.Projection = spectrum.Guess(t.e.Spectrum.Axis())
	}
	t.e.Terms.Projection = t.e.Projection.String()
	return nil
}

// given joins what was measured in the sitting to what the sitting file holds.
func (t *taker) given() (err error) {
	e := t.e
	e.beside.Source = conformity.LightSource{Mains: e.beside.Power.Known}
	e.Given = e.beside
	if e.conditions == nil {
		return nil
	}
	e.Terms.Class, e.Terms.Route, e.Terms.Meter, e.Terms.DistanceM = "", "", "", 0 // the file names them
	e.Given, err = e.conditions.With(e.beside)
	return invalid(err)
}

// Reading fetches one reading.
func Reading(ctx context.Context, nb notebook.Notebook, sitting notebook.ID, n int64) (*notebook.Reading, error) {
	for r, err := range nb.Readings(ctx, notebook.Readings{Sitting: sitting, After: n - 1, Limit: 1}) {
		if err != nil {
			return nil, err
		}
		if r.N == n {
			return r, nil
		}
	}
	return nil, notebook.Errorf(notebook.NotFound, "there is no reading %d in sitting %d", n, sitting)
}

// OfCurve turns a kept curve into a spectrum. Samples that are missing are left out
// with their wavelengths, as the readers of files leave them out.
func OfCurve(c *notebook.Curve) (*spectrum.Spectrum, error) {
	if c == nil || c.Axis == nil {
		return nil, notebook.Errorf(notebook.Invalid, "that reading is no spectrum")
	}
	q, err := spectrum.ParseQuantity(c.Quantity)
	if err != nil {
		return nil, notebook.Errorf(notebook.Invalid, "a spectrum of %q cannot be assayed: %w", c.Quantity, err)
	}
	var nm, values []float64
	for i, v := range c.Samples {
		if !math.IsNaN(v) {
			nm, values = append(nm, c.Axis[i]), append(values, v)
		}
	}
	s, err := spectrum.New(q, nm, values)
	return s, invalid(err)
}

// invalid makes an error that a person can put right of what a lower wing says.
func invalid(err error) error {
	var kept *notebook.Error
	if err == nil || errors.As(err, &kept) {
		return err
	}
	return &notebook.Error{Code: notebook.Invalid, Text: plain(err), Cause: err}
}

// plain is an error's sentence without the packages that say it.
func plain(err error) string {
	parts := slices.DeleteFunc(strings.Split(err.Error(), ": "), func(part string) bool { return slices.Contains(wings, part) })
	return strings.Join(parts, ": ")
}

// wings are the packages whose errors get here.
var wings = []string{"calibration", "ingest", "instrument", "spectrum", "uncertainty"}
