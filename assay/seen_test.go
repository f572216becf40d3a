package assay

import (
	"strings"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func finding(r *Result, topic string) string {
	for _, f := range r.Findings() {
		if f.Topic == topic {
			return f.Text
		}
	}
	return ""
}

func lineAt(t *testing.T, nm float64) *Result {
	t.Helper()
	s, err := spectrum.New(spectrum.Relative, []float64{380, nm - 0.5, nm, nm + 0.5, 780}, []float64{0, 0, 1, 0, 0})
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	r := new(Result)
	NewEvaluator().Evaluate(p, &Given{}, r)
	return r
}

func illuminated(t *testing.T, name string, g Given) *Result {
	t.Helper()
	il, err := standards.IlluminantByName(name)
	if err != nil {
		t.Fatal(err)
	}
	p, err := il.Spectrum.Project(spectrum.Tabulated)
	if err != nil {
		t.Fatal(err)
	}
	r := new(Result)
	NewEvaluator().Evaluate(p, &g, r)
	return r
}

func TestLightOfOneColourIsSaidToTakeColoursAway(t *testing.T) {
	for nm, want := range map[float64]string{589.3: "seems dimmer than white light", 633: "seems dimmer than white light", 480: "seems brighter than white light"} {
		text := finding(lineAt(t, nm), "one colour")
		if !strings.Contains(text, "things differ in brightness, not in hue") || !strings.Contains(text, want) {
			t.Errorf("%g nm: %q, want %q in it", nm, text, want)
		}
	}
	for _, name := range []string{"A", "FL11", "HP1", "LED-B3"} {
		if text := finding(illuminated(t, name, Given{}), "one colour"); text != "" {
			t.Errorf("%s: %q", name, text)
		}
	}
}

// The S/P ratios of sodium and of a neutral LED lie on either side of 1.
func TestTheDuskIsKinderToBlueLight(t *testing.T) {
	if text := finding(lineAt(t, 589.3), "in the dusk"); !strings.Contains(text, "0.3 cd/m² works as 0.24") {
		t.Errorf("sodium: %q", text)
	}
	if text := finding(illuminated(t, "LED-B3", Given{}), "in the dusk"); !strings.Contains(text, "0.3 cd/m² works as 0.34") || !strings.Contains(text, "+1") {
		t.Errorf("LED-B3: %q", text)
	}
}

func TestRulesOfLawAreFindingsOfALampWithLightAndPower(t *testing.T) {
	given := Given{Flux: Measured(806), Power: Measured(8.5)}
	given.Source.Mains = true
	r := illuminated(t, "LED-B3", given)
	if text := finding(r, "energy class"); !strings.HasPrefix(text, "F: 94.8 lm/W") {
		t.Errorf("class: %q", text)
	}
	if text := finding(r, "largest power"); !strings.Contains(text, "depends on the kind of light source, which was not stated") {
		t.Errorf("largest power: %q", text)
	}
	for _, g := range []Given{{}, {Flux: Measured(806)}, {Power: Measured(8.5)}} {
		if text := finding(illuminated(t, "LED-B3", g), "energy class"); text != "" {
			t.Errorf("%+v: %q", g, text)
		}
	}
}
