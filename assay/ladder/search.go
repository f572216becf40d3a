package ladder

import (
	"context"
	"fmt"
	"math"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/limits"
)

// highestRa is the most that is asked of a rival: 100 is the reference light
// itself, and nothing else.
const highestRa = 99

// Search looks for the best light among all mixtures of ideal lines within the
// range of the eye's tables, with [limits.Solver].
func Search(s *limits.Solver) BestLight {
	return func(ctx context.Context, x, y, ra float64) (Rival, error) {
		c := limits.Conditions{Colour: limits.AtXY(x, y)}
		if !math.IsNaN(ra) {
			c.Demands = []limits.Demand{limits.AtLeast(limits.Ra, min(ra, highestRa))}
		}
		o, err := s.Solve(ctx, c)
		if err != nil {
			return Rival{}, err
		}
		where := places(o.Lines())
		text := fmt.Sprintf("%d lines from %.0f to %.0f nm", len(where), where[0], where[len(where)-1])
		if len(where) <= 6 {
			text = "lines at " + strings.Trim(strings.ReplaceAll(fmt.Sprintf("%.0f", where), " ", ", "), "[]") + " nm"
		}
		return Rival{o.LER, text}, nil
	}
}

// Peers returns what light of a lamp's own kind has: its colour, by temperature and
// Duv where one is to be had, and an Ra of which the lamp has a little more; NaN where
// it has none within its method's scope.
func Peers(r *assay.Result) (colour limits.Colour, ra float64) {
	x, _ := r.Value(quantity.ChromaticityX)
	y, _ := r.Value(quantity.ChromaticityY)
	colour, ra = limits.AtXY(x, y), math.NaN()
	if cct, ok := r.Value(quantity.CCT); ok && cct >= 1000 && cct <= 25000 {
		duv, _ := r.Value(quantity.Duv)
		colour = limits.AtCCT(cct, duv)
	}
	if v, ok := r.Value(quantity.Ra); ok && r.InScope(quantity.Ra) {
		ra = math.Floor(10*v) / 10
	}
	return colour, ra
}

// places returns where a mixture's lines are, neighbours within 2 nm as one: no
// reader tells them apart.
func places(lines []limits.Part) (nm []float64) {
	power := 0.0 // of the last place
	for _, l := range lines {
		if n := len(nm); n > 0 && l.Centre-nm[n-1] < 2 {
			power += l.Power
			nm[n-1] += (l.Centre - nm[n-1]) * l.Power / power
			continue
		}
		nm, power = append(nm, l.Centre), l.Power
	}
	return nm
}
