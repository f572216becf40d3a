package webapp

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"lampassay/bench/notebook"
)

// changeSentence says what a change did.
func changeSentence(c *notebook.Change) string {
	kind := strings.ToUpper(string(c.Kind[:1])) + string(c.Kind[1:])
	text := fmt.Sprintf("%s %d was %s", kind, c.ID, actionText(c.Action))
	if c.Action == notebook.Appended {
		text = fmt.Sprintf("%s %d has new readings", kind, c.ID)
	}
	if c.Undoes != 0 {
		text += fmt.Sprintf(", which took back change %d", c.Undoes)
	}
	return text + "."
}

func actionText(a notebook.Action) string {
	switch a {
	case notebook.Trashed:
		return "put into the trash"
	case notebook.Updated:
		return "changed"
	}
	return string(a)
}

type journalView struct {
	Changes []changeRow
	Earlier int64 // the last change of the page before, 0 for none
}

type changeRow struct {
	notebook.Change
	Name     string // of the record as it is now
	Text     string
	Href     string
	Undoable bool
}

// changesShown is how many changes stand on a page.
const changesShown = 100

// journal lists what was changed, the newest first.
func (s *Server) journal(w http.ResponseWriter, r *http.Request) error {
	last := s.latest(r.Context())
	to := last
	if n := since(r); n > 0 && n < last {
		to = n
	}
	from := max(to-changesShown, 0)
	changes, err := s.nb.Changes(r.Context(), from, changesShown)
	if err != nil {
		return err
	}
	var d journalView
	for i := range changes {
		c := &changes[i]
		if c.Seq <= to {
			d.Changes = append(d.Changes, changeRow{*c, s.nameOf(r.Context(), c.Ref), changeSentence(c), hrefOf(c.Ref), c.Action != notebook.Appended})
		}
	}
	slices.Reverse(d.Changes)
	d.Earlier = from
	v := s.view(r, "Log")
	v.Follow, v.Seq, v.Data = true, last, &d
	return s.show(w, "log.html", v)
}

// nameOf is what a record is called now, "" where that cannot be said.
func (s *Server) nameOf(ctx context.Context, ref notebook.Ref) string {
	switch ref.Kind {
	case notebook.KindLamp:
		if l, err := s.nb.Lamps().Get(ctx, ref.ID); err == nil {
			return l.Name
		}
	case notebook.KindSitting:
		if sit, err := s.nb.Sittings().Get(ctx, ref.ID); err == nil {
			return s.nameOf(ctx, notebook.Ref{Kind: notebook.KindLamp, ID: sit.Lamp})
		}
	case notebook.KindAssay:
		if a, err := s.nb.Assays().Get(ctx, ref.ID); err == nil {
			return s.nameOf(ctx, notebook.Ref{Kind: notebook.KindLamp, ID: a.Lamp})
		}
	case notebook.KindInstrument:
		if in, err := s.nb.Instruments().Get(ctx, ref.ID); err == nil {
			return in.Name
		}
	case notebook.KindComparison:
		if c, err := s.nb.Comparisons().Get(ctx, ref.ID); err == nil {
			return c.Title
		}
	}
	return ""
}

// hrefOf is the page of a record, "" where it has none.
func hrefOf(ref notebook.Ref) string {
	switch ref.Kind {
	case notebook.KindLamp, notebook.KindSitting, notebook.KindAssay, notebook.KindInstrument:
		return fmt.Sprintf("/%ss/%d", ref.Kind, ref.ID)
	case notebook.KindComparison:
		return fmt.Sprintf("/compare?kept=%d", ref.ID)
	}
	return ""
}

// undo takes back a change.
func (s *Server) undo(w http.ResponseWriter, r *http.Request) error {
	f := newForm(r)
	n := f.whole("change", "a change")
	if f.err != nil {
		return f.err
	}
	did, err := s.nb.Undo(r.Context(), n)
	if err != nil {
		return err
	}
	return back(w, r, s.after(&did, f.text("from")), did.Seq)
}

// after is the page that shows a change: where it was asked for, but for a record
// that is now in the trash.
func (s *Server) after(c *notebook.Change, from string) string {
	if own := hrefOf(c.Ref); c.Action == notebook.Trashed && (from == own || own == "") {
		return "/"
	}
	return localPath(from)
}

// localPath keeps the way back on this server.
func localPath(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.Host != "" || u.Scheme != "" || u.User != nil || u.Opaque != "" {
		return "/"
	}
	// As it stands in an address: an escaped slash stays escaped.
	path := u.EscapedPath()
	if !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.Contains(u.Path, `\`) {
		return "/"
	}
	q := u.Query()
	q.Del("done")
	if len(q) > 0 {
		return path + "?" + q.Encode()
	}
	return path
}

func refOf(f *form) (notebook.Ref, error) {
	ref := notebook.Ref{Kind: notebook.Kind(f.text("kind")), ID: f.id("id")}
	if f.err == nil && (notebook.New(ref.Kind) == nil || ref.ID < 1) {
		f.err = bad("There is no such record.")
	}
	return ref, f.err
}

// trashPut puts a record away.
func (s *Server) trashPut(w http.ResponseWriter, r *http.Request) error {
	f := newForm(r)
	ref, err := refOf(f)
	if err != nil {
		return err
	}
	seq, err := s.nb.Trash(r.Context(), ref)
	if err != nil {
		return err
	}
	return back(w, r, s.after(&notebook.Change{Action: notebook.Trashed, Ref: ref}, f.text("from")), seq)
}

// trashRestore brings a record back.
func (s *Server) trashRestore(w http.ResponseWriter, r *http.Request) error {
	ref, err := refOf(newForm(r))
	if err != nil {
		return err
	}
	seq, err := s.nb.Restore(r.Context(), ref)
	if err != nil {
		return err
	}
	return back(w, r, "/trash", seq)
}

type trashRow struct {
	notebook.Ref
	Name string
	Head *notebook.Head
}

// trash lists what was put away.
func (s *Server) trash(w http.ResponseWriter, r *http.Request) error {
	ctx, q := r.Context(), notebook.Query{Trashed: true}
	var all []trashRow
	var first error
	keep := func(err error) {
		if first == nil {
			first = err
		}
	}
	keep(gatherTrash(&all, listed(s.nb.Lamps().List(ctx, q)), func(l *notebook.Lamp) string { return l.Name }))
	keep(gatherTrash(&all, listed(s.nb.Sittings().List(ctx, q)), func(v *notebook.Sitting) string { return v.Title }))
	keep(gatherTrash(&all, listed(s.nb.Assays().List(ctx, q)), func(a *notebook.Assay) string { return fmt.Sprintf("Assay of lamp %d", a.Lamp) }))
	keep(gatherTrash(&all, listed(s.nb.Instruments().List(ctx, q)), func(in *notebook.Instrument) string { return in.Name }))
	keep(gatherTrash(&all, listed(s.nb.References().List(ctx, q)), func(ref *notebook.Reference) string { return ref.Name }))
	keep(gatherTrash(&all, listed(s.nb.Comparisons().List(ctx, q)), func(c *notebook.Comparison) string { return c.Title }))
	keep(gatherTrash(&all, listed(s.nb.Publications().List(ctx, q)), func(p *notebook.Publication) string { return p.Title }))
	if first != nil {
		return first
	}
	slices.SortFunc(all, func(a, b trashRow) int { return b.Head.Trashed.Compare(a.Head.Trashed) })
	v := s.view(r, "Trash")
	v.Follow, v.Seq, v.Data = true, s.latest(ctx), all
	return s.show(w, "trash.html", v)
}

// pair is a list with its error.
type pair[T any] struct {
	list notebook.List[T]
	err  error
}

func listed[T any](list notebook.List[T], err error) pair[T] { return pair[T]{list, err} }

func gatherTrash[T any, P interface {
	*T
	notebook.Record
}](all *[]trashRow, p pair[T], name func(*T) string) error {
	for _, one := range p.list.Items {
		h := P(one).GetHead()
		*all = append(*all, trashRow{notebook.Ref{Kind: P(one).Kind(), ID: h.ID}, name(one), h})
	}
	return p.err
}
