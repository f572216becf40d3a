package sheet

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"html"
	"image/color"
	"math"
	"regexp"
	"strings"
	"testing"

	"lampassay/assay/quantity"
	"lampassay/publish/figure"

	"golang.org/x/image/font/sfnt"
	"pgregory.net/rapid"
)

func TestTheSameInputGivesTheSameBytes(t *testing.T) {
	one, another := sheetOf(t, lampOf(t, specimens[0]), Options{}), sheetOf(t, lampOf(t, specimens[0]), Options{})
	if one != another {
		t.Error("two sheets of one lamp differ")
	}
	one, another = comparisonOf(t, lampsOf(t), Options{}), comparisonOf(t, lampsOf(t), Options{})
	if one != another {
		t.Error("two comparisons of the same lamps differ")
	}
}

func TestEveryLetterOfThePagesHasAGlyph(t *testing.T) {
	var faces []*sfnt.Font
	for _, f := range figure.Faces() {
		face, err := sfnt.Parse(f.TTF)
		if err != nil {
			t.Fatal(err)
		}
		faces = append(faces, face)
	}
	if len(faces) == 0 {
		t.Fatal("there are no faces")
	}
	markup := regexp.MustCompile(`(?s)<script>.*</script>|<[^>]*>`)
	for name, page := range everyPage(t) {
		_, body, _ := strings.Cut(page, "<body>")
		missing := map[rune]bool{}
		for _, r := range html.UnescapeString(markup.ReplaceAllString(body, "")) {
			for _, face := range faces {
				if glyph, err := face.GlyphIndex(nil, r); r > ' ' && (err != nil || glyph == 0) {
					missing[r] = true
				}
			}
		}
		for r := range missing {
			t.Errorf("%s: a face has no glyph for %q (%U)", name, r, r)
		}
	}
}

func TestEveryQuantityOfTheRegisterStandsOnTheSheet(t *testing.T) {
	for _, s := range specimens {
		l := lampOf(t, s)
		shown := map[string]string{} // name or run label to value
		for _, g := range newGroups(&l) {
			rows := g.Rows
			if g.Detail != nil {
				rows = append(rows, g.Detail.Rows...)
			}
			for _, r := range rows {
				shown[r.Name] = r.Value.Whole + r.Value.Fraction
			}
			for _, run := range g.Runs {
				for _, line := range run.Lines {
					for c, v := range line.Values {
						shown[run.Title+run.Columns[c].Symbol+line.Label] = v.Whole + v.Fraction
					}
				}
			}
		}
		if len(shown) != int(quantity.Count) {
			t.Errorf("%s: %d values on the sheet, %d quantities in the register", s.name, len(shown), quantity.Count)
		}
	}
}

func TestAnUndefinedQuantityIsADashWithItsReason(t *testing.T) {
	l := lampOf(t, specimens[5]) // neither flux nor power
	r := newRow(&l, quantity.LuminousEfficacy)
	if r.Value.Whole != "–" || r.Unit != "" || r.Why == "" || r.Outside {
		t.Errorf("got %+v", r)
	}
	page := sheetOf(t, l, Options{})
	if !strings.Contains(page, "needs both a flux and a power; neither was given") {
		t.Error("the page does not give the reason")
	}
	_, body, _ := strings.Cut(page, "<body>") // the faces before it are letters at random
	if noNumber := regexp.MustCompile(`NaN|\bInf\b|e[+-]\d\d`).FindString(body); noNumber != "" {
		t.Errorf("the page prints %q", noNumber)
	}
}

func TestAValueOutsideItsScopeKeepsItsNumberAndHasNoRank(t *testing.T) {
	l := lampOf(t, specimens[3]) // sodium
	r := newRow(&l, quantity.Ra)
	if !strings.HasPrefix(r.Value.Whole, "−") || !r.Outside || !strings.Contains(r.Why, "outside the method's scope") {
		t.Errorf("row: got %+v", r)
	}
	c := newCell(&l, quantity.Ra)
	if c.Rank != "" || !c.Outside {
		t.Errorf("cell: got %+v", c)
	}
	if c := newCell(&l, quantity.LuminousFlux); c.Rank != "4500" {
		t.Errorf("flux has rank %q, want 4500", c.Rank)
	}
}

func TestDeclaredValuesKeepTheirOwnDigits(t *testing.T) {
	l := Lamp{Declared: []Declared{{quantity.LuminousFlux, 810}, {quantity.Power, 8.5}, {quantity.ExcitationPurity, 0.29}}}
	for id, want := range map[quantity.ID]string{
		quantity.LuminousFlux: "810\u00a0lm", quantity.Power: "8.5\u00a0W", quantity.ExcitationPurity: "29\u00a0%", quantity.Ra: "",
	} {
		if got := l.declared(id); got != want {
			t.Errorf("%s: %q, want %q", quantity.Get(id).Key, got, want)
		}
	}
}

func TestWhatTheUserWroteIsText(t *testing.T) {
	const attack = `<script>alert(1)</script>"'><img src=x onerror=alert(1)>`
	l := lampOf(t, specimens[0])
	l.Name, l.Note, l.Input.File, l.Input.Name = attack, attack, attack, attack
	l.Reading, l.Warnings = []string{attack}, []string{attack}
	l.Href = "sheet.html"
	for kind, page := range map[string]string{
		"sheet":      sheetOf(t, l, Options{Title: attack, Generated: attack, Version: attack}),
		"comparison": comparisonOf(t, []Lamp{l}, Options{Title: attack, Generated: attack, Version: attack}),
	} {
		if strings.Contains(page, "<script>alert") || strings.Contains(page, "<img") {
			t.Errorf("%s: markup came through", kind)
		}
	}
}

func TestALinkStaysInItsFolder(t *testing.T) {
	for href, want := range map[string]string{
		"led.html": "led.html", "": "", "https://example.org/": "", "//example.org": "", "../x.html": "", `c:\x`: "", "javascript:alert(1)": "",
	} {
		if got := sheetName(href); got != want {
			t.Errorf("sheetName(%q) = %q, want %q", href, got, want)
		}
	}
}

// The policy is read back from the page: it must name the script that is there.
func TestThePolicyAllowsTheOneScript(t *testing.T) {
	page := sheetOf(t, lampOf(t, specimens[0]), Options{})
	script := regexp.MustCompile(`(?s)<script>(.*?)</script>`).FindAllStringSubmatch(page, -1)
	if len(script) != 1 {
		t.Fatalf("%d scripts, want 1", len(script))
	}
	sum := sha256.Sum256([]byte(script[0][1]))
	allowed := strings.ReplaceAll(page, "&#43;", "+")
	if !strings.Contains(allowed, "&#39;sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"&#39;") {
		t.Error("the policy does not name the script's hash")
	}
	if !strings.Contains(page, "default-src &#39;none&#39;") {
		t.Error("the policy does not begin by forbidding everything")
	}
}

func TestInventedDataSayTheyAre(t *testing.T) {
	l := lampOf(t, specimens[0])
	if !strings.Contains(sheetOf(t, l, Options{Invented: true}), "Invented data.") {
		t.Error("no banner")
	}
	if strings.Contains(sheetOf(t, l, Options{}), "Invented data.") {
		t.Error("a banner over measured data")
	}
}

func TestWritingRefusesWhatIsNotThere(t *testing.T) {
	var b bytes.Buffer
	if err := Write(&b, Lamp{Name: "x"}, Options{}); err == nil || b.Len() > 0 {
		t.Errorf("no result: %v, %d bytes", err, b.Len())
	}
	if err := WriteComparison(&b, nil, Options{}); err == nil || b.Len() > 0 {
		t.Errorf("no lamps: %v, %d bytes", err, b.Len())
	}
}

// Contrast of black on white is 21 by definition; #767676 on white is 4.54, the
// grey that WCAG's techniques give as the lightest that passes 4.5 (from memory).
func TestContrast(t *testing.T) {
	white := color.NRGBA{255, 255, 255, 255}
	for _, c := range []struct {
		c    color.NRGBA
		want float64
	}{{color.NRGBA{0, 0, 0, 255}, 21}, {white, 1}, {color.NRGBA{0x76, 0x76, 0x76, 255}, 4.54}} {
		if got := contrast(c.c, white); math.Abs(got-c.want) > 0.005 {
			t.Errorf("contrast of %v on white: %.3f, want %.2f", c.c, got, c.want)
		}
	}
}

func TestAMarkIsLegibleOnEitherGround(t *testing.T) {
	light, dark := ground()
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.Byte()
		c := color.NRGBA{b.Draw(t, "r"), b.Draw(t, "g"), b.Draw(t, "b"), 255}
		for _, g := range []color.NRGBA{light, dark} {
			got := legible(c, g)
			if contrast(got, g) < markContrast {
				t.Fatalf("%v on %v became %v: contrast %.2f", c, g, got, contrast(got, g))
			}
			if contrast(c, g) >= markContrast && got != c {
				t.Fatalf("%v serves on %v and became %v", c, g, got)
			}
		}
	})
}
