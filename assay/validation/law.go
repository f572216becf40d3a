package validation

import (
	"context"
	"math"
	"strings"

	"lampassay/assay"
	"lampassay/assay/conformity"
	"lampassay/assay/cost"
	"lampassay/assay/ladder"
	"lampassay/light/appearance"
	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// rules checks the arithmetic of the carried regulations, each of which can be
// followed with a pencil.
func rules(l *list) {
	const (
		ecodesign = "Regulation (EU) 2019/2020 Annex II"
		label     = "Regulation (EU) 2019/2015"
		period    = "Regulation (EU) No 874/2012"
	)
	for _, c := range []struct {
		kind     string
		source   conformity.LightSource
		flux, ra float64
		features string
		want     float64
	}{
		{"led", conformity.LightSource{Mains: true}, 806, 80, "", 8.874},
		{"led", conformity.LightSource{}, 806, 80, "", 8.217},
		{"led", conformity.LightSource{Mains: true, Directional: true}, 345, 80, "", 6.005},
		{"led", conformity.LightSource{Directional: true}, 345, 80, "", 5.615},
		{"led", conformity.LightSource{Mains: true}, 806, 90, "connected", 9.979},
		{"led", conformity.LightSource{Mains: true}, 806, 90, "connected colour-tuneable", 10.903},
		{"hps", conformity.LightSource{}, 10700, 20, "", 111.534},
		{"fl-t5-he", conformity.LightSource{}, 2600, 80, "", 28.216},
		{"cfl", conformity.LightSource{}, 1200, 80, "", 19.394},
	} {
		got, err := conformity.LargestPower(&conformity.Lamp{
			Technology: c.kind, Source: c.source, Flux: c.flux, Power: 10, CCT: 3000, Features: strings.Fields(c.features),
			Measured: map[conformity.Figure]float64{"ra": c.ra}})
		l.add(strings.TrimSpace(format("P_on,max %s %v %g lm Ra %g %s", c.kind, c.source, c.flux, c.ra, c.features)), c.want, orNaN(got, err), 1e-3, "W", Defined, ecodesign+" Tables 1 and 2")
	}
	for _, c := range []struct {
		group string
		power float64
		want  float64
	}{{"fl", 36, .8780}, {"led", 10, .7066}, {"led", 50, .8487}} {
		got, ok := conformity.LeastGear(c.group, c.power)
		if !ok {
			got = math.NaN()
		}
		l.add(format("least efficiency of gear, %s, %g W", c.group, c.power), c.want, got, 1e-4, "", Defined, ecodesign+" Table 3")
	}
	for _, c := range []struct {
		flux, power, index float64
		class              string
	}{{806, 9.5, .15, "A+"}, {710, 60, 1.03, "E"}, {470, 7, .17, "A+"}} {
		got, err := conformity.PeriodClass(&conformity.Lamp{Source: conformity.LightSource{Mains: true}, Flux: c.flux, Power: c.power})
		index := got.Index
		if err != nil || got.Letter != c.class {
			index = math.NaN() // the wrong letter is a failure whatever the index
		}
		l.add(format("%g lm, %g W: class %s of its day", c.flux, c.power, c.class), c.index, index, 1e-6, "", Defined, period)
	}
	for _, c := range [][2]float64{{136, 15}, {470, 40}, {806, 60}, {1055, 75}, {1521, 100}, {3452, 200}} {
		got, ok := conformity.IncandescentEqual(c[0])
		if !ok {
			got = math.NaN()
		}
		l.add(format("incandescent lamp that %g lm equal", c[0]), c[1], got, 0, "W", Published, label+" Table 7")
	}
}

func orNaN(v float64, err error) float64 {
	if err != nil {
		return math.NaN()
	}
	return v
}

// ladders checks the tops of the ladders.
func ladders(l *list) {
	for _, c := range []struct{ nm, want float64 }{{589.0, 525.1}, {589.3, 522.7}} {
		got := math.NaN()
		if built, err := l.ladderOfLine(c.nm); err == nil && built.Colour == ladder.Single {
			got = built.Rungs[1].Efficacy
		}
		l.add(format("limit of light of %.1f nm alone", c.nm), c.want, got, 1, "lm/W", Independent, "683·V(λ), CIE 018:2019")
	}
}

// ladderOfLine builds the ladder of a thin line on a dark ground.
func (l *list) ladderOfLine(nm float64) (*ladder.Ladder, error) {
	s, err := spectrum.New(spectrum.Relative, []float64{380, nm - 0.1, nm, nm + 0.1, 780}, []float64{0, 0, 1, 0, 0})
	if err != nil {
		return nil, err
	}
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		return nil, err
	}
	r := new(assay.Result)
	l.evaluator.Evaluate(p, new(assay.Given), r)
	return ladder.Of(context.Background(), r, ladder.Options{})
}

// costs checks a page of sums.
func costs(l *list) {
	r, err := cost.Compute(context.Background(), []cost.Lamp{
		{Name: "a", Flux: cost.Exactly(800), Power: cost.Exactly(60), Price: cost.Exactly(1), Life: cost.Exactly(1000)},
		{Name: "b", Flux: cost.Exactly(800), Power: cost.Exactly(10), Price: cost.Exactly(5), Life: cost.Exactly(10000)},
	}, cost.Terms{Hours: cost.Exactly(1000), Tariff: cost.Exactly(0.2), Carbon: cost.Exactly(0.5), Currency: "EUR"})
	if err != nil {
		r = &cost.Report{Bills: make([]cost.Bill, 2), Replacements: make([]cost.Replacement, 1)}
	}
	for _, c := range []struct {
		from []cost.Figure
		key  string
		want float64
	}{
		{r.Bills[0].Figures, "energy_per_year", 60}, {r.Bills[0].Figures, "cost_per_mlmh", 16.25}, {r.Bills[1].Figures, "cost_per_mlmh", 3.125},
		{r.Bills[1].Figures, "carbon_per_mlmh", 6.25}, {r.Replacements[0].Figures, "energy_saved_per_year", 50}, {r.Replacements[0].Figures, "payback", 0.5},
	} {
		got, unit := math.NaN(), ""
		for _, f := range c.from {
			if f.Key == c.key {
				got, unit = f.Value, f.Unit
			}
		}
		l.add("60 W for 10 W: "+strings.ReplaceAll(c.key, "_", " "), c.want, got, 1e-6, unit, Defined, "arithmetic")
	}
}

// relit checks what must hold of any light shown on a screen.
func relit(l *list) {
	colours := [][3]float64{{1, 1, 1}, {0.5, 0.5, 0.5}, {0.8, 0.1, 0.05}, {0.02, 0.1, 0.6}}
	d65, err := projectIlluminant("D65", spectrum.Sampled)
	if err != nil {
		d65 = new(spectrum.Projected) // dark, so that no scene can be had
	}
	shown := func(light *spectrum.Projected, c [3]float64) colorimetry.XYZ {
		scene, err := appearance.New(light, appearance.Options{})
		if err != nil {
			return colorimetry.XYZ{X: math.NaN(), Y: math.NaN(), Z: math.NaN()}
		}
		return scene.XYZ(c[0], c[1], c[2])
	}
	for _, c := range colours {
		r, g, b := colorimetry.SRGBFromXYZ(shown(d65, c))
		missed := max(math.Abs(r-c[0]), math.Abs(g-c[1]), math.Abs(b-c[2]))
		l.add(format("sRGB %.2g, %.2g, %.2g back under D65", c[0], c[1], c[2]), 0, missed, 1e-3, "", Defined, "Jakob & Hanika 2019; IEC 61966-2-1")
	}
	line := new(spectrum.Projected)
	line.B[589-spectrum.GridFirst] = 1
	o := standards.CIE1931()
	want := o.X.At(589) / (o.X.At(589) + o.Y.At(589) + o.Z.At(589))
	for _, c := range colours {
		x, _ := shown(line, c).XY()
		l.add(format("sRGB %.2g, %.2g, %.2g under 589 nm: x", c[0], c[1], c[2]), want, x, 1e-6, "", Defined, "one wavelength has one chromaticity")
	}
}
