package uncertainty

import (
	"context"
	"fmt"
	"math"
	"slices"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/spectrum"
)

// Factor is an input that multiplies what was measured: x is a relative error
// or correction, 0.01 for one per cent, and 1+x enters with these exponents. A
// distance enters the flux with 2, a supply voltage that of a filament with 3.4.
type Factor struct {
	Input
	Light float64 // what the lamp gives: the flux and an absolute spectrum
	Flux  float64 // the scale of the flux that was given beside the spectrum
	Power float64 // at the mains
	Lamp  float64 // power at the lamp's terminals
	Heat  float64 // temperature of a filament, which tilts the spectrum
}

// FluxPart is a part of the uncertainty of a luminous flux that was worked out by
// its own route: what one cause makes of the flux, relative to it.
func FluxPart(name string, d Distribution, source string) Factor {
	return Factor{Input: Input{Name: name, Distribution: d, Source: source}, Flux: 1}
}

// Whole is the relative error of a measured figure as a whole: "luminous_flux",
// "power" or "power_lamp".
func Whole(key string, d Distribution, source string) (Factor, error) {
	for _, m := range measurables {
		if m.key == key {
			return factor(m.whole, d, source), nil
		}
	}
	return Factor{}, fmt.Errorf("uncertainty: %q is not measured beside a spectrum: luminous_flux, power and power_lamp are", key)
}

// Sitting is one spectrum, what was measured beside it, and how sure each is.
type Sitting struct {
	Spectrum     *spectrum.Spectrum
	Kind         spectrum.Projection
	Given        assay.Given
	Spectrometer Spectrometer
	Factors      []Factor
	// Correlations joins inputs by name; see the constants for the spectrometer's.
	Correlations []Correlation
	// Quantities are those to be assessed, [assay.Default] where nil.
	Quantities []quantity.ID
}

// Figure is one quantity with its uncertainty.
type Figure struct {
	ID quantity.ID
	Estimate
	// AtCeiling tells that the coverage intervals were carried on to 100, the
	// ceiling of an index of likeness (Ra, Rf, their special indices, SSI). Errors
	// of measurement can only make light less like its reference, and those of
	// the draws come on top of those in the reading: of a lamp that is like its
	// reference the draws alone would deny it.
	AtCeiling bool
	Law       Law
	// Straight tells whether the law stands for the draws, to one significant
	// digit of the standard uncertainty.
	Straight bool
}

// Value is the quantity at the estimates of all inputs.
func (f *Figure) Value() float64 { return f.Law.Value }

// Report is the outcome for a sitting.
type Report struct {
	Inputs     []Input
	Figures    []Figure // of the quantities that have a value
	Simulation *Simulation
	Seed       uint64
	Coverage   float64
	Fixed      bool // the number of draws was fixed

	ids []quantity.ID // of the simulation's outputs
}

// Figure returns a quantity's figure, nil where it has no value.
func (r *Report) Figure(id quantity.ID) *Figure {
	for i := range r.Figures {
		if r.Figures[i].ID == id {
			return &r.Figures[i]
		}
	}
	return nil
}

// headline are the quantities that must become stable where nobody says which.
var headline = []quantity.ID{
	quantity.LuminousFlux, quantity.LuminousEfficacy, quantity.CCT, quantity.Duv, quantity.Ra, quantity.Rf,
}

// Assess follows the draws through the whole pipeline, and the law beside them.
// Options.Watch counts within Quantities; where nil, flux, efficacy, CCT, Duv,
// Ra and Rf are watched, as far as they are among them. Options.Digits is 1
// where 0: that takes some 20 000 draws, and two digits can take a million.
func (s *Sitting) Assess(ctx context.Context, o Options) (*Report, error) {
	m, err := s.Model()
	if err != nil {
		return nil, err
	}
	ids := s.quantities()
	if o.Watch == nil {
		for i, id := range ids {
			if slices.Contains(headline, id) {
				o.Watch = append(o.Watch, i)
			}
		}
	}
	if o.Digits == 0 {
		o.Digits = 1
	}
	laws, err := m.Propagate(ctx, o)
	if err != nil {
		return nil, err
	}
	sim, err := m.MonteCarlo(ctx, o)
	if err != nil {
		return nil, err
	}
	r := &Report{Inputs: m.Inputs, Simulation: sim, Seed: o.Seed, Coverage: o.coverage(), Fixed: o.Draws > 0, ids: ids}
	for i, id := range ids {
		if !math.IsNaN(laws[i].Value) {
			f := Figure{ID: id, Estimate: sim.Outputs[i], Law: laws[i]}
			f.Straight = f.Law.Holds(&f.Estimate, 1)
			f.reachCeiling()
			r.Figures = append(r.Figures, f)
		}
	}
	return r, nil
}

// ceilingReach is how many standard uncertainties below 100 an index may be found
// though its truth is 100: in simulated benches with a filament lamp 97.5 % were
// nearer than 2.2 (R9) to 2.7 (Rf).
const ceilingReach = 2.7

// reachCeiling carries the intervals of an index of likeness on to 100 where
// that cannot be excluded.
func (f *Figure) reachCeiling() {
	// A few draws far off, as a lamp of one line has them, widen the standard
	// deviation but not the interval.
	spread := min(f.StdDev, (f.High-f.Low)/(2*1.96))
	if isLikeness(f.ID) && 100-f.Value() <= ceilingReach*spread {
		f.AtCeiling = true
		f.High, f.ShortHigh = max(f.High, 100), max(f.ShortHigh, 100)
	}
}

// isLikeness reports whether a quantity is 100 less a distance from the
// reference.
func isLikeness(id quantity.ID) bool {
	switch id {
	case quantity.Ra, quantity.Rf, quantity.SSI:
		return true
	}
	return id >= quantity.R(1) && id <= quantity.R(quantity.Specials) ||
		id >= quantity.RfHue(1) && id <= quantity.RfHue(quantity.HueBins) ||
		id >= quantity.RfSample(1) && id <= quantity.RfSample(quantity.FidelitySamples)
}

func (s *Sitting) quantities() []quantity.ID {
	if s.Quantities == nil {
		return assay.Default()
	}
	return s.Quantities
}
