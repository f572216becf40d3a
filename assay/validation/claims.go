package validation

import (
	"math"

	"lampassay/assay/claims"
	"lampassay/assay/comparison"
)

// conformityProbability: the examples of JCGM 106 and the figures of a normal
// distribution that it tabulates.
func conformityProbability(l *list) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name                  string
		m, u, low, high, want float64
		clause                string
	}{
		{"breakdown voltage −5.47 V, u 0.05 V, at most −5.40 V", -5.47, 0.05, -inf, -5.40, 0.92, "7.3"},
		{"burst strength 509.7 kPa, u 8.6 kPa, at least 490 kPa", 509.7, 8.6, 490, inf, 0.99, "7.3"},
		{"viscosity 13.6 mm²/s, u 1.8 mm²/s, within 12.5 and 16.3 mm²/s", 13.6, 1.8, 12.5, 16.3, 0.66, "7.4"},
	} {
		l.add(c.name, c.want, claims.Conformity(c.m, c.u, c.low, c.high), 0.005, "", Memory, "JCGM 106:2012, example of "+c.clause+", rounded to two decimals")
	}
	// A speed of v with u = 2 % of v is over 100 km/h with 99.9 % probability from
	// v − 0.02 v·z = 100 on.
	l.add("speed that is over 100 km/h with 99.9 %, u of 2 %", 107, 100/(1-claims.GuardBand(0.02, 0.999)), 0.5, "km/h", Memory, "JCGM 106:2012, example of 8.3.3, rounded to 1 km/h")
	for _, c := range []struct{ p, z float64 }{{0.80, 0.84}, {0.90, 1.28}, {0.95, 1.64}, {0.99, 2.33}, {0.999, 3.09}} {
		l.add(format("guard band for a conformance probability of %g", c.p), c.z, claims.GuardBand(1, c.p), 0.006, "u", Memory, "JCGM 106:2012 Table 1, rounded to two decimals")
	}
	l.add("value accepted at a guard band of U (k = 2)", 0.97725, claims.Conformity(2, 1, 0, inf), 1e-5, "", Defined, "Φ(2); JCGM 106:2012 8.3.2")
}

// tolerances: limits worked out by hand from the regulations' tables.
func tolerances(l *list) {
	for _, table := range claims.Tables() {
		for _, c := range []struct {
			key, declared string
			low, high     float64
		}{
			{"power", "1.5", math.Inf(-1), 1.7}, {"power", "2", math.Inf(-1), 2.2}, {"power", "5", math.Inf(-1), 5.5},
			{"power", "9", math.Inf(-1), 9.45}, {"power", "100", math.Inf(-1), 105}, {"power", "150", math.Inf(-1), 153.75},
			{"luminous_flux", "806", 725.4, math.Inf(1)}, {"cct", "3000", 2700, 3300}, {"ra", "80", 78, math.Inf(1)},
			{"beam_angle", "36", 27, 45}, {"displacement_factor", "0.9", 0.8, math.Inf(1)}, {"svm", "0.4", math.Inf(-1), 0.5},
			{"excitation_purity", "0.6", 0.57, math.Inf(1)}, {"peak_intensity", "400", 300, 500}, {"standby_power", "0.5", math.Inf(-1), 0.6},
		} {
			low, high := math.NaN(), math.NaN()
			claim, err := claims.NewClaim(c.key, c.declared, "")
			if row := table.Row(c.key); err == nil && row != nil {
				low, high = row.Limits(claim.Value)
			}
			for _, limit := range [][2]float64{{c.low, low}, {c.high, high}} {
				if !math.IsInf(limit[0], 0) {
					l.add(format("%s declared %s: limit", c.key, c.declared), limit[0], limit[1], 1e-9*limit[0], claim.Unit, Defined, table.Source)
				}
			}
		}
	}
}

// ratios: what two lamps on one rig share falls out.
func ratios(l *list) {
	figure := func(lamp string, v float64) comparison.Figure {
		return comparison.Figure{Lamp: lamp, Value: v, Causes: []comparison.Cause{{Name: "scale", U: 0.05 * v}, {Name: "mismatch", U: 0.03 * v, Own: true}}}
	}
	p, err := comparison.Between(figure("A", 800), figure("B", 1000), comparison.Options{})
	if err != nil {
		return // a check that is missing is missed by its count
	}
	const law = "law: JCGM 100:2008 5.2.2 with a shared scale of 5 % and an own mismatch of 3 % each"
	l.add("ratio of two lamps on one rig: relative u", 0.03*math.Sqrt2, p.Ratio.U/p.Ratio.Value, 1e-12, "", Defined, law)
	l.add("their correlation", 25.0/34, p.Correlation, 1e-12, "", Defined, law)
}
