package rendition

import (
	"math"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Where the reference passes from blackbody to daylight, K.
const (
	criDaylightFrom = 5000 // CIE 13.3-1995
	ssiDaylightFrom = 4000 // SMPTE ST 2122
	blendFrom       = 4000 // CIE 224:2017: blackbody up to here,
	blendTo         = 5000 // daylight from here on, a straight mixture between
	daylightTo      = 25000
)

// HasReference reports whether there is reference light of a correlated colour
// temperature in K: CIE daylight ends at 25 000 K.
func HasReference(cct float64) bool { return cct > 0 && cct <= daylightTo }

// Reference lights are kept at whole nanometres, with room on either side of
// the samples' range for the bins of a table at up to 20 nm.
const (
	lightFirst = 350
	lightLen   = 790 - lightFirst + 1
)

// light is a projection bᵢ at the whole nanometres from lightFirst.
type light [lightLen]float64

// radiators holds what the reference lights are made of.
type radiators struct {
	lambda5 light    // (λ/560 nm)⁻⁵
	c2      light    // c2/λ, K
	atNodes [3]light // S0, S1, S2 of daylight
	asCurve [3]light // the same, projected as a curve read between its samples
}

func newRadiators() *radiators {
	r := new(radiators)
	d := standards.Daylight()
	for i := range lightLen {
		nm := float64(lightFirst + i)
		r.lambda5[i] = math.Pow(nm/560, -5)
		r.c2[i] = standards.C2 / (nm * 1e-9)
		for c, w := range []*spectrum.Weighting{d.S0, d.S1, d.S2} {
			r.atNodes[c][i] = w.At(nm)
			// ∫ S hat dλ for a curve straight between whole nanometres.
			r.asCurve[c][i] = (w.At(nm-1) + 4*w.At(nm) + w.At(nm+1)) / 6
		}
	}
	return r
}

// reference makes reference light to stand beside one test spectrum after
// another. It keeps the last, which the methods ask for in turn.
type reference struct {
	radiators *radiators
	all       map[sums]charts
	charts    charts // those of the key's sums, where there are any
	key       referenceKey
	mass      light // what each whole nanometre counts in a sum

	planck, day       light
	hasPlanck, hasDay bool
}

// referenceKey is all that a reference light depends on.
type referenceKey struct {
	cct float64
	sums
}

// sums is how a test spectrum is summed: its projection, the distance in nm of
// the nodes, and how far beyond a multiple of it they lie.
type sums struct {
	kind        spectrum.Projection
	step, phase int
}

// at turns to the reference of a test spectrum.
func (r *reference) at(p *spectrum.Projected, cct float64) {
	if !HasReference(cct) {
		cct = math.NaN() // which carries through every sum
	}
	step := max(p.Step, 1)
	r.turn(referenceKey{cct, sums{p.Kind, step, int(p.From) % step}})
}

func (r *reference) turn(key referenceKey) {
	if key == r.key {
		return
	}
	if key.sums != r.key.sums {
		r.charts = r.all[key.sums]
		clear(r.mass[:])
		first := (key.phase - lightFirst%key.step + key.step) % key.step
		for i := first; i < lightLen; i += key.step {
			r.mass[i] = float64(key.step)
		}
	}
	r.key, r.hasPlanck, r.hasDay = key, false, false
}

// light returns the reference of a method that turns to daylight at the given
// temperature.
func (r *reference) light(daylightFrom float64) *light {
	if r.key.cct >= daylightFrom {
		return r.daylight()
	}
	return r.blackbody()
}

// blackbody returns Planckian light, as in [standards.Planck] but for a factor.
// Beside a curve too it is taken at whole nanometres: what it bends within one
// moves no index by 0.002 from 2000 K up.
func (r *reference) blackbody() *light {
	if !r.hasPlanck {
		for i, m := range r.mass {
			if m != 0 {
				m *= r.radiators.lambda5[i] / (math.Exp(r.radiators.c2[i]/r.key.cct) - 1)
			}
			r.planck[i] = m
		}
		r.hasPlanck = true
	}
	return &r.planck
}

// daylight returns CIE daylight, M1 and M2 unrounded.
func (r *reference) daylight() *light {
	if !r.hasDay {
		s := &r.radiators.atNodes
		if r.key.kind == spectrum.Sampled {
			s = &r.radiators.asCurve
		}
		m1, m2 := standards.DaylightWeightsAt(r.key.cct)
		for i, m := range r.mass {
			r.day[i] = m * (s[0][i] + m1*s[1][i] + m2*s[2][i])
		}
		r.hasDay = true
	}
	return &r.day
}

// from returns the light from a wavelength in nm on.
func (l *light) from(nm int) []float64 { return l[nm-lightFirst:] }
