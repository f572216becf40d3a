package sqlite

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

// fresh makes an empty notebook with a clock that ticks a millisecond a look.
func fresh(tb testing.TB) *Store {
	tb.Helper()
	s, err := Create(tb.Context(), filepath.Join(tb.TempDir(), "bench.notebook"))
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { s.Close() })
	at := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	s.now = func() time.Time { at = at.Add(time.Millisecond); return at }
	return s
}

// tube is an invented lamp.
func tube(tb testing.TB, s *Store) *notebook.Lamp {
	tb.Helper()
	l, err := s.Lamps().Add(tb.Context(), notebook.Lamp{Name: "Kitchen tube", Technology: "fluorescent", Base: "G13"})
	if err != nil {
		tb.Fatal(err)
	}
	return l
}

func sit(tb testing.TB, s *Store, lamp notebook.ID) *notebook.Sitting {
	tb.Helper()
	v, err := s.Sittings().Add(tb.Context(), notebook.Sitting{Lamp: lamp, Title: "Run-up", Started: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)})
	if err != nil {
		tb.Fatal(err)
	}
	return v
}

// wantCode checks the code of an error and that its sentence says something.
func wantCode(tb testing.TB, err error, code notebook.Code, says string) {
	tb.Helper()
	if err == nil || notebook.CodeOf(err) != code || !strings.Contains(err.Error(), says) {
		tb.Errorf("error %v with the code %d, want the code %d and %q", err, notebook.CodeOf(err), code, says)
	}
}

// wantClean verifies a notebook.
func wantClean(tb testing.TB, s *Store) *notebook.Verdict {
	tb.Helper()
	v, err := s.Verify(context.Background())
	if err != nil {
		tb.Fatal(err)
	}
	if len(v.Faults) > 0 {
		tb.Errorf("verify: %s", strings.Join(v.Faults, "; "))
	}
	return v
}

func TestUndoTakesBackEveryChange(t *testing.T) {
	s := fresh(t)
	ctx := t.Context()
	lamp := tube(t, s)
	added := lamp.Revision
	lamp.Notes = "hums"
	lamp, err := s.Lamps().Update(ctx, *lamp)
	if err != nil {
		t.Fatal(err)
	}
	hums := lamp.Revision
	lamp.Notes = "hums, and flickers at the ends"
	if lamp, err = s.Lamps().Update(ctx, *lamp); err != nil {
		t.Fatal(err)
	}
	flickers := lamp.Revision
	state := func() string {
		l, err := s.Lamps().Get(ctx, lamp.ID)
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprintf("%s|%t", l.Notes, !l.Trashed.IsZero())
	}
	undo := func(change int64, want string) int64 {
		t.Helper()
		c, err := s.Undo(ctx, change)
		if err != nil {
			t.Fatal(err)
		}
		if got := state(); got != want {
			t.Errorf("after undoing change %d the lamp is %q, want %q", change, got, want)
		}
		if c.Undoes != change {
			t.Errorf("the change says that it undoes %d, not %d", c.Undoes, change)
		}
		return c.Seq
	}

	_, err = s.Undo(ctx, hums)
	wantCode(t, err, notebook.Stale, "changed again since")
	again := undo(flickers, "hums|false")
	undo(hums, "|false")
	undo(added, "|true")
	_, err = s.Undo(ctx, added)
	wantCode(t, err, notebook.Stale, "lamp 1 was changed again")
	if _, err := s.Restore(ctx, notebook.Ref{Kind: notebook.KindLamp, ID: lamp.ID}); err != nil {
		t.Fatal(err)
	}
	_, err = s.Undo(ctx, again)
	wantCode(t, err, notebook.Stale, "")
	redone := undo(hums+3, "hums|false") // what took back "hums"
	undo(redone, "|false")

	trashed, err := s.Trash(ctx, notebook.Ref{Kind: notebook.KindLamp, ID: lamp.ID})
	if err != nil {
		t.Fatal(err)
	}
	restored := undo(trashed, "|false")
	undo(restored, "|true")
	_, err = s.Undo(ctx, 999)
	wantCode(t, err, notebook.NotFound, "no change 999")
	wantClean(t, s)
}

func TestTwoWhoChangeOneLamp(t *testing.T) {
	s := fresh(t)
	ctx := t.Context()
	mine := tube(t, s)
	yours := *mine
	mine.Notes = "mine"
	if _, err := s.Lamps().Update(ctx, *mine); err != nil {
		t.Fatal(err)
	}
	yours.Notes = "yours"
	_, err := s.Lamps().Update(ctx, yours)
	wantCode(t, err, notebook.Stale, "look at it again")
	if l, _ := s.Lamps().Get(ctx, mine.ID); l.Notes != "mine" {
		t.Errorf("the lamp's notes are %q", l.Notes)
	}
}

func TestTheFeedTellsOthers(t *testing.T) {
	s := fresh(t)
	ctx := t.Context()
	sitting := sit(t, s, tube(t, s).ID)
	before, err := s.Watch(ctx, 0)
	if err != nil {
		t.Fatal(err)
	}
	told := make(chan int64)
	go func() {
		last, _ := s.Watch(ctx, before)
		told <- last
	}()
	select {
	case last := <-told:
		t.Fatalf("Watch returned %d and nothing had happened after %d", last, before)
	case <-time.After(20 * time.Millisecond):
	}
	for range 3 {
		if _, err := s.Append(ctx, sitting.ID, []notebook.Reading{watts(1)}); err != nil {
			t.Fatal(err)
		}
	}
	if last := <-told; last <= before {
		t.Errorf("Watch returned %d after %d", last, before)
	}
	changes, err := s.Changes(ctx, before, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(changes) != 1 || changes[0].Action != notebook.Appended || changes[0].Seq != before+3 {
		t.Errorf("three batches of readings are the changes %+v, want one, numbered %d", changes, before+3)
	}
	short, cancel := context.WithTimeout(ctx, 10*time.Millisecond)
	defer cancel()
	if _, err := s.Watch(short, before+3); err != context.DeadlineExceeded {
		t.Errorf("Watch waits for nothing and ends with %v", err)
	}
	if page, err := s.Changes(ctx, 0, 1); err != nil || len(page) != 1 || page[0].Seq != 1 {
		t.Errorf("the first change is %+v (%v)", page, err)
	}
	_, err = s.Undo(ctx, before+3)
	wantCode(t, err, notebook.Kept, "set them aside")
}

func TestWhatIsWrittenOnceStays(t *testing.T) {
	s := full(t)
	ctx := t.Context()
	a, err := s.Assays().Get(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	a.Figures["cct"] = 3000
	_, err = s.Assays().Update(ctx, *a)
	wantCode(t, err, notebook.Kept, "make another")
	p, err := s.Publications().Get(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*notebook.Publication){
		"its title":             func(p *notebook.Publication) { p.Title = "Lamps" },
		"an erratum rewritten":  func(p *notebook.Publication) { p.Errata = []notebook.Erratum{{At: p.Made, Text: "all is well"}} },
		"an erratum taken back": func(p *notebook.Publication) { p.Errata = nil },
	} {
		changed := *p
		change(&changed)
		if _, err := s.Publications().Update(ctx, changed); notebook.CodeOf(err) != notebook.Kept {
			t.Errorf("%s: %v", name, err)
		}
	}
	// The schema itself holds readings and assays.
	for _, statement := range []string{
		"UPDATE reading SET body = '{}' WHERE id = (SELECT max(id) FROM reading)",
		"DELETE FROM reading WHERE id = (SELECT max(id) FROM reading)",
		"UPDATE assay SET body = json_set(body, '$.figures.cct', 1)",
		"DELETE FROM lamp WHERE id = 1",
	} {
		if _, err := s.writer.Exec(statement); err == nil {
			t.Errorf("%s was done", statement)
		}
	}
	wantClean(t, s)
}

func TestLinksHaveToExist(t *testing.T) {
	s := fresh(t)
	ctx := t.Context()
	at := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	_, err := s.Sittings().Add(ctx, notebook.Sitting{Lamp: 7, Started: at})
	wantCode(t, err, notebook.NotFound, "no lamp 7")
	_, err = s.Lamps().Add(ctx, notebook.Lamp{Name: "x", Photos: []notebook.Attachment{{Name: "x.jpg", SHA256: notebook.SumOf(nil)}}})
	wantCode(t, err, notebook.Invalid, "x.jpg")
	_, err = s.Lamps().Get(ctx, 1)
	wantCode(t, err, notebook.NotFound, "no lamp 1")
	_, err = s.Append(ctx, 1, []notebook.Reading{watts(1)})
	wantCode(t, err, notebook.NotFound, "no sitting 1")
	_, err = s.File(ctx, notebook.SumOf(nil))
	wantCode(t, err, notebook.NotFound, "no file")
	// A photo of no bytes is a file all the same.
	a, err := s.Keep(ctx, "x.jpg", "image/jpeg", strings.NewReader(""))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Lamps().Add(ctx, notebook.Lamp{Name: "x", Photos: []notebook.Attachment{a}}); err != nil {
		t.Error(err)
	}
	// Nothing is recorded into the trash.
	v := sit(t, s, 1)
	if _, err := s.Trash(ctx, notebook.Ref{Kind: notebook.KindSitting, ID: v.ID}); err != nil {
		t.Fatal(err)
	}
	_, err = s.Append(ctx, v.ID, []notebook.Reading{watts(1)})
	wantCode(t, err, notebook.Away, "bring it back first")
	wantClean(t, s)
}

func TestWhoReadsHoldsNobodyUp(t *testing.T) {
	s := full(t)
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
	defer cancel()
	seen := 0
	for _, err := range s.Readings(ctx, notebook.Readings{Sitting: 1}) {
		if err != nil {
			t.Fatal(err)
		}
		seen++
		if _, err := s.Append(ctx, 1, []notebook.Reading{watts(float64(seen))}); err != nil {
			t.Fatalf("beside a slow reader: %v", err)
		}
	}
	// The reader sees the sitting as it was when it began.
	if tally, err := s.Tally(ctx, 1); err != nil || seen != 45 || tally.Readings != 90 {
		t.Errorf("%d readings were seen and %d are there, want 45 and 90 (%v)", seen, tally.Readings, err)
	}
}

func mustOpen(tb testing.TB, path string) *Store {
	tb.Helper()
	s, err := OpenReadOnly(context.Background(), path)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { s.Close() })
	return s
}

func TestOnlyNotebooksAreOpened(t *testing.T) {
	ctx := t.Context()
	folder := t.TempDir()
	_, err := Open(ctx, filepath.Join(folder, "none"))
	wantCode(t, err, notebook.NotFound, "notebook create")
	text := filepath.Join(folder, "a ?#%41.csv")
	if err := os.WriteFile(text, []byte("nm,counts\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	_, err = Open(ctx, text)
	wantCode(t, err, notebook.Damaged, "is no notebook")
	_, err = Create(ctx, text)
	wantCode(t, err, notebook.Invalid, "is there already")
	if b, _ := os.ReadFile(text); string(b) != "nm,counts\n" {
		t.Error("Create changed a file that was there")
	}
	odd, err := Create(ctx, filepath.Join(folder, "lamps & tubes?mode=ro#%41 λ.notebook"))
	if err != nil {
		t.Fatal(err)
	}
	tube(t, odd)
	_, err = Open(ctx, odd.path)
	wantCode(t, err, notebook.Locked, "close it there first")
	if _, err := odd.writer.Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)"); err != nil {
		t.Fatal(err)
	}
	if err := odd.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(odd.path); err != nil {
		t.Error("the notebook has another name than it was given")
	}
	_, err = Open(ctx, odd.path)
	wantCode(t, err, notebook.Newer, "later program")
	_, err = OpenReadOnly(ctx, odd.path)
	wantCode(t, err, notebook.Newer, "version 99")
}
