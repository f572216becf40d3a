package webapp

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"lampassay/bench/notebook"
)

// takeOut returns a list without the entry that a button names: by its place, and by
// what stood there when the page was made, so that it is never another one.
func takeOut[T any](f *form, list []T, mark func(*T) string) ([]T, error) {
	n := f.whole("n", "an entry")
	if f.err != nil {
		return nil, f.err
	}
	words := func(text string) string { return strings.Join(strings.Fields(text), " ") }
	if n < 0 || n >= int64(len(list)) || words(mark(&list[n])) != words(f.text("was")) {
		return nil, &userError{http.StatusConflict, "That entry is not there any more: look at the page again."}
	}
	return slices.Delete(slices.Clone(list), int(n), int(n)+1), nil
}

// historyMark and calibrationMark are what a page says of an entry, without its
// remarks.
func historyMark(e *notebook.Event) string {
	return e.On.Format(time.DateOnly) + " " + e.Text
}

func calibrationMark(c *notebook.Calibration) string {
	return c.Made.Format(time.DateOnly) + " " + c.What
}

// changeLamp changes a lamp by a button of its page.
func (s *Server) changeLamp(w http.ResponseWriter, r *http.Request, change func(*notebook.Lamp, *form) error) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	l, err := s.nb.Lamps().Get(r.Context(), id)
	if err != nil {
		return err
	}
	if err := change(l, newForm(r)); err != nil {
		return err
	}
	if l, err = s.nb.Lamps().Update(r.Context(), *l); err != nil {
		return err
	}
	return back(w, r, lampPath(id), l.Revision)
}

// lampHistoryOut takes an entry out of a lamp's history. Where the lamp has its hours
// burned from there, it has those of the entry before again.
func (s *Server) lampHistoryOut(w http.ResponseWriter, r *http.Request) error {
	return s.changeLamp(w, r, func(l *notebook.Lamp, f *form) error {
		left, err := takeOut(f, l.History, historyMark)
		if err != nil {
			return err
		}
		gone := l.History[f.whole("n", "an entry")]
		l.History = left
		if h := gone.BurnedHours; h != nil && l.BurnedHours != nil && *h == *l.BurnedHours {
			l.BurnedHours = nil
			for i := range left {
				if left[i].BurnedHours != nil {
					l.BurnedHours = left[i].BurnedHours
				}
			}
		}
		return nil
	})
}

// lampPhotoOut takes a picture off a lamp's page.
func (s *Server) lampPhotoOut(w http.ResponseWriter, r *http.Request) error {
	return s.changeLamp(w, r, func(l *notebook.Lamp, f *form) (err error) {
		l.Photos, err = takeOut(f, l.Photos, func(a *notebook.Attachment) string { return string(a.SHA256) })
		return err
	})
}

// calibrationOut takes a calibration that was noted out of an instrument's list.
func (s *Server) calibrationOut(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	in, err := s.nb.Instruments().Get(r.Context(), id)
	if err != nil {
		return err
	}
	if in.Calibrations, err = takeOut(newForm(r), in.Calibrations, calibrationMark); err != nil {
		return err
	}
	if in, err = s.nb.Instruments().Update(r.Context(), *in); err != nil {
		return err
	}
	return back(w, r, fmt.Sprintf("/instruments/%d", id), in.Revision)
}
