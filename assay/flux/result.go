package flux

import (
	"context"
	"fmt"
	"math"

	"lampassay/assay/uncertainty"
)

// Figure is one value with its uncertainty.
type Figure struct {
	Value     float64
	U         float64 // standard uncertainty (JCGM 100:2008)
	Low, High float64 // ends of the 95 % coverage interval (JCGM 101:2008)
}

// Result is the luminous flux by one route.
type Result struct {
	Route  string
	Figure // lm
	// Budget has a line for each input that is not known exactly, the largest
	// contribution first: the first is the one to improve first.
	Budget   []Line
	Reasons  []string // what was done and assumed, a sentence each
	Cautions []string // what may make the figure worse than its uncertainty says
}

// Line is what one input does to the flux.
type Line struct {
	Name         string
	Distribution string  // of the input, with its unit
	Contribution float64 // standard uncertainty of the flux from this input alone, lm
	Share        float64 // of the variance
	Source       string
}

// Part is a standard uncertainty, relative (0.01 for one per cent) where no unit is
// named, and where it comes from.
type Part struct {
	U      float64
	Source string
}

// Estimated is a Part that nobody measured.
func Estimated(u float64) Part { return Part{u, uncertainty.OwnEstimate} }

// fromClass is a Part as package uncertainty estimates it for a class.
func fromClass(factors []uncertainty.Factor, name string) Part {
	for _, f := range factors {
		if f.Name == name {
			return Part{f.Distribution.U(), f.Source}
		}
	}
	panic("flux: package uncertainty has no factor called " + name)
}

// equation is a measurement equation in the making: its inputs, in the order in
// which the function finds them.
type equation struct {
	inputs []uncertainty.Input
}

// input adds an input and returns its place.
func (e *equation) input(name, unit string, d uncertainty.Distribution, source string) int {
	e.inputs = append(e.inputs, uncertainty.Input{Name: name, Unit: unit, Distribution: d, Source: source})
	return len(e.inputs) - 1
}

// factor adds an input about 1.
func (e *equation) factor(name string, p Part) int {
	return e.input(name, "", uncertainty.Normal(1, p.U), p.Source)
}

// shift adds an input about 0 that lies within ± half.
func (e *equation) shift(name, unit string, half float64, source string) int {
	return e.input(name, unit, uncertainty.Rectangular(0, half), source)
}

// size adds what makes up for the size of the lamp, in parts of an intensity: as of
// a matt surface, and anything from nothing to twice that, since no lamp is one.
func (e *equation) size(more float64) int {
	return e.input("size of the lamp", "", uncertainty.Rectangular(more, more), uncertainty.OwnEstimate)
}

// repeated adds the mean of readings: Student's t for two or more, and for a
// single one what is believed of every reading.
func (e *equation) repeated(name string, readings []float64, single Part) (int, error) {
	if len(readings) == 0 {
		return 0, fmt.Errorf("flux: %s: nothing was read", name)
	}
	for _, v := range readings {
		if !(v >= 0) || math.IsInf(v, 0) {
			return 0, fmt.Errorf("flux: %s: %g cannot be: a meter reads zero or more", name, v)
		}
	}
	if len(readings) == 1 {
		return e.input(name, "", uncertainty.Normal(readings[0], single.U*readings[0]), single.Source), nil
	}
	d, err := uncertainty.FromRepeats(readings)
	if err != nil {
		return 0, fmt.Errorf("flux: %s: %w", name, err)
	}
	return e.input(name, "", d, fmt.Sprintf("%d repeats", len(readings))), nil
}

// draws is how many a result takes: their interval is good to about a hundredth
// of itself, and they take a few milliseconds.
const draws = 20_000

// A flux outside these, in lm, comes of a slip in a unit or a decimal point: own
// choice, far from any lamp.
const (
	faintest  = 1e-6
	brightest = 1e9
)

// mostUnsure is the largest standard uncertainty, in times the flux, that is an
// answer at all and no slip: own choice.
const mostUnsure = 10

// assess evaluates an equation of several outputs, the first of which is the flux.
func (e *equation) assess(ctx context.Context, o uncertainty.Options, route string, outputs int, f uncertainty.Function) (*Result, []Figure, error) {
	if o.Draws == 0 {
		o.Draws = draws
	}
	m := uncertainty.Model{Inputs: e.inputs, Outputs: outputs, New: func() uncertainty.Function { return f }}
	laws, err := m.Propagate(ctx, o)
	if err != nil {
		return nil, nil, fmt.Errorf("flux: %w", err)
	}
	sim, err := m.MonteCarlo(ctx, o)
	if err != nil {
		return nil, nil, fmt.Errorf("flux: %w", err)
	}
	figures := make([]Figure, outputs)
	for i := range figures {
		figures[i] = Figure{laws[i].Value, laws[i].U, sim.Outputs[i].Low, sim.Outputs[i].High}
	}
	switch v := figures[0].Value; {
	case v <= 0:
		return nil, nil, fmt.Errorf("flux: %.3g lm come out, which no lamp gives: as much was taken off as was read, or more", v)
	case !(v >= faintest && v <= brightest):
		return nil, nil, fmt.Errorf("flux: %.3g lm come out, which no lamp gives: look at the readings, the distance and their units", v)
	case !(figures[0].U <= mostUnsure*v):
		return nil, nil, fmt.Errorf("flux: %.3g lm come out with a standard uncertainty of %.3g lm: look at the uncertainties that were stated", v, figures[0].U)
	}
	r := &Result{Route: route, Figure: figures[0]}
	if r.Low <= 0 {
		r.caution("The interval reaches below zero, where no flux lies: with these uncertainties the readings settle nothing.")
	}
	for _, c := range laws[0].Budget {
		in := &e.inputs[c.Input]
		text := in.Distribution.String()
		if in.Unit != "" {
			text += " " + in.Unit
		}
		r.Budget = append(r.Budget, Line{in.Name, text, c.U, c.Share, in.Source})
	}
	return r, figures, nil
}

func (r *Result) reason(format string, a ...any) {
	r.Reasons = append(r.Reasons, fmt.Sprintf(format, a...))
}

func (r *Result) caution(format string, a ...any) {
	r.Cautions = append(r.Cautions, fmt.Sprintf(format, a...))
}
