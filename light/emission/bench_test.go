package emission

import (
	"math/rand/v2"
	"sync"
	"testing"

	"lampassay/light/spectrum"
)

// benchmarkLamps are invented recordings of so many samples each, at 340–850 nm.
func benchmarkLamps(samples int) map[string]*spectrum.Spectrum {
	all := map[string]*spectrum.Spectrum{}
	for _, lamp := range inventedLamps {
		rng := rand.New(rand.NewPCG(3, 4))
		c := newCurve(340, 850, 510/float64(samples), 1.4)
		lamp.build(c, rng)
		all[lamp.name] = c.noisy(rng, 0.0005)
	}
	return all
}

// Every kind of lamp at 2050 samples is meant to take clearly less than a
// millisecond on one core that does nothing else.
func BenchmarkAnalyse(b *testing.B) {
	lamps := benchmarkLamps(2050)
	for _, lamp := range inventedLamps {
		s := lamps[lamp.name]
		b.Run(lamp.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Analyse(s, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func TestAnalysesSideBySideAgree(t *testing.T) {
	lamps := benchmarkLamps(1456)
	want := map[string]string{}
	for name, s := range lamps {
		r, err := Analyse(s, Options{})
		if err != nil {
			t.Fatal(err)
		}
		want[name] = r.Family.Name
	}
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			for name, s := range lamps {
				r, err := Analyse(s, Options{})
				if err != nil || r.Family.Name != want[name] {
					t.Errorf("%s: %v, %v", name, r.Family.Name, err)
				}
			}
		})
	}
	wait.Wait()
}
