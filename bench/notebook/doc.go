// Package notebook says what the bench keeps and what can be done with it.
//
// A notebook holds records and readings. A record ([Lamp], [Instrument],
// [Reference], [Sitting], [Comparison]) is a page that is rewritten as more is
// known; an [Assay] and a [Publication] are written once. A [Reading] is what one
// channel of the bench said at one moment of a sitting: it is appended, and then
// neither changed nor removed.
//
// # Changes
//
// Everything that happens is a [Change] with a number that only grows. The number
// is at once the revision of the record that was changed, the place in the feed
// that other browsers follow ([Notebook.Changes], [Notebook.Watch]) and what
// [Notebook.Undo] takes. Undoing is a change too, so it can be undone. Nothing is
// deleted: a record goes to the trash and comes back from there.
//
//	lamp, err := nb.Lamps().Add(ctx, notebook.Lamp{Name: "Kitchen tube"})
//	_, err = nb.Undo(ctx, lamp.Revision) // into the trash
//
// An update names the revision it was made from. Where somebody else was
// faster the answer is an [Error] with the code [Stale], and nothing is
// overwritten.
//
// # Readings
//
// [Notebook.Append] returns when its readings are on the disk, all of those given or
// none. Readings of a sitting are numbered from 1 without a gap, and each carries a
// sum over itself and the sum before it ([Reading.Chain]): the last sum names the
// whole raw record, and is what an assay cites as its input.
//
// # Where it is kept
//
// This package knows no file and no database. Package sqlite below it is the
// store, package archive writes a notebook as an open archive and reads it back.
package notebook
