package emission

import (
	"math/rand/v2"
	"sync"
	"testing"

	"lampassay/light/spectrum"
)

// benchmarkLamps are invented recordings of 1456 samples each.
func benchmarkLamps() map[string]*spectrum.Spectrum {
	all := map[string]*spectrum.Spectrum{}
	for _, lamp := range inventedLamps {
		rng := rand.New(rand.NewPCG(3, 4))
		c := newCurve(340, 850, 0.35, 1.4)
		lamp.build(c, rng)
		all[lamp.name] = c.noisy(rng, 0.0005)
	}
	return all
}

func BenchmarkAnalyse(b *testing.B) {
	lamps := benchmarkLamps()
	for _, name := range []string{"halogen 3050 K", "white LED 4000 K", "fluorescent, three-band", "high-pressure sodium", "neon lamp", "metal halide, dysprosium thallium"} {
		s := lamps[name]
		b.Run(name, func(b *testing.B) {
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
	lamps := benchmarkLamps()
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
