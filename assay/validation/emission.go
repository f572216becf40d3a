package validation

import (
	"math"
	"strings"

	"lampassay/light/emission"
	"lampassay/light/emission/simulate"
	"lampassay/light/standards"
)

// elementsFound checks how often elements are named in simulated lamps: of one
// and of two elements, every element in every instrument of the sweep.
func elementsFound(l *list) {
	// For each instrument: every element leads ten times, five on either range. The
	// stream was fixed before it was first run, and no rule was set looking at it.
	const lamps, stream = 140, 20270101
	const source = "simulated from NIST ASD lines, one or two elements a lamp, 0.3–5 nm, signal-to-noise 20–1000, axis off by up to 0.5 nm"
	all := map[string]*simulate.Tally{}
	for _, symbol := range simulate.Elements() {
		all[symbol] = &simulate.Tally{}
	}
	for elements := 1; elements <= 2; elements++ {
		out, err := simulate.Sweep(elements, lamps, stream)
		if err != nil {
			return // a check without a count does not pass
		}
		for symbol, t := range out.ByElement {
			all[symbol].Add(*t)
		}
	}
	for _, symbol := range simulate.Elements() {
		t := all[symbol]
		l.add(format("%s: precision of %d claims", symbol, t.Right+t.Wrong), 1, t.Precision(), 0.05, "", Defined, "law: nothing is named that was not put in; "+source)
		l.add(format("%s: recall of %d lamps", symbol, t.Right+t.Missed), 1, t.Recall(), 0.05, "", Defined, "law: what was put in and shows two lines is found; "+source)
	}
}

// families checks the kind of lamp named for every illuminant carried: 1 where
// it is the one the publication states.
func families(l *list) {
	for _, il := range standards.Illuminants() {
		want, known := emission.StatedFamily(il.Name)
		got := math.NaN()
		if r, err := emission.Analyse(il.Spectrum, emission.Options{}); err == nil && known {
			got = 0
			if r.Family.Key == want {
				got = 1
			}
		}
		l.add(format("%s is %s", il.Name, strings.ReplaceAll(want, "_", " ")), 1, got, 0, "", Published, "CIE 15:2018, kind of lamp stated with the table")
	}
}
