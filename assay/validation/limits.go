package validation

import (
	"context"
	"math"

	"lampassay/light/limits"
)

// largestEfficacy: how far light could go under conditions.
func largestEfficacy(l *list) {
	solver := new(limits.Solver)
	solve := func(c limits.Conditions) limits.Optimum {
		o, err := solver.Solve(context.Background(), c)
		if err != nil {
			o.Efficacy, o.Evidence.Bound = math.NaN(), math.NaN()
		}
		return o
	}
	l.add("any light at all", 683.002, solve(limits.Conditions{}).Efficacy, 1e-3, "lm/W", Defined, "ISO/CIE 23539:2023")
	lines := []limits.Band{{From: 380, To: 780, FWHM: 4.71}}
	for _, c := range []struct{ ra, kelvin, want float64 }{
		{80, 2700, 430.0}, {80, 3000, 426.2}, {80, 4000, 405.5}, {80, 5000, 384.4}, {80, 6500, 360.8},
		{90, 2700, 411.0}, {90, 3000, 408.6}, {90, 4000, 390.7}, {90, 5000, 370.9}, {90, 6500, 348.9},
	} {
		o := solve(limits.Conditions{
			Colour: limits.AtCCT(c.kelvin, 0), Demands: []limits.Demand{limits.AtLeast(limits.Ra, c.ra)}, Bands: lines,
		})
		l.add(format("white of %g K, Ra %g and more, lines 4.71 nm wide", c.kelvin, c.ra), c.want, o.Efficacy, 0.001*c.want, "lm/W",
			Independent, "four Gaussian lines, many starts polished")
	}
	// With the colour alone the dual of the linear program proves the optimum.
	for _, kelvin := range []float64{2700, 6500} {
		o := solve(limits.Conditions{Colour: limits.AtCCT(kelvin, 0)})
		l.add(format("white of %g K of any Ra, against its proof", kelvin), o.Evidence.Bound, o.Efficacy, 1e-3, "lm/W", Defined, "duality of linear programs")
	}
}
