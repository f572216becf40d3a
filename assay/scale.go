package assay

import (
	"lampassay/assay/quantity"
	"lampassay/light/photometry"
	"lampassay/light/spectrum"
)

// scale finds what needs absolute figures: from the spectrum's own scale, or
// from the flux that was given.
func (e *Evaluator) scale(p *spectrum.Projected, r *Result) {
	lum := photometry.Km * r.XYZ.Y
	absolute := func(id quantity.ID, of spectrum.Quantity) {
		switch {
		case p.Quantity != of:
			r.refuse(wrongScale, id)
		case r.lacksAny(weightV):
			r.refuse(rangeMissesV, id)
		case !(lum > 0):
			r.refuse(sumsToNothing, id)
		default:
			r.set(id, lum)
		}
	}
	absolute(quantity.Illuminance, spectrum.Irradiance)
	absolute(quantity.Luminance, spectrum.Radiance)
	absolute(quantity.LuminousIntensity, spectrum.Intensity)
	for _, q := range [...][2]quantity.ID{
		{quantity.SConeEDI, quantity.SConeDER}, {quantity.MConeEDI, quantity.MConeDER}, {quantity.LConeEDI, quantity.LConeDER},
		{quantity.RhodopicEDI, quantity.RhodopicDER}, {quantity.MelEDI, quantity.MelDER},
	} {
		der, ok := r.Value(q[1])
		lux, lit := r.Value(quantity.Illuminance)
		switch {
		case !lit:
			r.refuse(r.reasons[quantity.Illuminance], q[0])
		case !ok:
			r.refuse(r.reasons[q[1]], q[0])
		default:
			r.set(q[0], der*lux)
		}
	}

	// The flux given outranks the spectrum's own scale: it was measured by
	// whatever the tester trusts for lumens.
	k := 1.0 // radiant watts per unit of the spectrum times nm
	switch {
	case r.Given.Flux.Known:
		r.set(quantity.LuminousFlux, r.Given.Flux.Value)
		k = r.Given.Flux.Value / lum
	case p.Quantity != spectrum.Flux:
		r.refuse(noScale, quantity.LuminousFlux)
	case r.lacksAny(weightV):
		r.refuse(rangeMissesV, quantity.LuminousFlux)
	case !(lum > 0):
		r.refuse(sumsToNothing, quantity.LuminousFlux)
	default:
		r.set(quantity.LuminousFlux, lum)
	}
	if _, ok := r.Value(quantity.LuminousFlux); !ok {
		r.refuse(r.reasons[quantity.LuminousFlux], quantity.RadiantFlux, quantity.PhotonFlux)
		return
	}
	if _, ok := r.Value(quantity.LER); !ok {
		r.refuse(r.reasons[quantity.LER], quantity.RadiantFlux, quantity.PhotonFlux)
		return
	}
	r.set(quantity.RadiantFlux, k*p.Total)
	r.set(quantity.PhotonFlux, k*p.Micromol)
	if why := r.reasons[quantity.PhotonEfficacy]; why != defined {
		r.refuse(why, quantity.PhotonFlux)
	}
}

// watts finds efficacies and where the power goes.
func (e *Evaluator) watts(p *spectrum.Projected, r *Result) {
	flux, lit := r.Value(quantity.LuminousFlux)
	radiant, radiates := r.Value(quantity.RadiantFlux)
	total := r.Given.Power
	if total.Known {
		r.set(quantity.Power, total.Value)
		if lit {
			r.set(quantity.LuminousEfficacy, flux/total.Value)
		}
	}
	if lamp := r.Given.PowerLamp; lamp.Known {
		r.set(quantity.PowerLamp, lamp.Value)
		if lit {
			r.set(quantity.LampEfficacy, flux/lamp.Value)
		}
		if !total.Known {
			total, r.Watts.AtLamp = lamp, true
		}
	}
	if !total.Known || !radiates {
		if total.Known {
			r.refuse(r.reasons[quantity.RadiantFlux], quantity.RadiantEfficiency)
		}
		return
	}
	r.set(quantity.RadiantEfficiency, radiant/total.Value)
	r.Watts.Known, r.Watts.Total = true, total.Value
	r.Watts.Light = radiant * r.values[quantity.ShareVisible]
	r.Watts.Other = radiant * (r.values[quantity.ShareUV] + r.values[quantity.ShareIR])
	if r.Given.Power.Known && r.Given.PowerLamp.Known {
		r.Watts.Gear = r.Given.Power.Value - r.Given.PowerLamp.Value
	}
	r.Watts.Rest = total.Value - radiant - r.Watts.Gear
}
