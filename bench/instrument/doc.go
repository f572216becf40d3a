// Package instrument keeps what is known of one spectrometer, with dates, and
// turns its raw recordings into spectra.
//
// An [Instrument] is read from and written to a JSON file. It holds the
// calibrations that light/calibration makes, each with the day it was made, from
// which files, and for how long it is trusted. [Instrument.Overdue] says what has
// expired on a given day.
//
// [Instrument.Correct] applies the calibrations to a [Measurement] in one fixed
// order,
//
//	clip mask, dark, linearity, average and stitch, wavelength, stray light,
//	second order, response, bandwidth
//
// and returns the spectrum with one [Step] for each: whether it was made, why
// not, and the curve before and after. The raw frames are never changed, so any
// step is undone by naming it in [Options.Skip] and correcting again.
//
// The order is not a matter of taste. Clipping is only seen in raw counts; a
// dark belongs to its exposure; linearity is a property of counts, so it precedes
// everything that mixes pixels or exposures; stray light is subtracted in counts,
// before a response that would blow it up where the detector is weak; the
// second-order part carries the response of its own wavelength, so it goes before
// the response too; and the bandwidth correction, which works on spectral power,
// comes last. What follows, the projection onto the tables' grid, is
// light/spectrum's.
//
// [Instrument.Sureness] turns what the calibrations say of themselves, and the
// scatter of the frames, into the inputs of package uncertainty.
//
// The package does no photometry and reads no clock: days come from the caller.
package instrument
