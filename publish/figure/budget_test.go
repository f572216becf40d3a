package figure

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

// uncertaintyPictures are the pictures of how sure figures are; every figure in
// them is invented.
func uncertaintyPictures(t testing.TB) map[string]*Picture {
	made, nan := must(t), math.NaN()
	unsure := illuminant(t, "FL2").point()
	unsure.Spread = [3]float64{1.1e-6, 2.3e-6, 0.8e-6}
	wide := illuminant(t, "LED-B3").point()
	wide.Spread = [3]float64{4e-6, 2e-5, 5e-6}
	return map[string]*Picture{
		"budget": made(Budget{
			Quantities: []BudgetColumn{{"Φ", "± 360 lm"}, {"P", "± 0.88 W"}, {"η", "± 10 lm/W"}, {"CCT", "± 110 K"}, {"Duv", "± 0.0015"}, {"Ra", "± 0.65"}, {"Rf", "± 0.50"}},
			Inputs: []BudgetLine{
				{Name: "spectral mismatch", Shares: []float64{0.55, nan, 0.51, nan, nan, nan, nan}},
				{Name: "response curve", Shares: []float64{nan, nan, nan, 0.57, 0.84, 0.76, 0.76}},
				{Name: "power meter class", Shares: []float64{nan, 0.9, 0.05, nan, nan, nan, nan}},
				{Name: "temperature of the reference lamp", Shares: []float64{nan, nan, nan, 0.38, 0.004, 0.03, 0.14}},
				{Name: "air temperature", Shares: []float64{0.14, nan, 0.13, nan, nan, nan, nan}},
				{Name: "wavelength offset", Shares: []float64{nan, nan, nan, 0.04, 0.11, 0.13, 0.01}},
				{Name: "all other inputs", Rest: true, Shares: []float64{0.31, 0.1, 0.31, 0.01, 0.05, 0.08, 0.09}},
			},
		}.Picture()),
		"budget-one":          made(Budget{Quantities: []BudgetColumn{{"CCT", "± 76 K"}}, Inputs: []BudgetLine{{Name: strings.Repeat("an input of a long name ", 5), Shares: []float64{1}}}}.Picture()),
		"chromaticity-unsure": made(Chromaticity{Points: []ChromaticityPoint{unsure, wide}}.Picture()),
	}
}

func TestTheInputToImproveFirstIsNamed(t *testing.T) {
	p := uncertaintyPictures(t)["budget"]
	if want := "To improve first: the response curve, which leads for 4 of 7 figures"; p.Title != want {
		t.Errorf("title %q, want %q", p.Title, want)
	}
	for _, want := range []string{"Φ ± 360 lm, mostly from the spectral mismatch (55 %)", "Rf ± 0.50, mostly from the response curve (76 %)"} {
		if !strings.Contains(p.Alt, want) {
			t.Errorf("%q does not say %q", p.Alt, want)
		}
	}
	if p.Rows[1][2] != "–" || p.Rows[3][5] != "< 1 %" {
		t.Errorf("table %v", p.Rows)
	}
}

func TestUncertaintyPicturesRefuseWhatTheyCannotDraw(t *testing.T) {
	for name, make := range map[string]func() (*Picture, error){
		"no column":      Budget{Inputs: []BudgetLine{{Name: "a"}}}.Picture,
		"short line":     Budget{Quantities: []BudgetColumn{{"a", ""}}, Inputs: []BudgetLine{{Name: "a"}}}.Picture,
		"negative share": Budget{Quantities: []BudgetColumn{{"a", ""}}, Inputs: []BudgetLine{{Name: "a", Shares: []float64{-1}}}}.Picture,
		"not a number":   Chromaticity{Points: []ChromaticityPoint{{Name: "a", Spread: [3]float64{math.NaN()}}}}.Picture,
	} {
		if _, err := make(); err == nil {
			t.Errorf("%s: a picture was made", name)
		}
	}
}

// An ellipse without a spread is no ellipse: pictures of before stay as they are.
func TestALightWithoutSpreadHasNoEllipse(t *testing.T) {
	with, without := illuminant(t, "FL2").point(), illuminant(t, "FL2").point()
	with.Spread = [3]float64{1e-6, 1e-6, 0}
	draw := func(q ChromaticityPoint) string {
		p, err := Chromaticity{Points: []ChromaticityPoint{q}}.Picture()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := p.SVG(&b, Light); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	if a, b := strings.Count(draw(with), "<path"), strings.Count(draw(without), "<path"); a != b+2 {
		t.Errorf("%d paths with an ellipse and %d without, want two more", a, b)
	}
}
