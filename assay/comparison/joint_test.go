package comparison

import (
	"context"
	"math"
	"testing"

	"lampassay/assay/uncertainty"
)

// threshold is a lamp whose quantity is undefined where its light is below a share
// of the draws.
func threshold(undefined float64) *uncertainty.Model {
	return &uncertainty.Model{
		Inputs:  []uncertainty.Input{{Name: "light", Distribution: uncertainty.Rectangular(0.5, 0.5)}},
		Outputs: 1,
		New: func() uncertainty.Function {
			return func(x, y []float64) {
				if y[0] = 10 + x[0]; x[0] < undefined {
					y[0] = math.NaN()
				}
			}
		},
	}
}

func TestAFigureThatDrawsLeaveUndefinedHasNoRank(t *testing.T) {
	m, err := Joint([]string{"A", "B"}, []*uncertainty.Model{threshold(0.03), threshold(0.07)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	s, err := m.MonteCarlo(context.Background(), uncertainty.Options{Seed: 1, Draws: 4000})
	if err != nil {
		t.Fatal(err)
	}
	kept, lost, never := Figure{Lamp: "A"}, Figure{Lamp: "B"}, Figure{Lamp: "C", Unranked: "not defined"}
	kept.TakeDraws(s, 0)
	lost.TakeDraws(s, 1)
	never.TakeDraws(s, 1)
	if kept.Unranked != "" || len(kept.Draws) != 4000 {
		t.Errorf("with 3 %% of the draws undefined: %q, %d draws", kept.Unranked, len(kept.Draws))
	}
	if lost.Unranked != "more than 5 % of the draws leave it undefined" {
		t.Errorf("with 7 %% of the draws undefined: %q", lost.Unranked)
	}
	if never.Unranked != "not defined" || never.Draws != nil {
		t.Errorf("a figure that is not defined: %q, %d draws", never.Unranked, len(never.Draws))
	}
}

func TestAFigureUndefinedBesideItsValueHasNoRank(t *testing.T) {
	var f Figure
	f.TakeLaw(&uncertainty.Law{U: math.NaN()}, nil, true)
	if f.Unranked != "not defined a standard uncertainty away" {
		t.Errorf("%q", f.Unranked)
	}
}
