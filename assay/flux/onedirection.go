package flux

import (
	"context"
	"fmt"
	"math"

	"lampassay/assay/uncertainty"
	"lampassay/light/distribution"
	"lampassay/light/photometry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// OneDirection is illuminance in one direction, which a beam that is assumed turns
// into flux. The assumption is most of its uncertainty.
type OneDirection struct {
	Lux     []float64 // at Distance; repeats are averaged
	Ambient float64   // lx with the direct light blocked
	Meter   LightMeter

	Distance  float64 // m
	DistanceU Part    // its standard uncertainty, in m
	Model     distribution.Model
	ModelU    Part // of the flux for a given intensity; see [ModelUncertainty]
	// Size of the lamp in m and its shape, as far as known.
	Size  float64
	Shape distribution.Shape
}

// ModelUncertainty is how far a lamp's flux lies from what a beam model makes of
// its intensity: an own estimate, and a large one.
func ModelUncertainty() Part {
	return fromClass(uncertainty.OneDirection(uncertainty.White), uncertainty.AssumedBeam)
}

// ambientU is the share of a reading that ambient light may be, where it was not
// read.
func ambientU() Part {
	return fromClass(uncertainty.OneDirection(uncertainty.White), uncertainty.Ambient)
}

// Assess finds the flux.
func (d *OneDirection) Assess(ctx context.Context, o uncertainty.Options) (*Result, error) {
	e := new(equation)
	lux, err := e.repeated("illuminance", d.Lux, d.Meter.Reading)
	if err != nil {
		return nil, err
	}
	if !(d.Ambient >= 0) || math.IsInf(d.Ambient, 0) {
		return nil, fmt.Errorf("flux: %g lx of ambient light: a light meter reads zero or more", d.Ambient)
	}
	scale := e.factor(uncertainty.LightMeterScale, d.Meter.Scale)
	cosine := e.factor(uncertainty.Cosine, d.Meter.Cosine)
	mismatch := d.Meter.Mismatch.input(e)
	ambient := e.input(uncertainty.Ambient, "", uncertainty.Normal(d.Ambient, leftover*d.Ambient), uncertainty.OwnEstimate)
	if d.Ambient == 0 {
		p := ambientU()
		e.inputs[ambient].Distribution, e.inputs[ambient].Source = uncertainty.Normal(0, p.U*e.inputs[lux].Distribution.Mean()), p.Source
	}
	beam, err := d.beam(e)
	if err != nil {
		return nil, err
	}
	r, _, err := e.assess(ctx, o, "lux in one direction, beam assumed", 1, func(x, y []float64) {
		y[0] = (x[lux] - x[ambient]) * x[scale] * x[cosine] * x[mismatch] * beam(x)
	})
	if err != nil {
		return nil, err
	}
	d.Meter.Mismatch.explain(r)
	d.explain(r)
	if d.Ambient == 0 {
		r.caution("No ambient reading: read once more with a small mask that hides only the lamp, and take that off.")
	}
	return r, nil
}

// beam adds what turns illuminance into flux, and returns it as a function of the
// inputs, in m² (lm for each lx).
func (d *OneDirection) beam(e *equation) (func(x []float64) float64, error) {
	if !(d.Distance > 0) || math.IsInf(d.Distance, 0) {
		return nil, fmt.Errorf("flux: a distance of %g m: it must be above zero", d.Distance)
	}
	if !(d.Size >= 0) || math.IsInf(d.Size, 0) {
		return nil, fmt.Errorf("flux: a lamp of %g m: its size is zero or more", d.Size)
	}
	if !(d.Model.PerCandela() > 0) {
		return nil, fmt.Errorf("flux: no beam was stated, and one direction alone says nothing of the others")
	}
	distance := e.input(uncertainty.Distance, "m", uncertainty.Normal(d.Distance, d.DistanceU.U), d.DistanceU.Source)
	assumed := e.factor(uncertainty.AssumedBeam, d.ModelU)
	point := e.size(tooLow(d.Shape, d.Size, d.Distance))
	k := d.Model.PerCandela()
	return func(x []float64) float64 { return x[distance] * x[distance] * k * x[assumed] * (1 + x[point]) }, nil
}

// tooLow is the part of E d² by which it falls short of the intensity of a matt
// surface.
func tooLow(s distribution.Shape, size, distance float64) float64 {
	return 1/distribution.Ratio(s, size, distance) - 1
}

// explain says what was assumed.
func (d *OneDirection) explain(r *Result) {
	r.reason("One direction, and the beam is taken as %s: %.4g lm for each candela. ± %.2g %% stands for that assumption.", d.Model, d.Model.PerCandela(), 100*d.ModelU.U)
	r.caution("Nothing was measured in any other direction. Lux over angles would show what the beam is.")
	switch err := tooLow(d.Shape, d.Size, d.Distance); {
	case d.Size == 0:
		r.caution("The lamp's size was not stated: whether %.3g m is far enough was not checked.", d.Distance)
	case err > 0.01:
		r.caution("At %.3g m a matt luminous %s of %.3g m reads low: %.2g %% was added, and may be wrong by as much; 1 %% takes %.3g m.", d.Distance, d.Shape, d.Size, 100*err, distribution.LeastDistance(d.Shape, d.Size, 0.01))
	}
}

// Irradiance is OneDirection with a spectrometer for a meter: its spectrum is in
// W/(m² nm), and gives the illuminance without a mismatch.
type Irradiance struct {
	Spectrum *spectrum.Projected // W/(m² nm)
	Scale    Part                // of the spectrometer's absolute scale
	// Distance and what follows are OneDirection's; its Lux and Meter do not count.
	OneDirection
}

// ScaleOf is the absolute scale of a class of spectrometer.
func ScaleOf(s uncertainty.Spectrometer) Part { return Part{s.Scale.U(), s.Source} }

// mostUnseen is the share of V(λ) that a spectrum may leave unseen, as package
// mismatch has it.
const mostUnseen = 0.01

// Illuminance returns Km ∫ E V dλ in lx (ISO/CIE 23539:2023). It fails where the
// spectrum is not an irradiance, or leaves more than 1 % of V(λ) unseen.
func Illuminance(p *spectrum.Projected) (float64, error) {
	if p.Quantity != spectrum.Irradiance {
		return 0, fmt.Errorf("flux: the spectrum is %s, and this route needs irradiance in W/(m² nm)", p.Quantity)
	}
	if missing := standards.V().Missing(p.Extent()); missing > mostUnseen {
		return 0, fmt.Errorf("flux: the spectrum covers only %.4g–%.4g nm, and %.2g %% of V(λ) lies outside", p.From, p.To, 100*missing)
	}
	return photometry.Km * standards.V().Of(p), nil
}

// Assess finds the flux.
func (s *Irradiance) Assess(ctx context.Context, o uncertainty.Options) (*Result, error) {
	lux, err := Illuminance(s.Spectrum)
	if err != nil {
		return nil, err
	}
	if !(lux > 0) {
		return nil, fmt.Errorf("flux: the spectrum sums to %g lx", lux)
	}
	e := new(equation)
	illuminance := e.input("illuminance", "lx", uncertainty.Exact(lux), "")
	scale := e.factor(uncertainty.AbsoluteScale, s.Scale)
	cosine := e.factor(uncertainty.Cosine, s.Meter.Cosine)
	ambient := e.factor(uncertainty.Ambient, ambientU())
	beam, err := s.beam(e)
	if err != nil {
		return nil, err
	}
	r, _, err := e.assess(ctx, o, "absolute spectral irradiance in one direction, beam assumed", 1, func(x, y []float64) {
		y[0] = x[illuminance] * x[scale] * x[cosine] * x[ambient] * beam(x)
	})
	if err != nil {
		return nil, err
	}
	r.reason("The spectrum sums to %.4g lx, with V(λ) itself: there is no spectral mismatch.", lux)
	s.explain(r)
	return r, nil
}
