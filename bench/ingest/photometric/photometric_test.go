package photometric

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"lampassay/bench/ingest"
)

// The files of these tests are invented.
const minimal = `IESNA:LM-63-2002
[TEST] bench-0007
[TESTLAB] Home bench, not accredited
[ISSUEDATE] 2025-02-01
[MANUFAC] unknown
[LAMP] Reflector LED, 5 W class
[MORE] frosted
TILT=NONE
1 -1 1.0 5 1 1 2 -0.05 -0.05 0
1.0 1 5.2
0 10 20 45 90
0
900 700 320 20 0
`

func read(t *testing.T, text string) *File {
	t.Helper()
	f, err := Read("x.ies", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestAMinimalFileIsReadWhole(t *testing.T) {
	f := read(t, minimal)
	if f.Edition != LM63of2002 || f.Goniometry != TypeC || f.Symmetry != Rotational || !f.Absolute || f.Lamps != 1 || f.Watts != 5.2 || f.Opening() != "circle" || f.Width != -0.05 {
		t.Errorf("%+v", f)
	}
	if !slices.Equal(f.Vertical, []float64{0, 10, 20, 45, 90}) || !slices.Equal(f.Horizontal, []float64{0}) || len(f.Candela) != 1 || !slices.Equal(f.Candela[0], []float64{900, 700, 320, 20, 0}) {
		t.Errorf("%v × %v: %v", f.Vertical, f.Horizontal, f.Candela)
	}
	if lamp, ok := f.Keyword("LAMP"); !ok || lamp != "Reflector LED, 5 W class\nfrosted" || len(f.Keywords) != 5 {
		t.Errorf("%q", f.Keywords)
	}
	if len(f.Warnings) != 0 {
		t.Errorf("warnings %q", f.Warnings)
	}
}

// with replaces a piece of the minimal file.
func with(old, new string) string {
	if !strings.Contains(minimal, old) {
		panic("the minimal file has no " + old)
	}
	return strings.Replace(minimal, old, new, 1)
}

func TestTheNumberBeforeTheWattsMeansWhatTheEditionSays(t *testing.T) {
	for _, c := range []struct {
		first   string
		edition Edition
		candela float64 // of the first value
		warned  bool
	}{
		{"", LM63of1986, 1800, false},
		{"IESNA91", LM63of1991, 1800, false},
		{"IESNA:LM-63-1995", LM63of1995, 900, true},
		{"IESNA:LM-63-2002", LM63of2002, 900, true},
		{"IES:LM-63-2019", LM63of2019, 900, true},
		{"IES:LM-63-2031", LM63of2002, 900, true},
	} {
		text := with("1.0 1 5.2", "1.0 2 5.2")
		f := read(t, strings.Replace(text, "IESNA:LM-63-2002", c.first, 1))
		if f.Edition != c.edition || f.Candela[0][0] != c.candela || (len(f.Warnings) > 0) != c.warned {
			t.Errorf("%q: %v, %g cd, %q; want %v, %g", c.first, f.Edition, f.Candela[0][0], f.Warnings, c.edition, c.candela)
		}
	}
}

func TestFactorsAndUnitsAreApplied(t *testing.T) {
	f := read(t, with("1 -1 1.0 5 1 1 2 -0.05 -0.05 0\n1.0", "2 1200 0.5 5 1 1 1 10 20 0\n0.5"))
	if f.Candela[0][0] != 225 || f.Width != 3.048 || f.Length != 6.096 || f.Opening() != "rectangle" || f.Absolute || f.Lumens != 1200 || f.Lamps != 2 {
		t.Errorf("%+v", f)
	}
}

func TestATiltIsKept(t *testing.T) {
	f := read(t, with("TILT=NONE", "TILT=INCLUDE\n1\n3\n0 45\n90\n1.0 0.9,0.8"))
	if f.Tilt == nil || f.Tilt.Geometry != 1 || !slices.Equal(f.Tilt.Angles, []float64{0, 45, 90}) || !slices.Equal(f.Tilt.Factors, []float64{1, 0.9, 0.8}) || f.Candela[0][0] != 900 {
		t.Errorf("%+v", f.Tilt)
	}
	if f = read(t, with("TILT=NONE", "TILT=lamp.til")); f.TiltFile != "lamp.til" || len(f.Warnings) != 1 {
		t.Errorf("%q %q", f.TiltFile, f.Warnings)
	}
}

func TestSymmetryFollowsFromTheAngles(t *testing.T) {
	for _, c := range []struct {
		kind       int
		horizontal string
		want       Symmetry
	}{
		{1, "0", Rotational}, {1, "0 45 90", Quadrant}, {1, "0 90 180", Bilateral}, {1, "90 180 270", Bilateral}, {1, "0 90 180 270 360", None}, {1, "0 90 180 270", None},
		{2, "0 45 90", Bilateral}, {2, "-90 0 90", None}, {3, "-90 90", None},
	} {
		n := len(strings.Fields(c.horizontal))
		text := with("5 1 1 2", fmt.Sprintf("5 %d %d 2", n, c.kind))
		text = strings.Replace(text, "90\n0\n900 700 320 20 0\n", "90\n"+c.horizontal+strings.Repeat("\n900 700 320 20 0", n), 1)
		if f := read(t, text); f.Symmetry != c.want || len(f.Candela) != n {
			t.Errorf("type %d, %s: %s", c.kind, c.horizontal, f.Symmetry)
		}
	}
}

func TestDirtDoesNotHideTheData(t *testing.T) {
	crlf := strings.ReplaceAll(minimal, "\n", "\r\n")
	for name, c := range map[string]struct{ text, warning string }{
		"CR LF, mark and Ctrl-Z":    {"\ufeff" + crlf + "\x1a\x1arest", ""},
		"CR":                        {strings.ReplaceAll(minimal, "\n", "\r"), ""},
		"tabs and blank lines":      {strings.ReplaceAll(strings.ReplaceAll(minimal, " 1 ", "\t1\t"), "TILT", "\n\nTILT"), ""},
		"TILT = none":               {with("TILT=NONE", "  Tilt = none "), ""},
		"counts with decimals":      {with("5 1 1 2", "5.0 1.00 1 2"), ""},
		"commas between numbers":    {with("900 700 320 20 0", "900,700, 320 ,20,0,"), ""},
		"numbers that wrap":         {strings.ReplaceAll(strings.Replace(minimal, "900 700", "900\n700", 1), "0 10 20", "0 10\n20"), ""},
		"everything in one line":    {strings.Replace(minimal, "TILT=NONE\n1 -1 1.0 5 1 1 2 -0.05 -0.05 0\n1.0 1 5.2\n0 10 20 45 90\n0\n", "TILT=NONE\n1 -1 1.0 5 1 1 2 -0.05 -0.05 0 1.0 1 5.2 0 10 20 45 90 0 ", 1), ""},
		"decimal commas":            {strings.NewReplacer("1.0", "1,0", "0.05", "0,05", "5.2", "5,2").Replace(minimal), "commas are read as decimal marks"},
		"Windows-1252":              {with("Reflector LED", "Strahler f\xfcr 5 W"), ""},
		"a word behind the data":    {minimal + "END\n", "is not part of the data"},
		"no keywords":               {with("[TEST] bench-0007\n[TESTLAB] Home bench, not accredited\n[ISSUEDATE] 2025-02-01\n[MANUFAC] unknown\n", ""), "requires [TEST], [TESTLAB], [ISSUEDATE], [MANUFAC]"},
		"a sphere that ends early":  {with("45 90", "45 85"), "run from 0° to 85°"},
		"an edition with a blank":   {with("IESNA:LM-63", "iesna: LM-63"), ""},
		"lumens of −2":              {with("1 -1 1.0", "1 -2 1.0"), "read as −1"},
		"an unlabelled line":        {with("[LAMP]", "just a line\n[LAMP]"), ""},
		"a bracket that never ends": {with("[LAMP]", "[LAMP"), ""},
	} {
		f, err := Read("x", strings.NewReader(c.text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if f.Candela[0][0] != 900 || f.Watts != 5.2 || f.Width != -0.05 {
			t.Errorf("%s: %+v", name, f)
		}
		if got := strings.Join(f.Warnings, "\n"); (got == "") != (c.warning == "") || !strings.Contains(got, c.warning) {
			t.Errorf("%s: warnings %q; want %q", name, got, c.warning)
		}
	}
	if f := read(t, with("20 0\n", "20 -1\n")); f.Candela[0][4] != -1 || len(f.Warnings) != 1 {
		t.Errorf("a negative value: %v %q", f.Candela, f.Warnings)
	}
}

func TestBadFilesAreOneSentence(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "x.ies: found nothing: the file is empty; an LM-63 file begins with its edition"},
		{"a picture", "\x89PNG\r\n\x1a\n\x00", "x.ies: found a PNG picture; export the numbers as text"},
		{"no TILT", "IESNA91\n[TEST] 1\n1 2 3\n", "x.ies: found no line that begins with TILT=; an LM-63 file has one between its labels and its numbers"},
		{"nothing behind TILT", with("TILT=NONE", "TILT="), "x.ies, line 8: found TILT= and nothing behind it; write TILT=NONE, or INCLUDE with the angles below"},
		{"cut off", with("320 20 0\n", ""), "x.ies, line 13: found 2 candela values; 5 × 1 angles need 5"},
		{"cut off in the head", minimal[:strings.Index(minimal, "0 10 20")], "x.ies, line 10: found the end of the file where a vertical angle should be; the file is cut off, or a count in it is wrong"},
		{"too many values", minimal + "3 4\n", "x.ies, line 14: found 2 words behind the last candela value, the first “3”; a count of angles is wrong, or the file holds more than one table"},
		{"a word for a number", with("320", "bright"), "x.ies, line 13: found “bright” where a candela value should be; it has to be a number"},
		{"no number at all", with("900", "NaN"), "x.ies, line 13: found “NaN” where a candela value should be; it has to be a number"},
		{"angles that fall", with("10 20 45", "20 10 45"), "x.ies, line 11: found the vertical angle 10° after 20°; angles have to rise"},
		{"half a lamp", with("1 -1", "1.5 -1"), "x.ies, line 9: found 1.5 where the number of lamps should be; it can be 0 to 1000000"},
		{"type 4", with("5 1 1 2", "5 1 4 2"), "x.ies, line 9: found 4 where the photometric type should be; it can be 1 to 3"},
		{"more angles than words", with("5 1 1 2", "5 1e9 1 2"), "x.ies, line 9: found 1e+09 where the number of horizontal angles should be; it can be 1 to 24"},
		{"no multiplier", with("-1 1.0", "-1 0"), "x.ies, line 9: found 0 where the candela multiplier should be; it has to be above zero"},
		{"below the sphere", with("0 10 20 45 90", "-10 10 20 45 90"), "x.ies: found vertical angles from -10° to 90°; 0° to 180° in type C"},
		{"half a quadrant", with("5 1 1 2", "2 2 1 2")[:strings.Index(with("5 1 1 2", "2 2 1 2"), "0 10 20")] + "0 90\n0 45\n1 2 3 4\n", "x.ies: found horizontal angles from 0° to 45°; they end at 0°, 90°, 180° or above 180° in type C"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read("folder/x.ies", strings.NewReader(c.text))
			var p *ingest.Problem
			if !errors.As(err, &p) || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestSignsOfTheDimensionsCodeAShape(t *testing.T) {
	for _, c := range []struct {
		w, l, h float64
		want    string
	}{
		{0, 0, 0, "point"}, {1, 2, 0, "rectangle"}, {1, 2, 3, "box with luminous sides"}, {-1, -1, 0, "circle"}, {-1, -2, 0, "ellipse"},
		{-1, -1, 2, "vertical cylinder"}, {-1, -1, -1, "sphere"}, {-1, -2, -3, "ellipsoid"}, {1, -2, -3, ""},
	} {
		f := File{Edition: LM63of2002, Width: c.w, Length: c.l, Height: c.h}
		if got := f.Opening(); got != c.want {
			t.Errorf("%g, %g, %g: %q; want %q", c.w, c.l, c.h, got, c.want)
		}
		if f.Edition = LM63of1991; f.Opening() != "" {
			t.Errorf("an edition with other codes has the opening %q", f.Opening())
		}
	}
}

func TestTheGenerationTypeIsSpelledOut(t *testing.T) {
	for code, want := range map[float64]string{
		1.00001: "undefined, or an earlier edition", 1.0001: "a simulation", 1: "a test in a laboratory without accreditation", 1.1: "a test in an accredited laboratory",
		1.101: "a test in an accredited laboratory, lumens scaled", 1.01: "a test in a laboratory without accreditation, angles interpolated", 0: "an unknown code",
	} {
		f := File{Edition: LM63of2019, Generation: code}
		if got := f.Provenance(); got != want {
			t.Errorf("%g: %q; want %q", code, got, want)
		}
	}
	if got := (&File{Edition: LM63of2002}).Provenance(); got != "" {
		t.Errorf("2002: %q", got)
	}
}

func TestNumbersComeBackHoweverTheyWrap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		vertical, horizontal := []float64{}, []float64{}
		for i, n := 0, rapid.IntRange(2, 10).Draw(t, "vertical"); i < n; i++ {
			vertical = append(vertical, 180*float64(i)/float64(n-1))
		}
		for i, n := 0, rapid.IntRange(2, 8).Draw(t, "horizontal"); i < n; i++ {
			horizontal = append(horizontal, 360*float64(i)/float64(n-1))
		}
		var words []string
		add := func(vs ...float64) {
			for _, v := range vs {
				words = append(words, strconv.FormatFloat(v, 'g', -1, 64))
			}
		}
		add(1, -1, 1, float64(len(vertical)), float64(len(horizontal)), 1, 2, 0, 0, 0, 1, 1, 5)
		add(vertical...)
		add(horizontal...)
		var candela [][]float64
		for range horizontal {
			plane := rapid.SliceOfN(rapid.Float64Range(0, 1e6), len(vertical), len(vertical)).Draw(t, "candela")
			candela = append(candela, plane)
			add(plane...)
		}
		var b strings.Builder
		b.WriteString("IESNA:LM-63-1995\n[TEST] x\n[MANUFAC] x\nTILT=NONE\n")
		for _, w := range words {
			b.WriteString(w + rapid.SampledFrom([]string{" ", "  ", ",", ", ", "\n", "\r\n", "\t", "\n\n"}).Draw(t, "delimiter"))
		}
		f, err := Read("x", strings.NewReader(b.String()))
		if err != nil {
			t.Fatalf("%v\n%s", err, b.String())
		}
		if !slices.Equal(f.Vertical, vertical) || !slices.Equal(f.Horizontal, horizontal) || !slices.EqualFunc(f.Candela, candela, slices.Equal[[]float64]) || f.Symmetry != None {
			t.Fatalf("%+v", f)
		}
	})
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(minimal))
	f.Add([]byte(with("TILT=NONE", "TILT=INCLUDE\n1\n2\n0 90\n1 1")))
	f.Add([]byte(strings.NewReplacer("1.0", "1,0", "0.05", "0,05", "5.2", "5,2", "IESNA:LM-63-2002", "").Replace(minimal)))
	f.Add([]byte(with("5 1 1 2", "1 5 2 1")))
	f.Add([]byte("[\nTILT=NONE\n1 1 1 1e15 1e15 1"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		file, err := Read("x", bytes.NewReader(raw))
		if err != nil {
			var p *ingest.Problem
			if !errors.As(err, &p) {
				t.Fatal(err)
			}
			if s := p.Error(); p.Found == "" || p.Want == "" || strings.ContainsAny(s, "\r\n\x00") || !utf8.ValidString(s) || len(s) > 600 {
				t.Fatalf("no clear sentence: %q", s)
			}
			return
		}
		if len(file.Candela) != len(file.Horizontal) || file.Symmetry == "" {
			t.Fatalf("%+v", file)
		}
		for _, plane := range file.Candela {
			if len(plane) != len(file.Vertical) || slices.ContainsFunc(plane, math.IsNaN) {
				t.Fatalf("%v at %v", plane, file.Vertical)
			}
		}
		if _, err := json.Marshal(file); err != nil {
			t.Fatal(err)
		}
	})
}
