// Package photometric reads and writes LM-63 files (ANSI/IES LM-63, extension
// .ies): the luminous intensity of a lamp or luminaire over a sphere of directions.
// It also reads a bench's own table of lux or candela over angles.
//
// [Read] takes the editions of 1986, 1991, 1995, 2002 and 2019 and returns the
// whole file, checked: every number is accounted for, angles rise and cover what
// the edition wants, and [File.Candela] is in candela with all factors applied
// that the edition applies. What is at fault is an [ingest.Problem]; what is
// unusual and can be read all the same is a warning. [Write] writes the editions of
// 2002 and 2019, and [ReadReadings] reads the table.
//
// # Where the rules come from
//
// The layout is that of ANSI/IESNA LM-63-2002, known second-hand from published
// descriptions and from memory, not checked against the standard's own text. The
// codes of LM-63-2019's file generation type and the shapes that signs of the
// dimensions stand for are from memory; nothing is computed from either.
//
// # What is not done
//
// No flux is computed here, no angle is filled in, and a tilt in another file is
// named but not fetched.
package photometric
