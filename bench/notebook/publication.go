package notebook

import (
	"bytes"
	"strings"
	"time"
)

// Publication is what went out, with the corrections that followed. Only errata
// are ever added to it.
type Publication struct {
	Head

	Title       string       `json:"title"`
	Made        time.Time    `json:"made"`
	Where       string       `json:"where,omitempty"`
	Assays      []ID         `json:"assays"`                // all whose figures went out, those of comparisons too
	Comparisons []ID         `json:"comparisons,omitempty"` // as which assays went out beside one another
	Files       []Attachment `json:"files,omitempty"`       // what was published
	Errata      []Erratum    `json:"errata,omitempty"`
	Licence     string       `json:"licence,omitempty"`
}

// Erratum is a correction of something published.
type Erratum struct {
	At   time.Time `json:"at"`
	Text string    `json:"text"`
}

// Kind returns [KindPublication].
func (*Publication) Kind() Kind { return KindPublication }

// Check asks for a title, a date and assays.
func (p *Publication) Check() error {
	switch {
	case strings.TrimSpace(p.Title) == "":
		return Errorf(Invalid, "the publication has no title")
	case p.Made.IsZero():
		return Errorf(Invalid, "the publication has no date")
	case len(p.Assays) == 0:
		return Errorf(Invalid, "the publication names no assay")
	}
	for _, e := range p.Errata {
		if strings.TrimSpace(e.Text) == "" || e.At.IsZero() {
			return Errorf(Invalid, "an erratum needs a date and a text")
		}
	}
	return nil
}

// Links returns the assays, the comparisons and the files.
func (p *Publication) Links() ([]Ref, []Attachment) {
	return append(refs(KindAssay, p.Assays...), refs(KindComparison, p.Comparisons...)...), p.Files
}

// Follows lets errata be added and nothing else be changed.
func (p *Publication) Follows(older Record) error {
	was, is := *older.(*Publication), *p
	added := len(is.Errata) >= len(was.Errata)
	if added {
		is.Errata = is.Errata[:len(was.Errata)]
	}
	was.Head, is.Head = Head{}, Head{}
	before, err := Marshal(&was)
	if err != nil {
		return err
	}
	after, err := Marshal(&is)
	if err != nil {
		return err
	}
	if !added || !bytes.Equal(before, after) {
		return Errorf(Kept, "what is published is not changed: add an erratum")
	}
	return nil
}
