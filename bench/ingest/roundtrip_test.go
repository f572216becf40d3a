package ingest

import (
	"bytes"
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
	"pgregory.net/rapid"

	"lampassay/light/spectrum"
)

// drawn is a spectrum and the text of it in some dialect.
type drawn struct {
	axis, values []float64
	raw          []byte
	separator    string
	decimal      string
}

// drawText writes an invented spectrum the way somebody's program might.
func drawText(t *rapid.T) drawn {
	var d drawn
	n := rapid.IntRange(3, 40).Draw(t, "rows")
	l := rapid.Float64Range(200, 900).Draw(t, "from")
	for range n {
		d.axis = append(d.axis, l)
		d.values = append(d.values, rapid.Float64Range(-1e3, 1e6).Draw(t, "value"))
		l += rapid.Float64Range(0.01, 10).Draw(t, "step")
	}
	sep := rapid.SampledFrom([]string{",", ";", "\t", "   ", " | "}).Draw(t, "separator")
	mark := "."
	if sep != "," && rapid.Bool().Draw(t, "decimal comma") {
		mark = ","
	}
	style := rapid.SampledFrom([]byte("efgE")).Draw(t, "style")
	number := func(v float64) string {
		s := strconv.FormatFloat(v, style, -1, 64)
		if !strings.Contains(s, ".") { // a number without a mark leaves it open
			mantissa, exponent, ok := strings.Cut(strings.ToLower(s), "e")
			if s = mantissa + ".0"; ok {
				s += "e" + exponent
			}
		}
		return strings.Replace(s, ".", mark, 1)
	}
	var lines []string
	for range rapid.IntRange(0, 60).Draw(t, "junk lines") {
		lines = append(lines, rapid.SampledFrom([]string{"", "Sériennummer: 42", "Integration time = 100 ms", "# remark", "---------", "averaged over many scans"}).Draw(t, "junk"))
	}
	var rows []string
	for i := range n {
		rows = append(rows, number(d.axis[i])+sep+number(d.values[i]))
	}
	if rapid.Bool().Draw(t, "descending") {
		slices.Reverse(rows)
	}
	lines = append(lines, rows...)
	if rapid.Bool().Draw(t, "footer") {
		lines = append(lines, "--- end ---")
	}
	eol := rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "end of line")
	text := strings.Join(lines, eol) + eol
	switch rapid.SampledFrom([]string{"UTF-8", "BOM", "UTF-16LE", "UTF-16BE", "Windows-1252"}).Draw(t, "encoding") {
	case "UTF-8":
		d.raw = []byte(text)
	case "BOM":
		d.raw = []byte("\ufeff" + text)
	case "UTF-16LE":
		d.raw, _ = utf16LE.NewEncoder().Bytes([]byte("\ufeff" + text))
	case "UTF-16BE":
		d.raw, _ = utf16BE.NewEncoder().Bytes([]byte(text))
	case "Windows-1252":
		d.raw, _ = charmap.Windows1252.NewEncoder().Bytes([]byte(text))
	}
	d.separator = map[string]string{",": "comma", ";": "semicolon", "\t": "tab", "   ": "space", " | ": "pipe"}[sep]
	d.decimal = decimalNames[rune(mark[0])]
	return d
}

func TestEveryDialectGivesTheSameBitsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawText(t)
		f, err := Read("x", bytes.NewReader(d.raw), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if f.Report.Separator != d.separator || f.Report.Decimal != d.decimal {
			t.Fatalf("read with %s and decimal %s; written with %s and %s", f.Report.Separator, f.Report.Decimal, d.separator, d.decimal)
		}
		if !slices.EqualFunc(f.Spectrum.Axis(), d.axis, same) || !slices.EqualFunc(f.Spectrum.Values(), d.values, same) {
			t.Fatalf("read %v %v\nwant %v %v", f.Spectrum.Axis(), f.Spectrum.Values(), d.axis, d.values)
		}
	})
}

func TestTM27GivesEveryBitBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawText(t)
		q := rapid.SampledFrom([]spectrum.Quantity{spectrum.Relative, spectrum.Flux, spectrum.Irradiance, spectrum.Radiance, spectrum.Intensity}).Draw(t, "quantity")
		s, err := spectrum.New(q, d.axis, d.values)
		if err != nil {
			t.Fatal(err)
		}
		word := rapid.StringMatching(`[a-zäµ&<>"' ]{0,12}`)
		of := TM27{
			Header:       []Element{{Name: "Description", Text: strings.TrimSpace(word.Draw(t, "text"))}, {Name: "LampAge", Attributes: []Pair{{"unit", word.Draw(t, "attribute")}}, Text: "100"}},
			Distribution: []Element{{Name: "BandwidthFWHM", Text: "2.1"}, {Name: "Own", Children: []Element{{Name: "Part", Text: "a"}, {Name: "Part", Text: "b"}}}},
			Other:        []Element{{Name: "Signature", Text: "none"}},
		}
		checkTM27(t, s, &of)
	})
}
