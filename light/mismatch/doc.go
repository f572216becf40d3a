// Package mismatch says how far a light meter's response is from V(λ), and what
// that does to a reading of a given lamp.
//
// A light meter is adjusted to read right under illuminant A. Under any other
// light it errs by as much as its response s(λ) differs from V(λ) where that
// light has its power. [F1Prime] condenses the difference into the quality index
// of ISO/CIE 19476; [Correction] is the factor by which the reading of one lamp
// must be multiplied. The index tells good meters from bad ones and bounds no
// error: under a single line a meter with a small index can be far off.
//
// Both need only the shape of the response; its scale cancels. Without a
// measured curve there is no correction, only an uncertainty.
package mismatch
