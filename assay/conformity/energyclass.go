package conformity

import (
	"fmt"
	"slices"
	"sync"
)

// EnergyClassSource is the regulation that [EnergyClass] comes from.
const EnergyClassSource = "Regulation (EU) 2019/2015, Annex II"

// labelling is the carried regulation behind the functions here.
var labelling = sync.OnceValue(func() *Regulation {
	r := Builtin().regulations
	return &r[slices.IndexFunc(r, func(g Regulation) bool { return g.Name == "Regulation (EU) 2019/2015" })]
})

// FTM returns the factor F_TM of Regulation (EU) 2019/2015 Annex II Table 2.
func (s LightSource) FTM() float64 { return labelling().EfficacyClasses.Factors.of(s) }

// EnergyClass returns the class of Regulation (EU) 2019/2015 for a useful
// luminous flux Φ_use in lm and an on-mode power P_on in W. It fails unless both
// are positive.
func EnergyClass(flux, power float64, s LightSource) (Class, error) {
	return labelling().EfficacyClasses.class(&Lamp{Source: s, Flux: flux, Power: power})
}

// LightSourceScope tells whether something is a "light source" at all in the
// sense of Regulations (EU) 2019/2015 and 2019/2020: chromaticity, flux and
// colour rendering. The answer is nil, or an error that says which bound is
// broken.
func LightSourceScope(x, y, flux, ra float64) error {
	return labelling().Scope.admits(&Lamp{X: x, Y: y, Flux: flux, Measured: map[Figure]float64{"ra": ra}})
}

// admits returns nil for a light source within the definition. A lamp without an
// Ra is judged by the other bounds.
func (s *Scope) admits(l *Lamp) error {
	const outside = "outside the regulation's definition of a light source"
	curve := (s.Y[0]*l.X + s.Y[1]) * l.X
	lower, upper := curve+s.YOffset[0], curve+s.YOffset[1]
	ra, indexed := l.Measured["ra"]
	anyColour := slices.Contains(s.AnyColour, l.Technology)
	switch {
	case !anyColour && !(l.X > s.X[0] && l.X < s.X[1]):
		return fmt.Errorf("%s: x = %.4f is not between %.3f and %.3f", outside, l.X, s.X[0], s.X[1])
	case !anyColour && !(l.Y > lower && l.Y < upper):
		return fmt.Errorf("%s: y = %.4f is not between %.4f and %.4f at this x", outside, l.Y, lower, upper)
	case !(l.Flux > s.Flux[0] && l.Flux < s.Flux[1]):
		return fmt.Errorf("%s: %.4g lm is not between %.0f and %.0f lm", outside, l.Flux, s.Flux[0], s.Flux[1])
	case indexed && !(ra > s.RaAbove):
		return fmt.Errorf("%s: the colour rendering index is not above %g", outside, s.RaAbove)
	}
	return nil
}
