// Package archive writes a whole notebook as an open archive and reads it back.
//
// The archive is a zip file of JSON for records, CSV for readings, and attached
// files as they are: photos, certificates, and the spectra of assays in TM-27. It
// needs no program of ours to be read; docs/format/notebook.md describes it.
// Nothing in it depends on when or where it was written: a notebook written, read
// into an empty one and written again gives the same bytes.
//
// Reading trusts nothing: names are looked up in a list and never reach the
// file system, sizes are limited as they unfold and not as they are declared, and
// every reading has to add up to the sum that its sitting states.
package archive
