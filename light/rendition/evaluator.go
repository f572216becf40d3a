package rendition

import "lampassay/light/spectrum"

// Evaluator computes the indices of one light after another without
// allocating. It holds scratch space and serves one goroutine at a time; the
// tables behind it are shared.
type Evaluator struct {
	*tables
	reference        reference
	test, ref, blend folded // scratch
}

// New returns an evaluator.
func New() *Evaluator { return shared().evaluator() }

func (t *tables) evaluator() *Evaluator {
	return &Evaluator{tables: t, reference: reference{radiators: t.radiators, all: t.charts}}
}

// from returns the projection from a wavelength in nm on.
func from(p *spectrum.Projected, nm int) []float64 { return p.B[nm-spectrum.GridFirst:] }
