package instrument

import (
	"fmt"
	"math"
	"slices"

	"lampassay/light/calibration"
)

// Counts runs the chain as far as it concerns the detector alone: clip mask,
// dark, linearity, average and stitch. It returns counts per ms on the pixels,
// the first with the shortest wavelength, and which are clipped in every
// exposure: what calibrations of the axis start from.
//
// Where the full scale is unknown, a flat top of a frame is taken for clipped.
func (in *Instrument) Counts(m Measurement) (rate []float64, clipped []bool, err error) {
	c := &chain{in: in}
	if err := c.gather(m.Frames); err != nil {
		return nil, nil, err
	}
	if in.FullScale == 0 {
		c.maskFlatTops(m.Frames)
	}
	for _, step := range []func(Measurement) error{c.dark, c.linearity, c.stitch} {
		if err := step(m); err != nil {
			return nil, nil, err
		}
	}
	clipped = make([]bool, in.Pixels)
	for _, p := range c.out.Lost { // still in pixels
		clipped[int(p)] = true
	}
	return c.curve.Y, clipped, nil
}

// maskFlatTops marks flat tops as clipped.
func (c *chain) maskFlatTops(frames []calibration.Frame) {
	for _, f := range frames {
		counts := slices.Clone(f.Counts)
		if c.in.Backwards {
			slices.Reverse(counts)
		}
		_, mask, found := calibration.HiddenClipping(counts)
		if !found {
			continue
		}
		for i := range c.groups {
			g := &c.groups[i]
			if !sameExposure(g.ExposureMs, f.ExposureMs) {
				continue
			}
			for p := range mask {
				g.clipped[p] = g.clipped[p] || mask[p]
			}
		}
	}
}

// unknownStray is the stray light, as a share of the mean count, that is
// reckoned with where it was never measured. Own estimate, without a source:
// small instruments without a correction have about as much.
const unknownStray = 0.01

// strayKept is the part of the stray light that a correction may leave. Own
// estimate; Zong et al. (2006) reach less with a matrix.
const strayKept = 0.1

// ResponseMade is a response with the story of how it came about.
type ResponseMade struct {
	calibration.Response
	Recording *Corrected // the reference lamp, corrected but for the response
	// StrayCounts per ms may be left in each pixel, as StrayFrom says; the
	// response ends where the signal is less than ten times that.
	StrayCounts float64
	StrayFrom   string
}

// CalibrateResponse divides a recording of a reference lamp, corrected by the
// chain as far as the instrument is known, by the lamp's spectrum.
func (in *Instrument) CalibrateResponse(m Measurement, ref calibration.Reference) (*ResponseMade, error) {
	if in.FullScale == 0 {
		for k, f := range m.Frames {
			if level, _, found := calibration.HiddenClipping(f.Counts); found {
				return nil, fmt.Errorf("instrument: frame %d of the reference lamp has a flat top at %.0f counts, as saturation leaves it: shorten the exposure", k+1, level)
			}
		}
	}
	c, err := in.Correct(m, Options{Skip: []StepName{StepResponse}})
	if err != nil {
		return nil, err
	}
	made := &ResponseMade{Recording: c}
	made.StrayCounts, made.StrayFrom = in.strayLeft(c)
	axis := c.Spectrum.Axis()
	clipped := make([]bool, len(axis))
	for i, nm := range axis {
		clipped[i] = slices.Contains(c.Lost, nm)
	}
	made.Response, err = calibration.NewResponse(axis, c.Spectrum.Values(), ref, calibration.ResponseOptions{Stray: made.StrayCounts, Clipped: clipped})
	if err != nil {
		return nil, err
	}
	return made, nil
}

// strayLeft estimates the stray light left in each pixel of a recording, in
// counts per ms, and says where the estimate comes from.
func (in *Instrument) strayLeft(c *Corrected) (counts float64, from string) {
	for _, s := range c.Steps {
		if s.Name == StepStray && s.Made {
			removed := 0.0
			for i := range s.Before.Y {
				removed += math.Abs(s.Before.Y[i] - s.After.Y[i])
			}
			return strayKept * removed / float64(len(s.Before.Y)), "a tenth of what the stray-light correction took away"
		}
	}
	axis, values := c.Spectrum.Axis(), c.Spectrum.Values()
	if mean, u, ok := calibration.Pedestal(axis, values, in.BlindBelowNm); ok {
		return max(mean, 0) + 2*u, fmt.Sprintf("what is counted below %.0f nm, where no light can be", in.BlindBelowNm)
	}
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return unknownStray * max(sum, 0) / float64(len(values)), fmt.Sprintf("never measured: %.0f %% of the mean count is reckoned with, an estimate", 100*unknownStray)
}

// DarkCorrected returns the mean frame of each exposure less its dark, longest
// first: the series that the linearity is found from.
func (in *Instrument) DarkCorrected(m Measurement) ([]calibration.Frame, error) {
	c := &chain{in: in}
	if err := c.gather(m.Frames); err != nil {
		return nil, err
	}
	if err := c.dark(m); err != nil {
		return nil, err
	}
	var frames []calibration.Frame
	for _, g := range c.groups {
		frames = append(frames, g.Frame)
	}
	return frames, nil
}

// CalibrateStray finds which share of all light every pixel sees besides its own, from
// a recording of a filament lamp behind a filter that passes nothing below edgeNm, and
// the standard uncertainty of that share.
func (in *Instrument) CalibrateStray(m Measurement, edgeNm float64) (stray calibration.Stray, u float64, err error) {
	c, err := in.Correct(m, Options{Skip: []StepName{StepStray, StepSecondOrder, StepResponse}})
	if err != nil {
		return stray, 0, err
	}
	return calibration.StrayShare(c.Spectrum.Axis(), c.Spectrum.Values(), edgeNm)
}

// TakenAsExact is to be said of a response whose reference lamp nobody called unsure.
const TakenAsExact = "The reference was taken as exact. A filament lamp's colour temperature is hardly known better than 20 K to 50 K: 100 K at 2856 K tilts the curve by +8 % at 450 nm."

// ResponsePoint is a response at one wavelength: with its relative standard
// uncertainty, independent of that at others, and its tilt.
type ResponsePoint struct{ Nm, Value, U, Tilt float64 }

// Every lists a response at every multiple of a step in nm, for reading.
func (m *ResponseMade) Every(stepNm float64) (all []ResponsePoint) {
	for nm := stepNm * math.Ceil(m.FromNm/stepNm); nm <= m.ToNm; nm += stepNm {
		p := ResponsePoint{Nm: nm}
		p.Value, _ = m.At(nm)
		p.U, p.Tilt, _ = m.UAt(nm)
		all = append(all, p)
	}
	return all
}
