package sqlite

import (
	"context"
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

func TestSmoke(t *testing.T) {
	s := fresh(t)
	l := tube(t, s)
	v := sit(t, s, l.ID)
	p := 35.5
	n, err := s.Append(t.Context(), v.ID, []notebook.Reading{{At: time.Now(), Channel: "mains", Values: []notebook.Value{{Key: "power", V: &p, Unit: "W"}}}, {At: time.Now(), Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "counts", Axis: []float64{400, 500}, Samples: []float64{1, 2}}}})
	if err != nil || n != 2 {
		t.Fatal(n, err)
	}
	for r, err := range s.Readings(t.Context(), notebook.Readings{Sitting: v.ID, Decimate: 3}) {
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%+v %+v", r, r.Curve)
	}
	t.Log(s.Tally(t.Context(), v.ID))
	t.Log(s.Shelf(t.Context(), notebook.Query{Text: "kit", Sort: "cct"}))
	l.Notes = "x"
	l, err = s.Lamps().Update(t.Context(), *l)
	t.Log(l, err)
	c, err := s.Undo(t.Context(), l.Revision)
	t.Log(c, err)
	t.Log(s.Changes(t.Context(), 0, 0))
	t.Log(s.Backup(t.Context(), s.path+".copy"))
	t.Logf("%+v", wantClean(t, s))
}
