// Package standards gives typed access to the published tables: observers, the
// luminous efficiency functions, the α-opic action spectra, the test samples of
// two rendition methods, daylight, the CIE illuminants, the lamp-safety
// weightings and the strong lines of the elements. It also holds the two
// formulas that make reference light, Planck's and the CIE daylight's.
//
// The tables are compiled in, one text file each under data/, headed by title,
// source, DOI, licence and what was changed, and sealed with a SHA-256 of the
// figures. [Tables] reads and checks them all; the typed functions read what
// they need once and stop the program if a table compiled into it is damaged,
// which no input can cause.
//
// Between published entries a table is a straight line. Two exceptions are the
// standards' own: the 10° observer is carried at 5 nm and brought to 1 nm by
// Sprague's fifth-order formula (CIE 167:2005), and the safety weightings are
// straight in the logarithm (the note under their tables in IEC 62471 and the
// ICNIRP guidelines, as remembered).
//
// Wavelengths are nanometres in standard air.
package standards
