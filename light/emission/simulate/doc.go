// Package simulate records lamps of known elements with an invented instrument,
// and counts how often package emission names what was put in.
//
// A lamp is the neutral atoms' lines of the NIST Atomic Spectra Database, as
// package standards carries them, at the tabulated intensities scattered
// log-normally. An instrument spreads each line over a Gaussian, reads it on an
// axis that is shifted and stretched, and adds noise of equal size to every
// sample. Everything random comes from the seed: the same seed gives the same
// spectrum.
//
// [Sweep] leaves out what makes real lamps harder: continua, lines that no table
// has, and what instruments do beside. [HarshSweep] puts some of that in. Either
// way the analysis knows its wavelengths from the same table. A figure from here
// tells that the reasoning works, not how often it is right about a lamp in the
// shop.
package simulate
