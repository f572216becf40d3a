// Package rendition computes how faithfully a light shows colours: the colour
// rendering indices of CIE 13.3, the fidelity index of CIE 224 with the gamut,
// hue and chroma measures of ANSI/IES TM-30, and the spectral similarity index
// of SMPTE ST 2122.
//
// # The common shape
//
// Each method sets the light under test beside a reference of the same
// correlated colour temperature, a blackbody or CIE daylight, and counts how far
// apart the two make things look. So each takes a projected spectrum and the CCT
// that was computed for it, and the reference is made here ([HasReference]).
//
// The reference is summed as the test was. A table at 5 nm is compared with a
// reference at the same 5 nm nodes, so that the standards' own sums come out,
// and an instrument's curve with a reference projected like a curve.
//
// # How the sums are made
//
// The test samples of both methods are tabulated every 5 nm and straight
// between, so the tristimulus value of sample R under the light S is
//
//	X = ∫ S x̄ R dλ = Σₖ Rₖ fₖ,   fₖ = Σᵢ bᵢ x̄ᵢ hatₖ(λᵢ)
//
// with bᵢ the light's projection, hatₖ the triangle of half width 5 nm at node
// k, and 81 nodes from 380 nm to 780 nm. The fₖ are folded once for a light;
// every sample after that is 81 multiplications a channel instead of 401, and
// not by approximation: it is the same sum in another order.
//
// What is summed of a reference depends on its temperature only, given how the
// test is summed. From 600 K to 25 000 K, for curves and for tables at 1, 2, 5
// and 10 nm, it is therefore read from polynomials, within 1e-12 of the sums in
// the tristimulus values on the scale Y = 100. Everywhere else the reference is
// made and summed each time.
//
// # Where there is no figure
//
// A light whose Y is not positive, or which has no reference, has no indices:
// every figure is NaN then, as is any one index that a curve with negative
// stretches leaves undefined. No input makes these functions panic, and no
// index is clamped: CIE 13.3 indices fall far below zero for coloured light.
// Whether a figure is within its method's scope (the chromaticity condition
// [CRI.DeltaC], light of nearly one wavelength) is for the caller to say.
// Nothing is rounded either; the standards report whole numbers.
package rendition
