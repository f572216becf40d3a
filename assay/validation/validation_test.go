package validation

import "testing"

func TestEveryPublishedValueComesOut(t *testing.T) {
	checks := Run()
	if len(checks) < 120 {
		t.Fatalf("the register holds %d checks, and must hold at least 120", len(checks))
	}
	for _, c := range checks {
		if !c.Pass() {
			t.Errorf("%s: %s: got %g, want %g ± %g %s (%s: %s)", c.Topic, c.Name, c.Got, c.Want, c.Tolerance, c.Unit, c.Basis, c.Source)
		}
		if c.Source == "" || c.Basis == "" {
			t.Errorf("%s: %s names no source", c.Topic, c.Name)
		}
	}
}
