package webapp

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"lampassay/bench/notebook"
)

// changeSentence says what a change did, without what it altered.
func changeSentence(c *notebook.Change) string { return changeClause(c) + "." }

func changeClause(c *notebook.Change) string {
	kind := strings.ToUpper(string(c.Kind[:1])) + string(c.Kind[1:])
	text := fmt.Sprintf("%s %d was %s", kind, c.ID, actionText(c.Action))
	if c.Action == notebook.Appended {
		text = fmt.Sprintf("%s %d has new readings", kind, c.ID)
	}
	if c.Undoes != 0 {
		text += fmt.Sprintf(", which took back change %d", c.Undoes)
	}
	return text
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

// said says what a change did, and what it altered.
func (s *Server) said(ctx context.Context, c *notebook.Change) (string, error) {
	if c.Action != notebook.Updated {
		return changeSentence(c), nil
	}
	before, after, err := s.nb.States(ctx, c.Seq)
	if err != nil {
		return "", err
	}
	text := changeClause(c)
	if altered := notebook.Differences(before, after); len(altered) > 0 {
		text += ": " + strings.Join(altered, "; ")
	}
	return strings.TrimSuffix(text, ".") + ".", nil
}

type journalView struct {
	Changes []changeRow
	Before  int64 // the page ends before this change, 0 for the newest page
	Earlier int64 // the page before ends before this change, 0 for none
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
	ctx := r.Context()
	var d journalView
	if n, err := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64); err == nil && n > 0 {
		d.Before = n
	}
	changes, err := s.nb.ChangesBefore(ctx, cmp.Or(d.Before, math.MaxInt64), changesShown+1)
	if err != nil {
		return err
	}
	if len(changes) > changesShown {
		changes = changes[:changesShown]
		d.Earlier = changes[changesShown-1].Seq
	}
	for i := range changes {
		c := &changes[i]
		text, err := s.said(ctx, c)
		if err != nil {
			return err
		}
		d.Changes = append(d.Changes, changeRow{*c, s.nameOf(ctx, c.Ref), text, hrefOf(c.Ref), c.Action != notebook.Appended})
	}
	v := s.view(r, "Log")
	v.Follow, v.Seq, v.Data = true, s.latest(ctx), &d
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
	case notebook.KindReference:
		if ref, err := s.nb.References().Get(ctx, ref.ID); err == nil {
			return ref.Name
		}
	case notebook.KindPublication:
		if p, err := s.nb.Publications().Get(ctx, ref.ID); err == nil {
			return p.Title
		}
	}
	return ""
}

// hrefOf is the page of a record, "" where it has none.
func hrefOf(ref notebook.Ref) string {
	switch ref.Kind {
	case notebook.KindLamp, notebook.KindSitting, notebook.KindAssay, notebook.KindInstrument, notebook.KindReference, notebook.KindPublication:
		return fmt.Sprintf("/%ss/%d", ref.Kind, ref.ID)
	case notebook.KindComparison:
		return fmt.Sprintf("/compare?kept=%d", ref.ID)
	}
	return ""
}

// retiredByUndo is the record that is no longer in use once a change is taken back:
// one that goes into the trash, or a sitting that ends; zero for none.
func (s *Server) retiredByUndo(ctx context.Context, change int64) (notebook.Ref, error) {
	var none notebook.Ref
	c, err := s.nb.Changes(ctx, change-1, 1)
	if err != nil || len(c) == 0 || c[0].Seq != change {
		return none, err
	}
	switch c[0].Action {
	case notebook.Added, notebook.Restored:
		return c[0].Ref, nil
	case notebook.Updated:
		before, _, err := s.nb.States(ctx, change)
		if sit, is := before.(*notebook.Sitting); is && sit.Ended != nil {
			return c[0].Ref, err
		}
		return none, err
	}
	return none, nil
}

// after is the page that shows a change: where it was asked for, but for a record
// that is now in the trash.
func (s *Server) after(c *notebook.Change, from string) string {
	from = localPath(from)
	if c.Action != notebook.Trashed {
		return from
	}
	switch own := hrefOf(c.Ref); {
	case own == "":
		return "/"
	case c.Kind == notebook.KindComparison && strings.HasPrefix(from, "/compare"):
		return "/compare"
	case from == own || strings.HasPrefix(from, own+"/") || strings.HasPrefix(from, own+"?"):
		return "/"
	}
	return from
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
