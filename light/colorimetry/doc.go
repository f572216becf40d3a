// Package colorimetry turns a projected spectrum into colour: tristimulus
// values, chromaticity, correlated colour temperature, dominant wavelength,
// colour difference, appearance and what a screen can show of it.
//
// # From light to a point
//
// [Tristimulus] sums a spectrum with an observer; everything after that is a
// function of three numbers. [XYZ.XY], [XYZ.UV] and [XYZ.UVPrime] are the CIE
// 1931, 1960 and 1976 chromaticities. Nothing is normalised on the way: the
// sums keep the unit of the spectrum times nm, and a white of Y = 1 or Y = 100
// is the caller's to make, with [XYZ.Scale].
//
// # The Planckian locus
//
// CIE 15:2018 clause 9.5 defines the correlated colour temperature by the
// nearest point of the Planckian locus in the (u, v) diagram of 1960. [CCT]
// finds exactly that point: the locus is a smooth function of the reciprocal
// temperature, is held as one polynomial per short stretch that agrees with
// Planck's sum to the last few bits, and Newton's method solves for the foot of
// the perpendicular. There is no table of isotherms and no fitted formula.
//
// # Two scales
//
// Colorimetry of surfaces wants the white at Y = 100 ([LabFromXYZ] and
// [NewCAM02] take the white beside the colour, at one scale of the caller's;
// for CIECAM02 that scale is 100). The display functions ([SRGBFromXYZ],
// [Swatch]) want it at Y = 1.
//
// All functions are pure, safe for concurrent use and do not allocate, [Hex] and
// [NewCAM02] aside.
package colorimetry
