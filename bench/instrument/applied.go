package instrument

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampassay/assay/uncertainty"
	"lampassay/light/calibration"
)

// Applied is a recording of raw counts with the spectrum that an instrument made of
// it, and all that both can tell of one another.
type Applied struct {
	*Corrected
	Instrument  *Instrument
	Measurement Measurement
	Options     Options
	// Own are the wavelengths in nm that the recording itself gives its pixels, in
	// their order; nil for none. They are compared with the instrument's, and not used.
	Own []float64
}

// Apply corrects a measurement, and keeps what went into that beside what came out.
func (in *Instrument) Apply(m Measurement, opt Options, own []float64) (*Applied, error) {
	for _, list := range [][]calibration.Frame{m.Frames, m.Darks} {
		for _, f := range list {
			if f.ExposureMs == 0 {
				return nil, errors.New("instrument: a recording does not tell its exposure time: state it, in ms")
			}
		}
	}
	c, err := in.Correct(m, opt)
	if err != nil {
		return nil, err
	}
	return &Applied{Corrected: c, Instrument: in, Measurement: m, Options: opt, Own: own}, nil
}

// State puts what the instrument's calibrations and the frames say of the spectrum in
// place of the class that the conditions name.
func (a *Applied) State(c *uncertainty.Conditions) error {
	class, err := uncertainty.SpectrometerClass(c.Defaults.Spectrometer)
	if err != nil {
		return err
	}
	known, err := a.Instrument.Sureness(a.Measurement, a.Corrected, a.Options, class)
	if err != nil {
		return err
	}
	c.Known = &known
	return nil
}

// Warnings are what was overdue on a day, what is lost, where exposures disagree, and
// the cautions of the gates.
func (a *Applied) Warnings(day Day) (all []string) {
	for _, s := range a.Instrument.Overdue(day) {
		all = append(all, a.Instrument.Name+": "+s)
	}
	if n := len(a.Lost); n > 0 {
		all = append(all, fmt.Sprintf("%s from %.1f nm to %.1f nm are clipped in every exposure: their light is a lower bound; add a shorter exposure", count(n, "pixel"), a.Lost[0], a.Lost[n-1]))
	}
	for _, seam := range a.Seams {
		if math.Abs(seam.Ratio-1) > 0.005 {
			all = append(all, fmt.Sprintf("the exposures of %g ms and %g ms differ by %s %%: the lamp drifted or the detector is not linear", seam.LongMs, seam.ShortMs, strings.Replace(fmt.Sprintf("%+.1f", 100*(seam.Ratio-1)), "-", "−", 1)))
		}
	}
	for _, f := range a.Findings(0) {
		if f.Severity >= calibration.Caution {
			all = append(all, f.Text)
		}
	}
	return all
}

// Findings runs the gates: those on counts over the longest exposure that is nowhere
// clipped, or the shortest, and those on the curve over what came of them. The mains'
// frequency is in Hz, 0 where the light may flicker at any.
func (a *Applied) Findings(mainsHz float64) []calibration.Finding {
	frames, dark := a.judged()
	d, err := a.Instrument.Dispersion()
	if err != nil {
		return nil // Correct would not have come so far
	}
	counts := &calibration.Evidence{
		Axis: d.Axis(), Frames: frames, Dark: dark, FullScale: a.Instrument.FullScale, MainsHz: mainsHz, OrderSorted: true,
	}
	if !a.made(StepStray) {
		counts.BlindBelowNm = a.Instrument.BlindBelowNm
	}
	curve := &calibration.Evidence{
		Axis: a.Spectrum.Axis(), Spectrum: a.Spectrum, OrderSorted: a.made(StepSecondOrder),
	}
	if b := a.Instrument.Wavelength.Value.Bandwidth; b.Lines > 0 {
		from, to := a.Spectrum.Range()
		curve.BandwidthNm = b.At((from + to) / 2)
	}
	all := calibration.Inspect(counts)
	for _, f := range calibration.Inspect(curve) {
		if !slices.ContainsFunc(all, func(g calibration.Finding) bool { return g.Gate == f.Gate }) {
			all = append(all, f)
		}
	}
	if a.Own != nil {
		all = append(all, calibration.CheckAxis(a.Own, &a.Instrument.Wavelength.Value, nil)...)
	}
	return all
}

func (a *Applied) made(name StepName) bool {
	return slices.ContainsFunc(a.Steps, func(s Step) bool { return s.Name == name && s.Made })
}

// judged picks the frames that gates on counts look at, of one exposure, in the order
// of wavelengths, and their dark.
func (a *Applied) judged() (frames []calibration.Frame, dark *calibration.Frame) {
	clipped := func(f calibration.Frame) bool {
		return slices.Contains(calibration.ClipMask(f.Counts, a.Instrument.FullScale), true)
	}
	var exposures []float64
	for _, f := range a.Measurement.Frames {
		exposures = append(exposures, f.ExposureMs)
	}
	pick := slices.Min(exposures)
	for _, t := range exposures {
		if t > pick && !slices.ContainsFunc(a.Measurement.Frames, func(f calibration.Frame) bool { return f.ExposureMs == t && clipped(f) }) {
			pick = t
		}
	}
	forwards := func(f calibration.Frame) calibration.Frame {
		f.Counts = slices.Clone(f.Counts)
		if a.Instrument.Backwards {
			slices.Reverse(f.Counts)
		}
		return f
	}
	for _, f := range a.Measurement.Frames {
		if f.ExposureMs == pick {
			frames = append(frames, forwards(f))
		}
	}
	for _, f := range a.Measurement.Darks {
		if f.ExposureMs == pick && dark == nil {
			d := forwards(f)
			dark = &d
		}
	}
	return frames, dark
}
