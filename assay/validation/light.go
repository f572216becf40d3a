package validation

import (
	"math"

	"lampassay/assay"
	"lampassay/assay/conformity"
	"lampassay/assay/quantity"
	"lampassay/light/photometry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func efficacy(l *list) {
	line := func(nm float64) float64 { return photometry.Km * standards.V().At(nm) }
	l.add("efficacy at 555 nm", 683.002, line(555), 0.001, "lm/W", Published, "ISO/CIE 23539:2023")
	l.add("sodium, 589.0 nm", 525.1, line(589.0), 1, "lm/W", Independent, "Km·V(λ), V between 5 nm entries")
	l.add("sodium, 589.6 nm", 520.3, line(589.6), 1, "lm/W", Independent, "Km·V(λ), V between 5 nm entries")
	for _, c := range []struct {
		name string
		want float64
		tol  float64
	}{
		{"A", 154.1, 0.002}, {"D50", 206.2, 0.005}, {"D65", 203.5, 0.005}, {"C", 201.4, 0.005},
		{"FL1", 292.3, 0.005}, {"FL2", 336.4, 0.005}, {"FL3", 359.6, 0.005}, {"FL4", 370.3, 0.005}, {"FL5", 301.1, 0.005}, {"FL6", 353.5, 0.005},
		{"FL7", 253.5, 0.005}, {"FL8", 253.3, 0.005}, {"FL9", 269.0, 0.005}, {"FL10", 325.0, 0.005}, {"FL11", 336.7, 0.005}, {"FL12", 352.9, 0.005},
	} {
		l.add(c.name+" efficacy of radiation, 380–780 nm", c.want, value(l.illuminant(c.name), quantity.LER), c.tol*c.want, "lm/W", Independent, "plain 5 nm sums")
	}
	// All radiation of a blackbody: the integral of Planck's law is closed.
	blackbody := func(t float64) float64 {
		v, sum := standards.V(), 0.0
		for i, w := range v.W {
			sum += w * standards.Planck(float64(v.First+i), t)
		}
		sigma := standards.C1 * math.Pow(math.Pi, 4) / (15 * math.Pow(standards.C2, 4))
		return photometry.Km * sum / (sigma * math.Pow(t, 4))
	}
	for _, c := range [][2]float64{{2700, 12.36}, {2800, 14.91}, {2856, 16.45}, {3000, 20.67}, {4000, 54.71}, {5800, 92.26}, {6504, 95.37}, {6620, 95.43}} {
		l.add(format("blackbody at %g K, all radiation", c[0]), c[1], blackbody(c[0]), 0.003*c[1], "lm/W", Independent, "Planck's law, 5 nm sums")
	}
	cut := func(t, from, to float64) float64 {
		v := standards.V()
		var lum, all float64
		for l := from; l < to; l += 0.5 {
			w := math.Min(0.5, to-l)
			m := l + w/2
			lum += w * v.At(m) * standards.Planck(m, t)
			all += w * standards.Planck(m, t)
		}
		return photometry.Km * lum / all
	}
	for _, c := range []struct{ t, from, to, want float64 }{
		{2800, 400, 700, 250.1}, {5800, 400, 700, 250.8}, {2856, 380, 780, 156.2}, {5800, 380, 780, 197.9}, {6504, 380, 780, 195.6},
		{2800, 438, 677.5, 301.4}, {5800, 438, 677.5, 307.8}, {2800, 456, 663, 343.9}, {5800, 456, 663, 350.4},
	} {
		l.add(format("blackbody at %g K cut to %g–%g nm", c.t, c.from, c.to), c.want, cut(c.t, c.from, c.to), 0.005*c.want, "lm/W", Independent, "Planck's law, 5 nm sums")
	}
}

// lineSource: the sodium doublet at 2:1 through instruments of several widths.
func lineSource(l *list) {
	for _, fwhm := range []float64{0.1, 0.3, 1, 2, 3} {
		r := new(assay.Result)
		p, err := doublet(fwhm).Project(spectrum.Sampled)
		if err != nil {
			p = new(spectrum.Projected)
		}
		l.evaluator.Evaluate(p, new(assay.Given), r)
		l.add(format("sodium doublet through %g nm: efficacy of radiation", fwhm), 523.5, value(r, quantity.LER), 1, "lm/W", Independent, "Km·V(λ) at 588.995 and 589.592 nm, 2:1")
		l.add(format("sodium doublet through %g nm: Ra, outside scope", fwhm), -45, value(r, quantity.Ra), 4, "", Memory, "common practice, no source: about −44 for a real lamp, −46 computed")
	}
}

// doublet is the sodium D doublet at 2:1 as an instrument of a Gaussian width
// would record it, sampled five times a width over a black 380–780 nm.
func doublet(fwhm float64) *spectrum.Spectrum {
	sigma := fwhm / 2.3548200450309493
	line := func(at, centre float64) float64 { d := (at - centre) / sigma; return math.Exp(-d * d / 2) }
	var nm, v []float64
	nm, v = append(nm, 380), append(v, 0)
	for l := 575.0; l <= 605; l += fwhm / 5 {
		nm, v = append(nm, l), append(v, 2*line(l, 588.995)+line(l, 589.592))
	}
	nm, v = append(nm, 780), append(v, 0)
	s, err := spectrum.New(spectrum.Relative, nm, v)
	if err != nil {
		panic(err) // the axis above increases by construction
	}
	return s
}

func alphaOpic(l *list) {
	const s026 = "CIE S 026/E:2018"
	kinds := []struct {
		name string
		kind photometry.AlphaOpic
		id   quantity.ID
	}{
		{"S-cone", photometry.SCone, quantity.SConeDER}, {"M-cone", photometry.MCone, quantity.MConeDER}, {"L-cone", photometry.LCone, quantity.LConeDER},
		{"rhodopic", photometry.Rhodopic, quantity.RhodopicDER}, {"melanopic", photometry.Melanopic, quantity.MelDER},
	}
	// The efficacies of D65 are stated for 1 nm data, and D65 is straight between
	// its 5 nm entries: read it as a curve.
	d65, err := projectIlluminant("D65", spectrum.Sampled)
	if err != nil {
		return
	}
	for i, want := range []float64{0.8173, 1.4558, 1.6289, 1.4497, 1.3262} {
		basis, tol := Memory, 2e-4
		if kinds[i].kind == photometry.Melanopic {
			basis, tol = Published, 1e-4
		}
		l.add(kinds[i].name+" efficacy of D65 light", want, 1000*photometry.ELR(kinds[i].kind, d65), tol, "mW/lm", basis, s026+" 3.4")
	}
	for _, c := range []struct {
		name string
		want float64
	}{{"A", .49581}, {"D65", 1}, {"FL12", .40420}} {
		l.add(c.name+" melanopic DER", c.want, value(l.illuminant(c.name), quantity.MelDER), 1e-3, "", Published, s026+" toolbox values")
	}
	fl12, b2 := l.illuminant("FL12"), l.illuminant("LED-B2")
	for i, want := range []float64{35.929, 79.904, 100.440, 50.848, 40.420} {
		l.add(format("FL12 at 100 lx: %s EDI", kinds[i].name), want, 100*value(fl12, kinds[i].id), 0.002*want, "lx", Published, s026+" worked example")
	}
	for i, want := range []float64{362.3, 806.3, 1011.0, 539.6, 457.7} {
		l.add(format("LED-B2 at 1000 lx: %s EDI", kinds[i].name), want, 1000*value(b2, kinds[i].id), 0.002*want, "lx", Published, s026+", hand calculation")
	}
	// 2.303 and the rest: illuminant A's S/P is a figure of the trade.
	l.add("A scotopic to photopic ratio", 1.41, value(l.illuminant("A"), quantity.SPRatio), 0.05, "", Memory, "common practice, no source")
}

func mesopic(l *list) {
	got := func(lp, sp float64) float64 {
		v, _, err := photometry.Mesopic(lp, sp)
		if err != nil {
			return math.NaN()
		}
		return v
	}
	for _, lp := range []float64{0.01, 0.03, 0.1, 0.3, 1, 3, 10} {
		l.add(format("S/P 1 at %g cd/m² changes nothing", lp), lp, got(lp, 1), 1e-12*lp, "cd/m²", Defined, "CIE 191:2010")
	}
	for _, c := range []struct{ lp, sp, want float64 }{
		{.01, .25, .0025}, {.01, .65, .0069}, {.01, 1.45, .0132}, {.01, 2.65, .0201}, {.1, .25, .0705}, {.1, .65, .0873}, {.1, 1.45, .1147}, {.1, 2.45, .1433},
		{.3, .45, .2620}, {.3, 2.05, .3623}, {1, .25, .9130}, {1, .65, .9608}, {1, 1.45, 1.0473}, {1, 2.65, 1.1605}, {3, .25, 2.9265}, {3, 2.65, 3.1396}, {5, .25, 5}, {5, 2.65, 5},
	} {
		l.add(format("L %g cd/m², S/P %g", c.lp, c.sp), c.want, got(c.lp, c.sp), 2e-4, "cd/m²", Independent, "CIE 191:2010 system solved by fixed point; constants from memory")
	}
}

func energyClass(l *list) {
	for _, c := range []struct {
		flux, power float64
		source      conformity.LightSource
		eta         float64
		class       string
	}{
		{1055, 5, conformity.LightSource{Mains: true}, 211, "A"},
		{1050, 5, conformity.LightSource{Mains: true}, 210, "A"},
		{925, 5, conformity.LightSource{Mains: true}, 185, "B"},
		{800, 5, conformity.LightSource{Mains: true}, 160, "C"},
		{675, 5, conformity.LightSource{Mains: true}, 135, "D"},
		{550, 5, conformity.LightSource{Mains: true}, 110, "E"},
		{425, 5, conformity.LightSource{Mains: true}, 85, "F"},
		{424, 5, conformity.LightSource{Mains: true}, 84.8, "G"},
		{806, 7, conformity.LightSource{Mains: true}, 115.142857, "E"},
		{345, 4, conformity.LightSource{Mains: true, Directional: true}, 101.43, "F"},
		{1000, 5, conformity.LightSource{}, 185.2, "B"},
	} {
		got, err := conformity.EnergyClass(c.flux, c.power, c.source)
		eta := got.EtaTM
		if err != nil || got.Letter != c.class {
			eta = math.NaN() // the wrong letter is a failure whatever the efficacy
		}
		l.add(format("%g lm, %g W, %v: class %s", c.flux, c.power, c.source, c.class), c.eta, eta, 1e-5, "lm/W", Defined, conformity.EnergyClassSource)
	}
}
