// Package ingest reads spectrum files as people have them.
//
// # One spectrum
//
// [Read] takes text in any common shape, IES TM-27 XML, JSON or a spreadsheet and
// returns the spectrum together with a [Report] of everything it had to decide:
// encoding, separator and decimal mark, where the data begin, units, order,
// duplicates, what was skipped and why. [Report.Sentences] says it in words. A
// reader can so check the reading, and override any part of it by [Options].
//
//	file, err := ingest.Read("tube.csv", f, ingest.Options{})
//
// A file that counts pixels takes its wavelengths from a calibration,
// [Options.Axis]. [Archive] reads a zip of files one by one.
//
// # Many spectra
//
// A file with one wavelength column and several value columns is a batch.
// [OpenWide] reads its axis and remembers, for every row, where the next unread
// column starts; [Wide.Blocks] then hands out blocks of columns whose numbers
// are parsed by [Block.Parse], in as many goroutines as the caller likes. Memory
// holds the blocks in flight, however many spectra the file has.
//
// Spectra of one lamp over time are a [Series], whether the times head columns,
// open rows or stand in a long table. [ReadSeries] holds it in memory, up to
// [Options.MaxValues].
//
// # The same again
//
// [Look] shows the beginning of a file and what the reader makes of it. What it
// found and what its user fixed make a [Recipe], which reads the next file of
// that shape and says of another in what it differs.
//
// # Rules
//
// Separator and decimal mark are decided together, over the whole file: the
// pair wins that makes the longest run of rows of numbers. What is not
// nanometres is refused with the option that would convert it, never converted
// in silence. NaN, ---, OL, inf, #DIV/0!, a blank and SCPI's 9.9E37 and 9.91E37
// are missing values, never numbers: in a single spectrum the row is skipped
// with a warning, in a batch the column fails and the others go on, of a series
// the spectrum is left out with a warning. A wavelength that occurs twice is
// merged where the values agree and refused where they do not. Negative values
// are data. Where a file can be read in two ways the reader asks.
//
// Whatever is wrong with a file is a [*Problem]: the file, the line, what was
// found there and what would do, in one sentence.
//
// Photometric files (LM-63) and waveforms have packages of their own below this
// one.
package ingest
