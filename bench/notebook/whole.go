package notebook

import (
	"context"
	"iter"
	"time"
)

// Whole is everything in a notebook as it is at one moment, for an archive.
type Whole interface {
	Entries(context.Context, Kind) iter.Seq2[*Entry, error] // by ID
	Journal(context.Context) iter.Seq2[*JournalEntry, error]
	Files(context.Context) iter.Seq2[*KeptFile, error] // by sum
	Readings(context.Context, Readings) iter.Seq2[*Reading, error]
}

// Blank is an empty notebook to be filled from an archive, all or not at all.
// What is put in is only checked for its form; Verify, at the end, checks whether
// all of it goes together.
type Blank interface {
	PutEntry(context.Context, Kind, *Entry) error
	PutJournal(context.Context, *JournalEntry) error
	PutFile(context.Context, *KeptFile) error
	PutReadings(ctx context.Context, sitting ID, readings []Reading) error
}

// Entry is a record as it is kept. Of a sitting it has the tally.
type Entry struct {
	ID       ID
	Revision int64
	Trashed  time.Time
	Body     []byte // JSON
	Readings int64
	Chain    Sum // "" where there is none
}

// JournalEntry is a change with the bodies before and after it, nil where it has
// none.
type JournalEntry struct {
	Change
	Before, After []byte
}

// KeptFile is a file as it is kept.
type KeptFile struct {
	SHA256 Sum
	Media  string
	Bytes  []byte
}
