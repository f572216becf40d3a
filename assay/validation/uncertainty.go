package validation

import (
	"context"
	"math"

	"lampassay/assay/uncertainty"
)

// ofOne makes a measurement model of one output.
func ofOne(f func(x []float64) float64, inputs ...uncertainty.Input) *uncertainty.Model {
	return &uncertainty.Model{Inputs: inputs, Outputs: 1, New: func() uncertainty.Function {
		return func(x, y []float64) { y[0] = f(x) }
	}}
}

// law propagates a model; what cannot be had becomes NaN, which no check passes.
func law(m *uncertainty.Model, coverage float64) uncertainty.Law {
	laws, err := m.Propagate(context.Background(), uncertainty.Options{Coverage: coverage})
	if err != nil {
		nan := math.NaN()
		return uncertainty.Law{Value: nan, U: nan, DF: nan, K: nan, Expanded: nan}
	}
	return laws[0]
}

// draws runs a model half a million times. Relative to u the mean then scatters
// by 0.0014, the standard deviation by 0.001 and an end of a symmetric 95 %
// interval by 0.004: tolerances of draws are the last published digit and three
// of these.
func draws(m *uncertainty.Model) uncertainty.Estimate {
	s, err := m.MonteCarlo(context.Background(), uncertainty.Options{Seed: 1, Draws: 500_000})
	if err != nil {
		nan := math.NaN()
		return uncertainty.Estimate{Mean: nan, StdDev: nan, Low: nan, High: nan, ShortLow: nan, ShortHigh: nan}
	}
	return s.Outputs[0]
}

const (
	gumH1   = "JCGM 100:2008 H.1"
	jcgm101 = "JCGM 101:2008 "
)

// endGauge is the first worked example of the GUM.
func endGauge(l *list) {
	type in = uncertainty.Input
	m := ofOne(func(x []float64) float64 {
		length, d, dAlpha, theta, alpha, dTheta := x[0], 215+x[1]+x[2]+x[3], x[4], x[5]+x[6], x[7], x[8]
		return length + d - length*(dAlpha*theta+alpha*dTheta)
	},
		in{Name: "standard", Distribution: uncertainty.Normal(50_000_623, 25), DF: 18},
		in{Name: "repeats", Distribution: uncertainty.Normal(0, 5.8), DF: 24},
		in{Name: "comparator, random", Distribution: uncertainty.Normal(0, 3.9), DF: 5},
		in{Name: "comparator, systematic", Distribution: uncertainty.Normal(0, 6.7), DF: 8},
		in{Name: "difference of expansion", Distribution: uncertainty.Rectangular(0, 1e-6), DF: 50},
		in{Name: "temperature of the bed", Distribution: uncertainty.Normal(-0.1, 0.2)},
		in{Name: "cycle of the bed", Distribution: uncertainty.Arcsine(0, 0.5)},
		in{Name: "expansion of the standard", Distribution: uncertainty.Rectangular(11.5e-6, 2e-6)},
		in{Name: "difference of temperature", Distribution: uncertainty.Rectangular(0, 0.05), DF: 2},
	)
	g := law(m, 0.99)
	l.add("end gauge: length", 50_000_838, g.Value, 0.5, "nm", Published, gumH1)
	l.add("end gauge: standard uncertainty", 32, g.U, 0.5, "nm", Published, gumH1)
	l.add("end gauge: degrees of freedom, cut to an integer", 16, math.Floor(g.DF), 0, "", Published, gumH1)
	l.add("end gauge: coverage factor for 99 %", 2.92, g.K, 0.005, "", Published, gumH1)
	l.add("end gauge: expanded uncertainty for 99 %, published from rounded figures", 93, g.Expanded, 1, "nm", Memory, gumH1)
	second, err := m.SecondOrder(context.Background())
	if err != nil {
		second = []float64{math.NaN()}
	}
	l.add("end gauge: with terms of second order", 34, second[0], 0.5, "nm", Published, gumH1+".7")
}

// monteCarlo are the worked examples of the supplement.
func monteCarlo(l *list) {
	four := func(d, last uncertainty.Distribution) *uncertainty.Model {
		return ofOne(func(x []float64) float64 { return x[0] + x[1] + x[2] + x[3] },
			uncertainty.Input{Name: "1", Distribution: d}, uncertainty.Input{Name: "2", Distribution: d},
			uncertainty.Input{Name: "3", Distribution: d}, uncertainty.Input{Name: "4", Distribution: last})
	}
	root3 := math.Sqrt(3)
	for _, c := range []struct {
		name, clause string
		model        *uncertainty.Model
		u, half, law float64
		last         float64 // half a unit of the last published digit
	}{
		{"four normal inputs", "9.2.2", four(uncertainty.Normal(0, 1), uncertainty.Normal(0, 1)), 2.0, 3.92, 3.92, 0.005},
		{"four rectangular inputs", "9.2.3", four(uncertainty.Rectangular(0, root3), uncertainty.Rectangular(0, root3)), 2.0, 3.88, 3.92, 0.005},
		{"one of four ten times as wide", "9.2.4", four(uncertainty.Rectangular(0, root3), uncertainty.Rectangular(0, 10*root3)), 10.1, 17.0, 19.9, 0.05},
	} {
		e, g := draws(c.model), law(c.model, 0.95)
		l.add(c.name+": standard uncertainty by draws", c.u, e.StdDev, c.last+0.003*c.u, "", Memory, jcgm101+c.clause)
		l.add(c.name+": half the 95 % interval by draws", c.half, (e.High-e.Low)/2, c.last+0.012*c.u, "", Memory, jcgm101+c.clause)
		l.add(c.name+": expanded uncertainty by the law", c.law, g.Expanded, c.last, "", Memory, jcgm101+c.clause)
	}

	type in = uncertainty.Input
	mass := ofOne(func(x []float64) float64 {
		reference, added, air, weight, standard := x[0], x[1], x[2], x[3], x[4]
		return (reference+added)*(1+(air-1.2)*(1/weight-1/standard)) - 100_000
	},
		in{Name: "reference", Distribution: uncertainty.Normal(100_000, 0.050)},
		in{Name: "added", Distribution: uncertainty.Normal(1.234, 0.020)},
		in{Name: "air", Distribution: uncertainty.Rectangular(1.20, 0.10)},
		in{Name: "weight", Distribution: uncertainty.Rectangular(8000, 1000)},
		in{Name: "standard", Distribution: uncertainty.Rectangular(8000, 50)},
	)
	e, g := draws(mass), law(mass, 0.95)
	l.add("mass: value by draws", 1.234, e.Mean, 0.0005+0.0042*e.StdDev, "mg", Memory, jcgm101+"9.3")
	l.add("mass: standard uncertainty by draws", 0.0754, e.StdDev, 0.00005+0.003*e.StdDev, "mg", Memory, jcgm101+"9.3")
	l.add("mass: width of the shortest 95 % interval", 1.3825-1.0834, e.ShortHigh-e.ShortLow, 0.0001+0.012*e.StdDev, "mg", Memory, jcgm101+"9.3")
	l.add("mass: standard uncertainty by the law", 0.0539, g.U, 0.00005, "mg", Memory, jcgm101+"9.3")
	l.add("mass: upper end by the law", 1.3395, g.Value+g.Expanded, 0.00005, "mg", Memory, jcgm101+"9.3")

	for _, c := range []struct{ x, mean, u, lawValue, lawU float64 }{
		{0, 50, 50, 0, 0}, {0.010, 150, 112, 100, 100}, {0.050, 2551, 502, 2500, 500},
	} {
		loss := ofOne(func(x []float64) float64 { return 1e6 * (x[0]*x[0] + x[1]*x[1]) },
			in{Name: "real", Distribution: uncertainty.Normal(c.x, 0.005)}, in{Name: "imaginary", Distribution: uncertainty.Normal(0, 0.005)})
		e, g := draws(loss), law(loss, 0.95)
		name := format("comparison loss, x₁ = %g", c.x)
		l.add(name+": value by draws", c.mean, e.Mean, 1+0.0042*c.u, "10⁻⁶", Memory, jcgm101+"9.4")
		l.add(name+": standard uncertainty by draws", c.u, e.StdDev, 0.5+0.005*c.u, "10⁻⁶", Memory, jcgm101+"9.4")
		l.add(name+": value by the law", c.lawValue, g.Value, 1e-9, "10⁻⁶", Memory, jcgm101+"9.4")
		l.add(name+": standard uncertainty by the law", c.lawU, g.U, 1e-9, "10⁻⁶", Memory, jcgm101+"9.4")
	}
}
