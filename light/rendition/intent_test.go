package rendition

import "testing"

// The thresholds are from memory; what is tested is that the levels nest and
// that each bound is where the code says.
func TestDesignIntentAtTheBounds(t *testing.T) {
	for _, c := range []struct {
		name             string
		rf, rg, rf1, rc1 float64
		p, v, f          int
	}{
		{"reference", 100, 100, 100, 0, 1, 3, 1},
		{"preference 1 at every lower bound", 78, 95, 0, -0.01, 1, 0, 0},
		{"preference 1 at the upper bound", 78, 95, 0, 0.15, 1, 0, 0},
		{"preference 2 below fidelity 78", 77.9, 95, 0, 0, 2, 0, 0},
		{"preference 2 at the upper bound", 75, 92, 0, 0.19, 2, 0, 0},
		{"preference 3", 70, 89, 0, 0.23, 3, 0, 0},
		{"too red for preference", 78, 95, 0, 0.231, 0, 0, 0},
		{"too dull for preference", 78, 95, 0, -0.121, 0, 0, 0},
		{"vividness 1", 60, 118, 0, 0.15, 0, 1, 0},
		{"vividness 2", 60, 110, 0, 0.06, 0, 2, 0},
		{"vividness 2 just short of red for 1", 60, 118, 0, 0.1499, 0, 2, 0},
		{"vividness 3", 60, 100, 0, 0, 0, 3, 0},
		{"vividness 3 just short of red for 2", 60, 118, 0, 0.0599, 0, 3, 0},
		{"vividness 3 just short of gamut for 2", 60, 109.9, 0, 0.2, 0, 3, 0},
		{"no vividness without gamut", 60, 99.9, 0, 0.2, 0, 0, 0},
		{"no vividness without red", 60, 118, 0, -0.001, 0, 0, 0},
		{"preference 2 just below gamut for 1", 78, 94.9, 0, 0, 2, 0, 0},
		{"preference 3 just below gamut for 2", 78, 91.9, 0, 0, 3, 0, 0},
		{"no preference below gamut for 3", 78, 88.9, 0, 0, 0, 0, 0},
		{"no preference below fidelity 70", 69.9, 95, 0, 0, 0, 0, 0},
		{"preference 3 below fidelity 75", 74.9, 95, 0, 0, 3, 0, 0},
		{"fidelity 1 asks nothing of bin 1", 95, 80, 50, -0.2, 0, 0, 1},
		{"fidelity 2", 90, 80, 90, -0.2, 0, 0, 2},
		{"fidelity 3 where bin 1 is low", 94, 80, 89, -0.2, 0, 0, 3},
		{"no fidelity", 84.9, 80, 90, -0.2, 0, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			tm := &TM30{Rf: c.rf, Rg: c.rg}
			tm.RfH[0], tm.RcsH[0] = c.rf1, c.rc1
			if p, v, f := DesignIntent(tm); p != c.p || v != c.v || f != c.f {
				t.Errorf("P %d V %d F %d, want P %d V %d F %d", p, v, f, c.p, c.v, c.f)
			}
		})
	}
}
