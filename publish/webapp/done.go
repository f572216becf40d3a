package webapp

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"lampassay/bench/notebook"
)

// done says what was just changed, and how to take it back.
type done struct {
	Text    string
	Changes changeList // none where it can't be undone
	// Strike is the address at which reading N is set aside, since a reading is
	// not taken back; "" where none was recorded.
	Strike string
	N      int64
}

// changeList is changes that were made as one, the newest first, as an address and a
// form name them: 14,12,11.
type changeList []int64

// mostChanges is how many are taken back as one.
const mostChanges = 64

func (l changeList) String() string {
	texts := make([]string, len(l))
	for i, n := range l {
		texts[i] = strconv.FormatInt(n, 10)
	}
	return strings.Join(texts, ",")
}

// changesAsked reads a list of changes.
func changesAsked(text string) (changeList, error) {
	parts := strings.Split(text, ",")
	if len(parts) > mostChanges {
		return nil, bad("%d changes are asked for: %d are taken back at a time.", len(parts), mostChanges)
	}
	var all changeList
	for _, part := range parts {
		n, err := strconv.ParseInt(part, 10, 64)
		if err != nil || n < 1 {
			return nil, bad("“%s” is no number of a change: the log has them.", clip(part, 40))
		}
		all = append(all, n)
	}
	return all, nil
}

// changesOf fetches changes, none where one is not there.
func (s *Server) changesOf(ctx context.Context, list changeList) ([]notebook.Change, error) {
	var all []notebook.Change
	for _, n := range list {
		one, err := s.nb.Changes(ctx, n-1, 1)
		if err != nil || len(one) == 0 || one[0].Seq != n {
			return nil, err
		}
		all = append(all, one[0])
	}
	return all, nil
}

// justDone reads which changes the page before made.
func (s *Server) justDone(r *http.Request) *done {
	list, err := changesAsked(r.URL.Query().Get("done"))
	if err != nil || s.guard.hash != nil && !s.guard.inside(r) {
		return nil
	}
	changes, err := s.changesOf(r.Context(), list)
	if err != nil || len(changes) == 0 {
		return nil
	}
	if len(changes) > 1 {
		return &done{Text: togetherSentence(changes), Changes: list}
	}
	c := &changes[0]
	text, err := s.said(r.Context(), c)
	if err != nil {
		return nil
	}
	d := &done{Text: text}
	if c.Action != notebook.Appended {
		d.Changes = list
	}
	return d
}

// togetherSentence says what changes that were made as one did: how many records of
// each kind were added, and so on.
func togetherSentence(changes []notebook.Change) string {
	undone := 0
	of := map[notebook.Kind][]notebook.ID{}
	for _, c := range changes {
		if c.Action != changes[0].Action {
			return fmt.Sprintf("%d changes were made.", len(changes))
		}
		if c.Undoes != 0 {
			undone++
		}
		of[c.Kind] = append(of[c.Kind], c.ID)
	}
	var parts []string
	for _, kind := range notebook.Kinds() {
		switch ids := of[kind]; len(ids) {
		case 0:
		case 1:
			parts = append(parts, notebook.Ref{Kind: kind, ID: ids[0]}.String())
		default:
			parts = append(parts, fmt.Sprintf("%d %ss", len(ids), kind))
		}
	}
	text := parts[0]
	if n := len(parts) - 1; n > 0 {
		text = strings.Join(parts[:n], ", ") + " and " + parts[n]
	}
	text = strings.ToUpper(text[:1]) + text[1:] + " were " + actionText(changes[0].Action)
	if undone > 0 {
		text += fmt.Sprintf(", which took back %s", count(undone, "change", "changes"))
	}
	return text + "."
}

// back sends the browser on after a change, which the next page offers to undo.
func back(w http.ResponseWriter, r *http.Request, to string, seq int64) error {
	var list changeList
	if seq > 0 {
		list = changeList{seq}
	}
	return backAfter(w, r, to, list)
}

// backAfter is back after changes that were made as one, the newest first.
func backAfter(w http.ResponseWriter, r *http.Request, to string, list changeList) error {
	if len(list) > 0 {
		to, anchor, _ := strings.Cut(to, "#")
		mark := "?"
		if strings.Contains(to, "?") {
			mark = "&"
		}
		to += mark + "done=" + list.String()
		if anchor != "" {
			to += "#" + anchor
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// undo takes back a change, or several that were made as one.
func (s *Server) undo(w http.ResponseWriter, r *http.Request) error {
	ctx, f := r.Context(), newForm(r)
	list, err := changesAsked(f.text("change"))
	if err != nil {
		return err
	}
	var retires []notebook.Ref
	for _, n := range list {
		one, err := s.retiredByUndo(ctx, n)
		if err != nil {
			return err
		}
		retires = append(retires, one)
	}
	var did []notebook.Change
	err = s.whileUnread(ctx, retires, func() error {
		if len(list) > 1 {
			did, err = s.nb.UndoAll(ctx, list)
			return err
		}
		one, err := s.nb.Undo(ctx, list[0])
		did = []notebook.Change{one}
		return err
	})
	if err != nil {
		return err
	}
	to := localPath(f.text("from"))
	var made changeList
	for i := range did {
		made = append(made, did[i].Seq)
		if elsewhere := s.after(&did[i], to); elsewhere != to {
			to = elsewhere
		}
	}
	slices.Reverse(made)
	return backAfter(w, r, to, made)
}
