package sqlite

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
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
	_, err = s.Undo(ctx, p.Revision)
	wantCode(t, err, notebook.Kept, "add an erratum")
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
	wantCode(t, err, notebook.Stale, "restore it before recording")
	wantClean(t, s)
}

// shelf makes lamps with two assays each.
func shelf(tb testing.TB, s *Store, lamps int) {
	tb.Helper()
	ctx := tb.Context()
	strip := make([]float64, 81)
	record := `{"quantities":{` + strings.Repeat(`"x":{"value":1.25,"unit":"lm/W","u":0.5,"source":"CIE 15:2018","why":""},`, 150) + `"cct":{}}}`
	for i := range lamps {
		l, err := s.Lamps().Add(ctx, notebook.Lamp{Name: fmt.Sprintf("lamp %04d", (i*7919)%lamps), Technology: []string{"LED", "fluorescent", "sodium"}[i%3], Notes: strings.Repeat("An invented lamp. ", 20)})
		if err != nil {
			tb.Fatal(err)
		}
		sit(tb, s, l.ID)
		for k := range 2 {
			_, err := s.Assays().Add(ctx, notebook.Assay{
				Lamp: l.ID, Made: time.Date(2026, 11, 25, 9, i%60, k, 0, time.UTC), Program: "test", Inputs: []notebook.Input{{What: "file", SHA256: notebook.SumOf([]byte{1})}},
				Figures: map[string]float64{"cct": 2000 + float64((i*31)%lamps) + float64(k)/2, "ra": 80, "luminous_flux": 800}, Strip: strip, Record: []byte(record),
			})
			if err != nil {
				tb.Fatal(err)
			}
		}
	}
}

func TestTheShelfIsFilteredSortedAndPaged(t *testing.T) {
	s := fresh(t)
	shelf(t, s, 12)
	ctx := t.Context()
	names := func(q notebook.Query) (all []string) {
		t.Helper()
		list, err := s.Shelf(ctx, q)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range list.Items {
			if l.Made.IsZero() || l.Figures["cct"] == 0 || len(l.Strip) != 81 || l.Sittings != 1 {
				t.Errorf("%s is shown as %+v", l.Name, l)
			}
			all = append(all, l.Name)
		}
		return all
	}
	if got := names(notebook.Query{Sort: "name", Limit: 3, Offset: 1}); !slices.Equal(got, []string{"lamp 0001", "lamp 0002", "lamp 0003"}) {
		t.Errorf("the second to fourth by name are %v", got)
	}
	byColour, err := s.Shelf(ctx, notebook.Query{Sort: "cct", Descending: true, Technology: "sodium"})
	if err != nil {
		t.Fatal(err)
	}
	if byColour.Total != 4 || len(byColour.Items) != 4 {
		t.Errorf("%d of %d sodium lamps are listed, want 4", len(byColour.Items), byColour.Total)
	}
	for i, l := range byColour.Items {
		if l.Figures["cct"] != float64(int(l.Figures["cct"]))+.5 {
			t.Errorf("%s is shown with %v, which is not of its latest assay", l.Name, l.Figures)
		}
		if i > 0 && l.Figures["cct"] > byColour.Items[i-1].Figures["cct"] {
			t.Error("the shelf is not sorted by colour temperature")
		}
	}
	// The assay that was chosen goes before the latest, a trashed one is not shown.
	l, err := s.Lamps().Get(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	l.PrimaryAssay = 1
	if _, err := s.Lamps().Update(ctx, *l); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Trash(ctx, notebook.Ref{Kind: notebook.KindAssay, ID: 4}); err != nil {
		t.Fatal(err)
	}
	list, err := s.Shelf(ctx, notebook.Query{Limit: 2})
	if err != nil {
		t.Fatal(err)
	}
	if a, b := list.Items[0].Assay, list.Items[1].Assay; a != 1 || b != 3 {
		t.Errorf("the first two lamps are shown with the assays %d and %d, want 1 and 3", a, b)
	}
	if _, err := s.Trash(ctx, notebook.Ref{Kind: notebook.KindAssay, ID: 1}); err != nil {
		t.Fatal(err)
	}
	if list, err := s.Shelf(ctx, notebook.Query{Limit: 1}); err != nil || list.Items[0].Assay != 2 {
		t.Errorf("with the chosen assay in the trash the first lamp is shown with assay %d, want 2 (%v)", list.Items[0].Assay, err)
	}
	// Words are looked for in what was written, not in how it is kept.
	for text, want := range map[string]int{"invented SODIUM": 4, "notes": 0, "100%": 0, "lamp_0001": 0, "0001": 1} {
		if list, err := s.Lamps().List(ctx, notebook.Query{Text: text}); err != nil || list.Total != want {
			t.Errorf("%q finds %d lamps, want %d (%v)", text, list.Total, want, err)
		}
	}
	_, err = s.Shelf(ctx, notebook.Query{Sort: "cct' OR 1"})
	wantCode(t, err, notebook.Invalid, "cannot be sorted")
	_, err = s.Instruments().List(ctx, notebook.Query{Lamp: 1})
	wantCode(t, err, notebook.Invalid, "no lamp to choose by")
	if list, err := s.Assays().List(ctx, notebook.Query{Lamp: 2, Trashed: true}); err != nil || list.Total != 1 {
		t.Errorf("%d assays of lamp 2 are in the trash, want 1 (%v)", list.Total, err)
	}
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
