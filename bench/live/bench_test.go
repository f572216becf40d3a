package live

import (
	"math"
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
	pushers(t, server.URL, 1000, 1000)
	if n, err := s.Mark(t.Context(), "lamp off"); n != 1601 || err != nil {
		t.Errorf("the mark is number %d (%v)", n, err)
	}
	tally, err := nb.Tally(t.Context(), sitting)
	if err != nil || tally.Readings != 1601 {
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

// A verdict in the middle of five hours at 14 readings a second.
func BenchmarkRunUp(b *testing.B) {
	s := opened(b, &shelf{}, Options{})
	light, power := Pick{"lux", "illuminance"}, Pick{"mains", "power"}
	for i := range 250000 {
		at := float64(i) / 14
		x, w := 357*(1-0.9*math.Exp(-at/300)), 46.3
		s.traces.add(at, light.Channel, []notebook.Value{{Key: light.Key, V: &x}})
		s.traces.add(at, power.Channel, []notebook.Value{{Key: power.Key, V: &w}})
	}
	for b.Loop() {
		if r, err := s.RunUp(Watch{Light: light, Power: power}); err != nil || !r.Verdict.Stable {
			b.Fatal(err, r.Verdict.Why)
		}
	}
}
