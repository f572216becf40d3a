package cli

import (
	"math"
	"testing"

	"lampassay/assay/uncertainty"
)

const record = `{"route": "lux at a distance over angles", "luminous_flux": {"value": 400, "unit": "lm", "u": 13, "interval_95": [375, 425]},
 "budget": [
  {"input": "light meter scale", "distribution": "normal 1 ± 0.03", "u": 12, "source": "certificate"},
  {"input": "steps between angles", "distribution": "rectangular 0 ± 5 lm", "u": 3},
  {"input": "reading", "distribution": "t 25 ± 0.1 (ν = 4) lx", "u": 4}],
 "shape": {"directional": true, "useful_flux": {"value": 300, "unit": "lm", "u": 13}}}`

// The parts keep the u that the record gives them, relative to the flux, and the
// shapes of their causes: 12² + 3² + 4² = 13².
func TestAFluxKeepsItsCauses(t *testing.T) {
	for _, c := range []struct {
		directional   bool
		value, factor float64
	}{{false, 400, 1}, {true, 300, 400.0 / 300}} {
		r, err := parseFluxRecord("yard.json", []byte(record), c.directional)
		if err != nil {
			t.Fatal(err)
		}
		if r.figure.Value != c.value || len(r.parts) != 3 {
			t.Fatalf("%g lm of %d parts", r.figure.Value, len(r.parts))
		}
		for i, want := range []uncertainty.Distribution{
			uncertainty.Normal(0, 0.03), uncertainty.Rectangular(0, 0.0075*math.Sqrt(3)), uncertainty.StudentT(0, 0.01, 4),
		} {
			got := r.parts[i].Distribution
			if got.Shape() != want.Shape() || math.Abs(got.U()-c.factor*want.U()) > 1e-15 {
				t.Errorf("%s is %v, want %v times %g", r.parts[i].Name, got, want, c.factor)
			}
		}
	}
}

// What a budget leaves out is a part of its own.
func TestABudgetWithAGapKeepsTheWholeUncertainty(t *testing.T) {
	r, err := parseFluxRecord("x", []byte(`{"route": "r", "luminous_flux": {"value": 100, "unit": "lm", "u": 5}, "budget": [{"input": "a", "u": 3}]}`), false)
	if err != nil || len(r.parts) != 2 || math.Abs(r.parts[1].Distribution.U()-0.04) > 1e-15 {
		t.Errorf("%+v, %v", r, err)
	}
}

func FuzzFluxRecord(f *testing.F) {
	f.Add([]byte(record), true)
	f.Add([]byte(`{"route": "r", "luminous_flux": {"value": 1e308, "unit": "lm", "u": 1e308}}`), false)
	f.Fuzz(func(t *testing.T, data []byte, directional bool) {
		r, err := parseFluxRecord("x", data, directional)
		if err != nil {
			return
		}
		if !(r.figure.Value > 0) {
			t.Errorf("a flux of %g lm", r.figure.Value)
		}
		for _, p := range r.parts {
			if p.Name == "" || !(p.Distribution.U() >= 0) {
				t.Errorf("%q with u = %g", p.Name, p.Distribution.U())
			}
		}
	})
}
