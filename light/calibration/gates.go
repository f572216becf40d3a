package calibration

import (
	"fmt"
	"math"

	"lampassay/light/spectrum"
)

// Severity says what a gate's finding means for the result.
type Severity uint8

const (
	// Note is worth knowing.
	Note Severity = iota
	// Caution goes beside every figure.
	Caution
	// Refusal means that figures from this data would mislead.
	Refusal
)

func (s Severity) String() string {
	return [...]string{"note", "caution", "refusal"}[s]
}

// Finding is one thing wrong with a recording.
type Finding struct {
	Gate     string // what is wrong, "saturation"; the same words every time
	Severity Severity
	// Figure is what tripped the gate, Limit what it was held against, both in
	// Unit.
	Figure, Limit float64
	Unit          string
	Text          string // what was seen
	Remedy        string // what to do
	// Otherwise holds the spectrum as it may be without the defect, one or more
	// possibilities; empty where none can be made.
	Otherwise []*spectrum.Spectrum
}

// Evidence is what the gates look at. Only Axis and one of Frames and Spectrum
// are needed; what is missing leaves its gates silent or noted.
type Evidence struct {
	Axis   []float64 // nm of every pixel, as far as it is known
	Frames []Frame   // raw exposures of one light, in order of time
	// Dark belongs to the frames; Ambient is the same exposure with the lamp
	// off and the shutter open. Either may be nil.
	Dark, Ambient *Frame
	FullScale     float64 // counts; 0 unknown
	MainsHz       float64 // 50 or 60; 0 for light that does not pulse with the mains
	// BlindBelowNm is the wavelength under which no light reaches the
	// detector: a window, a fibre or the lamp's own envelope; 0 unknown.
	BlindBelowNm float64
	BandwidthNm  float64 // 0 unknown
	// OrderSorted tells that second-order light is blocked or removed.
	OrderSorted bool
	// Spectrum is the curve whose figures are at stake.
	Spectrum *spectrum.Spectrum
}

// Gates, by the names in [Finding.Gate].
const (
	GateSaturation       = "saturation"
	GateHiddenSaturation = "hidden saturation"
	GateUnderexposure    = "underexposure"
	GateMains            = "exposure and mains"
	GateAmbient          = "ambient light"
	GateDark             = "dark"
	GateNoise            = "noise"
	GateStray            = "stray light"
	GateSecondOrder      = "second order"
	GateSampling         = "sampling"
	GateCoverage         = "coverage"
	GateDrift            = "drift"
	GateResponse         = "response"
	GateWavelength       = "wavelength axis"
)

// Inspect runs every gate that the evidence allows, in the order of the
// constants.
func Inspect(e *Evidence) []Finding {
	var all []Finding
	for _, gate := range []func(*Evidence) []Finding{
		saturationGate, hiddenSaturationGate, underexposureGate, mainsGate, ambientGate, darkGate,
		noiseGate, strayGate, secondOrderGate, samplingGate, coverageGate, Drift, responseGate,
	} {
		all = append(all, gate(e)...)
	}
	return all
}

// Figures are the results a finding may change. Flux is in any unit.
type Figures struct{ Flux, CCT, Duv, Ra float64 }

// Change is what a defect may do to the results: the largest found among the
// possibilities, with its sign. Flux is relative to the present one.
type Change struct{ Flux, CCT, Duv, Ra float64 }

// Change asks the caller's evaluator for the results of the present spectrum and
// of what it may be without the defect. known is false where no such spectrum
// could be made. A figure that either of the two does not have (NaN) is left at
// zero change: it is the finding's text that counts then.
func (f *Finding) Change(present *spectrum.Spectrum, figures func(*spectrum.Spectrum) Figures) (c Change, known bool) {
	if len(f.Otherwise) == 0 || present == nil {
		return c, false
	}
	larger := func(c *float64, d float64) {
		if math.Abs(d) > math.Abs(*c) {
			*c = d
		}
	}
	now := figures(present)
	for _, s := range f.Otherwise {
		then := figures(s)
		larger(&c.Flux, then.Flux/now.Flux-1)
		larger(&c.CCT, then.CCT-now.CCT)
		larger(&c.Duv, then.Duv-now.Duv)
		larger(&c.Ra, then.Ra-now.Ra)
	}
	return c, true
}

// changed returns the spectrum at stake with new values, or none.
func (e *Evidence) changed(change func(values []float64)) []*spectrum.Spectrum {
	if e.Spectrum == nil {
		return nil
	}
	v := append([]float64(nil), e.Spectrum.Values()...)
	change(v)
	s, err := spectrum.New(e.Spectrum.Quantity(), e.Spectrum.Axis(), v)
	if err != nil {
		return nil
	}
	return []*spectrum.Spectrum{s}
}

// light returns the mean frame without its dark, and false without frames.
func (e *Evidence) light() ([]float64, bool) {
	if len(e.Frames) == 0 {
		return nil, false
	}
	mean := make([]float64, len(e.Frames[0].Counts))
	for _, f := range e.Frames {
		if len(f.Counts) != len(mean) {
			return nil, false
		}
		for i, c := range f.Counts {
			mean[i] += c / float64(len(e.Frames))
		}
	}
	if e.Dark != nil && len(e.Dark.Counts) == len(mean) {
		for i, c := range e.Dark.Counts {
			mean[i] -= c
		}
	}
	return mean, true
}

// CheckAxis compares a file's own wavelengths with what a line lamp recorded by
// the same instrument says they are, in a confident calibration.
func CheckAxis(axis []float64, w *Wavelength, s *spectrum.Spectrum) []Finding {
	if !w.Confident || len(axis) != w.Dispersion.Pixels {
		return nil
	}
	worst, at := 0.0, 0.0
	for p, nm := range axis {
		truth := w.Dispersion.At(float64(p))
		if truth < w.FromNm || truth > w.ToNm {
			continue
		}
		if d := nm - truth; math.Abs(d) > math.Abs(worst) {
			worst, at = d, nm
		}
	}
	const limit = 0.3 // nm: 2 % of the light of a narrow blue or deep red emitter
	if math.Abs(worst) < limit {
		return nil
	}
	f := Finding{
		Gate: GateWavelength, Severity: Caution, Figure: math.Abs(worst), Limit: limit, Unit: "nm",
		Text:   fmt.Sprintf("the wavelengths are off by up to %+.2f nm (at %.0f nm) against %d lines of a known lamp", worst, at, len(w.Lines)),
		Remedy: "use the axis that the line lamp gives, and check it each day with one lamp",
	}
	if math.Abs(worst) > 3 {
		f.Severity = Refusal
	}
	if s != nil && s.Len() == len(axis) {
		if moved, err := spectrum.New(s.Quantity(), w.Dispersion.Axis(), s.Values()); err == nil {
			f.Otherwise = []*spectrum.Spectrum{moved}
		}
	}
	return []Finding{f}
}
