package ingest

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func same(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }

// checkFloat compares with strconv, which rounds correctly.
func checkFloat(tb rapid.TB, text string) {
	want, _ := strconv.ParseFloat(text, 64)
	if got, n := scanFloat([]byte(text), '.'); n != len(text) || !same(got, want) {
		tb.Fatalf("%s: got %v after %d bytes; want %v", text, got, n, want)
	}
	comma := strings.Replace(text, ".", ",", 1)
	if strings.Contains(comma, ",") && comma[strings.IndexByte(comma, ',')+1:] != "" && isDigit(comma[strings.IndexByte(comma, ',')+1]) {
		if got, n := scanFloat([]byte(comma), ','); n != len(comma) || !same(got, want) {
			tb.Fatalf("%s: got %v after %d bytes; want %v", comma, got, n, want)
		}
	}
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func TestNumbersAreTheNearestFloat(t *testing.T) {
	for _, text := range []string{
		"0", "-0", "-0.0", "+1", "1.", ".5", "-.5", "0.1", "0.3", "1e22", "1e23", "9007199254740992", "9007199254740993", "9007199254740993e0",
		"123456789012345678901234567890", "0.000000000000000000000000000000000001234", "18446744073709551616", "1844674407370955161600000", "2.2250738585072011e-308", "4.9e-324",
		"2e-324", "1.7976931348623157e308", "1e309", "-1e400", "1e-400", "1e99999999999999999999", "1E+03", "1e-002",
		"7450580596923828125e-27", "0.1000000000000000055511151231257827021181583404541015625",
	} {
		checkFloat(t, text)
	}
	rng := rand.New(rand.NewPCG(3, 4))
	for range 50_000 {
		v := math.Float64frombits(rng.Uint64())
		if math.IsNaN(v) || math.IsInf(v, 0) {
			continue
		}
		checkFloat(t, strconv.FormatFloat(v, 'e', -1, 64))
		checkFloat(t, strconv.FormatFloat(math.Mod(v, 1e4), 'f', rng.IntN(20), 64))
	}
}

func TestAnyDecimalIsTheNearestFloat(t *testing.T) {
	text := rapid.StringMatching(`[+-]?([0-9]{1,25}(\.[0-9]{0,25})?|\.[0-9]{1,25})([eE][+-]?[0-9]{1,3})?`)
	rapid.Check(t, func(t *rapid.T) { checkFloat(t, text.Draw(t, "text")) })
}

func TestANumberEndsWhereItEnds(t *testing.T) {
	for _, c := range []struct {
		text string
		mark byte
		v    float64
		n    int
	}{
		{"380,0.5", '.', 380, 3}, {"380,0", ',', 380, 5}, {"380,", ',', 380, 3}, {"380.", '.', 380, 4}, {"1e", '.', 1, 1}, {"1e+", '.', 1, 1},
		{"1D-4", '.', 1e-4, 4}, {"1.5d2x", '.', 150, 5}, {"1.2.3", '.', 1.2, 3}, {"", '.', 0, 0}, {"-", '.', 0, 0}, {".", '.', 0, 0}, {"e5", '.', 0, 0}, {"0x10", '.', 0, 1}, {"1_000", '.', 1, 1},
	} {
		if v, n := scanFloat([]byte(c.text), c.mark); v != c.v || n != c.n {
			t.Errorf("%q: %v after %d bytes; want %v after %d", c.text, v, n, c.v, c.n)
		}
	}
}

func TestCellsAreNumbersMissingOrOther(t *testing.T) {
	for _, c := range []struct {
		text string
		mark byte
		v    float64
		kind cellKind
	}{
		{"1234.5", '.', 1234.5, cellNumber}, {"−0.5", '.', -0.5, cellNumber},
		{"1,234.5", '.', 1234.5, cellGrouped}, {"1.234,5", ',', 1234.5, cellGrouped}, {"1 234 567", '.', 1234567, cellGrouped}, {"-1'234", '.', -1234, cellGrouped}, {"1\u00a0234,5e3", ',', 1234500, cellGrouped},
		{"1,23", '.', 0, cellOther}, {"1234,567.8", '.', 0, cellOther}, {"1 234'567", '.', 0, cellOther}, {"12:30", '.', 0, cellOther}, {"2024-01-02", '.', 0, cellOther}, {"0x10", '.', 0, cellOther}, {"1e5x", '.', 0, cellOther}, {"−", '.', 0, cellOther},
		{"", '.', 0, cellMissing}, {"---", '.', 0, cellMissing}, {"NaN", '.', 0, cellMissing}, {"#DIV/0!", '.', 0, cellMissing}, {"-Inf", '.', 0, cellMissing}, {"O.L", '.', 0, cellMissing},
		{"9.9E37", '.', 0, cellMissing}, {"9.91E+37", '.', 0, cellMissing}, {"-9.9E+037", '.', 0, cellMissing}, {"9,91E37", ',', 0, cellMissing}, {"1e400", '.', 0, cellMissing},
	} {
		if v, kind := parseCell([]byte(c.text), c.mark); v != c.v || kind != c.kind {
			t.Errorf("%q: %v, kind %d; want %v, kind %d", c.text, v, kind, c.v, c.kind)
		}
	}
}

func TestParsingANumberDoesNotAllocate(t *testing.T) {
	for _, text := range []string{"0.01234", "1.2345678901234567e-5"} {
		b := []byte(text)
		if n := testing.AllocsPerRun(100, func() { scanFloat(b, '.') }); n != 0 {
			t.Errorf("%s: %g allocations", text, n)
		}
	}
}

func FuzzScanFloat(f *testing.F) {
	for _, s := range []string{"0.1", "1e-002", "1,5", "1.2.3", "-.5D+3", "18446744073709551616", "９"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		v, n := scanFloat(b, '.')
		if n < 0 || n > len(b) {
			t.Fatalf("took %d of %d bytes", n, len(b))
		}
		if n == 0 {
			return
		}
		plain := bytes.Map(func(r rune) rune {
			if r == 'd' || r == 'D' {
				return 'e'
			}
			return r
		}, b[:n])
		if want, err := strconv.ParseFloat(string(plain), 64); !same(v, want) {
			t.Fatalf("%q: %v; want %v (%v)", b[:n], v, want, err)
		}
		for _, mark := range []byte(".,") {
			if v, kind := parseCell(b, mark); math.IsNaN(v) || math.IsInf(v, 0) || kind > cellOther {
				t.Fatalf("%q: %v, kind %d", b, v, kind)
			}
		}
	})
}
