package uncertainty

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestDistributionsHaveTheirMoments(t *testing.T) {
	for _, c := range []struct {
		d Distribution
		u float64
	}{
		{Exact(4), 0},
		{Normal(-2, 0.3), 0.3},
		{Rectangular(1, 3), 3 / math.Sqrt(3)},
		{Inexact(1, 3, 1), math.Sqrt(9.0/3 + 1.0/9)}, // JCGM 101:2008 6.4.3.3
		{Triangular(0, 2), 2 / math.Sqrt(6)},
		{Arcsine(5, 0.5), 0.5 / math.Sqrt2},
		{StudentT(1, 0.2, 9), 0.2 * math.Sqrt(9.0/7)}, // JCGM 101:2008 6.4.9.4
	} {
		m := of(sum, Input{Name: "x", Distribution: c.d})
		s, err := m.MonteCarlo(context.Background(), Options{Seed: 7, Draws: 200_000})
		if err != nil {
			t.Fatal(err)
		}
		fourth := 0.0
		for _, v := range s.Values(0) {
			fourth += math.Pow(v-c.d.Mean(), 4) / 200_000
		}
		e := s.Outputs[0]
		near(t, c.d.String()+": mean", e.Mean, c.d.Mean(), 0.012*c.u) // five standard deviations
		near(t, c.d.String()+": u", e.StdDev, c.u, 0.01*c.u)
		near(t, c.d.String()+": skew", e.Skew, 0, 0.06)
		near(t, c.d.String()+": fourth moment", fourth, c.d.kurtosis()*math.Pow(c.u, 4), 0.06*fourth)
	}
}

func TestRepeatsGiveStudentsT(t *testing.T) {
	// Readings 1 to 5: s² = 2.5, so s/√5 = 1/√2.
	d, err := FromRepeats([]float64{1, 2, 3, 4, 5})
	if err != nil || d.Mean() != 3 || math.Abs(d.U()-math.Sqrt(0.5)) > 1e-15 || d.extra != 4 {
		t.Errorf("FromRepeats = %v, %v", d, err)
	}
	// The interval of the draws is that of the t table: t95(4) = 2.776.
	e := simulate(t, of(sum, Input{Name: "x", Distribution: d}), Options{Seed: 5, Draws: 400_000})
	near(t, "half the interval", (e.High-e.Low)/2, 2.776*d.U(), 0.02*d.U())
	law := propagate(t, of(sum, Input{Name: "x", Distribution: d}), Options{})
	near(t, "half the interval by the law", law.Expanded, 2.776*d.U(), 0.001*d.U())

	mean, rel, err := RelativeFromRepeats([]float64{10, 20, 30, 40, 50})
	if err != nil || mean != 30 || rel.Mean() != 0 || math.Abs(rel.U()-math.Sqrt(50)/30) > 1e-15 || rel.extra != 4 {
		t.Errorf("RelativeFromRepeats = %v, %v, %v", mean, rel, err)
	}
	if _, _, err := RelativeFromRepeats([]float64{-1, 1}); err == nil {
		t.Error("readings about zero have a relative spread")
	}

	for _, bad := range [][]float64{nil, {1}, {1, math.NaN()}, {math.Inf(1), 2}} {
		if _, err := FromRepeats(bad); err == nil {
			t.Errorf("readings %v have a spread", bad)
		}
	}
}

func TestCorrelationsReachTheDrawsAndTheLaw(t *testing.T) {
	// Var(x + y) = 1 + 4 + 2·r·1·2.
	for _, r := range []float64{-0.8, 0, 0.5, 0.99} {
		m := of(sum, Input{Name: "x", Distribution: Normal(10, 1)}, Input{Name: "y", Distribution: Normal(20, 2)})
		m.Correlations = []Correlation{{"x", "y", r}}
		want := math.Sqrt(5 + 4*r)
		near(t, "u by the law", propagate(t, m, Options{}).U, want, 1e-9)
		near(t, "u by draws", simulate(t, m, Options{Seed: 11, Draws: 200_000}).StdDev, want, 0.01*want)
	}
}

func TestCorrelatedInputsShareTheFewestDegreesOfFreedom(t *testing.T) {
	m := of(sum, Input{Name: "x", Distribution: Normal(0, 1), DF: 5}, Input{Name: "y", Distribution: Normal(0, 2), DF: 10},
		Input{Name: "z", Distribution: Normal(0, 1.5), DF: 20})
	m.Correlations = []Correlation{{"x", "y", 0.5}}
	jointly, alone := 1+4+2*0.5*1*2.0, 1.5*1.5
	u2 := jointly + alone
	near(t, "degrees of freedom", propagate(t, m, Options{}).DF, u2*u2/(jointly*jointly/5+alone*alone/20), 1e-9)
}

func TestCovarianceOfTwoOutputs(t *testing.T) {
	// y = x + z and w = x − z of independent inputs: cov = u²(x) − u²(z).
	m := &Model{Outputs: 3, Inputs: []Input{{Name: "x", Distribution: Normal(1e6, 3)}, {Name: "z", Distribution: Normal(-1e6, 2)}},
		New: func() Function {
			return func(x, y []float64) { y[0], y[1], y[2] = x[0]+x[1], x[0]-x[1], math.NaN() }
		}}
	s, err := m.MonteCarlo(context.Background(), Options{Seed: 1, Draws: 100_000})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "covariance", s.Covariance(0, 1), 9-4, 0.15)
	near(t, "variance", s.Covariance(0, 0), s.Outputs[0].StdDev*s.Outputs[0].StdDev, 1e-9)
	if c := s.Covariance(0, 2); !math.IsNaN(c) {
		t.Errorf("the covariance with nothing is %g", c)
	}
}

func TestALinearModelNeedsNoDraws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var c, u [4]float64
		m := of(nil)
		variance := 0.0
		for i := range c {
			c[i] = rapid.Float64Range(-10, 10).Draw(t, "c")
			u[i] = rapid.Float64Range(0, 5).Draw(t, "u")
			m.Inputs = append(m.Inputs, Input{Name: string(rune('a' + i)), Distribution: Normal(float64(i), u[i])})
			variance += c[i] * c[i] * u[i] * u[i]
		}
		m.New = func() Function {
			return func(x, y []float64) { y[0] = c[0]*x[0] + c[1]*x[1] + c[2]*x[2] + c[3]*x[3] }
		}
		laws, err := m.Propagate(context.Background(), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if got, want := laws[0].U, math.Sqrt(variance); math.Abs(got-want) > 1e-9*(1+want) {
			t.Errorf("u is %g, want %g", got, want)
		}
		shares := 0.0
		for i, b := range laws[0].Budget {
			shares += b.Share
			if i > 0 && b.U > laws[0].Budget[i-1].U {
				t.Errorf("the budget is not sorted")
			}
			if math.Abs(b.Sensitivity-c[b.Input]) > 1e-7*(1+1/u[b.Input]) {
				t.Errorf("sensitivity %g, want %g", b.Sensitivity, c[b.Input])
			}
		}
		if len(laws[0].Budget) > 0 && math.Abs(shares-1) > 1e-9 {
			t.Errorf("the shares add up to %g", shares)
		}
	})
}

func TestManyValuesContributeLikeTheirSum(t *testing.T) {
	// The mean of n normal values has u/√n: value by value up to 64, by trials
	// beyond.
	for _, n := range []int{16, 64, 65, 1000} {
		m := of(func(x []float64) float64 { return sum(x) / float64(n) }, Input{Name: "noise", Distribution: Normal(0, 2), Count: n})
		want := 2 / math.Sqrt(float64(n))
		tolerance := 1e-12
		if n > manyValues {
			tolerance = 0.2 * want // three standard deviations of 100 trials
		}
		near(t, "u by the law", propagate(t, m, Options{Seed: 4}).U, want, tolerance)
		near(t, "u by draws", simulate(t, m, Options{Seed: 4, Draws: 20_000}).StdDev, want, 0.03*want)
	}
}

func TestTheSameSeedGivesTheSameBitsWithAnyNumberOfWorkers(t *testing.T) {
	m := endGauge()
	m.Correlations = []Correlation{{"repeats", "comparator, random", 0.3}}
	var first *Simulation
	for _, workers := range []int{1, 2, 3, 7} {
		s, err := m.MonteCarlo(context.Background(), Options{Seed: 99, MaxDraws: 30_000, Workers: workers})
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = s
			continue
		}
		if s.Outputs[0] != first.Outputs[0] || !slices.Equal(s.Values(0), first.Values(0)) {
			t.Errorf("%d workers give another result than one: %+v", workers, s.Outputs[0])
		}
	}
	other, err := m.MonteCarlo(context.Background(), Options{Seed: 100, MaxDraws: 30_000})
	if err != nil {
		t.Fatal(err)
	}
	if other.Outputs[0] == first.Outputs[0] {
		t.Error("another seed gives the same result")
	}
}

func TestNoDrawComesTwice(t *testing.T) {
	s, err := of(sum, Input{Name: "x", Distribution: Normal(0, 1)}).MonteCarlo(context.Background(), Options{Seed: 1, MaxDraws: 100_000, Digits: 2})
	if err != nil {
		t.Fatal(err)
	}
	seen := map[float64]int{}
	for k, v := range s.Values(0) {
		if before, ok := seen[v]; ok {
			t.Fatalf("draw %d repeats draw %d", k, before)
		}
		seen[v] = k
	}
}

func TestDrawsGoOnUntilStable(t *testing.T) {
	m := mass()
	loose, err := m.MonteCarlo(context.Background(), Options{Seed: 8, Digits: 1, MaxDraws: 2_000_000})
	if err != nil {
		t.Fatal(err)
	}
	tight, err := m.MonteCarlo(context.Background(), Options{Seed: 8, Digits: 2, MaxDraws: 2_000_000})
	if err != nil {
		t.Fatal(err)
	}
	// JCGM 101:2008 7.9.2: u = 0.08 in one digit makes δ = 0.005; 0.075 in two
	// makes 0.0005.
	for _, c := range []struct {
		s     *Simulation
		delta float64
	}{{loose, 0.005}, {tight, 0.0005}} {
		e := c.s.Outputs[0]
		near(t, "tolerance", e.Tolerance, c.delta, 1e-12)
		if !c.s.Stable || e.Scatter > e.Tolerance {
			t.Errorf("after %d draws: stable %v, scatter %g of %g", c.s.Draws, c.s.Stable, e.Scatter, e.Tolerance)
		}
	}
	if loose.Draws < 20_000 || tight.Draws <= loose.Draws {
		t.Errorf("one digit took %d draws and two took %d", loose.Draws, tight.Draws)
	}
	capped, err := m.MonteCarlo(context.Background(), Options{Seed: 8, Digits: 2, MaxDraws: 20_000})
	if err != nil {
		t.Fatal(err)
	}
	if capped.Stable || capped.Draws != 20_000 || !(capped.Outputs[0].Scatter > capped.Outputs[0].Tolerance) {
		t.Errorf("a run that was cut short says stable %v after %d draws", capped.Stable, capped.Draws)
	}
}

func TestNumericalTolerance(t *testing.T) {
	// The examples of JCGM 101:2008 7.9.2: u = 0.00035 with two digits makes
	// 0.000005, u = 2 K with one makes 0.5 K.
	for _, c := range []struct {
		u      float64
		digits int
		want   float64
	}{{0.00035, 2, 0.000005}, {2, 1, 0.5}, {0.0996, 1, 0.05}, {0.0949, 1, 0.005}, {0, 2, 0}} {
		near(t, "tolerance", numericalTolerance(c.u, c.digits), c.want, 1e-12)
	}
}

func TestScatterIsTwiceTheDeviationOfTheAverage(t *testing.T) {
	// Means of 1, 2 and 6 in three sequences: s² of their average is
	// (4 + 1 + 9)/(3·2) (JCGM 101:2008 7.9.4 g).
	history := [][]Estimate{{{Mean: 1, StdDev: 1}}, {{Mean: 2, StdDev: 1}}, {{Mean: 6, StdDev: 1}}}
	near(t, "scatter", scatter(history, 0), 2*math.Sqrt(14.0/6), 1e-12)
	for i := range history {
		history[i][0].High, history[i][0].Mean = history[i][0].Mean, 0
	}
	near(t, "scatter of the upper end", scatter(history, 0), 2*math.Sqrt(14.0/6), 1e-12)
}

func TestUndefinedDrawsAreCounted(t *testing.T) {
	m := of(func(x []float64) float64 {
		if x[0] < 0 {
			return math.NaN()
		}
		return x[0]
	}, Input{Name: "x", Distribution: Rectangular(1, 2)})
	e := simulate(t, m, Options{Seed: 1, Draws: 40_000})
	near(t, "share with a value", e.Defined, 0.75, 0.01)
	near(t, "mean of those", e.Mean, 1.5, 0.02)

	m = of(func([]float64) float64 { return math.NaN() }, Input{Name: "x", Distribution: Normal(0, 1)})
	if e := simulate(t, m, Options{Draws: 100}); e.Defined != 0 || !math.IsNaN(e.Mean) || !math.IsNaN(e.High) {
		t.Errorf("an output without values has an estimate: %+v", e)
	}
}

func TestWhatCannotBeAModelIsSaidInOneSentence(t *testing.T) {
	x := Input{Name: "x", Distribution: Normal(1, 1)}
	y := Input{Name: "y", Distribution: Normal(1, 1)}
	z := Input{Name: "z", Distribution: Normal(1, 1)}
	with := func(d Distribution) *Model { return of(sum, Input{Name: "lux scale", Distribution: d}) }
	joined := func(in []Input, c ...Correlation) *Model {
		m := of(sum, in...)
		m.Correlations = c
		return m
	}
	for _, c := range []struct {
		m    *Model
		o    Options
		want string
	}{
		{with(Normal(0, -0.2)), Options{}, `input "lux scale": the uncertainty is negative (-0.2)`},
		{with(Normal(0, math.NaN())), Options{}, "the uncertainty is not a finite number"},
		{with(Rectangular(math.NaN(), 1)), Options{}, "the estimate is not a finite number"},
		{with(Normal(math.Inf(1), 1)), Options{}, "the estimate is not a finite number"},
		{with(StudentT(0, 1, 0)), Options{}, "at least one degree of freedom"},
		{with(Inexact(0, 1, 2)), Options{}, "limits of ± 1 cannot be inexact by 2"},
		{with(Inexact(0, 1, math.NaN())), Options{}, "cannot be inexact by NaN"},
		{of(sum, Input{Name: "x", DF: -1}), Options{}, "degrees of freedom cannot be -1"},
		{of(sum, Input{Name: "x", Count: -1}), Options{}, "a count of -1"},
		{of(sum, x, x), Options{}, `two inputs are called "x"`},
		{&Model{}, Options{}, "computes nothing"},
		{joined([]Input{x, y, z}, Correlation{"x", "y", 0.9}, Correlation{"y", "z", 0.9}, Correlation{"x", "z", -0.9}), Options{}, "not positive definite"},
		{joined([]Input{x, y}, Correlation{"x", "y", 1}), Options{}, "not positive definite"},
		{joined([]Input{x, y}, Correlation{"x", "y", 1.5}), Options{}, "cannot be 1.5"},
		{joined([]Input{x, y}, Correlation{"x", "y", math.NaN()}), Options{}, "cannot be NaN"},
		{joined([]Input{x, y}, Correlation{"x", "w", 0.5}), Options{}, `"w", which is not an input`},
		{joined([]Input{x, {Name: "r", Distribution: Rectangular(0, 1)}}, Correlation{"x", "r", 0.5}), Options{}, "only a single value with a normal distribution"},
		{of(sum, x), Options{Coverage: 1.5}, "between 0 and 1"},
		{of(sum, x), Options{Digits: 3}, "JCGM 101 knows 1 and 2"},
		{of(sum, x), Options{Draws: 10}, "take at least 40"},
		{of(sum, x), Options{MaxDraws: -1}, "negative"},
		{of(sum, x), Options{Watch: []int{3}}, "does not have"},
	} {
		_, err := c.m.MonteCarlo(context.Background(), c.o)
		if err == nil || !strings.HasPrefix(err.Error(), "uncertainty: ") || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("got %v, want a sentence with %q", err, c.want)
		}
		if _, err := c.m.Propagate(context.Background(), c.o); err == nil {
			t.Errorf("the law takes what has %q", c.want)
		}
	}
}

func TestProgressCountsEveryDrawOnce(t *testing.T) {
	last, calls := 0, 0
	s, err := of(sum, Input{Name: "x", Distribution: Normal(0, 1)}).MonteCarlo(context.Background(), Options{
		MaxDraws: 20_000, Workers: 3, Progress: func(draws int) {
			if draws <= last {
				t.Errorf("%d draws after %d", draws, last)
			}
			last, calls = draws, calls+1
		}})
	if err != nil {
		t.Fatal(err)
	}
	if last != s.Draws || calls != s.Draws/chunk {
		t.Errorf("heard of %d draws of %d in %d calls", last, s.Draws, calls)
	}
}

func TestACancelledRunEndsWithItsReason(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	m := of(func(x []float64) float64 {
		if calls++; calls == 500 {
			cancel()
		}
		return x[0]
	}, Input{Name: "x", Distribution: Normal(0, 1)})
	s, err := m.MonteCarlo(ctx, Options{Workers: 1})
	if s != nil || !errors.Is(err, context.Canceled) {
		t.Errorf("MonteCarlo = %v, %v", s, err)
	}
	if calls > 500+chunk {
		t.Errorf("%d draws were made after the end", calls-500)
	}
	if _, err := m.Propagate(ctx, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("Propagate: %v", err)
	}
	if _, err := m.SecondOrder(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("SecondOrder: %v", err)
	}
}
