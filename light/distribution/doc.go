// Package distribution is the mathematics of where a lamp sends its light: its
// luminous intensity over directions, and what follows from it.
//
// Directions are those of the C, γ system (CIE 121, EN 13032-1): γ from 0°, the
// axis that a beam is measured from, to 180° behind it, on half-planes C round
// that axis. A [Distribution] holds intensities in candela at angles γ, the same
// on every half-plane, at whatever steps they were measured:
//
//	d, err := distribution.New(gamma, planes, candela, distribution.Quadrant, distribution.Whole)
//	d.Flux()           // lm
//	d.FluxWithin(120)  // lm in a cone of 120° across
//	d.Beam(0.5, distribution.OfCentre)
//
// # Exact between the readings
//
// Intensity is a straight line between neighbouring angles, and between
// neighbouring half-planes. Against the solid angle, which goes with sin γ, such
// a piece has a closed integral; nothing is resampled and no step need be even.
// Zonal constants, as handbooks tabulate them, are the same integral of an
// intensity that is constant over a zone: [Zone].
//
// # Nothing is guessed
//
// Which symmetry a lamp has is for its tester to state. Angles that leave part of
// the sphere without a reading are a [GapError], until what to assume there is
// stated too; [Distribution.Assumed] then tells how much of the flux that is.
//
// # Near and far
//
// Intensity from a reading of illuminance, I = E d², takes the lamp for a point.
// [Ratio] says how far that is off for a luminous disc, square or line, and
// [LeastDistance] how far away is far enough. The flux through a whole sphere has
// no such error: all of the light passes through any sphere round the lamp, and
// Φ = ∮ E dA holds at every distance at which the meter follows the cosine of the
// angle of incidence.
package distribution
