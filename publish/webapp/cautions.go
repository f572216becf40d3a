package webapp

import (
	"lampassay/bench/caution"
	"lampassay/bench/notebook"
)

// family is a kind of lamp as far as handling goes: what to beware of, and what a
// sitting with it has to wait for.
type family struct{ *caution.Advice }

// familyOf finds the family of a technology by its words; more are what else the lamp
// may be.
func familyOf(technology string, more ...string) *family {
	return &family{caution.For(technology, more...)}
}

// familyOfLamp finds it by all that is written about a lamp.
func familyOfLamp(l *notebook.Lamp) *family { return &family{caution.Of(l)} }

// checklist are the steps of a sitting with a lamp of this family: common practice.
func (f *family) checklist() []string {
	return []string{
		"Read the cautions above, and know where to switch off",
		"Lamp in its burning position, and its distance to the sensor measured",
		"Room dark, nothing bright or shiny in sight of the sensor",
		"Air still and near 25 °C, thermometer out of the beam",
		"Spectrometer: dark taken, no pixel saturated",
		"Light meter: zero checked with the sensor covered",
		f.WarmUp,
		"Light and watts read at the same moment",
		"Refit the lamp and read again",
	}
}

// familyNames are what is suggested as a lamp's technology.
func familyNames() []string { return caution.Names() }

// allFamilies are the kinds of lamp as the help page lists them: each with its
// cautions, and last what is not known.
func allFamilies() (all []*family) {
	for _, name := range append(familyNames(), "") {
		all = append(all, familyOf(name))
	}
	return all
}
