package limits

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// The bound at index demands rests on differences being convex in the mixture.
// The bend of the colour space could spoil that, and no proof is known; but of
// pairs of lights of one colour, far apart and near, none may have a middle whose
// mean difference lies above the mean of the ends'.
func TestDifferencesAreConvexWhereverLooked(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	for _, m := range []Measure{Ra, Rf} {
		c, err := Conditions{Colour: AtCCT(3500, 0), Bands: gaussians, Demands: []Demand{AtLeast(m, 50)}}.normalised()
		if err != nil {
			t.Fatal(err)
		}
		columns, coarse, err := c.columns()
		if err != nil {
			t.Fatal(err)
		}
		q := newPalette(columns).pick(coarse)
		p, err := newProgram(q, &c)
		if err != nil {
			t.Fatal(err)
		}
		// Lights of the colour, each the cheapest at random costs, of any index and
		// of a high one.
		var lights [][]float64
		for i := range 24 {
			demands := []Demand{AtLeast(m, 90)}
			if i%2 == 0 {
				demands = nil
			}
			free, err := newProgram(q, &Conditions{Colour: c.Colour, Demands: demands})
			if err != nil {
				t.Fatal(err)
			}

			cost, start := make([]float64, p.n), make([]float64, p.n)
			for j := range cost {
				cost[j], start[j] = 0.5+r.ExpFloat64(), 3/float64(p.n)
			}
			free.cost = cost
			s, err := free.solve(context.Background(), start)
			if err != nil {
				t.Fatal(err)
			}
			lights = append(lights, s.a)
		}
		at := p.newPoint()
		g := func(a []float64) float64 {
			p.value(a, at)
			return -at.g[0]
		}
		worst, above, pairs := 0.0, 0, 0
		for i, a := range lights {
			for k, b := range lights {
				for _, apart := range []float64{1, 0.1} {
					if i == k || apart == 1 && k < i {
						continue
					}
					end, mid := make([]float64, p.n), make([]float64, p.n)
					for j := range mid {
						end[j] = a[j] + apart*(b[j]-a[j])
						mid[j] = (a[j] + end[j]) / 2
					}
					chord := (g(a) + g(end)) / 2
					over := (g(mid) - chord) / chord
					worst = math.Max(worst, over)
					if over > 0 {
						above++
					}
					pairs++
				}
			}
		}
		t.Logf("%v: of %d pairs %d lie above the chord, by %.2g of it at most", m, pairs, above, worst)
		if worst > 1e-6 {
			t.Errorf("%v: a middle lies %g of the chord above it", m, worst)
		}
	}
}
