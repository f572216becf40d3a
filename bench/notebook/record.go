package notebook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// ID numbers the records of one kind, from 1. A number is not used again.
type ID int64

// Kind is a kind of record.
type Kind string

// The kinds of record.
const (
	KindLamp        Kind = "lamp"
	KindInstrument  Kind = "instrument"
	KindReference   Kind = "reference"
	KindSitting     Kind = "sitting"
	KindAssay       Kind = "assay"
	KindComparison  Kind = "comparison"
	KindPublication Kind = "publication"
)

// Kinds lists the kinds, each after those it refers to.
func Kinds() []Kind {
	return []Kind{KindLamp, KindInstrument, KindReference, KindSitting, KindAssay, KindComparison, KindPublication}
}

// Ref names a record.
type Ref struct {
	Kind Kind `json:"kind"`
	ID   ID   `json:"id"`
}

func (r Ref) String() string { return fmt.Sprintf("%s %d", r.Kind, r.ID) }

// Head is what every record has. The notebook sets it; what a caller puts there
// is only read by Update, which takes ID and Revision.
type Head struct {
	ID       ID        `json:"-"`
	Revision int64     `json:"-"` // the change that made it what it is
	Trashed  time.Time `json:"-"` // zero while it is in use
}

// GetHead gives access to the head of any record.
func (h *Head) GetHead() *Head { return h }

// Record is a pointer to one of the kinds.
type Record interface {
	GetHead() *Head
	Kind() Kind
	// Check returns an [Error] with the code [Invalid] where the record cannot be
	// kept as it is.
	Check() error
	// Links names the records and the files that it refers to; they have to exist.
	Links() ([]Ref, []Attachment)
}

// A Successor decides what may follow it: it has a rule for updates. Undoing a change is
// no update; the journal has both states.
type Successor interface {
	// Follows returns an [Error] with the code [Kept] where the record may not
	// replace an older one of its kind.
	Follows(older Record) error
}

// New returns an empty record of a kind, nil where there is no such kind.
func New(k Kind) Record {
	switch k {
	case KindLamp:
		return new(Lamp)
	case KindInstrument:
		return new(Instrument)
	case KindReference:
		return new(Reference)
	case KindSitting:
		return new(Sitting)
	case KindAssay:
		return new(Assay)
	case KindComparison:
		return new(Comparison)
	case KindPublication:
		return new(Publication)
	}
	return nil
}

// Sum is a SHA-256 in lower-case hexadecimals.
type Sum string

// Valid reports whether s has the form of a sum.
func (s Sum) Valid() bool {
	if len(s) != 64 {
		return false
	}
	for _, c := range []byte(s) {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}

// Attachment is a file that belongs to a record: a photo, a certificate, the
// file a sitting was imported from. Its bytes are kept once, under their sum.
type Attachment struct {
	Name    string `json:"name"`
	Media   string `json:"media"` // type, such as image/jpeg
	Size    int64  `json:"size"`
	SHA256  Sum    `json:"sha256"`
	Caption string `json:"caption,omitempty"`
}

// MostFileBytes is the largest attachment.
const MostFileBytes = 256 << 20

// refs names records of one kind.
func refs(kind Kind, ids ...ID) []Ref {
	var all []Ref
	for _, id := range ids {
		if id != 0 {
			all = append(all, Ref{kind, id})
		}
	}
	return all
}

// Marshal writes a record as it is kept.
func Marshal(r Record) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(r); err != nil {
		return nil, Errorf(Invalid, "the %s cannot be written as JSON: %w", r.Kind(), err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// Unmarshal reads a record of a kind. Fields that it does not know are refused:
// a later program wrote them.
func Unmarshal(k Kind, data []byte) (Record, error) {
	r := New(k)
	if r == nil {
		return nil, Errorf(Damaged, "there are no records of the kind %q", k)
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(r); err != nil {
		return nil, Errorf(Damaged, "the %s cannot be read: %s", k, strings.TrimPrefix(err.Error(), "json: "))
	}
	return r, nil
}
