package comparison

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
)

// figure makes a figure from a shared and an own relative uncertainty.
func figure(lamp string, value, shared, own float64) Figure {
	return Figure{Lamp: lamp, Value: value, Unit: "lm", Causes: []Cause{
		{Name: "light meter scale", U: shared * value}, {Name: "spectral mismatch", U: own * value, Own: true},
	}}
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %g, want %g ± %g", what, got, want, tolerance)
	}
}

func TestASharedScaleCancelsInTheRatio(t *testing.T) {
	p, err := Between(figure("A", 800, 0.05, 0), figure("B", 1000, 0.05, 0), Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ratio", p.Ratio.Value, 1.25, 1e-15)
	near(t, "u(ratio)", p.Ratio.U, 0, 1e-8)
	near(t, "correlation", p.Correlation, 1, 1e-12)
	near(t, "u(difference)", p.Difference.U, 0.05*200, 1e-9) // a scale error stretches a difference
	if !p.Apart {
		t.Error("a ratio without uncertainty was not told apart from 1")
	}
}

func TestMismatchDoesNotCancel(t *testing.T) {
	p, err := Between(figure("A", 800, 0.05, 0.03), figure("B", 1000, 0.05, 0.04), Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u(ratio)/ratio", p.Ratio.U/p.Ratio.Value, 0.05, 1e-12)
}

func TestOppositeSignsAddUp(t *testing.T) {
	a, b := figure("A", 100, 0.02, 0), figure("B", 100, -0.02, 0)
	p, err := Between(a, b, Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u(ratio)", p.Ratio.U, 0.04, 1e-12)
}

// The three inputs of JCGM 100:2008 H.2 in small: two figures that share one of
// two correlated causes.
func TestCorrelatedCausesEnterTheCovariance(t *testing.T) {
	a := Figure{Lamp: "A", Value: 1, Causes: []Cause{{Name: "p", U: 3}, {Name: "q", U: 4}}}
	b := Figure{Lamp: "B", Value: 1, Causes: []Cause{{Name: "p", U: 5}}}
	v, err := Covariance([]Figure{a, b}, []uncertainty.Correlation{{A: "p", B: "q", R: 0.5}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "variance of A", v.At(0, 0), 9+16+2*0.5*3*4, 1e-12)
	near(t, "variance of B", v.At(1, 1), 25, 1e-12)
	near(t, "covariance", v.At(0, 1), 3*5+0.5*4*5, 1e-12)
}

func TestBadFiguresAreRefusedInOneSentence(t *testing.T) {
	ok := figure("A", 100, 0.01, 0.01)
	named := func(f func(*Figure)) []Figure {
		g := figure("B", 120, 0.01, 0.01)
		f(&g)
		return []Figure{ok, g}
	}
	for _, c := range []struct {
		figures []Figure
		o       Options
		want    string
	}{
		{named(func(g *Figure) { g.Unit = "W" }), Options{}, "A is in lm and B in W"},
		{named(func(g *Figure) { g.Value = -3 }), Options{}, "a ratio needs values above zero"},
		{named(func(g *Figure) { g.Value = math.NaN() }), Options{}, "not a finite number"},
		{named(func(g *Figure) { g.Causes[0].U = math.Inf(1) }), Options{}, `"light meter scale" is not a finite number`},
		{named(func(g *Figure) { g.Causes[0].U = 1e300 }), Options{}, `"light meter scale" is not a finite number`},
		{named(func(g *Figure) { g.Causes[1].Name = g.Causes[0].Name }), Options{}, "stands twice"},
		{named(func(g *Figure) { g.Lamp = "A" }), Options{}, `two lamps are called "A"`},
		{named(func(g *Figure) {}), Options{Coverage: 95}, "between 0 and 1"},
		{named(func(g *Figure) {}), Options{Correlations: []uncertainty.Correlation{{A: "light meter scale", B: "moon", R: 0.1}}}, `"moon", which is no cause`},
		{named(func(g *Figure) {}), Options{Correlations: []uncertainty.Correlation{{A: "light meter scale", B: "spectral mismatch", R: 1.1}}}, "cannot be 1.1"},
		{[]Figure{{Lamp: "A", Value: 1, Causes: []Cause{{Name: "p"}, {Name: "q"}, {Name: "r"}}}}, Options{Correlations: []uncertainty.Correlation{
			{A: "p", B: "q", R: 0.9}, {A: "q", B: "r", R: 0.9}, {A: "p", B: "r", R: -0.9}}}, "not positive definite"},
		{[]Figure{{Lamp: "A", Value: 1, Draws: []float64{1, 2}}, {Lamp: "B", Value: 1, Draws: []float64{1, 2, 3}}}, Options{}, "not drawn together"},
		{[]Figure{{Lamp: "A", Value: 1, Draws: []float64{1, 2}}, {Lamp: "B", Value: 1, Causes: []Cause{{Name: "x", U: 1}}}}, Options{}, "draws alone"},
		{make([]Figure, MostLamps+1), Options{}, "called"},
	} {
		_, err := Rank(c.figures, c.o)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "comparison: ") {
			t.Errorf("error %v, want one that says %q", err, c.want)
		}
	}
}

func letters(r *Ranking, figures []Figure) string {
	var s []string
	for _, p := range r.Places {
		s = append(s, figures[p.Figure].Lamp+":"+p.Letters)
	}
	return strings.Join(s, " ")
}

func TestRankingShowsGroupsNotAFalseOrder(t *testing.T) {
	// u of 2 each and independent: a difference is told from zero beyond 5.54.
	own := func(lamp string, v float64) Figure {
		return Figure{Lamp: lamp, Value: v, Causes: []Cause{{Name: "refit", U: 2, Own: true}}}
	}
	for _, c := range []struct {
		name    string
		figures []Figure
		want    string
		chain   bool
	}{
		{"all apart", []Figure{own("A", 80), own("B", 90), own("C", 100)}, "C:a B:b A:c", false},
		{"all alike", []Figure{own("A", 80), own("B", 81), own("C", 82)}, "C:a B:a A:a", false},
		{"two groups", []Figure{own("A", 80), own("B", 81), own("C", 90), own("D", 91)}, "D:a C:a B:b A:b", false},
		{"not passed on", []Figure{own("A", 80), own("B", 84), own("C", 88)}, "C:a B:ab A:b", true},
		{"one lamp", []Figure{own("A", 80)}, "A:a", false},
		{"none", nil, "", false},
	} {
		r, err := Rank(c.figures, Options{Scale: ByDifference})
		if err != nil {
			t.Fatal(c.name, err)
		}
		if got := letters(r, c.figures); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if (r.Chain != nil) != c.chain {
			t.Errorf("%s: chain %v", c.name, r.Chain)
		}
	}
}

func TestAValueOutsideScopeHasNoRank(t *testing.T) {
	out := figure("S", 9000, 0.01, 0.01)
	out.Unranked = "outside the method's scope"
	r, err := Rank([]Figure{figure("A", 100, 0.01, 0.001), out, figure("B", 200, 0.01, 0.001)}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(r.Unranked, []int{1}) || len(r.Places) != 2 || r.Places[0].Figure != 2 {
		t.Errorf("places %v, unranked %v", r.Places, r.Unranked)
	}
}

// figures draws a field of lamps.
func figures(t *rapid.T) []Figure {
	n := rapid.IntRange(2, 9).Draw(t, "lamps")
	var list []Figure
	for i := range n {
		list = append(list, figure(string(rune('A'+i)), rapid.Float64Range(50, 150).Draw(t, "value"),
			rapid.Float64Range(-0.1, 0.1).Draw(t, "shared"), rapid.Float64Range(0, 0.1).Draw(t, "own")))
	}
	return list
}

// told reports whether two figures were told apart.
func told(r *Ranking, a, b int) bool {
	return slices.ContainsFunc(r.Pairs, func(p Pair) bool {
		return p.Apart && (p.A == a && p.B == b || p.A == b && p.B == a)
	})
}

func TestLettersSayExactlyWhatThePairsSay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := figures(t)
		r, err := Rank(list, Options{})
		if err != nil {
			t.Fatal(err)
		}
		member := func(place, group int) bool { return slices.Contains(r.Groups[group], place) }
		for i := range r.Places {
			for k := range i {
				together := false
				for g := range r.Groups {
					together = together || member(i, g) && member(k, g)
				}
				if apart := told(r, r.Places[i].Figure, r.Places[k].Figure); apart == together {
					t.Fatalf("places %d and %d: apart %v, share a letter %v", i, k, apart, together)
				}
			}
			if p := r.Places[i]; p.Best < 1 || p.Worst > len(list) || p.Best > p.Worst || i+1 < p.Best || i+1 > p.Worst {
				t.Fatalf("place %d may have ranks %d to %d", i+1, p.Best, p.Worst)
			}
		}
		for g := range r.Groups { // no group inside another
			for h := range r.Groups {
				if g != h && !slices.ContainsFunc(r.Groups[g], func(i int) bool { return !member(i, h) }) {
					t.Fatalf("group %v lies inside %v", r.Groups[g], r.Groups[h])
				}
			}
		}
	})
}

func TestTheAnswerDoesNotDependOnWhichLampComesFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := figures(t)
		p, err := Between(list[0], list[1], Options{})
		if err != nil {
			t.Fatal(err)
		}
		q, err := Between(list[1], list[0], Options{})
		if err != nil {
			t.Fatal(err)
		}
		if p.Apart != q.Apart || math.Abs(p.Ratio.Low*q.Ratio.High-1) > 1e-12 {
			t.Fatalf("%+v turned round is %+v", p, q)
		}
	})
}

// bench is a model of one lamp: value·(1 + scale)·(1 + mismatch).
func bench(value, scale, mismatch float64) *uncertainty.Model {
	return &uncertainty.Model{
		Inputs: []uncertainty.Input{
			{Name: "light meter scale", Distribution: uncertainty.Normal(0, scale)},
			{Name: "spectral mismatch", Distribution: uncertainty.Normal(0, mismatch)},
		},
		Outputs: 1,
		New: func() uncertainty.Function {
			return func(x, y []float64) { y[0] = value * (1 + x[0]) * (1 + x[1]) }
		},
	}
}

func TestDrawsMadeTogetherAgreeWithTheCauses(t *testing.T) {
	const a, b, scale, mismatch = 800.0, 900.0, 0.05, 0.03
	m, err := Joint([]string{"A", "B"}, []*uncertainty.Model{bench(a, scale, mismatch), bench(b, scale, mismatch)}, Rig())
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Inputs) != 3 {
		t.Fatalf("%d inputs, want one shared and two own", len(m.Inputs))
	}
	const draws = 40000
	s, err := m.MonteCarlo(context.Background(), uncertainty.Options{Seed: 1, Draws: draws})
	if err != nil {
		t.Fatal(err)
	}
	drawn, err := Between(Figure{Lamp: "A", Value: a, Draws: s.Values(0)}, Figure{Lamp: "B", Value: b, Draws: s.Values(1)}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	byCauses, err := Between(figure("A", a, scale, mismatch), figure("B", b, scale, mismatch), Options{})
	if err != nil {
		t.Fatal(err)
	}
	// Of 40 000 draws a standard deviation is good to 1/√80 000 = 0.35 %, and an
	// end of the interval to about 1.1 % of u; four times that. The logarithm of
	// the law and the draws differ by a term of the order of u² beside.
	u := byCauses.Ratio.U
	near(t, "u(ratio)", drawn.Ratio.U, u, 0.02*u)
	near(t, "low end", drawn.Ratio.Low, byCauses.Ratio.Low, 0.06*u)
	near(t, "high end", drawn.Ratio.High, byCauses.Ratio.High, 0.06*u)
	near(t, "correlation", drawn.Correlation, scale*scale/(scale*scale+mismatch*mismatch), 0.015)

	// Nothing shared: the scale counts twice.
	m, err = Joint([]string{"A", "B"}, []*uncertainty.Model{bench(a, scale, mismatch), bench(b, scale, mismatch)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if s, err = m.MonteCarlo(context.Background(), uncertainty.Options{Seed: 1, Draws: draws}); err != nil {
		t.Fatal(err)
	}
	apart, err := Between(Figure{Lamp: "A", Value: a, Draws: s.Values(0)}, Figure{Lamp: "B", Value: b, Draws: s.Values(1)}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u(ratio) of separate rigs", apart.Ratio.U/apart.Ratio.Value, math.Sqrt(2*(scale*scale+mismatch*mismatch)), 0.02*0.0825)
}

func TestInputsThatDifferAreNotShared(t *testing.T) {
	m, err := Joint([]string{"A", "B"}, []*uncertainty.Model{bench(1, 0.05, 0), bench(1, 0.04, 0)}, Rig())
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Inputs) != 4 {
		t.Errorf("%d inputs, want 4: two scales of different uncertainty cannot be one", len(m.Inputs))
	}
}

func TestTheIntervalOfTheRatioHoldsTheTruth(t *testing.T) {
	// 4000 pairs of lamps with a known ratio, errors drawn from what is believed.
	m, err := Joint([]string{"A", "B"}, []*uncertainty.Model{bench(1, 0.05, 0.03), bench(1.1, 0.05, 0.03)}, Rig())
	if err != nil {
		t.Fatal(err)
	}
	const trials = 4000
	s, err := m.MonteCarlo(context.Background(), uncertainty.Options{Seed: 7, Draws: trials})
	if err != nil {
		t.Fatal(err)
	}
	held := 0
	for k := range trials {
		p, err := Between(figure("A", s.Values(0)[k], 0.05, 0.03), figure("B", s.Values(1)[k], 0.05, 0.03), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if p.Ratio.Low <= 1.1 && 1.1 <= p.Ratio.High {
			held++
		}
	}
	near(t, "share of intervals that hold the truth", float64(held)/trials, 0.95, 4*math.Sqrt(0.95*0.05/trials))
}

func TestSentencesReadAsPeopleSpeak(t *testing.T) {
	flux, ra := quantity.Get(quantity.LuminousFlux), quantity.Get(quantity.Ra)
	pair := func(a, b Figure, s Scale) Pair {
		p, err := Between(a, b, Options{Scale: s})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	for _, c := range []struct {
		p    Pair
		d    *quantity.Definition
		want string
	}{
		{pair(figure("A", 800, 0.05, 0.015), figure("B", 896, 0.05, 0.015), ByRatio), flux, "B gives 12 % more light than A (7 to 17)"},
		{pair(figure("A", 800, 0.05, 0.015), figure("B", 696, 0.05, 0.015), ByRatio), flux, "B gives 13 % less light than A (9 to 17)"},
		{pair(figure("A", 800, 0.05, 0.03), figure("B", 820, 0.05, 0.03), ByRatio), flux, "A and B can't be told apart in luminous flux: the ratio is 1.025 (0.943 to 1.114)"},
		{pair(figure("A", 800, 0.05, 0.03), figure("B", 2000, 0.05, 0.03), ByRatio), flux, "B gives 2.50 times as much light as A (2.30 to 2.72)"},
		{pair(Figure{Lamp: "A", Value: 80, Causes: []Cause{{Name: "x", U: 1, Own: true}}}, Figure{Lamp: "B", Value: 90}, ByDifference), ra, "B's general colour rendering index is 10 higher than A's (8 to 12)"},
	} {
		if got := c.p.Sentence(c.d, "A", "B"); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestTheMeanKeepsWhatIsSharedAndHalvesWhatIsNot(t *testing.T) {
	m, err := MeanOf([]Figure{figure("1", 100, 0.03, 0.04), figure("2", 100, 0.03, 0.04), figure("3", 100, 0.03, 0.04), figure("4", 100, 0.03, 0.04)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", m.Value, 100, 1e-12)
	near(t, "u", m.U, math.Hypot(3, 4/2.0), 1e-12)
	if m.Widest != "light meter scale" {
		t.Errorf("the widest cause is %q: 12 from four shared against 8 from four own", m.Widest)
	}
}
