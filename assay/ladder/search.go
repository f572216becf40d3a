package ladder

import (
	"context"
	"fmt"
	"math"
	"strings"

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
