package uncertainty

import (
	"context"
	"math"
	"slices"
	"testing"
)

// of makes a model of one output.
func of(f func(x []float64) float64, inputs ...Input) *Model {
	return &Model{Inputs: inputs, Outputs: 1, New: func() Function {
		return func(x, y []float64) { y[0] = f(x) }
	}}
}

func sum(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}

func simulate(t testing.TB, m *Model, o Options) *Estimate {
	t.Helper()
	s, err := m.MonteCarlo(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	return &s.Outputs[0]
}

func propagate(t testing.TB, m *Model, o Options) *Law {
	t.Helper()
	laws, err := m.Propagate(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	return &laws[0]
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.6g, want %.6g ± %g", what, got, want, tolerance)
	}
}

// endGauge is JCGM 100:2008 H.1: the length of an end gauge at 20 °C, in nm.
func endGauge() *Model {
	return of(func(x []float64) float64 {
		length, repeats, random, systematic, dAlpha, cycle, mean, alpha, dTheta := x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7], x[8]
		d := 215 + repeats + random + systematic
		return length + d - length*(dAlpha*(mean+cycle)+alpha*dTheta)
	},
		Input{Name: "standard", Unit: "nm", Distribution: Normal(50_000_623, 25), DF: 18},
		Input{Name: "repeats", Unit: "nm", Distribution: Normal(0, 5.8), DF: 24},
		Input{Name: "comparator, random", Unit: "nm", Distribution: Normal(0, 3.9), DF: 5},
		Input{Name: "comparator, systematic", Unit: "nm", Distribution: Normal(0, 6.7), DF: 8},
		Input{Name: "difference of expansion", Unit: "1/K", Distribution: Rectangular(0, 1e-6), DF: 50},
		Input{Name: "cycle of the bed", Unit: "K", Distribution: Arcsine(0, 0.5)},
		Input{Name: "temperature of the bed", Unit: "K", Distribution: Normal(-0.1, 0.2)},
		Input{Name: "expansion of the standard", Unit: "1/K", Distribution: Rectangular(11.5e-6, 2e-6)},
		Input{Name: "difference of temperature", Unit: "K", Distribution: Rectangular(0, 0.05), DF: 2},
	)
}

func TestTheEndGaugeOfTheGUM(t *testing.T) {
	m := endGauge()
	law := propagate(t, m, Options{Coverage: 0.99})
	near(t, "length", law.Value, 50_000_838, 0.5)
	near(t, "u", law.U, 32, 0.5)
	near(t, "degrees of freedom", law.DF, 16.75, 0.05) // the GUM rounds to 16
	near(t, "coverage factor", law.K, 2.921, 0.0005)
	near(t, "U99", law.Expanded, 93, 1)

	// The contributions of H.1.6, nm: the three parts of d are one line there,
	// 9.7 nm, and the temperature of the bed does not contribute.
	want := []float64{25, 16.6, 6.7, 5.8, 3.9, 2.9}
	i := 0
	for _, c := range law.Budget {
		if c.Linear == 0 {
			continue // responds by curvature alone
		}
		if i < len(want) {
			near(t, m.Inputs[c.Input].Name, math.Abs(c.Linear), want[i], 0.1)
		}
		i++
	}
	if i != len(want) {
		t.Errorf("%d inputs contribute, want %d", i, len(want))
	}

	second, err := m.SecondOrder(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u with terms of second order", second[0], 34, 0.5) // H.1.7
}

// The same gauge as JCGM 101:2008 9.5 has it, by draws, in nm above 50 mm. The
// figures are from memory; the interval is the shortest of 99 %.
func TestTheEndGaugeOfTheSupplement(t *testing.T) {
	m := of(func(x []float64) float64 {
		standard, d, random, systematic, alpha, mean, cycle, dAlpha, dTheta := x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7], x[8]
		theta := mean + cycle
		length := standard*(1+alpha*(theta-dTheta))/(1+(alpha+dAlpha)*theta) + d + random + systematic
		return length - 50e6
	},
		Input{Name: "standard", Distribution: StudentT(50_000_623, 25, 18)},
		Input{Name: "difference", Distribution: StudentT(215, 6, 24)},
		Input{Name: "comparator, random", Distribution: StudentT(0, 4, 5)},
		Input{Name: "comparator, systematic", Distribution: StudentT(0, 7, 8)},
		Input{Name: "expansion of the standard", Distribution: Rectangular(11.5e-6, 2e-6)},
		Input{Name: "temperature of the bed", Distribution: Normal(-0.1, 0.2)},
		Input{Name: "cycle of the bed", Distribution: Arcsine(0, 0.5)},
		Input{Name: "difference of expansion", Distribution: Inexact(0, 1e-6, 0.1e-6)},
		Input{Name: "difference of temperature", Distribution: Inexact(0, 0.05, 0.025)},
	)
	e := simulate(t, m, Options{Seed: 6, Draws: 1_000_000, Coverage: 0.99})
	near(t, "length", e.Mean, 838, 0.5)
	near(t, "u", e.StdDev, 36, 0.5)
	near(t, "lower end", e.ShortLow, 745, 2) // a quantile of 0.5 % scatters by 0.5 nm
	near(t, "upper end", e.ShortHigh, 932, 2)
}

func TestTheAdditiveModelsOfTheSupplement(t *testing.T) {
	four := func(d Distribution, last Distribution) *Model {
		m := of(sum)
		for _, name := range []string{"a", "b", "c"} {
			m.Inputs = append(m.Inputs, Input{Name: name, Distribution: d})
		}
		m.Inputs = append(m.Inputs, Input{Name: "d", Distribution: last})
		return m
	}
	root3 := math.Sqrt(3)
	for _, c := range []struct {
		clause       string
		model        *Model
		u, half, guf float64
		last         float64 // half a unit in the last published digit of u and half
		holds        bool
	}{
		{"9.2.2", four(Normal(0, 1), Normal(0, 1)), 2.0, 3.92, 3.92, 0.005, true},
		{"9.2.3", four(Rectangular(0, root3), Rectangular(0, root3)), 2.0, 3.8794, 3.92, 0.005, true},
		{"9.2.4", four(Rectangular(0, root3), Rectangular(0, 10*root3)), 10.1, 17.0, 19.9, 0.05, false},
	} {
		e := simulate(t, c.model, Options{Seed: 1, Draws: 1_000_000})
		law := propagate(t, c.model, Options{})
		near(t, c.clause+" mean", e.Mean, 0, 0.003*c.u) // three standard deviations of the mean
		near(t, c.clause+" u", e.StdDev, c.u, c.last)
		// A 2.5 % quantile of a million draws scatters by about u/370.
		near(t, c.clause+" lower end", e.Low, -c.half, c.last+0.008*c.u)
		near(t, c.clause+" upper end", e.High, c.half, c.last+0.008*c.u)
		near(t, c.clause+" U of the law", law.Expanded, c.guf, c.last)
		if got := law.Holds(e, 2); got != c.holds {
			t.Errorf("%s: the law holds: %v, want %v", c.clause, got, c.holds)
		}
	}
}

// mass is JCGM 101:2008 9.3: a mass by comparison in air, in mg above 100 g.
func mass() *Model {
	return of(func(x []float64) float64 {
		reference, added, air, weight, standard := x[0], x[1], x[2], x[3], x[4]
		return (reference+added)*(1+(air-1.2)*(1/weight-1/standard)) - 100_000
	},
		Input{Name: "reference", Unit: "mg", Distribution: Normal(100_000, 0.050)},
		Input{Name: "added", Unit: "mg", Distribution: Normal(1.234, 0.020)},
		Input{Name: "air", Unit: "kg/m³", Distribution: Rectangular(1.20, 0.10)},
		Input{Name: "weight", Unit: "kg/m³", Distribution: Rectangular(8000, 1000)},
		Input{Name: "standard", Unit: "kg/m³", Distribution: Rectangular(8000, 50)},
	)
}

func TestTheMassOfTheSupplement(t *testing.T) {
	e := simulate(t, mass(), Options{Seed: 2, Draws: 1_000_000})
	near(t, "mean", e.Mean, 1.234, 0.0005)
	near(t, "u", e.StdDev, 0.0754, 0.0005)
	// The published interval is the shortest, whose width settles quickly and
	// whose place does not: from a million draws it scatters by 0.0007, and the
	// published one came from as many.
	near(t, "width of the interval", e.ShortHigh-e.ShortLow, 0.300, 0.002)
	near(t, "lower end", e.ShortLow, 1.083, 0.0025)
	near(t, "upper end", e.ShortHigh, 1.383, 0.0025)

	law := propagate(t, mass(), Options{})
	near(t, "value by the law", law.Value, 1.234, 1e-9)
	near(t, "u by the law", law.U, 0.0539, 0.00005)
	near(t, "lower end by the law", law.Value-law.Expanded, 1.1285, 0.0001)
	near(t, "upper end by the law", law.Value+law.Expanded, 1.3395, 0.0001)
	if law.Holds(e, 2) {
		t.Error("the law holds, which the Supplement denies")
	}
	second, err := mass().SecondOrder(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u with terms of second order", second[0], e.StdDev, 0.001)
}

// The comparison loss of JCGM 101:2008 9.4 in units of 1e-6, x2 = 0.
func TestTheComparisonLossOfTheSupplement(t *testing.T) {
	for _, c := range []struct {
		x1             float64
		mean, u        float64
		low, high      float64 // the shortest interval
		lawValue, lawU float64
		tolerance      float64
		ofEnds         float64 // the place of the shortest interval scatters
	}{
		{0, 50, 50, 0, 150, 0, 0, 1, 1},
		{0.010, 150, 112, 0, 367, 100, 100, 1, 2},
		{0.050, 2551, 502, 1590, 3543, 2500, 500, 3, 20}, // exact mean: 2550
	} {
		m := of(func(x []float64) float64 { return 1e6 * (x[0]*x[0] + x[1]*x[1]) },
			Input{Name: "real", Distribution: Normal(c.x1, 0.005)}, Input{Name: "imaginary", Distribution: Normal(0, 0.005)})
		e := simulate(t, m, Options{Seed: 3, Draws: 1_000_000})
		near(t, "mean", e.Mean, c.mean, c.tolerance)
		near(t, "u", e.StdDev, c.u, c.tolerance)
		near(t, "lower end of the shortest interval", e.ShortLow, c.low, c.ofEnds)
		near(t, "upper end of the shortest interval", e.ShortHigh, c.high, c.ofEnds)
		near(t, "width of the shortest interval", e.ShortHigh-e.ShortLow, c.high-c.low, 5)
		law := propagate(t, m, Options{})
		near(t, "value by the law", law.Value, c.lawValue, 1e-9)
		near(t, "u by the law", law.U, c.lawU, 1e-9)
		// The model is a parabola: with the terms of second order u is exact.
		second, err := m.SecondOrder(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		near(t, "u with terms of second order", second[0], c.u, 0.5)
		if c.x1 == 0 {
			near(t, "skew, that of χ² with two degrees of freedom", e.Skew, 2, 0.03)
		}
		if law.Holds(e, 1) && c.x1 == 0 {
			t.Error("the law holds at the bottom of a parabola")
		}
		// What the law misses, the budget sees: the curvature of either part
		// alone spreads the loss by √2 u².
		if !slices.ContainsFunc(law.Budget, func(b Contribution) bool { return math.Abs(b.U-math.Sqrt2*25) < 1e-6 }) {
			t.Errorf("the budget %v has no line for the curvature", law.Budget)
		}
	}
}
