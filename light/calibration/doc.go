// Package calibration qualifies a small array spectrometer and corrects what it
// records: pure functions over counts, pixels and wavelengths.
package calibration
