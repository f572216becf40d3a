package figure

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden pictures after looking at them")

func svg(t *testing.T, p *Picture, theme Theme) string {
	t.Helper()
	var b bytes.Buffer
	if err := p.SVG(&b, theme); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestSVGIsWellFormed(t *testing.T) {
	for name, p := range pictures(t) {
		p.Alt += ` <&"'>` // names come from outside
		p.Title += ` <&"'>`
		for _, theme := range []Theme{Page, Light, Dark} {
			d := xml.NewDecoder(strings.NewReader(svg(t, p, theme)))
			for {
				_, err := d.Token()
				if errors.Is(err, io.EOF) {
					break
				}
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
			}
		}
	}
}

func TestInlineSVGFollowsThePageAndSharesItWithOthers(t *testing.T) {
	paint := regexp.MustCompile(`var\((--[a-z0-9-]+),(#[0-9a-f]{6})\)`)
	known := map[string]string{}
	for _, r := range Roles() {
		known[r.Property] = hex(r.Light)
	}
	for name, p := range pictures(t) {
		s := svg(t, p, Page)
		for _, forbidden := range []string{"id=", "style=", "<style", "<title", "url(", "<?xml"} {
			if strings.Contains(s, forbidden) {
				t.Errorf("%s: an inline picture has %s", name, forbidden)
			}
		}
		if !strings.Contains(s, `role="img"`) || !strings.Contains(s, "aria-label=\""+escape(p.Alt)) {
			t.Errorf("%s: no description for those who cannot see it", name)
		}
		for _, m := range paint.FindAllStringSubmatch(s, -1) {
			if fallback, ok := known[m[1]]; !ok || fallback != m[2] {
				t.Errorf("%s: %s is no role with fallback %s", name, m[1], m[2])
			}
		}
	}
}

func TestStandAloneSVGNeedsNothingElse(t *testing.T) {
	reference := regexp.MustCompile(`(?:href|src)="?|url\("?([^)"]*)`)
	for name, p := range pictures(t) {
		for _, theme := range []Theme{Light, Dark} {
			s := svg(t, p, theme)
			if strings.Contains(s, "var(") {
				t.Errorf("%s: a colour is left to a page", name)
			}
			for _, m := range reference.FindAllStringSubmatch(s, -1) {
				if !strings.HasPrefix(m[1], "data:font/woff2;base64,") {
					t.Errorf("%s: reaches out to %.40q", name, m[0])
				}
			}
			if strings.Contains(s, "<text") != strings.Contains(s, "@font-face") {
				t.Errorf("%s: text and embedded faces do not go together", name)
			}
		}
	}
}

func TestOutputDependsOnTheDataAlone(t *testing.T) {
	first, second := pictures(t), pictures(t)
	for name := range first {
		if svg(t, first[name], Light) != svg(t, second[name], Light) {
			t.Errorf("%s: two SVGs of one picture differ", name)
		}
		var a, b bytes.Buffer
		if err := errors.Join(first[name].PNG(&a, Dark, 300), second[name].PNG(&b, Dark, 300)); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: two PNGs of one picture differ", name)
		}
	}
}

func TestPNGHasTheWidthAskedForAndItsGround(t *testing.T) {
	p := pictures(t)["watts"]
	for _, width := range []int{40, 361, 1920} {
		var b bytes.Buffer
		if err := p.PNG(&b, Dark, width); err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		if got := img.Bounds().Dx(); got != width {
			t.Errorf("%d px wide, want %d", got, width)
		}
		if got := color.NRGBAModel.Convert(img.At(0, 0)); got != color.Color(inkPanel.in(Dark)) {
			t.Errorf("ground %v, want %v", got, inkPanel.in(Dark))
		}
	}
	for _, width := range []int{0, -1, 20000} {
		if err := p.PNG(io.Discard, Light, width); err == nil {
			t.Errorf("a PNG %d px wide was written", width)
		}
	}
}

func TestRolesReachTheirContrast(t *testing.T) {
	ratio := func(a, b color.NRGBA) float64 { // WCAG 2.2, relative luminance
		y := func(c color.NRGBA) float64 {
			return 0.2126*decode(c.R) + 0.7152*decode(c.G) + 0.0722*decode(c.B) + 0.05
		}
		return max(y(a), y(b)) / min(y(a), y(b))
	}
	for _, theme := range []Theme{Light, Dark} {
		ground := inkPanel.in(theme)
		for _, r := range []uint8{roleInk, roleMuted} {
			if c := ratio((ink{r, 1}).in(theme), ground); c < 4.5 {
				t.Errorf("theme %d: text in %s has %.2f : 1", theme, roles[r].Property, c)
			}
		}
		for r := uint8(roleSeries); int(r) < len(roles); r++ {
			if c := ratio((ink{r, 1}).in(theme), ground); c < 3 {
				t.Errorf("theme %d: %s has %.2f : 1", theme, roles[r].Property, c)
			}
		}
		for i := range 16 {
			if c := ratio(hueColour(binHue(i)), ground); c < 3 {
				t.Errorf("theme %d: hue bin %d has %.2f : 1", theme, i+1, c)
			}
		}
	}
}

func TestEveryPictureHasWordsAndATable(t *testing.T) {
	for name, p := range pictures(t) {
		if p.Name == "" || p.Alt == "" || !strings.HasSuffix(p.Alt, ".") {
			t.Errorf("%s: name %q, alt %q", name, p.Name, p.Alt)
		}
		if name == "strip" { // stands beside words
			continue
		}
		if p.Title == "" || len(p.Columns) == 0 || len(p.Rows) == 0 {
			t.Errorf("%s: title %q, %d columns, %d rows", name, p.Title, len(p.Columns), len(p.Rows))
		}
		for _, row := range p.Rows {
			if len(row) != len(p.Columns) {
				t.Errorf("%s: row %q for columns %q", name, row, p.Columns)
			}
		}
	}
}

func TestGoldenPictures(t *testing.T) {
	all := pictures(t)
	for _, name := range []string{"strip", "watts", "colour-vector", "chromaticity-two"} {
		got := svg(t, all[name], Page)
		path := filepath.Join("testdata", name+".svg")
		if *update {
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s is no longer the golden picture: look at it, then run with -update", name)
		}
	}
}

// badPicture is what a figure must refuse.
func TestWhatCannotBeDrawnIsRefused(t *testing.T) {
	nan := math.NaN()
	two := []float64{400, 500}
	for name, make := range map[string]func() (*Picture, error){
		"no curve":               SpectralPower{}.Picture,
		"unequal lengths":        SpectralPower{Wavelengths: two, Values: []float64{1}}.Picture,
		"not a number":           SpectralPower{Wavelengths: two, Values: []float64{1, nan}}.Picture,
		"falling wavelengths":    SpectralPower{Wavelengths: []float64{500, 400}, Values: two}.Picture,
		"nothing in range":       SpectralPower{Wavelengths: two, Values: two, From: 600, To: 700}.Picture,
		"range upside down":      SpectralPower{Wavelengths: two, Values: two, From: 700, To: 300}.Picture,
		"strip upside down":      Strip{Wavelengths: two, Values: two, From: 700, To: 300}.Picture,
		"no light":               Chromaticity{}.Picture,
		"light without place":    Chromaticity{Points: []ChromaticityPoint{{U: nan}}}.Picture,
		"empty gamut":            ColourVector{Test: [16]ABPoint{}, Reference: [16]ABPoint{}}.Picture,
		"no index":               RenderingIndices{}.Picture,
		"too many indices":       RenderingIndices{Special: make16(0)}.Picture,
		"index without value":    RenderingIndices{Special: []float64{nan}}.Picture,
		"swatches of others":     RenderingIndices{Special: []float64{1}, Swatches: []color.NRGBA{{}, {}}}.Picture,
		"no bin":                 LocalChroma{Chroma: [16]float64(make16(nan))}.Picture,
		"no pair":                Swatches{}.Picture,
		"no part":                WhereWattsGo{}.Picture,
		"negative part":          WhereWattsGo{Parts: []WattPart{{WattLight, "a", -1, ""}}}.Picture,
		"no such kind":           WhereWattsGo{Parts: []WattPart{{9, "a", 1, ""}}}.Picture,
		"nothing":                WhereWattsGo{Parts: []WattPart{{WattLight, "a", 0, ""}}}.Picture,
		"no lamp":                Efficacies{}.Picture,
		"negative efficacy":      Efficacies{Lamps: []LampEfficacy{{Efficacy: -1}}}.Picture,
		"no spectrum":            Multiples{Normalisation: "per lumen"}.Picture,
		"unknown normalisation":  Multiples{Lamps: []MultiplesPanel{{"a", two, two}}}.Picture,
		"multiples upside down":  Multiples{Lamps: []MultiplesPanel{{"a", two, two}}, Normalisation: "x", From: 700, To: 300}.Picture,
		"efficacy without curve": Efficacies{Lamps: []LampEfficacy{{Efficacy: 1, Strip: &Strip{}}}}.Picture,
	} {
		if p, err := make(); err == nil {
			t.Errorf("%s: drawn as %q", name, p.Name)
		} else if !strings.HasPrefix(err.Error(), "figure: ") {
			t.Errorf("%s: %q does not say where it comes from", name, err)
		}
	}
}

func make16(v float64) []float64 {
	s := make([]float64, 16)
	for i := range s {
		s[i] = v
	}
	return s
}
