package live

import (
	"path/filepath"
	"testing"

	"lampassay/bench/notebook"
	"lampassay/bench/notebook/sqlite"
)

// kept is a sitting in a notebook on the disk.
func kept(t testing.TB) (*sqlite.Store, notebook.ID) {
	t.Helper()
	nb, err := sqlite.Create(t.Context(), filepath.Join(t.TempDir(), "bench.notebook"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := nb.Close(); err != nil {
			t.Error(err)
		}
	})
	lamp, err := nb.Lamps().Add(t.Context(), notebook.Lamp{Name: "Level crossing lamp"})
	if err != nil {
		t.Fatal(err)
	}
	sitting, err := nb.Sittings().Add(t.Context(), notebook.Sitting{Lamp: lamp.ID, Title: "run-up", Started: NewClock(1).Start()})
	if err != nil {
		t.Fatal(err)
	}
	return nb, sitting.ID
}

func TestReadingsOfASessionAreInTheNotebook(t *testing.T) {
	nb, sitting := kept(t)
	s, _, server := door(t, Into(nb, sitting))
	pushers(t, server.URL, 600, 20)
	if n, err := s.Mark(t.Context(), "lamp off"); n != 601 || err != nil {
		t.Errorf("the mark is number %d (%v)", n, err)
	}
	tally, err := nb.Tally(t.Context(), sitting)
	if err != nil || tally.Readings != 601 {
		t.Errorf("%d readings are kept (%v)", tally.Readings, err)
	}
	v, err := nb.Verify(t.Context())
	if err != nil || len(v.Faults) > 0 {
		t.Errorf("%+v (%v)", v, err)
	}
}

// Readings by HTTP into a notebook on the disk, from eight boards that send one
// at a time or a hundred.
func BenchmarkPush(b *testing.B) {
	for name, each := range map[string]int{"single": 1, "hundred": 100} {
		b.Run(name, func(b *testing.B) {
			nb, sitting := kept(b)
			_, _, server := door(b, Into(nb, sitting))
			n := (b.N + each - 1) / each * each
			b.ResetTimer()
			took := pushers(b, server.URL, n, each)
			b.StopTimer()
			b.ReportMetric(float64(n)/took.Minutes(), "readings/min")
			if tally, err := nb.Tally(b.Context(), sitting); err != nil || tally.Readings != int64(n) {
				b.Errorf("%d of %d readings are kept (%v)", tally.Readings, n, err)
			}
		})
	}
}
