package notebook

import (
	"context"
	"io"
	"iter"
	"time"
)

// Notebook is an open notebook. Its methods may be called from any goroutine;
// every one that waits takes a context. Errors are [*Error] where a caller has
// something to decide.
type Notebook interface {
	Lamps() Pages[Lamp]
	Instruments() Pages[Instrument]
	References() Pages[Reference]
	Sittings() Pages[Sitting]
	Comparisons() Pages[Comparison]
	// Assays and Publications are written once; of a publication Update takes
	// further errata and nothing else, of an assay nothing.
	Assays() Pages[Assay]
	Publications() Pages[Publication]

	// Shelf lists lamps with the figures of their chosen or latest assay.
	Shelf(context.Context, Query) (List[Shelved], error)

	// Trash puts a record away and Restore brings it back; both return the change.
	Trash(context.Context, Ref) (int64, error)
	Restore(context.Context, Ref) (int64, error)

	// Undo takes back a change and returns the change that did. It is [Stale]
	// where the record was changed again since.
	Undo(ctx context.Context, change int64) (Change, error)
	// UndoAll takes back changes that were made as one, in the order given, all of
	// them or none, and returns the changes that did. It is [Stale] also where a
	// record that they had added has since become part of another.
	UndoAll(ctx context.Context, changes []int64) ([]Change, error)
	// Changes lists up to limit changes after one, oldest first.
	Changes(ctx context.Context, after int64, limit int) ([]Change, error)
	// ChangesBefore lists up to limit changes before one, newest first.
	ChangesBefore(ctx context.Context, before int64, limit int) ([]Change, error)
	// States returns what a record was before a change and after it, without
	// heads; nil is the one that the change does not have. Only [Updated] has both.
	States(ctx context.Context, change int64) (before, after Record, err error)
	// Watch waits until there is a change after the one given and returns the
	// latest.
	Watch(ctx context.Context, after int64) (int64, error)

	// Append adds readings to a sitting, all or none, and returns the number
	// of the last once they are on the disk.
	Append(ctx context.Context, sitting ID, readings []Reading) (int64, error)
	// Readings yields readings of a sitting in their order.
	Readings(context.Context, Readings) iter.Seq2[*Reading, error]
	// Tally says how much was read in a sitting.
	Tally(ctx context.Context, sitting ID) (Tally, error)

	// Keep stores a file of at most [MostFileBytes] and returns what to attach.
	Keep(ctx context.Context, name, media string, r io.Reader) (Attachment, error)
	// File returns the bytes kept under a sum, after checking them.
	File(context.Context, Sum) ([]byte, error)

	// Backup writes a copy as of now to a new file while work goes on.
	Backup(ctx context.Context, path string) error
	// Export writes everything as an open archive: package archive.
	Export(context.Context, io.Writer) error
	// Verify reads everything and reports what does not hold.
	Verify(context.Context) (*Verdict, error)
	Close() error
}

// Pages are the records of one kind.
type Pages[T any] interface {
	Get(context.Context, ID) (*T, error)
	List(context.Context, Query) (List[T], error)
	// Add keeps a new record and returns it with its head.
	Add(context.Context, T) (*T, error)
	// Update replaces the record that has the head's ID; it is [Stale] where its
	// revision is no longer the head's, and [Away] where it is in the trash.
	Update(context.Context, T) (*T, error)
}

// Query chooses, sorts and pages records. The zero value is all that is in use,
// as they were added.
type Query struct {
	Text       string // words that all occur in the record
	Technology string // of lamps
	Lamp       ID     // of sittings and assays
	Sitting    ID     // of assays
	Trashed    bool   // what is in the trash instead
	Sort       string // "" as added, "changed", "name", "technology"; on the shelf also a key of assay/quantity
	Descending bool
	Limit      int // 0 is all
	Offset     int
}

// List is a page of records and how many there are in all.
type List[T any] struct {
	Items []*T
	Total int
}

// Shelved is a lamp with what a list shows of it.
type Shelved struct {
	Lamp
	Assay    ID                 // 0 where there is none
	Made     time.Time          // of the assay
	Figures  map[string]float64 // of [Assay.Figures]
	Strip    []float64          // of [Assay.Strip]
	Sittings int
}

// Action is what a change did.
type Action string

// The actions. Of appended readings a sitting has one change, the latest, which
// moves up the feed as more arrive; it cannot be undone.
const (
	Added    Action = "added"
	Updated  Action = "updated"
	Trashed  Action = "trashed"
	Restored Action = "restored"
	Appended Action = "appended"
)

// Change is one entry of the journal.
type Change struct {
	Seq    int64     `json:"seq"`
	At     time.Time `json:"at"`
	Action Action    `json:"action"`
	Ref
	Undoes int64 `json:"undoes,omitempty"` // the change it took back
}

// Readings chooses readings of one sitting.
type Readings struct {
	Sitting ID
	After   int64  // numbers above this
	Channel string // "" all
	Limit   int    // at most so many; 0 all
	// Decimate, above 0, thins each channel to about so many readings for drawing:
	// the time between the first and the last is cut into so many equal
	// parts, and of each part comes the first reading that has a spectrum or no
	// number, and those with the least and the greatest first number. What has a note or a flag
	// always comes.
	Decimate int
	NoCurves bool // leave wavelengths and samples out of spectra and waveforms
}

// Tally is how much was read in a sitting.
type Tally struct {
	Readings int64
	Chain    Sum // of the last reading; "" where there is none
	From, To time.Time
	Channels []string
}

// Verdict is what Verify found.
type Verdict struct {
	Records  int64
	Readings int64
	Files    int64
	Faults   []string // one sentence each; none where all holds
}
