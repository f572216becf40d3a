package claims

import (
	"strings"
	"testing"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func TestABoxIsHeldAgainstAnAssay(t *testing.T) {
	il, err := standards.IlluminantByName("FL11")
	if err != nil {
		t.Fatal(err)
	}
	p, err := il.Spectrum.Project(spectrum.Tabulated)
	if err != nil {
		t.Fatal(err)
	}
	r := new(assay.Result)
	assay.NewEvaluator().Evaluate(p, &assay.Given{Flux: assay.Measured(1000)}, r)
	for _, c := range []struct {
		name     string
		id       quantity.ID
		declared float64
		spread   bool
		verdict  Verdict
		why      string
	}{
		{"within the tolerance of 10 %", quantity.LuminousFlux, 1050, true, Consistent, ""},
		{"far above the tolerance", quantity.LuminousFlux, 1500, true, Outside, ""},
		{"not assessed", quantity.LuminousFlux, 1050, false, NotJudged, "uncertainty of the measured value is not known"},
		{"not measured", quantity.LuminousEfficacy, 100, true, NotJudged, "power"},
	} {
		r.Uncertainty = nil
		if c.spread {
			u := new(assay.Uncertainty)
			u.SetSpread(quantity.LuminousFlux, &assay.Spread{U: 10, Low: 980, High: 1020})
			r.Uncertainty = u
		}
		j, err := Hold(r, c.id, c.declared)
		if err != nil || j.Verdict != c.verdict || !strings.Contains(j.Why, c.why) || c.why == "" && j.Measured.Units != 1 {
			t.Errorf("%s: %s, %q (%v)", c.name, j.Verdict, j.Why, err)
		}
	}
	if _, err := Hold(r, quantity.LuminousFlux, -5); err == nil {
		t.Error("a flux below nothing was held against the lamp")
	}
}
