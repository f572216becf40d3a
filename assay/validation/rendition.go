package validation

import (
	"fmt"
	"math"

	"lampassay/assay/quantity"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
)

func format(f string, args ...any) string { return fmt.Sprintf(f, args...) }

func renderingIndex(l *list) {
	const regression = "CIE 13.3-1995 with the tables of CIE 15, unrounded, second-hand"
	fl1 := l.illuminant("FL1")
	l.add("FL1 Ra", 75.852828, value(fl1, quantity.Ra), 0.1, "", Published, regression)
	for i, want := range []float64{69.197, 83.651, 92.136, 72.666, 73.891, 79.619, 82.273, 53.391, -47.284, 61.568, 67.522, 74.890, 72.772, 94.885} {
		l.add(format("FL1 R%d", i+1), want, value(fl1, quantity.R(i+1)), 0.3, "", Published, regression)
	}
	l.add("FL2 Ra", 64.233724, value(l.illuminant("FL2"), quantity.Ra), 0.1, "", Published, regression)
	l.add("A Ra", 100, value(l.illuminant("A"), quantity.Ra), 0.05, "", Defined, "illuminant A is a reference of CIE 13.3")
	for i, want := range []float64{76, 64, 57, 51, 72, 59, 90, 95, 90, 81, 83, 83} {
		name := format("FL%d", i+1)
		l.add(name+" Ra, rounded", want, math.Round(value(l.illuminant(name), quantity.Ra)), 1, "", Memory, "CIE 15:2018 Table 10.1")
	}
}

func fidelity(l *list) {
	const tool = "CIE 224:2017, values of the committee's calculation tool"
	const tm30 = "ANSI/IES TM-30-18, values of the calculation tool"
	for _, c := range []struct {
		name    string
		rf      float64
		samples []float64
	}{
		{"FL1", 80.6, []float64{85.1, 68.9, 73.9, 79.7, 51.6, 77.8, 52.1, 47.8, 95.3, 68.9}},
		{"FL2", 70.1, []float64{78.9, 59.0, 66.9, 65.7, 35.8, 66.1, 40.4, 34.7, 95.1, 53.5}},
	} {
		r := l.illuminant(c.name)
		l.add(c.name+" Rf", c.rf, value(r, quantity.Rf), 0.05, "", Published, tool)
		for i, want := range c.samples {
			l.add(format("%s Rf of sample %d", c.name, i+1), want, value(r, quantity.RfSample(i+1)), 0.05+1e-9, "", Published, tool)
		}
	}
	fl2 := l.illuminant("FL2")
	l.add("FL2 Rg", 86, value(fl2, quantity.Rg), 0.5, "", Published, tm30)
	l.add("FL2 CCT", 4225, value(fl2, quantity.CCT), 1, "K", Published, tm30)
	l.add("FL2 Duv", 0.0019, value(fl2, quantity.Duv), 1.5e-4, "", Published, tm30)
	for i, want := range []float64{60, 61, 53, 68, 80, 88, 77, 73, 76, 62, 70, 77, 81, 71, 64, 65} {
		l.add(format("FL2 Rf,h%d", i+1), want, value(fl2, quantity.RfHue(i+1)), 0.5, "", Published, tm30)
	}
	for i, want := range []float64{-25, -18, -9, 5, 11, 4, -8, -15, -17, -15, -4, 5, 11, 7, -6, -16} {
		l.add(format("FL2 Rcs,h%d", i+1), want, 100*value(fl2, quantity.RcsHue(i+1)), 0.5, "%", Published, tm30)
	}
	for i, want := range []float64{-.02, .14, .24, .20, .09, -.07, -.12, -.08, .01, .17, .19, .11, -.08, -.15, -.26, -.17} {
		l.add(format("FL2 Rhs,h%d", i+1), want, value(fl2, quantity.RhsHue(i+1)), 0.005, "", Published, tm30)
	}
	l.add("LED-B1 Rf", 84.081, value(l.illuminant("LED-B1"), quantity.Rf), 0.1, "", Published, "CIE 224:2017, single published example")
	for _, name := range []string{"A", "D65"} {
		r := l.illuminant(name)
		l.add(name+" Rf", 100, value(r, quantity.Rf), 0.1, "", Defined, "a reference of CIE 224:2017")
		l.add(name+" Rg", 100, value(r, quantity.Rg), 0.1, "", Defined, "a reference of ANSI/IES TM-30")
	}
}

func similarity(l *list) {
	e := rendition.New()
	c, err := projectIlluminant("C", spectrum.Tabulated)
	if err != nil {
		return
	}
	d65, err := projectIlluminant("D65", spectrum.Tabulated)
	if err != nil {
		return
	}
	l.add("illuminant C against D65, rounded as the index is", 94, math.Round(e.SSIAgainst(c, d65)), 0, "", Published, "SMPTE ST 2122:2020, published example")
	l.add("D65 against itself", 100, e.SSIAgainst(d65, d65), 0, "", Defined, "SMPTE ST 2122:2020")
}
