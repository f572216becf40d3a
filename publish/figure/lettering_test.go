package figure

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/image/font/sfnt"
)

// glyphless returns the characters of a text that a face cannot draw.
func glyphless(t *testing.T, f Face, text string) string {
	t.Helper()
	parsed, err := sfnt.Parse(f.TTF)
	if err != nil {
		t.Fatalf("%s: %v", f.Name, err)
	}
	var b sfnt.Buffer
	var missing strings.Builder
	for _, r := range text {
		if i, err := parsed.GlyphIndex(&b, r); r >= ' ' && (err != nil || i == 0) {
			missing.WriteRune(r)
		}
	}
	return missing.String()
}

func TestFacesHaveEverySignOfUnitsAndSymbols(t *testing.T) {
	signs := "W·nm⁻¹ W/(m²·sr·nm) µmol·s⁻¹·m⁻² lm/W cd/m² lx K % ° ′ ″ ± − + × ÷ = ≈ ≠ ≥ ≤ – — … ‰ √ ∞ ∫ Σ " +
		"λ Δ η Φ α β γ μ σ τ φ ψ ω Ω ρ θ u′ v′ a′ b′ Δu′v′ Δ*ab x₁₀ y₁₀ Rₐ R₉ Φₑ Ra Rf Rg Duv 10⁻³ 10⁶ → ← ↑ ↓ ✓ ● ○ • € § “” ‘’ " +
		"ÄÖÜäöüß ÀÉÈÊÇàéèêç Åå Ææ Øø Ñ ñ Łłśćź Čšž Őű Ţțş Ğı Ўўґ АБВабв"
	for _, f := range Faces() {
		if m := glyphless(t, f, signs); m != "" {
			t.Errorf("%s has no glyph for %q", f.Name, m)
		}
	}
}

// Whatever the package can letter is in its string literals or follows from
// numbers; both are looked at, so that no picture prints a wrong unit.
func TestFacesHaveEveryCharacterThePackageWrites(t *testing.T) {
	files, err := fs.Glob(os.DirFS("."), "*.go")
	if err != nil || len(files) == 0 {
		t.Fatalf("no source found: %v", err)
	}
	literals := 0
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			lit, is := n.(*ast.BasicLit)
			if !is || lit.Kind != token.STRING {
				return true
			}
			literals++
			text, err := strconv.Unquote(lit.Value)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range Faces() {
				if m := glyphless(t, f, text); m != "" {
					t.Errorf("%s: %s has no glyph for %q of %s", name, f.Name, m, lit.Value)
				}
			}
			return true
		})
	}
	if literals == 0 {
		t.Fatal("no string literal found")
	}
}

func TestEveryLetteredCharacterHasAGlyphInItsFace(t *testing.T) {
	for name, p := range pictures(t) {
		texts, _ := record(p, Light)
		if len(texts) == 0 && name != "strip" {
			t.Errorf("%s letters nothing", name)
		}
		for _, l := range texts {
			for _, f := range Faces() {
				used := l.face.Font
				used.Size = 0
				if used != descriptor(f.Family, f.Weight) {
					continue
				}
				if m := glyphless(t, f, l.text); m != "" {
					t.Errorf("%s: %s has no glyph for %q of %q", name, f.Name, m, l.text)
				}
			}
		}
	}
}

func TestFiguresHaveOneWidthInTheNumbersFace(t *testing.T) {
	one := number.width("0")
	for _, d := range "123456789−" {
		if w := number.width(string(d)); w != one {
			t.Errorf("%c is %v wide, 0 is %v", d, w, one)
		}
	}
}

func TestFacesAreSmallAndWellFormed(t *testing.T) {
	for _, f := range Faces() {
		if len(f.WOFF2) == 0 || len(f.WOFF2) >= 40_000 || !bytes.HasPrefix(f.WOFF2, []byte("wOF2")) {
			t.Errorf("%s: WOFF2 of %d bytes", f.Name, len(f.WOFF2))
		}
		if !strings.Contains(f.Licence, "SIL OPEN FONT LICENSE Version 1.1") {
			t.Errorf("%s: the licence is not the one it should be", f.Name)
		}
	}
}

func TestTextBreaksBetweenWordsButNotBeforeAUnit(t *testing.T) {
	for _, c := range []struct {
		text  string
		width float64
		want  []string
	}{
		{"", 100, nil},
		{"one two", 1000, []string{"one two"}},
		{"one two", 1, []string{"one", "two"}},
		{"from −25 % to +11 %.", 1, []string{"from", "−25\u00a0%", "to", "+11\u00a0%."}},
		{"at 4224 K", 1, []string{"at", "4224\u00a0K"}},
	} {
		got := label.wrap(c.text, vgLength(c.width))
		if strings.Join(got, "|") != strings.Join(c.want, "|") {
			t.Errorf("%q at %g px: %q, want %q", c.text, c.width, got, c.want)
		}
	}
}
