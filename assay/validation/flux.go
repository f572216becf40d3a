package validation

import (
	"context"
	"math"

	"lampassay/assay/flux"
	"lampassay/assay/uncertainty"
	"lampassay/light/distribution"
)

// lightOverDirections: zones, cones and sources of which the flux is known.
func lightOverDirections(l *list) {
	const zones = "2π(cos γ₁ − cos γ₂); IES Lighting Handbook, rounded there to three places"
	for i, want := range []float64{.0955, .2835, .4629, .6282, .7744, .8972, .9926, 1.0579, 1.0911} {
		from := 10 * float64(i)
		l.add(format("zonal constant %g°–%g°", from, from+10), want, distribution.Zone(from, from+10), 1e-4, "sr", Independent, zones)
	}
	const regulation = "Regulation (EU) 2019/2020 Annex I"
	l.add("cone of 90°", .586*math.Pi, distribution.SolidAngle(90), 5e-4*math.Pi, "sr", Published, regulation)
	l.add("cone of 120°", math.Pi, distribution.SolidAngle(120), 1e-6, "sr", Published, regulation)

	l.add("100 cd everywhere", 1256.64, source(10, 180, func(float64) float64 { return 100 }).Flux(), 0.01, "lm", Defined, "4π I")
	cosine := func(g float64) float64 { return 100 * math.Max(0, math.Cos(g*math.Pi/180)) }
	lambert := source(1, 180, cosine)
	l.add("Lambertian, 100 cd, read every degree", 100*math.Pi, lambert.Flux(), 0.01, "lm", Defined, "π I₀")
	l.add("the same within 120°", 75*math.Pi, lambert.FluxWithin(120), 0.01, "lm", Defined, "π I₀ sin² 60°")
	middle := 0.0
	for g := 5.0; g < 90; g += 10 {
		middle += cosine(g) * distribution.Zone(g-5, g+5)
	}
	l.add("Lambertian, 100 cd, by the middles of 10° zones", 315.36, middle, 0.05, "lm", Independent, "sum of zonal constants; 0.38 % above π I₀")
	l.add("even cone of 90°, 100 cd", 184.03, distribution.Cone(90).PerCandela()*100, 0.01, "lm", Independent, "2π(1 − cos 45°) I")
	l.add("beam of 120° by a power of the cosine is Lambertian", math.Pi, distribution.BeamAngle(120).PerCandela(), 1e-6, "lm/cd", Defined, "n = ln ½ / ln cos 60° = 1")
}

// source is a round lamp of an intensity in cd, read at even steps.
func source(step, last float64, cd func(gamma float64) float64) *distribution.Distribution {
	var gamma, plane []float64
	for g := 0.0; g <= last; g += step {
		gamma, plane = append(gamma, g), append(plane, cd(g))
	}
	d, err := distribution.New(gamma, []float64{0}, [][]float64{plane}, distribution.Rotational, distribution.Whole)
	if err != nil {
		panic(err) // the angles above cover the sphere by construction
	}
	return d
}

// finiteSources: how far E d² is off near a matt surface.
func finiteSources(l *list) {
	for _, c := range []struct{ over, want, tolerance float64 }{{1, -20, .05}, {2, -5.9, .05}, {3, -2.7, .05}, {5, -.99, .02}, {10, -.25, .02}} {
		l.add(format("disc at %g diameters", c.over), c.want, 100*(distribution.Ratio(distribution.Disc, 1, c.over)-1), c.tolerance, "%", Independent, "1/(1 + (D/2d)²)")
	}
	for _, c := range []struct{ over, want, tolerance float64 }{{5, .99339, 2e-4}, {10, .99834, 2e-4}} {
		l.add(format("line at %g lengths: E d² over the intensity", c.over), c.want, distribution.Ratio(distribution.Line, 1, c.over), c.tolerance, "", Independent, "integral of cos² γ/r² over the line")
	}
	l.add("least distance of a disc of 1 m for 1 %", math.Sqrt(99)/2, distribution.LeastDistance(distribution.Disc, 1, .01), 1e-6, "m", Defined, "1/(1 + (D/2d)²) = 0.99")
}

// substitution: the equation of the sphere with an auxiliary lamp.
func substitution(l *list) {
	s := flux.SubstitutionFor(uncertainty.White, flux.Part{U: 0.015, Source: "certificate"}, true)
	s.Reference, s.Lamp, s.Standard = 1000, []float64{60}, []float64{80}
	s.AuxiliaryLamp, s.AuxiliaryStandard = []float64{9}, []float64{10}
	got := math.NaN()
	if r, err := s.Assess(context.Background(), uncertainty.Options{Draws: 100}); err == nil {
		got = r.Value
	}
	l.add("60 against 80 of a 1000 lm lamp, auxiliary lamp 9 against 10", 750/0.9, got, 1e-6, "lm", Memory, "ANSI/IES LM-79: Φ = Φref (y/yref)/α, from memory")
}
