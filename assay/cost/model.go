package cost

import (
	"context"
	"fmt"
	"math"
	"slices"

	"lampassay/assay/uncertainty"
)

// input reads one input of the model.
type input func(x []float64) float64

// model is every figure of a report as a function of the same inputs, so that
// what two of them share is shared.
type model struct {
	lamps []Lamp
	terms Terms

	inputs                []uncertainty.Input
	hours, tariff, carbon input
	of                    []lampInputs
	outputs               []output
}

type lampInputs struct{ flux, power, price, life input }

// output is a figure with the function that computes it and what it means that
// the function has no value.
type output struct {
	figure *Figure
	f      input
	never  string
}

// planned is a figure before it is computed.
type planned struct {
	Figure
	f     input
	never string
}

func newModel(lamps []Lamp, t Terms) *model {
	m := &model{lamps: lamps, terms: t}
	m.hours = m.input("burning hours", "h", t.Hours)
	m.tariff = m.input("tariff", t.Currency+"/kWh", t.Tariff)
	m.carbon = m.input("carbon of a kilowatt-hour", "kg/kWh", t.Carbon)
	for _, l := range lamps {
		m.of = append(m.of, lampInputs{
			m.input(l.Name+": flux", "lm", l.Flux), m.input(l.Name+": power", "W", l.Power),
			m.input(l.Name+": price", t.Currency, l.Price), m.input(l.Name+": life", "h", l.Life)})
	}
	return m
}

// input adds an input; nil where it was not given.
func (m *model) input(name, unit string, v Value) input {
	if !v.Given() {
		return nil
	}
	i := len(m.inputs)
	m.inputs = append(m.inputs, uncertainty.Input{Name: name, Unit: unit, Distribution: uncertainty.Normal(v.Value, v.U), Source: "given"})
	return func(x []float64) float64 { return x[i] }
}

// What a figure may lack.
const (
	noHours  = "the burning hours in a year"
	noTariff = "a tariff"
	noCarbon = "the carbon of a kilowatt-hour"
	noPrice  = "a price"
	noLife   = "a life"
)

// lacks returns why a figure cannot be had, "" where all it needs was given.
func lacks(needs ...any) string {
	for i := 0; i < len(needs); i += 2 {
		if needs[i].(input) == nil {
			return "needs " + needs[i+1].(string)
		}
	}
	return ""
}

// bill lists the figures of one lamp.
func (m *model) bill(i int) []planned {
	l, h, tariff, carbon := m.of[i], m.hours, m.tariff, m.carbon
	money, name := m.terms.Currency, m.lamps[i].Name
	price, life := "the price of "+name, "the life of "+name
	perLight := func(x []float64) float64 { return 1000 * l.power(x) / l.flux(x) } // kWh for 10⁶ lm·h
	perYear := func(x []float64) float64 { return l.power(x) * h(x) / 1000 }
	return []planned{
		{Figure{Key: "energy_per_year", Name: "energy in a year", Unit: "kWh", Why: lacks(h, noHours)}, perYear, ""},
		{Figure{Key: "light_per_year", Name: "light in a year", Unit: "Mlm·h", Why: lacks(h, noHours)},
			func(x []float64) float64 { return l.flux(x) * h(x) / 1e6 }, ""},
		{Figure{Key: "energy_cost_per_year", Name: "cost of the energy in a year", Unit: money, Why: lacks(h, noHours, tariff, noTariff)},
			func(x []float64) float64 { return perYear(x) * tariff(x) }, ""},
		{Figure{Key: "cost_per_year", Name: "cost of energy and lamps in a year", Unit: money, Why: lacks(h, noHours, tariff, noTariff, l.price, price, l.life, life)},
			func(x []float64) float64 { return perYear(x)*tariff(x) + l.price(x)*h(x)/l.life(x) }, ""},
		{Figure{Key: "carbon_per_year", Name: "carbon in a year", Unit: "kg CO₂e", Why: lacks(h, noHours, carbon, noCarbon)},
			func(x []float64) float64 { return perYear(x) * carbon(x) }, ""},
		{Figure{Key: "energy_per_mlmh", Name: "energy for a million lumen-hours", Unit: "kWh"}, perLight, ""},
		{Figure{Key: "energy_cost_per_mlmh", Name: "cost of the energy for a million lumen-hours", Unit: money, Why: lacks(tariff, noTariff)},
			func(x []float64) float64 { return perLight(x) * tariff(x) }, ""},
		{Figure{Key: "cost_per_mlmh", Name: "cost of energy and lamps for a million lumen-hours", Unit: money, Why: lacks(tariff, noTariff, l.price, price, l.life, life)},
			func(x []float64) float64 { return perLight(x)*tariff(x) + 1e6*l.price(x)/(l.flux(x)*l.life(x)) }, ""},
		{Figure{Key: "carbon_per_mlmh", Name: "carbon of a million lumen-hours", Unit: "kg CO₂e", Why: lacks(carbon, noCarbon)},
			func(x []float64) float64 { return perLight(x) * carbon(x) }, ""},
	}
}

const neverPays = "at these figures it never pays for itself: the same light costs as much to run, or more"

// replacement lists what lamp i changes in place of the first, for the light of
// one of the first.
func (m *model) replacement(i int) []planned {
	a, b, h, tariff, carbon := m.of[0], m.of[i], m.hours, m.tariff, m.carbon
	money := m.terms.Currency
	priceA, priceB, lifeB := "the price of "+m.lamps[0].Name, "the price of "+m.lamps[i].Name, "the life of "+m.lamps[i].Name
	count := func(x []float64) float64 { return a.flux(x) / b.flux(x) }
	saved := func(x []float64) float64 { return (a.power(x) - count(x)*b.power(x)) * h(x) / 1000 } // kWh in a year
	// years that a saving takes to pay for an outlay, no number where it never does
	years := func(outlay input) input {
		return func(x []float64) float64 {
			saving := saved(x) * tariff(x)
			if !(saving > 0) {
				return math.NaN()
			}
			return outlay(x) / saving
		}
	}
	payback := years(func(x []float64) float64 { return count(x) * b.price(x) })
	return []planned{
		{Figure{Key: "count", Name: "lamps for the light of one", Unit: ""}, count, ""},
		{Figure{Key: "energy_saved", Name: "energy saved", Unit: "%"},
			func(x []float64) float64 { return 100 * (1 - count(x)*b.power(x)/a.power(x)) }, ""},
		{Figure{Key: "energy_saved_per_year", Name: "energy saved in a year", Unit: "kWh", Why: lacks(h, noHours)}, saved, ""},
		{Figure{Key: "money_saved_per_year", Name: "money saved on energy in a year", Unit: money, Why: lacks(h, noHours, tariff, noTariff)},
			func(x []float64) float64 { return saved(x) * tariff(x) }, ""},
		{Figure{Key: "carbon_saved_per_year", Name: "carbon saved in a year", Unit: "kg CO₂e", Why: lacks(h, noHours, carbon, noCarbon)},
			func(x []float64) float64 { return saved(x) * carbon(x) }, ""},
		{Figure{Key: "payback", Name: "payback, the old lamp still working", Unit: "years", Why: lacks(h, noHours, tariff, noTariff, b.price, priceB)},
			payback, neverPays},
		{Figure{Key: "payback_when_due", Name: "payback, the old lamp due for a new one", Unit: "years", Why: lacks(h, noHours, tariff, noTariff, b.price, priceB, a.price, priceA)},
			years(func(x []float64) float64 { return max(0, count(x)*b.price(x)-a.price(x)) }), neverPays},
		{Figure{Key: "life_after_payback", Name: "life left after the payback", Unit: "h", Why: lacks(h, noHours, tariff, noTariff, b.price, priceB, b.life, lifeB)},
			func(x []float64) float64 { return b.life(x) - payback(x)*h(x) }, neverPays},
	}
}

// plan takes up the figures that can be computed, and returns them all.
func (m *model) plan(list []planned) []Figure {
	figures := make([]Figure, len(list))
	for i, p := range list {
		figures[i] = p.Figure
		if p.Why == "" {
			m.outputs = append(m.outputs, output{&figures[i], p.f, p.never})
		}
	}
	return figures
}

// The draws behind an interval that the straight law does not give.
const (
	draws = 20_000
	seed  = 1
)

// evaluate computes what was planned.
func (m *model) evaluate(ctx context.Context) error {
	u := uncertainty.Model{Inputs: m.inputs, Outputs: len(m.outputs), New: func() uncertainty.Function {
		return func(x, y []float64) {
			for i, o := range m.outputs {
				y[i] = o.f(x)
			}
		}
	}}
	laws, err := u.Propagate(ctx, uncertainty.Options{})
	if err != nil {
		return fmt.Errorf("cost: %w", err)
	}
	for i, o := range m.outputs {
		if v := laws[i].Value; math.IsInf(v, 0) || math.IsNaN(v) && o.never == "" || math.IsInf(laws[i].Expanded, 0) {
			return fmt.Errorf("cost: the %s is beyond all numbers: a figure that was given is far too large or too small", o.figure.Name)
		}
		o.straight(&laws[i])
	}
	if !slices.ContainsFunc(m.inputs, func(in uncertainty.Input) bool { return in.Distribution.U() > 0 }) {
		return nil
	}
	drawn, err := u.MonteCarlo(ctx, uncertainty.Options{Seed: seed, Draws: draws})
	if err != nil {
		return fmt.Errorf("cost: %w", err)
	}
	for i, o := range m.outputs {
		o.bent(&laws[i], &drawn.Outputs[i])
	}
	return nil
}

// straight writes what the law says into the figure.
func (o *output) straight(law *uncertainty.Law) {
	f := o.figure
	if math.IsNaN(law.Value) {
		f.Why = o.never
		return
	}
	f.Value, f.U, f.Low, f.High = law.Value, law.U, law.Value-law.Expanded, law.Value+law.Expanded
	f.Straight, f.Defined = true, 1
}

// bent writes what the draws say in its place, where the law does not hold.
func (o *output) bent(law *uncertainty.Law, drawn *uncertainty.Estimate) {
	f := o.figure
	if !f.Known() || drawn.Defined == 1 && (drawn.StdDev == 0 || law.Holds(drawn, 1)) {
		return
	}
	f.U, f.Low, f.High = drawn.StdDev, drawn.Low, drawn.High
	f.Straight, f.Defined = false, drawn.Defined
}
