// Package ingest reads spectrum files as people have them.
//
// # One spectrum
//
// [Read] takes text in any common shape or an IES TM-27 XML file and returns
// the spectrum together with a [Report] of everything it had to decide:
// encoding, separator and decimal mark, where the data begin, units, order,
// duplicates, what was skipped and why. [Report.Sentences] says it in words. A
// reader can so check the reading, and override any part of it by [Options].
//
//	file, err := ingest.Read("tube.csv", f, ingest.Options{})
//
// # Many spectra
//
// A file with one wavelength column and several value columns is a batch.
// [OpenWide] reads its axis and remembers, for every row, where the next unread
// column starts; [Wide.Blocks] then hands out blocks of columns whose numbers
// are parsed by [Block.Parse], in as many goroutines as the caller likes. Memory
// holds the blocks in flight, however many spectra the file has.
//
// # Rules
//
// Separator and decimal mark are decided together, over the whole file: the
// pair wins that makes the longest run of rows of numbers. What is not
// nanometres is refused with the option that would convert it, never converted
// in silence. NaN, ---, OL, inf, #DIV/0!, a blank and SCPI's 9.9E37 and 9.91E37
// are missing values, never numbers: in a single spectrum the row is skipped
// with a warning, in a batch the column fails and the others go on. A wavelength
// that occurs twice is merged where the values agree and refused where they do
// not. Negative values are data.
//
// Whatever is wrong with a file is a [*Problem]: the file, the line, what was
// found there and what would do, in one sentence.
package ingest
