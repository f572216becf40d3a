package assay

import (
	"fmt"

	"lampassay/assay/quantity"
)

// Reason says why a quantity has no value, or why its value is outside its
// method's scope.
type Reason uint8

// The reasons.
const (
	defined Reason = iota // it has a value and nothing is wrong

	// With a value, outside the method's scope.
	farFromReference
	monochromatic

	// Without a value.
	notMeasured
	noScale
	wrongScale
	sumsToNothing
	rangeMissesV
	rangeMissesObserver
	rangeMissesWeighting
	rangeMissesSSI
	rangeMissesBand
	rangeMissesPhotons
	noCCT
	noReference
	beyondReference
	achromatic
	noHalfHeight
	noTable
	notComputable
)

func (r Reason) hasValue() bool { return r <= monochromatic }

// namesQuantity reports whether the sentence of [Result.Why] turns on the
// quantity, and not on the result alone.
func (r Reason) namesQuantity() bool {
	return r == notMeasured || r == wrongScale || r == rangeMissesWeighting
}

// Why returns the sentence behind [Result.Reason], "" where there is nothing to
// explain.
func (r *Result) Why(id quantity.ID) string {
	d := quantity.Get(id)
	switch r.reasons[id] {
	case farFromReference:
		return fmt.Sprintf("outside the method's scope: the light is %.4f in u,v from its reference, and CIE 13.3 asks for at most %.4f", r.CRI.DeltaC, criLimit)
	case monochromatic:
		return fmt.Sprintf("outside the method's scope: the light is predominantly monochromatic (%.0f %% of the visible radiation within %d nm)", 100*r.Monochromatic, monochromaticWindow)
	case notMeasured:
		switch id {
		case quantity.Power:
			return "no power at the mains was given"
		case quantity.PowerLamp:
			return "no power at the lamp was given"
		case quantity.LuminousEfficacy, quantity.LampEfficacy, quantity.RadiantEfficiency:
			return "needs both a flux and a power; " + r.lacking()
		case quantity.MesopicLuminance:
			return "no adaptation luminance was given"
		}
		return "not measured"
	case noScale:
		return "needs an absolute scale: the spectrum is " + r.Quantity.String() + " and no luminous flux was given"
	case wrongScale:
		return "needs another kind of spectrum than " + r.Quantity.String() + ": " + d.Scope
	case sumsToNothing:
		return "the spectrum sums to zero or less where this quantity looks"
	case rangeMissesV:
		return r.missingSentence(weightV)
	case rangeMissesObserver:
		return r.missingSentence(r.worstObserver())
	case rangeMissesWeighting:
		return r.missingSentence(weightingOf(id))
	case rangeMissesSSI:
		return fmt.Sprintf("the index looks at 375–675 nm and the spectrum covers only %.4g–%.4g nm", r.From, r.To)
	case rangeMissesBand:
		return fmt.Sprintf("the spectrum covers only %.4g–%.4g nm, nothing of this band", r.From, r.To)
	case rangeMissesPhotons:
		return fmt.Sprintf("the sum runs from 400 to 700 nm and the spectrum covers only %.4g–%.4g nm", r.From, r.To)
	case noCCT:
		return fmt.Sprintf("not defined this far from the Planckian locus: |Duv| is %.3f, and CIE 15 stops at %.2f", abs(r.values[quantity.Duv]), cctLimit)
	case noReference:
		return "there is no reference light without a correlated colour temperature"
	case beyondReference:
		return "the colour temperature lies outside what reference light is defined for"
	case achromatic:
		return "the chromaticity is the achromatic point itself, so no hue is dominant"
	case noHalfHeight:
		return "the tallest feature does not fall to half its height on both sides within the covered range"
	case noTable:
		return "no published table of sample 15 (JIS Z 8726) is carried"
	case notComputable:
		return "the arithmetic has no answer for this spectrum, which is negative where it should not be"
	}
	return ""
}

// lacking names which of flux and power is not there.
func (r *Result) lacking() string {
	_, flux := r.Value(quantity.LuminousFlux)
	switch {
	case !flux && !r.Given.Power.Known && !r.Given.PowerLamp.Known:
		return "neither was given"
	case !flux:
		return "no flux was given"
	}
	return "no such power was given"
}

func (r *Result) missingSentence(w weightingIndex) string {
	return fmt.Sprintf("%.2g %% of %s lies outside the covered %.4g–%.4g nm", 100*r.missing[w], weightings()[w].name, r.From, r.To)
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}
