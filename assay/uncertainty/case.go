package uncertainty

import (
	"context"
	"fmt"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/spectrum"
)

// Case is a spectrum that was evaluated, and waits to hear how sure its figures are.
type Case struct {
	Spectrum *spectrum.Spectrum
	Kind     spectrum.Projection
	// Given is what was measured beside it, without what the conditions hold of that.
	Given  assay.Given
	Result *assay.Result
	// Repeats are the departures of the spectra that this one is the mean of; nil where
	// it is of one recording.
	Repeats *Repeats
	// Bandwidth is the width in nm that the spectrum's own lines show, to be taken in
	// place of the class's; 0 where it is not known better.
	Bandwidth float64
	// Quantities are those that are asked for, [Shown] where nil.
	Quantities []quantity.ID
}

// Assess gives the figures of a case their uncertainties, which are then found in its
// Result. It returns a sentence for each figure that has none since too many draws
// left it undefined.
func (c *Conditions) Assess(ctx context.Context, k *Case, o Options) (warnings []string, err error) {
	s, err := c.Sitting(k.Spectrum, k.Kind, k.Given)
	if err != nil {
		return nil, err
	}
	if k.Repeats != nil {
		s.Spectrometer.repeated(*k.Repeats)
	}
	if k.Bandwidth > 0 {
		s.Spectrometer.Seen(k.Bandwidth)
	}
	ids := k.Quantities
	if ids == nil {
		ids = Shown(k.Result)
	}
	if s.Quantities = assessed(k.Result, ids); len(s.Quantities) == 0 {
		return nil, nil
	}
	report, err := s.Assess(ctx, o)
	if err != nil {
		return nil, err
	}
	var without []quantity.ID
	k.Result.Uncertainty, without = report.Summary()
	k.Result.Uncertainty.Basis = c.Basis(&s.Given)
	for _, id := range without {
		warnings = append(warnings, fmt.Sprintf("%s has no stated uncertainty: more than 5 %% of the draws leave it undefined.", quantity.Get(id).Name))
	}
	return warnings, nil
}

// repeated puts the scatter of repeated spectra in place of the noise.
func (s *Spectrometer) repeated(r Repeats) {
	s.Noise, s.Repeats = Noise{}, r
	if s.Sources == nil {
		s.Sources = map[string]string{}
	}
	s.Sources[Repeatability] = fmt.Sprintf("the scatter of %d spectra", len(r.Departures))
}

// Shown are the quantities of a page: all but the single evaluation samples, as far
// as they have a value.
func Shown(r *assay.Result) []quantity.ID {
	var ids []quantity.ID
	for _, d := range quantity.All() {
		if _, ok := r.Value(d.ID); ok && (!d.Detail || d.ID < quantity.R(1)) {
			ids = append(ids, d.ID)
		}
	}
	return ids
}

// assessed leaves out what is outside its method's scope: how sure a figure is that
// means nothing, nobody needs to know.
func assessed(r *assay.Result, ids []quantity.ID) []quantity.ID {
	inScope := []quantity.ID{}
	for _, id := range ids {
		if _, ok := r.Value(id); r.InScope(id) || !ok {
			inScope = append(inScope, id)
		}
	}
	return inScope
}

// With adds what the conditions hold of flux and power to what was measured beside
// them. What both hold is refused.
func (c *Conditions) With(g assay.Given) (assay.Given, error) {
	s, err := c.Sitting(nil, 0, g)
	if err != nil {
		return g, err
	}
	if !g.Power.Known && s.Given.Power.Known {
		s.Given.Source.Mains = true
	}
	return s.Given, nil
}
