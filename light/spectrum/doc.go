// Package spectrum holds a measured spectral curve on its own wavelengths and
// projects it, without resampling error, onto the grid of the published tables.
//
// # The idea
//
// Every weighting that photometry and colorimetry use (V(λ), the
// colour-matching functions, the α-opic action spectra, a test sample's
// reflectance times an observer) is published as a table, and between its
// entries it is taken as a straight line. Put all of them on one grid of whole
// nanometres and each becomes
//
//	W(λ) = Σ Wᵢ hatᵢ(λ)
//
// where hatᵢ is the triangle that is 1 at λᵢ and 0 at its neighbours. For any
// spectrum S(λ) therefore
//
//	∫ S(λ) W(λ) dλ = Σ Wᵢ bᵢ,   bᵢ = ∫ S(λ) hatᵢ(λ) dλ.
//
// The numbers bᵢ are the projection. They are computed once, exactly (S is a
// straight line between its samples, so each integrand is a piecewise
// quadratic), and from then on every figure is a dot product. A line narrower
// than the grid keeps its energy, its place and its share of every weighting.
//
// # Two ways in
//
// [Sampled] is for what an instrument recorded: a curve, known at its samples
// and straight between them. [Tabulated] is for what a standard published: a
// table meant to be summed at its own step, so that the standard's own
// summation Σ S(λₖ) W(λₖ) Δλ comes out to the last digit. Downstream nothing
// needs to know which it was.
//
// # What it does not do
//
// Nothing is clamped, smoothed, filled or extrapolated. Negative samples stay
// negative. Outside the first and the last sample a spectrum is not zero but
// unknown; [Weighting.Missing] says how much of a weighting lies there.
//
// A straight line between samples is a model. It is a good one while the
// sampling step is well below the width of what was measured; a line picked at
// single points of a coarse table has lost its energy before this package sees
// it, and no projection brings it back.
//
// Wavelengths are nanometres in standard air throughout.
package spectrum
