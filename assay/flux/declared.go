package flux

import (
	"context"
	"fmt"
	"math"

	"lampassay/assay/uncertainty"
)

// Declared is a flux that somebody else states: a box, a data sheet, a laboratory.
type Declared struct {
	Flux float64 // lm
	// Expanded is the laboratory's expanded uncertainty in lm, at the coverage
	// factor K; 0 where none is stated.
	Expanded, K float64
	// Tolerance is what a declared value may be off either way, relative;
	// [LabelTolerance] where it is 0 and no uncertainty is stated.
	Tolerance float64
}

// LabelTolerance is the verification tolerance on declared luminous flux of
// Regulation (EU) 2019/2020 Annex IV: by how much a market surveillance authority
// lets a lamp fall short of its label. That it stands here for either way is this
// project's choice: nothing keeps a label from stating less than the lamp gives.
const LabelTolerance = 0.10

// Assess takes the flux as it is given.
func (d *Declared) Assess(ctx context.Context, o uncertainty.Options) (*Result, error) {
	switch {
	case !(d.Flux > 0) || math.IsInf(d.Flux, 0):
		return nil, fmt.Errorf("flux: a declared flux of %g lm: it must be above zero", d.Flux)
	case !(d.Expanded >= 0) || math.IsInf(d.Expanded, 0):
		return nil, fmt.Errorf("flux: an expanded uncertainty of %g lm: it cannot be negative, and ends somewhere", d.Expanded)
	case !(d.Tolerance >= 0 && d.Tolerance < 1):
		return nil, fmt.Errorf("flux: a tolerance of %g %%: it is from 0 to below 100 %%", 100*d.Tolerance)
	case d.Expanded > 0 && d.Tolerance > 0:
		return nil, fmt.Errorf("flux: an uncertainty and a tolerance were both stated: one of them counts")
	case d.Expanded > 0 && !(d.K >= 1 && d.K <= 10):
		return nil, fmt.Errorf("flux: a coverage factor of %g: an expanded uncertainty is stated with its k, mostly 2", d.K)
	}
	e := new(equation)
	var reason string
	flux := e.input(uncertainty.FluxAsGiven, "lm", uncertainty.Normal(d.Flux, 0), "")
	in := &e.inputs[flux]
	if d.Expanded > 0 {
		in.Distribution, in.Source = uncertainty.Normal(d.Flux, d.Expanded/d.K), fmt.Sprintf("stated: U = %.3g lm, k = %.3g", d.Expanded, d.K)
		reason = "The value is taken as given, with the uncertainty that is stated beside it."
	} else {
		t := d.Tolerance
		in.Source = "tolerance as stated"
		if t == 0 {
			t, in.Source = LabelTolerance, "Regulation (EU) 2019/2020 Annex IV"
		}
		in.Distribution = uncertainty.Rectangular(d.Flux, t*d.Flux)
		reason = fmt.Sprintf("The value is taken as given; it may be off by %.3g %% either way, anywhere in between alike.", 100*t)
	}
	r, _, err := e.assess(ctx, o, "declared", 1, func(x, y []float64) { y[0] = x[flux] })
	if err != nil {
		return nil, err
	}
	r.Reasons = []string{reason}
	r.caution("Nothing was measured here: this lamp may differ from the one that the value speaks of.")
	return r, nil
}
