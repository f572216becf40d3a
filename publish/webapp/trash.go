package webapp

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"time"

	"lampassay/bench/notebook"
)

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
	var seq int64
	err = s.whileUnread(r.Context(), []notebook.Ref{ref}, func() error {
		seq, err = s.nb.Trash(r.Context(), ref)
		return err
	})
	if err != nil {
		return err
	}
	return back(w, r, s.after(&notebook.Change{Action: notebook.Trashed, Ref: ref}, f.text("from")), seq)
}

// inUse refuses to go on working with a lamp that is in the trash.
func inUse(l *notebook.Lamp) error {
	if l.Trashed.IsZero() {
		return nil
	}
	return &userError{http.StatusConflict, fmt.Sprintf("Lamp %s is in the trash: bring it back first.", l.Name)}
}

// whileUnread does what takes records out of use, unless one is the sitting for which
// instruments are read, whose readings to come would be lost, or that sitting's lamp.
func (s *Server) whileUnread(ctx context.Context, retired []notebook.Ref, do func() error) error {
	s.desk.mu.Lock() // until it is done nobody begins to read
	defer s.desk.mu.Unlock()
	if s.desk.session == nil {
		return do()
	}
	sit, err := s.nb.Sittings().Get(ctx, s.desk.sitting)
	if err != nil {
		return err
	}
	read := notebook.Ref{Kind: notebook.KindSitting, ID: sit.ID}
	switch {
	case slices.Contains(retired, read):
		return &userError{http.StatusConflict, fmt.Sprintf("The instruments are being read for %s: stop them on its page first, so that no reading is lost.", read)}
	case slices.Contains(retired, notebook.Ref{Kind: notebook.KindLamp, ID: sit.Lamp}):
		return &userError{http.StatusConflict, fmt.Sprintf("The instruments are being read for %s of this lamp: stop them on its page first.", read)}
	}
	return do()
}

// trashRestore brings a record back.
func (s *Server) trashRestore(w http.ResponseWriter, r *http.Request) error {
	f := newForm(r)
	ref, err := refOf(f)
	if err != nil {
		return err
	}
	seq, err := s.nb.Restore(r.Context(), ref)
	if err != nil {
		return err
	}
	to := "/trash"
	if from := f.text("from"); from != "" {
		to = localPath(from)
	}
	return back(w, r, to, seq)
}

// away is what a page offers to do with its record: put it into the trash, or bring it
// back from there.
type away struct {
	notebook.Ref
	Name    string // of the record in the button's sentence, such as "this lamp"
	Trashed time.Time
	Token   string
	From    string // the page itself
}

// Away is the away of a page's record.
func (v *view) Away(r notebook.Record) away {
	head := r.GetHead()
	name := "this " + string(r.Kind())
	if r.Kind() == notebook.KindReference {
		name += " lamp"
	}
	return away{notebook.Ref{Kind: r.Kind(), ID: head.ID}, name, head.Trashed, v.Token, localPath(v.Path)}
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
	keep(gatherTrash(&all, listed(s.nb.Assays().List(ctx, q)), func(a *notebook.Assay) string {
		return s.nameOf(ctx, notebook.Ref{Kind: notebook.KindLamp, ID: a.Lamp}) + ", assay of " + a.Made.Local().Format("2 January 2006")
	}))
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
