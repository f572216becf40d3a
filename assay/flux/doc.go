// Package flux finds the luminous flux of a lamp by the routes that a small bench
// has, each with its own uncertainty:
//
//	[Angles]        lux at a distance over angles and half-planes, or an intensity table
//	[OneDirection]  lux at a distance in one direction, and a beam that is assumed
//	[Irradiance]    a spectrum in W/(m² nm) in one direction, and a beam that is assumed
//	[Substitution]  a sphere or white box, against a reference lamp
//	[Declared]      what a box or a laboratory says
//
// Each is a struct of what was read and of what is believed about the instruments.
// Assess returns a [Result]: the value in lumens, its standard uncertainty, a 95 %
// coverage interval, the budget with a line for each thing that is not known
// exactly, the reasons for what was assumed, and cautions.
//
//	a := flux.Angles{Readings: readings, Symmetry: distribution.Quadrant,
//		Meter: flux.MeterFor(uncertainty.White), DistanceU: flux.Estimated(0.01), AngleU: flux.Estimated(0.5)}
//	r, err := a.Assess(ctx, uncertainty.Options{})
//	r.Value, r.U, r.Budget[0].Name // improve this first
//
// # Where the figures come from
//
// The standard uncertainty is that of the law of propagation (JCGM 100:2008), the
// interval that of draws through the same equation (JCGM 101:2008); both are package
// uncertainty's. What nobody measured is an own estimate for the class of
// instrument and says so in the budget; a certificate or repeats replace it.
package flux
