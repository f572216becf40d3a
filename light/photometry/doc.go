// Package photometry weighs a spectrum with the eye: photopic, scotopic and
// mesopic light, the five α-opic responses, and the photons that plants use.
//
// Every function is a ratio or a multiple of dot products with a published
// table. None allocates. Absolute figures carry the unit of the spectrum: lm
// from W, lx from W/m², cd/m² from W/(m²·sr), cd from W/sr. Of a spectrum
// without a scale only the ratios mean something: [LER], [SPRatio], [ELR],
// [DER], [PhotonsPerLumen].
//
// A ratio whose denominator is not positive, which a curve with too much dark
// taken off can have, is NaN: it is not defined. What a spectrum does not cover
// counts as nothing; [spectrum.Weighting.Missing] says how much that is.
//
// The SI defines the candela by monochromatic radiation of 540 THz, which in
// standard air is 555.016 nm (ISO/CIE 23539). [Km] and [KmPrime] follow from
// that wavelength and not from the maximum of either function.
package photometry
