package conformity

import (
	"errors"
	"fmt"
)

// EnergyClassSource is the regulation that the energy class comes from.
const EnergyClassSource = "Regulation (EU) 2019/2015, Annex II"

// LightSource is what the regulation asks of a lamp's type before its figures
// count.
type LightSource struct {
	// Directional: at least 80 % of the flux within a cone of π sr (120°).
	Directional bool
	// Mains: operated directly on the mains (MLS), gear and all; otherwise the
	// light source needs separate gear (NMLS).
	Mains bool
}

// String returns the regulation's abbreviations, such as "NDLS, MLS".
func (s LightSource) String() string {
	a, b := "NDLS", "NMLS"
	if s.Directional {
		a = "DLS"
	}
	if s.Mains {
		b = "MLS"
	}
	return a + ", " + b
}

// FTM returns the factor F_TM of Annex II Table 2.
func (s LightSource) FTM() float64 {
	switch {
	case s.Directional && s.Mains:
		return 1.176
	case s.Directional:
		return 1.089
	case s.Mains:
		return 1
	}
	return 0.926
}

// Class is an energy class with what it rests on.
type Class struct {
	Letter string  // "A" to "G"
	EtaTM  float64 // total mains efficacy η_TM, lm/W
	// Next is the next better class, "" for A, and LessPower the share of the
	// power, 0 to 1, that would have to go at the same flux to reach it.
	Next      string
	LessPower float64
}

// The class boundaries of Annex II Table 1, best first; a boundary belongs to
// the better class.
var classes = [...]struct {
	letter string
	from   float64
}{{"A", 210}, {"B", 185}, {"C", 160}, {"D", 135}, {"E", 110}, {"F", 85}, {"G", 0}}

// EnergyClass returns the class for a useful luminous flux Φ_use in lm and an
// on-mode power P_on in W. No rounding comes between, since the regulation names
// none for η_TM. It fails unless both are positive.
func EnergyClass(flux, power float64, s LightSource) (Class, error) {
	if !(flux > 0) || !(power > 0) {
		return Class{}, errors.New("conformity: an energy class needs a positive flux and a positive power")
	}
	eta := flux / power * s.FTM()
	// The product of decimal figures such as 1000/5·0.926 lands a rounding
	// error beside the boundary it is meant to meet.
	const slack = 1e-9
	for i, c := range classes {
		if eta >= c.from*(1-slack) {
			cl := Class{Letter: c.letter, EtaTM: eta}
			if i > 0 {
				cl.Next, cl.LessPower = classes[i-1].letter, 1-eta/classes[i-1].from
			}
			return cl, nil
		}
	}
	return Class{}, fmt.Errorf("conformity: no class for %g lm/W", eta)
}

// LightSourceScope tells whether something is a "light source" at all in the
// sense of Regulation (EU) 2019/2015 Annex I and 2019/2020: chromaticity,
// flux and colour rendering. The answer is nil, or an error that says which
// bound is broken.
func LightSourceScope(x, y, flux, ra float64) error {
	const source = "outside the regulation's definition of a light source"
	lower := -2.3172*x*x + 2.3653*x - 0.2199
	upper := lower + 0.2199 - 0.1595
	switch {
	case !(x > 0.270 && x < 0.530):
		return fmt.Errorf("%s: x = %.4f is not between 0.270 and 0.530", source, x)
	case !(y > lower && y < upper):
		return fmt.Errorf("%s: y = %.4f is not between %.4f and %.4f at this x", source, y, lower, upper)
	case !(flux > 60 && flux < 82000):
		return fmt.Errorf("%s: %.4g lm is not between 60 and 82 000 lm", source, flux)
	case !(ra > 0):
		return fmt.Errorf("%s: the colour rendering index is not above 0", source)
	}
	return nil
}
