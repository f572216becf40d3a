package assay

import (
	"lampassay/assay/conformity"
	"lampassay/assay/quantity"
	"lampassay/light/colorimetry"
	"lampassay/light/emission"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
)

// MethodVersion names the set of methods that produced a figure. It changes
// when any figure could.
const MethodVersion = "1"

// Optional is a figure that may not have been measured.
type Optional struct {
	Value float64
	Known bool
}

// Measured returns a known figure.
func Measured(v float64) Optional { return Optional{v, true} }

// Given is what was measured or stated beside the spectrum.
type Given struct {
	Flux       Optional // total luminous flux, lm (the useful flux of a directional lamp)
	Power      Optional // at the mains, W
	PowerLamp  Optional // at the lamp's terminals, W
	Adaptation Optional // photopic adaptation luminance, cd/m²
	// Source is the type of light source for the energy class.
	Source conformity.LightSource
	// Law says which rules are asked and what they ask beside light and power;
	// nil for the rules that have no end and nothing beside.
	Law *conformity.Question
}

// Result is everything computed from one spectrum. The zero value is ready for
// [Evaluator.Evaluate].
type Result struct {
	Given    Given
	Quantity spectrum.Quantity // what the spectrum's ordinate was

	values  [quantity.Count]float64
	reasons [quantity.Count]Reason

	XYZ, XYZ10 colorimetry.XYZ // raw sums, unit of the spectrum times nm
	CRI        rendition.CRI   // meaningful where ra has a value
	TM30       rendition.TM30  // meaningful where rf has a value
	// Monochromatic is the largest share of the visible radiation within any
	// 20 nm.
	Monochromatic float64
	// From and To are the covered range in nm, Step and Pitch as in
	// [spectrum.Projected].
	From, To float64
	Pitch    float64
	Negative float64
	Kind     spectrum.Projection
	missing  [weightingCount]float64
	// Watts says where the power goes, where both ends are known.
	Watts Watts
	// Emission is what makes the light, for the findings, where the caller has
	// had the spectrum analysed; Evaluate leaves it nil.
	Emission *emission.Result
	// Uncertainty says how sure the figures are, where the caller has had them
	// assessed; Evaluate leaves it nil.
	Uncertainty *Uncertainty
}

// Watts splits the power at the mains, or at the lamp where that is all that
// was measured. All are in W; Known tells whether they could be had.
type Watts struct {
	Known  bool
	AtLamp bool    // the total is the power at the lamp
	Total  float64 // measured
	Light  float64 // radiated within 380–780 nm
	Other  float64 // radiated elsewhere within the covered range
	Gear   float64 // lost between mains and lamp, where both were measured
	Rest   float64 // everything else: heat, gear not measured, radiation not covered
}

// Value returns a quantity and whether it has a value, inside its method's
// scope or not.
func (r *Result) Value(id quantity.ID) (float64, bool) {
	return r.values[id], r.reasons[id].hasValue()
}

// InScope reports whether the quantity has a value that its method stands for.
func (r *Result) InScope(id quantity.ID) bool { return r.reasons[id] == defined }

// IsMonochromatic reports whether the light is predominantly monochromatic by
// this project's own limit: 90 % of the visible radiation within 20 nm.
func (r *Result) IsMonochromatic() bool { return r.Monochromatic >= monochromaticShare }

// Reason returns why a quantity has no value or is outside its method's scope.
func (r *Result) Reason(id quantity.ID) Reason { return r.reasons[id] }

func (r *Result) set(id quantity.ID, v float64) { r.values[id], r.reasons[id] = v, defined }

func (r *Result) refuse(why Reason, ids ...quantity.ID) {
	for _, id := range ids {
		r.values[id], r.reasons[id] = 0, why
	}
}
