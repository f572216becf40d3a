// Package waveform reads what follows a lamp's light or current through
// fractions of a second: sound files in WAV and tables from oscilloscopes.
//
// [ReadWAV] takes integer samples of 8 to 32 bits and floating-point ones of 32
// and 64, any number of channels, and files whose recorder never wrote their
// length. [ReadCSV] takes a table with a time in its first column, or with
// samples only and their start and increment above them.
//
// Both give a [Recording]: evenly spaced samples of each channel, with its mean,
// extremes and, where full scale is known, how many samples lie there. What a
// recording cannot be used for is said in its warnings: one without a mean has
// gone through a capacitor, and its depth of modulation is lost. The factor of a
// probe or an amplifier is in no such file and has to be asked for.
//
// Lossy sound formats are refused: they change amplitudes.
package waveform
