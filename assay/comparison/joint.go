package comparison

import (
	"fmt"
	"math"
	"slices"

	"lampassay/assay/uncertainty"
)

// Rig lists the inputs of a sitting that act alike on every lamp measured with
// one rig in one state. Whatever is not listed differs from lamp to lamp: the
// mismatch and the self-absorption by their nature, the refit, the drift, the
// supply and the noise because they are drawn anew. Own judgement, no source.
func Rig() []string {
	return append(scales(),
		uncertainty.WavelengthOffset, uncertainty.WavelengthStretch, uncertainty.Bandwidth,
		uncertainty.ResponseCurve, uncertainty.ReferenceLamp, uncertainty.StrayLight)
}

// scales are those that multiply a figure, so that their sign is the same for
// every lamp.
func scales() []string {
	return []string{
		uncertainty.AbsoluteScale, uncertainty.LightMeterScale, uncertainty.Distance,
		uncertainty.ReferenceFlux, uncertainty.PowerMeterClass,
	}
}

// Joint makes one model of several lamps' models: output k of lamp i is output
// i·n + k, n the outputs of each. An input that is named in shared, and is the
// same in distribution and number wherever it occurs, is one input of all
// lamps; any other belongs to its lamp, whose name it carries. Drawing the
// joint model gives draws that can be compared one by one.
func Joint(lamps []string, models []*uncertainty.Model, shared []string) (*uncertainty.Model, error) {
	if len(lamps) == 0 || len(lamps) != len(models) {
		return nil, fmt.Errorf("comparison: %d lamps with %d models", len(lamps), len(models))
	}
	n := models[0].Outputs
	joint := &uncertainty.Model{Outputs: n * len(models)}
	first := map[string]int{} // where an input begins in the joint x
	size := 0
	pick := make([][]int, len(models)) // the place in the joint x of each of a lamp's
	for i, m := range models {
		if m.Outputs != n {
			return nil, fmt.Errorf("comparison: %s has %d outputs and %s %d", lamps[0], n, lamps[i], m.Outputs)
		}
		name := map[string]string{}
		for _, in := range m.Inputs {
			count := max(in.Count, 1)
			known := slices.IndexFunc(joint.Inputs, func(o uncertainty.Input) bool { return o.Name == in.Name })
			ownName := in.Name
			if !slices.Contains(shared, in.Name) || known >= 0 && !sameInput(&joint.Inputs[known], &in) {
				ownName += ", " + lamps[i]
				known = -1
			}
			name[in.Name] = ownName
			in.Name = ownName
			if known < 0 {
				first[in.Name] = size
				joint.Inputs = append(joint.Inputs, in)
				size += count
			}
			for k := range count {
				pick[i] = append(pick[i], first[in.Name]+k)
			}
		}
		for _, c := range m.Correlations {
			c.A, c.B = name[c.A], name[c.B]
			if !slices.Contains(joint.Correlations, c) {
				joint.Correlations = append(joint.Correlations, c)
			}
		}
	}
	joint.New = func() uncertainty.Function {
		functions, scratch := make([]uncertainty.Function, len(models)), make([][]float64, len(models))
		for i, m := range models {
			functions[i], scratch[i] = m.New(), make([]float64, len(pick[i]))
		}
		return func(x, y []float64) {
			for i, f := range functions {
				for k, at := range pick[i] {
					scratch[i][k] = x[at]
				}
				f(scratch[i], y[i*n:(i+1)*n])
			}
		}
	}
	return joint, nil
}

// UsualDraws is how many draws of lamps together serve a comparison: the end of an
// interval of 95 % is then good to about 4 % of the standard uncertainty.
const UsualDraws = 4000

// enoughDefined is the share of the draws that must give a quantity a value.
const enoughDefined = 0.95

// TakeDraws gives the figure the draws of one output of a [Joint] model. One that too
// many draws leave undefined has no rank; one that has none already keeps its reason.
func (f *Figure) TakeDraws(s *uncertainty.Simulation, output int) {
	if f.Unranked != "" {
		return
	}
	if s.Outputs[output].Defined < enoughDefined {
		f.Unranked = "more than 5 % of the draws leave it undefined"
	}
	f.Draws = s.Values(output)
}

// TakeLaw gives the figure the causes of one output's budget, as [CausesOf] has them.
// One that is not defined all around its value has no rank.
func (f *Figure) TakeLaw(law *uncertainty.Law, inputs []uncertainty.Input, shared bool) {
	if math.IsNaN(law.U) {
		f.Unranked = "not defined a standard uncertainty away"
	}
	f.Causes = CausesOf(law, inputs, shared)
}

// sameInput reports whether two inputs can be one and the same.
func sameInput(a, b *uncertainty.Input) bool {
	return a.Distribution == b.Distribution && max(a.Count, 1) == max(b.Count, 1) && a.Unit == b.Unit
}

// CausesOf turns the budget of one output into causes. Inputs of the rig are
// shared where shared is set; one of many values, such as the noise of pixels,
// has no sign and is the lamp's own.
func CausesOf(law *uncertainty.Law, inputs []uncertainty.Input, shared bool) []Cause {
	var causes []Cause
	for _, c := range law.Budget {
		in := &inputs[c.Input]
		causes = append(causes, Cause{in.Name, c.Linear, !shared || in.Count > 1 || !slices.Contains(Rig(), in.Name)})
	}
	return causes
}
