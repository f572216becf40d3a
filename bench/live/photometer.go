package live

import (
	"slices"
	"sync"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/bench/notebook"
	"lampassay/light/spectrum"
)

// The values that a [Photometer] sees in a spectrum.
const (
	LightKey = "light" // ∫ S(λ)V(λ) dλ, in the unit of the spectrum times nm
	CCTKey   = "cct"   // K; none where it is not defined
	DuvKey   = "duv"
)

// mostNegative is the share of negative area from which a spectrum is noise, as that
// of a dark lamp is, and has no colour (judgement).
const mostNegative = 0.1

// Photometer returns an [Options.Look] that follows a run-up by its spectra:
// their light, CCT and Duv, as the assay computes them.
func Photometer() func(*notebook.Reading) []notebook.Value {
	e := assay.NewEvaluator()
	e.Only([]quantity.ID{quantity.CCT, quantity.Duv, quantity.ChromaticityY})
	var mu sync.Mutex
	var onto *spectrum.Projector
	var axis []float64
	var p spectrum.Projected
	var seen assay.Result
	return func(r *notebook.Reading) []notebook.Value {
		if r.Curve == nil || r.Curve.Axis == nil {
			return nil
		}
		mu.Lock()
		defer mu.Unlock()
		if onto == nil || !slices.Equal(axis, r.Curve.Axis) {
			fresh, err := spectrum.NewProjector(r.Curve.Axis, spectrum.Guess(r.Curve.Axis))
			if err != nil {
				return nil
			}
			onto, axis = fresh, slices.Clone(r.Curve.Axis)
		}
		onto.Project(&p, r.Curve.Samples)
		e.Evaluate(&p, &assay.Given{}, &seen)
		light := seen.XYZ.Y
		if light != light {
			return nil // a sample is missing
		}
		all := []notebook.Value{{Key: LightKey, V: &light}}
		if p.Negative > mostNegative {
			return all
		}
		for _, one := range []struct {
			key, unit string
			id        quantity.ID
		}{{CCTKey, "K", quantity.CCT}, {DuvKey, "", quantity.Duv}} {
			if v, ok := seen.Value(one.id); ok {
				all = append(all, notebook.Value{Key: one.key, V: &v, Unit: one.unit})
			}
		}
		return all
	}
}
