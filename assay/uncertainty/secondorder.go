package uncertainty

import (
	"context"
	"fmt"
	"math"
)

// SecondOrder returns the combined standard uncertainty of every output with
// the terms of second order that JCGM 100:2008 gives in the note to 5.1.2, for
// independent inputs with normal distributions: a look at what the straight law
// leaves out. Inputs of many values and correlations are refused; the draws
// have no such limits.
func (m *Model) SecondOrder(ctx context.Context) ([]float64, error) {
	p, err := m.prepare()
	if err != nil {
		return nil, err
	}
	if p.size != len(p.Inputs) || len(p.joint) > 0 {
		return nil, fmt.Errorf("uncertainty: terms of second order are worked out for single, independent inputs only")
	}
	w, at := p.worker(), make([]float64, p.size)
	p.estimates(at)
	// value evaluates the function a standard uncertainties from the estimate of
	// input i and b from that of input j.
	value := func(i int, a float64, j int, b float64) []float64 {
		copy(w.x, at)
		w.x[i] += a * p.Inputs[i].Distribution.U()
		w.x[j] += b * p.Inputs[j].Distribution.U()
		w.f(w.x, w.y)
		return append([]float64(nil), w.y...)
	}
	variance := make([]float64, m.Outputs)
	for i := range p.Inputs {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("uncertainty: stopped: %w", err)
		}
		zero, up, down := value(i, 0, i, 0), value(i, 1, i, 0), value(i, -1, i, 0)
		up2, down2 := value(i, 2, i, 0), value(i, -2, i, 0)
		for y := range variance {
			first := (up[y] - down[y]) / 2
			second := up[y] - 2*zero[y] + down[y]
			third := (up2[y] - 2*up[y] + 2*down[y] - down2[y]) / 2
			variance[y] += first*first + second*second/2 + first*third
		}
		for j := range p.Inputs {
			if j == i {
				continue
			}
			uu, ud, du, dd := value(i, 1, j, 1), value(i, 1, j, -1), value(i, -1, j, 1), value(i, -1, j, -1)
			for y := range variance {
				first := (up[y] - down[y]) / 2
				mixed := (uu[y] - ud[y] - du[y] + dd[y]) / 4
				third := ((uu[y] - 2*up[y] + ud[y]) - (du[y] - 2*down[y] + dd[y])) / 2
				variance[y] += mixed*mixed/2 + first*third
			}
		}
	}
	for y := range variance {
		variance[y] = math.Sqrt(variance[y])
	}
	return variance, nil
}
