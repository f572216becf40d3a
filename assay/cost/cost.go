package cost

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
)

// Value is a figure with its standard uncertainty in the same unit. The zero
// value is one that was not given.
type Value struct {
	Value float64 `json:"value"`
	U     float64 `json:"u"`
}

// Exactly is a value without uncertainty.
func Exactly(v float64) Value { return Value{Value: v} }

// UnmarshalJSON reads a number, or {"value": …, "u": …}. A zero in a file is a
// value that cannot be, not one that was left out.
func (v *Value) UnmarshalJSON(text []byte) error {
	type plain Value
	*v = Value{}
	err := json.Unmarshal(text, &v.Value)
	if err != nil {
		d := json.NewDecoder(bytes.NewReader(text))
		d.DisallowUnknownFields()
		if err = d.Decode((*plain)(v)); err != nil {
			return fmt.Errorf("a value is a number or {\"value\": 806, \"u\": 20}, and not %s", text)
		}
	}
	if !(v.Value > 0) || v.U < 0 {
		return fmt.Errorf("a value must be above zero and its uncertainty not below: %s", text)
	}
	return nil
}

// Given reports whether the value was given.
func (v Value) Given() bool { return v != Value{} }

// Lamp is what is known of a lamp. Flux and power are needed, the rest where it
// is known.
type Lamp struct {
	Name  string
	Flux  Value // lm
	Power Value // W, at the mains
	Price Value // in the currency of the terms
	Life  Value // h
}

// Terms are what the user pays and burns.
type Terms struct {
	Hours    Value  // burning hours in a year
	Tariff   Value  // money for a kWh
	Carbon   Value  // kg CO2e for a kWh
	Currency string // such as EUR; needed for any money
}

// Figure is one result.
type Figure struct {
	Key, Name, Unit string
	Value           float64 // 0 where Why says why there is none
	U               float64 // standard uncertainty
	// Low and High bound the 95 % interval. Straight says that it is that of the
	// law of propagation; else it is that of draws, and Defined the share of them
	// in which the figure has a value.
	Low, High float64
	Straight  bool
	Defined   float64
	Why       string
}

// Known reports whether the figure has a value.
func (f *Figure) Known() bool { return f.Why == "" }

// Bill is one lamp's figures.
type Bill struct {
	Name    string
	Figures []Figure
}

// Replacement is what becomes of one lamp A when B gives its light.
type Replacement struct {
	A, B string
	// Whole is the least whole number of B that gives at least the light of one
	// A, and Light what they give over A's.
	Whole int
	Light float64
	// Pays is the answer to whether B pays for itself within its life.
	Pays    Answer
	Figures []Figure
}

// Answer is yes, no, or neither.
type Answer string

// The answers.
const (
	Unknown    Answer = ""
	Yes        Answer = "yes"
	No         Answer = "no"
	CannotTell Answer = "cannot tell" // the interval holds both
)

// Report is what lamps cost, and what each of the others changes in place of the
// first.
type Report struct {
	Currency     string
	Bills        []Bill
	Replacements []Replacement
}

// mostLamps is how many of a lamp may take the place of one: own choice, more than
// indicators for a floodlight.
const mostLamps = 1e6

// Compute does the sums for one lamp or more. The first is the one that the
// others are to replace.
func Compute(ctx context.Context, lamps []Lamp, t Terms) (*Report, error) {
	if err := check(lamps, t); err != nil {
		return nil, err
	}
	m := newModel(lamps, t)
	r := &Report{Currency: t.Currency}
	for i, l := range lamps {
		r.Bills = append(r.Bills, Bill{l.Name, m.plan(m.bill(i))})
	}
	for i := 1; i < len(lamps); i++ {
		p := Replacement{A: lamps[0].Name, B: lamps[i].Name}
		n := lamps[0].Flux.Value / lamps[i].Flux.Value
		if !(n <= mostLamps) {
			return nil, fmt.Errorf("cost: it would take %.3g of %s for the light of one %s: are both fluxes in lumens?", n, p.B, p.A)
		}
		p.Whole = int(math.Ceil(n * (1 - 1e-9)))
		p.Light = float64(p.Whole) / n
		p.Figures = m.plan(m.replacement(i))
		r.Replacements = append(r.Replacements, p)
	}
	if err := m.evaluate(ctx); err != nil {
		return nil, err
	}
	for i := range r.Replacements {
		r.Replacements[i].Pays = pays(r.Replacements[i].Figures)
	}
	return r, nil
}

// pays turns the life that is left after the payback into an answer.
func pays(figures []Figure) Answer {
	maySave := false // within the interval
	for i := range figures {
		f := &figures[i]
		switch {
		case f.Key == "energy_saved":
			maySave = f.High > 0
		case f.Key == "payback" && f.Why == neverPays && maySave:
			return CannotTell
		case f.Key == "payback" && f.Why == neverPays:
			return No
		case f.Key != "life_after_payback" || !f.Known():
		case f.Defined < 1, f.Low <= 0 && f.High >= 0:
			return CannotTell
		case f.Low > 0:
			return Yes
		default:
			return No
		}
	}
	return Unknown
}

// check refuses what cannot be, in a sentence.
func check(lamps []Lamp, t Terms) error {
	if len(lamps) == 0 {
		return errors.New("cost: there is no lamp")
	}
	positive := func(of, name, unit string, v Value, needed bool) error {
		switch {
		case !needed && !v.Given():
			return nil
		case math.IsNaN(v.Value) || math.IsInf(v.Value, 0) || math.IsNaN(v.U) || math.IsInf(v.U, 0):
			return fmt.Errorf("cost: %s%s is not a number", of, name)
		case !(v.Value > 0):
			return fmt.Errorf("cost: %s%s is %g%s: it must be above zero", of, name, v.Value, unit)
		case v.U > 10*v.Value:
			return fmt.Errorf("cost: %sthe uncertainty of %s is %g, over ten times the value", of, strings.TrimPrefix(name, "the "), v.U)
		case v.U < 0:
			return fmt.Errorf("cost: %sthe uncertainty of %s is %g: it cannot be negative", of, strings.TrimPrefix(name, "the "), v.U)
		}
		return nil
	}
	err := errors.Join(
		positive("", "the number of burning hours in a year", " h", t.Hours, false),
		positive("", "the tariff", "", t.Tariff, false),
		positive("", "the carbon of a kilowatt-hour", " kg", t.Carbon, false))
	if t.Hours.Value > 8784 {
		err = errors.Join(err, fmt.Errorf("cost: %g burning hours are more than a year has", t.Hours.Value))
	}
	money := t.Tariff.Given()
	names := map[string]bool{}
	for _, l := range lamps {
		of := l.Name + ": "
		err = errors.Join(err,
			positive(of, "the flux", " lm", l.Flux, true), positive(of, "the power", " W", l.Power, true),
			positive(of, "the price", "", l.Price, false), positive(of, "the life", " h", l.Life, false))
		if strings.TrimSpace(l.Name) == "" || names[l.Name] {
			err = errors.Join(err, fmt.Errorf("cost: lamps need names that differ, and %q does not", l.Name))
		}
		names[l.Name] = true
		money = money || l.Price.Given()
	}
	if money && strings.TrimSpace(t.Currency) == "" {
		err = errors.Join(err, errors.New("cost: a tariff or a price needs its currency"))
	}
	return first(err)
}

// first returns the first of joined errors: one sentence is enough.
func first(err error) error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		return first(many.Unwrap()[0])
	}
	return err
}
