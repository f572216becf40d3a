package flux

import (
	"context"
	"fmt"
	"math"

	"lampassay/assay/uncertainty"
)

// Substitution is a sphere or a white box: the lamp's light on the wall against
// that of a reference lamp in its place. Readings are of any linear meter, in its
// own unit, all in the same.
type Substitution struct {
	Reference  float64 // flux of the reference lamp, lm
	ReferenceU Part

	Lamp, Standard []float64 // the meter with the lamp, and with the reference lamp; repeats after refitting
	Dark           float64   // the meter with both off
	// AuxiliaryLamp and AuxiliaryStandard are readings of an auxiliary lamp that
	// burns while the lamp, or the reference lamp, is in place and off. Empty where
	// there is none: then nothing is corrected for what the lamps absorb.
	AuxiliaryLamp, AuxiliaryStandard []float64

	Reading    Part     // of a single reading
	Mismatch   Mismatch // lamp against reference lamp, of sphere and meter together
	Absorption Part     // self-absorption, or what the auxiliary lamp leaves of it
	Uniformity Part     // light to other parts of the wall than the reference lamp's
}

// How much self-absorption may err the flux where it was not measured, and what an
// auxiliary lamp leaves of it: own estimates.
const (
	notCorrected = 0.03
	corrected    = 0.005
)

// SubstitutionFor is a home-made sphere or box for a type of lamp, with a
// reference lamp of a relative standard uncertainty: about 0.015 with a
// certificate, 0.06 with the label of its box.
func SubstitutionFor(lamp uncertainty.Lamp, referenceU Part, auxiliary bool) Substitution {
	class := uncertainty.Sphere(lamp, referenceU.U)
	s := Substitution{
		ReferenceU: referenceU,
		Reading:    Estimated(0.005),
		Absorption: Estimated(notCorrected),
		Uniformity: fromClass(class, uncertainty.Uniformity),
	}
	p := fromClass(class, uncertainty.SpectralMismatch)
	s.Mismatch = Mismatch{1, p.U, math.NaN(), p.Source}
	if auxiliary {
		s.Absorption = Estimated(corrected)
	}
	return s
}

// Assess finds the flux: Φ = Φref (y − y₀)/(yref − y₀) F/α with α = (a − a₀)/(aref −
// a₀), the ratio of the auxiliary lamp's readings (ANSI/IES LM-79-08, from memory).
func (s *Substitution) Assess(ctx context.Context, o uncertainty.Options) (*Result, error) {
	if !(s.Reference > 0) || math.IsInf(s.Reference, 0) {
		return nil, fmt.Errorf("flux: a reference lamp of %g lm: it must be above zero", s.Reference)
	}
	if (len(s.AuxiliaryLamp) == 0) != (len(s.AuxiliaryStandard) == 0) {
		return nil, fmt.Errorf("flux: the auxiliary lamp was read with only one of the two lamps in place: it takes both")
	}
	e := new(equation)
	reference := e.input(uncertainty.ReferenceFlux, "lm", uncertainty.Normal(s.Reference, s.ReferenceU.U*s.Reference), s.ReferenceU.Source)
	lamp, err := e.repeated("reading of the lamp", s.Lamp, s.Reading)
	if err != nil {
		return nil, err
	}
	standard, err := e.repeated("reading of the reference lamp", s.Standard, s.Reading)
	if err != nil {
		return nil, err
	}
	least := min(e.inputs[lamp].Distribution.Mean(), e.inputs[standard].Distribution.Mean())
	if !(s.Dark >= 0 && s.Dark < least) {
		return nil, fmt.Errorf("flux: a dark reading of %g, and the lamps read from %g: it must be zero or more and below them", s.Dark, least)
	}
	auxLamp, auxStandard := -1, -1
	if len(s.AuxiliaryLamp) > 0 {
		if auxLamp, err = e.repeated("auxiliary lamp, lamp in place", s.AuxiliaryLamp, s.Reading); err != nil {
			return nil, err
		}
		if auxStandard, err = e.repeated("auxiliary lamp, reference in place", s.AuxiliaryStandard, s.Reading); err != nil {
			return nil, err
		}
		least := min(e.inputs[auxLamp].Distribution.Mean(), e.inputs[auxStandard].Distribution.Mean())
		if !(least > s.Dark) {
			return nil, fmt.Errorf("flux: the auxiliary lamp reads %g, which is not above the dark reading of %g", least, s.Dark)
		}
	}
	mismatch := s.Mismatch.input(e)
	absorption := e.factor(uncertainty.SelfAbsorption, s.Absorption)
	uniformity := e.factor(uncertainty.Uniformity, s.Uniformity)
	r, _, err := e.assess(ctx, o, "sphere or box against a reference lamp", 1, func(x, y []float64) {
		alpha := 1.0
		if auxLamp >= 0 {
			alpha = (x[auxLamp] - s.Dark) / (x[auxStandard] - s.Dark)
		}
		y[0] = x[reference] * (x[lamp] - s.Dark) / (x[standard] - s.Dark) / alpha * x[mismatch] * x[absorption] * x[uniformity]
	})
	if err != nil {
		return nil, err
	}
	s.explain(r, e, auxLamp, auxStandard)
	return r, nil
}

func (s *Substitution) explain(r *Result, e *equation, auxLamp, auxStandard int) {
	if auxLamp >= 0 {
		alpha := (e.inputs[auxLamp].Distribution.Mean() - s.Dark) / (e.inputs[auxStandard].Distribution.Mean() - s.Dark)
		r.reason("With the lamp in place the auxiliary lamp reads %.4g of what it reads with the reference lamp: the flux is divided by that (LM-79).", alpha)
		if alpha < 0.7 || alpha > 1.4 {
			r.caution("The two lamps absorb very differently (α = %.2g): a reference lamp of the same shape as the lamp would take most of this correction away.", alpha)
		}
	} else {
		r.reason("No auxiliary lamp: nothing is corrected for what lamp and reference lamp absorb, and ± %.2g %% stands for it.", 100*s.Absorption.U)
		r.caution("A dark cap of 1 %% of the wall takes 6 %% to 11 %% of the light in a white sphere, by how white it is: read an auxiliary lamp with each lamp in place, unlit.")
	}
	if math.IsNaN(s.Mismatch.F1Prime) {
		r.reason("No response curve: nothing is corrected for the colour of meter and wall, and ± %.2g %% stands for it.", 100*s.Mismatch.U)
	} else {
		r.reason("For this lamp against the reference lamp the meter's readings are multiplied by %.4g (ISO/CIE 19476:2014).", s.Mismatch.Factor)
	}
	if len(s.Lamp) < 2 || len(s.Standard) < 2 {
		r.caution("One reading is not repeatability: take the lamp out, put it back and read again, a few times.")
	}
	r.caution("Foam and many paints soften, smoke or burn when hot: a lamp that gets hot does not belong in a foam sphere. Local codes and the makers' instructions come first.")
}
