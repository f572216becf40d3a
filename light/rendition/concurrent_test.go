package rendition

import (
	"sync"
	"testing"

	"lampassay/light/spectrum"
)

// TestEvaluatorsShareTheirChartsAtOnce runs evaluators side by side over all of
// the charts, which are built at first use, and compares with one alone. Under
// the race detector it shows that nothing shared is written twice.
func TestEvaluatorsShareTheirChartsAtOnce(t *testing.T) {
	nm, v := []float64{360, 830}, []float64{1, 2}
	s, err := spectrum.New(spectrum.Relative, nm, v)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	run := func() (all [40]TM30) {
		e := New()
		for i := range all {
			e.Fidelity(p, 1500*float64(i+1)/2.5, &all[i])
		}
		return all
	}
	var group sync.WaitGroup
	var got [4][40]TM30
	for g := range got {
		group.Go(func() { got[g] = run() })
	}
	group.Wait()
	want := run()
	for g := range got {
		for i := range want {
			if got[g][i].Rf != want[i].Rf || got[g][i].Rg != want[i].Rg {
				t.Errorf("evaluator %d, temperature %d: Rf %v, Rg %v; want %v, %v", g, i, got[g][i].Rf, got[g][i].Rg, want[i].Rf, want[i].Rg)
			}
		}
	}
}
