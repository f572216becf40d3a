package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/publish/figure"
)

// surenessView is what a sheet says of its uncertainties.
type surenessView struct {
	Meaning string // what ± stands for
	Basis   string // whose estimates it rests on; "" where all are stated
	Method  string
	Inputs  []inputView
}

// inputView is a line of the table of inputs.
type inputView struct{ Name, Value, U, Unit, Distribution, Source string }

func newSureness(r *assay.Result) *surenessView {
	u := r.Uncertainty
	if u == nil {
		return nil
	}
	v := &surenessView{
		Meaning: fmt.Sprintf("± is the expanded uncertainty U = %d u (k = %d, about 95 %%); an interval stands where that would mislead.", assay.CoverageFactor, assay.CoverageFactor),
		Method:  fmt.Sprintf("Monte Carlo by JCGM 101:2008: %d draws of every input through the whole calculation, seed %d.", u.Draws, u.Seed),
	}
	if !u.Fixed && !u.Stable {
		v.Method += " Not all figures had settled to one digit of their uncertainty."
	}
	if n := u.Assumed(); n > 0 {
		v.Basis = fmt.Sprintf("%d of %d inputs stand at this project’s own estimates for a class of instrument (%s).", n, len(u.Inputs), u.Basis)
	}
	for _, in := range u.Inputs {
		v.Inputs = append(v.Inputs, inputView{in.Name, brief(in.Value), brief(in.U), in.Unit, in.Distribution, in.Source})
	}
	return v
}

// brief writes an input's figure, "" where it has many values.
func brief(v float64) string {
	if math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', 4, 64)
}

// chromaticSpread returns what the ellipse is drawn from, zeros where it is not
// known.
func chromaticSpread(r *assay.Result) [3]float64 {
	if r.Uncertainty == nil {
		return [3]float64{}
	}
	c := r.Uncertainty.Chromaticity
	if math.IsNaN(c[0] + c[1] + c[2]) {
		return [3]float64{}
	}
	return c
}

// budgeted are the figures whose budget the sheet draws.
var budgeted = []quantity.ID{
	quantity.LuminousFlux, quantity.Power, quantity.PowerLamp, quantity.LuminousEfficacy, quantity.CCT, quantity.Duv, quantity.Ra, quantity.Rf,
}

// budgetLines is how many inputs the picture names; the rest are one line.
const budgetLines = 7

// budget prepares the picture of what makes the figures unsure; nil where
// nothing does.
func budget(r *assay.Result) (*figure.Picture, error) {
	var b figure.Budget
	var spreads []*assay.Spread
	for _, id := range budgeted {
		s := r.Spread(id)
		if s == nil || len(s.Budget) == 0 || id == quantity.PowerLamp && r.Given.Power.Known {
			continue
		}
		d := quantity.Get(id)
		spreads = append(spreads, s)
		b.Quantities = append(b.Quantities, figure.BudgetColumn{Symbol: d.Symbol, Spread: withUnit(r.Reading(id).Sureness(), unit(d))})
	}
	if len(spreads) == 0 {
		return nil, nil
	}
	u := r.Uncertainty
	lines := make([]figure.BudgetLine, len(u.Inputs))
	weight := make([]float64, len(u.Inputs))
	for i, in := range u.Inputs {
		lines[i] = figure.BudgetLine{Name: in.Name, Shares: slices.Repeat([]float64{math.NaN()}, len(spreads))}
	}
	for q, s := range spreads {
		for _, part := range s.Budget {
			lines[part.Input].Shares[q] = part.Share
			weight[part.Input] += part.Share
		}
	}
	order := make([]int, len(lines))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(weight[b], weight[a]) })
	rest := figure.BudgetLine{Name: "all other inputs", Rest: true, Shares: make([]float64, len(spreads))}
	for k, i := range order {
		switch {
		case k < budgetLines && weight[i] >= 0.01:
			b.Inputs = append(b.Inputs, lines[i])
		default:
			for q, s := range lines[i].Shares {
				if s > 0 {
					rest.Shares[q] += s
				}
			}
		}
	}
	if slices.Max(rest.Shares) >= 0.005 {
		b.Inputs = append(b.Inputs, rest)
	}
	return b.Picture()
}
