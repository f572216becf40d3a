package flux

import (
	"fmt"
	"math"

	"lampassay/assay/uncertainty"
	"lampassay/light/mismatch"
	"lampassay/light/spectrum"
)

// LightMeter is what is believed of a light meter.
type LightMeter struct {
	Scale    Part // its calibration
	Cosine   Part // acceptance by the cosine, and pointing
	Reading  Part // of each reading for itself: display and noise
	Mismatch Mismatch
}

// MeterFor is a hand-held light meter with its maker's adjustment and no response
// curve, for a type of lamp.
func MeterFor(lamp uncertainty.Lamp) LightMeter {
	class := uncertainty.LuxOverAngles(lamp)
	return LightMeter{
		Scale:    fromClass(class, uncertainty.LightMeterScale),
		Cosine:   fromClass(class, uncertainty.Cosine),
		Reading:  Estimated(0.01),
		Mismatch: MismatchByClass(lamp),
	}
}

// TableMeter stands for whatever an intensity table was measured with, of which
// nothing is known but that somebody published it.
func TableMeter() LightMeter {
	return LightMeter{Scale: Estimated(0.03), Mismatch: Mismatch{1, 0, math.NaN(), uncertainty.OwnEstimate}}
}

// Mismatch is what a light meter's response does to the reading of one lamp.
type Mismatch struct {
	Factor  float64 // a reading is multiplied by it (ISO/CIE 19476:2014)
	U       float64 // standard uncertainty of Factor
	F1Prime float64 // general mismatch index f₁′ as a fraction, NaN without a curve
	Source  string
}

// MismatchByClass corrects nothing and says how far a light meter without a
// response curve may be off on a type of lamp.
func MismatchByClass(lamp uncertainty.Lamp) Mismatch {
	p := fromClass(uncertainty.LuxOverAngles(lamp), uncertainty.SpectralMismatch)
	return Mismatch{1, p.U, math.NaN(), p.Source}
}

// How sure a measured response curve is: its wavelengths, and what is left where
// those do not matter. Own estimates.
const (
	curveWavelengthU = 1.0 // nm, standard uncertainty
	curveU           = 0.003
)

// MismatchOf corrects for a lamp by the meter's relative response at rising
// wavelengths in nm. Its uncertainty is how far the factor moves with the curve by
// a nanometre, which is much for a line on the flank of the response.
func MismatchOf(nm, response []float64, lamp *spectrum.Projected) (Mismatch, error) {
	return MismatchBetween(nm, response, lamp, nil)
}

// MismatchBetween corrects a substitution: the factor for the lamp over that for
// the reference lamp, nil for illuminant A. The response is of sphere and meter
// together.
func MismatchBetween(nm, response []float64, lamp, reference *spectrum.Projected) (Mismatch, error) {
	factor := func(shift float64) (f, f1 float64, err error) {
		moved := make([]float64, len(nm))
		for i := range nm {
			moved[i] = nm[i] + shift
		}
		r, err := mismatch.New(moved, response)
		if err != nil {
			return 0, 0, err
		}
		if f, err = r.Correction(lamp); err != nil || reference == nil {
			return f, r.F1Prime(), err
		}
		g, err := r.Correction(reference)
		return f / g, r.F1Prime(), err
	}
	m := Mismatch{Source: fmt.Sprintf("response curve, wavelengths within %g nm", curveWavelengthU)}
	var err error
	if m.Factor, m.F1Prime, err = factor(0); err != nil {
		return m, fmt.Errorf("flux: %w", err)
	}
	up, _, err := factor(curveWavelengthU)
	if err != nil {
		return m, fmt.Errorf("flux: %w", err)
	}
	down, _, err := factor(-curveWavelengthU)
	if err != nil {
		return m, fmt.Errorf("flux: %w", err)
	}
	m.U = math.Hypot((up-down)/2, curveU*m.Factor)
	return m, nil
}

// input adds the factor to an equation.
func (m *Mismatch) input(e *equation) int {
	return e.input(uncertainty.SpectralMismatch, "", uncertainty.Normal(m.Factor, m.U), m.Source)
}

// explain says what was done about the mismatch.
func (m *Mismatch) explain(r *Result) {
	if math.IsNaN(m.F1Prime) {
		r.reason("No response curve of the meter: nothing is corrected, and ± %.2g %% stands for its spectral mismatch with this type of lamp.", 100*m.U)
		return
	}
	r.reason("The meter's response has f₁′ = %.2g %%; for this lamp its readings are multiplied by %.4g (ISO/CIE 19476:2014).", 100*m.F1Prime, m.Factor)
}
