package conformity

import (
	"fmt"
	"slices"
	"sync"
)

// EnergyClassSource is the regulation that [EnergyClass] comes from.
const EnergyClassSource = "Regulation (EU) 2019/2015, Annex II"

// labelling is the carried regulation behind the functions here.
var labelling = sync.OnceValue(func() *Regulation { return carried("Regulation (EU) 2019/2015") })

// FTM returns the factor F_TM of Regulation (EU) 2019/2015 Annex II Table 2.
func (s LightSource) FTM() float64 { return labelling().EfficacyClasses.Factors.of(s) }

// EnergyClass returns the class of Regulation (EU) 2019/2015 for a useful
// luminous flux Φ_use in lm and an on-mode power P_on in W. It fails unless both
// are positive.
func EnergyClass(flux, power float64, s LightSource) (Class, error) {
	return labelling().EfficacyClasses.class(&Lamp{Source: s, Flux: flux, Power: power})
}

// ClassFloor returns the least η_TM of a class of Regulation (EU) 2019/2015, in
// lm/W; false where there is no such class.
func ClassFloor(letter string) (float64, bool) {
	for _, c := range labelling().EfficacyClasses.Classes {
		if c.Class == letter {
			return c.From, true
		}
	}
	return 0, false
}

// admits tells whether something is a "light source" at all: chromaticity, flux and
// colour rendering. The answer is nil, or an error that says which bound is broken.
// A lamp without an Ra is judged by the other bounds.
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

// carried returns a regulation of [Builtin] by name.
func carried(name string) *Regulation {
	r := Builtin().regulations
	return &r[slices.IndexFunc(r, func(g Regulation) bool { return g.Name == name })]
}

// LargestPower returns the largest on-mode power in W that Regulation (EU)
// 2019/2020 allows a lamp now, by its technology, type, flux, Ra and features.
func LargestPower(l *Lamp) (float64, error) {
	return carried("Regulation (EU) 2019/2020").PowerLimit.max(l, "")
}

// LeastGear returns the least efficiency at full load that Regulation (EU)
// 2019/2020 asks of separate gear for a group of technologies and a power at the
// lamp in W; false where it asks none.
func LeastGear(group string, power float64) (float64, bool) {
	return carried("Regulation (EU) 2019/2020").Gear.least(group, power)
}

// PeriodClass returns the class of Regulation (EU) No 874/2012, which labels
// bore from 2013-09-01 until 2021-08-31.
func PeriodClass(l *Lamp) (Class, error) {
	return carried("Regulation (EU) No 874/2012").IndexClasses.class(l)
}

// IncandescentEqual returns the watts of the incandescent lamp that a
// non-directional light source of a flux in lm may be said to equal (Regulation
// (EU) 2019/2015 Table 7); false outside the table.
func IncandescentEqual(flux float64) (float64, bool) { return labelling().Equivalence.watts(flux) }
