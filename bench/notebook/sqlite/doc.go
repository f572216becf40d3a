// Package sqlite keeps a notebook in one SQLite file.
//
// The file is in WAL mode: readers see the notebook as it was when they began,
// and nobody who reads holds up recording. There is one writer, one
// connection of one process, which holds a lock beside the file; [Open] says in
// a sentence who has it. [OpenReadOnly] needs no lock and works beside a
// writer.
//
// A commit is on the disk when it returns (synchronous=FULL): what was
// acknowledged survives the process and the mains. Spectra and waveforms are kept
// to the last bit (samples.go); readings cannot be changed or removed, which
// the schema itself enforces.
//
// The schema, which docs/format/notebook.md explains, is in the folder schema,
// one numbered file a step; Open takes an older notebook through the missing
// ones.
package sqlite
