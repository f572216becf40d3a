package ingest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
	"pgregory.net/rapid"

	"lampassay/light/spectrum"
)

// parsed is everything a batch holds.
type parsed struct {
	names   []string
	spectra [][]float64
	errs    []error
}

func parseWide(tb rapid.TB, w *Wide, n int) parsed {
	var p parsed
	for b, err := range w.Blocks(context.Background(), n) {
		if err != nil {
			tb.Fatal(err)
		}
		if b.First != len(p.names) {
			tb.Fatalf("a block begins at spectrum %d after %d", b.First, len(p.names))
		}
		dst, errs := make([]float64, b.Columns()*len(w.Axis)), make([]error, b.Columns())
		b.Parse(dst, errs)
		p.names, p.errs = append(p.names, b.Names...), append(p.errs, errs...)
		for s := range slices.Chunk(dst, len(w.Axis)) {
			p.spectra = append(p.spectra, s)
		}
	}
	if len(p.names) != w.Columns() {
		tb.Fatalf("%d spectra in blocks of %d; want %d", len(p.names), n, w.Columns())
	}
	return p
}

func openWide(tb rapid.TB, text string, o Options) *Wide {
	w, err := OpenWide("folder/batch.csv", strings.NewReader(text), int64(len(text)), o)
	if err != nil {
		tb.Fatalf("%v in %.200q", err, text)
	}
	return w
}

func TestABatchHoldsWhatItsColumnsHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, columns := rapid.IntRange(2, 12).Draw(t, "rows"), rapid.IntRange(2, 100).Draw(t, "columns")
		sep := rapid.SampledFrom([]string{",", ";", "\t", "  ", " | ", "; "}).Draw(t, "separator")
		comma := sep != "," && rapid.Bool().Draw(t, "decimal comma")
		quoted := rapid.Bool().Draw(t, "quoted")
		digits := rapid.IntRange(1, 18).Draw(t, "digits")
		number := func(v float64) string {
			s := fmt.Sprintf("%.*f", digits, v)
			if comma {
				s = strings.Replace(s, ".", ",", 1)
			}
			if quoted {
				s = `"` + s + `"`
			}
			return s
		}
		var lines []string
		if rapid.Bool().Draw(t, "names") {
			names := []string{"nm"}
			for c := range columns {
				names = append(names, fmt.Sprintf(`"lamp%d"`, c))
			}
			lines = append(lines, strings.Join(names, sep))
		}
		body := []string{}
		value := rapid.Float64Range(-10, 1e4)
		for r := range rows {
			cells := []string{number(400 + 2.5*float64(r))}
			for range columns {
				cells = append(cells, number(value.Draw(t, "value")))
			}
			body = append(body, strings.Join(cells, sep))
		}
		if rapid.Bool().Draw(t, "descending") {
			slices.Reverse(body)
		}
		eol := rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "end of line")
		text := strings.Join(append(lines, body...), eol) + rapid.SampledFrom([]string{"", eol}).Draw(t, "last end of line")
		w := openWide(t, text, Options{})
		if w.Columns() != columns {
			t.Fatalf("%d spectra; want %d", w.Columns(), columns)
		}
		p := parseWide(t, w, rapid.IntRange(1, columns+1).Draw(t, "block"))
		for _, c := range []int{0, columns / 2, columns - 1} {
			f, err := Read("x", strings.NewReader(text), Options{Column: c + 2})
			if err != nil {
				t.Fatal(err)
			}
			if p.errs[c] != nil || !slices.EqualFunc(w.Axis, f.Spectrum.Axis(), same) || !slices.EqualFunc(p.spectra[c], f.Spectrum.Values(), same) {
				t.Fatalf("column %d: %v, %v %v\nwant %v %v", c+2, p.errs[c], w.Axis, p.spectra[c], f.Spectrum.Axis(), f.Spectrum.Values())
			}
			want := fmt.Sprintf("lamp%d", c)
			if len(lines) == 0 {
				want = fmt.Sprintf("column %d", c+2)
			}
			if p.names[c] != want {
				t.Fatalf("column %d is called %q; want %q", c+2, p.names[c], want)
			}
		}
	})
}

// A first row that fits what is kept of a line, above rows that do not.
func TestARowThatIsKeptWholeAboveRowsThatAreNot(t *testing.T) {
	text := ""
	for r := range 3 {
		text += fmt.Sprint(400 + r)
		for range 60 {
			text += ";" + strings.Repeat("1", 7+r)
		}
		text += "\n"
	}
	if at := strings.IndexByte(text, '\n'); at > headBytes || len(text)/3 < headBytes {
		t.Fatalf("the first row has %d bytes, all of them %d: the case is not met", at, len(text))
	}
	if w := openWide(t, text, Options{}); w.Columns() != 60 {
		t.Errorf("%d spectra; want 60", w.Columns())
	}
}

func TestACellWithoutAValueFailsItsColumnOnly(t *testing.T) {
	w := openWide(t, "nm,a,b,c,d\n380,1,NaN,x,4\n381,2,3,4,5\n382,3,4,5\n", Options{})
	p := parseWide(t, w, 3)
	if p.errs[0] != nil || !slices.Equal(p.spectra[0], []float64{1, 2, 3}) {
		t.Errorf("a: %v, %v", p.spectra[0], p.errs[0])
	}
	for c, want := range []string{1: "batch.csv, line 2, column “b”: found “NaN”, which stands for no value; the other columns are read",
		2: "batch.csv, line 2, column “c”: found “x” where a value should be; the other columns are read",
		3: "batch.csv, line 4, column “d”: found nothing where a value should be; the other columns are read"} {
		var problem *Problem
		if c > 0 && (!errors.As(p.errs[c], &problem) || problem.Error() != want) {
			t.Errorf("got  %v\nwant %s", p.errs[c], want)
		}
	}
}

func TestAWideRowMayHaveMoreThanItsBeginningShows(t *testing.T) {
	const columns = 5000
	text := wideText(columns)
	w := openWide(t, text, Options{})
	p := parseWide(t, w, 999)
	if w.Columns() != columns || p.names[columns-1] != "s4999" {
		t.Fatalf("%d spectra, the last %s", w.Columns(), p.names[columns-1])
	}
	f, err := Read("x", strings.NewReader(text), Options{Column: columns + 1})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(p.spectra[columns-1], f.Spectrum.Values()) {
		t.Error("the last column is not what Read finds there")
	}
}

func TestBlankCellsAtTheEndAreNoSpectra(t *testing.T) {
	row := strings.Repeat(";1,5", 200) + ";;;\n"
	w := openWide(t, "380"+row+"381"+row, Options{})
	if w.Columns() != 200 {
		t.Errorf("%d spectra; want 200", w.Columns())
	}
}

func TestUnitsAndConversionsReachEveryColumn(t *testing.T) {
	w := openWide(t, "Wavelength (nm),mW/m²/nm,b\n400,1,2\n401,3,4\n", Options{})
	if p := parseWide(t, w, 1); w.Quantity != spectrum.Irradiance || p.spectra[1][1] != 4.0/1e3 {
		t.Errorf("%v %v", w.Quantity, p.spectra)
	}
	w = openWide(t, "cm-1,a,b\n20000,1,2\n25000,3,4\n", Options{WavelengthUnit: WavenumberDensity})
	p := parseWide(t, w, 2)
	if !w.Report.Reversed || math.Abs(w.Axis[0]-399.887) > 0.001 || p.spectra[1][0] != 4*(25000.0*25000.0/1e7) {
		t.Errorf("%v %v", w.Axis, p.spectra)
	}
	w = openWide(t, "nm,a,b\n400,1,2\n401,3,4\n", Options{Photon: true})
	if p := parseWide(t, w, 2); p.spectra[1][1] != 4/spectrum.MicromolPerJoule(401) {
		t.Errorf("%v", p.spectra)
	}
}

func TestABatchIsReadInEveryEncoding(t *testing.T) {
	text := "nm;Röhre µ;Birne °\n400;1,5;2\n401;3;4,25\n"
	latin1, _ := charmap.Windows1252.NewEncoder().Bytes([]byte(text))
	wide, _ := utf16LE.NewEncoder().Bytes([]byte("\ufeff" + text))
	for _, raw := range [][]byte{[]byte(text), []byte("\ufeff" + text), latin1, wide} {
		w := openWide(t, string(raw), Options{})
		p := parseWide(t, w, 1)
		if !slices.Equal(p.names, []string{"Röhre µ", "Birne °"}) || p.spectra[0][0] != 1.5 || p.spectra[1][1] != 4.25 {
			t.Errorf("%s: %q %v", w.Report.Encoding, p.names, p.spectra)
		}
		f, err := Read("x", bytes.NewReader(raw), Options{Column: 2})
		if err != nil || f.SHA256 != w.SHA256 || f.Report.Encoding != w.Report.Encoding {
			t.Errorf("Read sees %+v (%v); the batch %s, %s", f, err, w.SHA256, w.Report.Encoding)
		}
	}
}

func TestRepeatedWavelengthsAreRefusedInABatch(t *testing.T) {
	text := "nm,a,b\n400,1,2\n401,3,4\n400,5,6\n"
	_, err := OpenWide("x.csv", strings.NewReader(text), int64(len(text)), Options{})
	if want := "x.csv, line 4: found 400 a second time, after line 2; in a table of several spectra a wavelength can occur once"; err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}

func TestAColumnAskedForIsASingleSpectrum(t *testing.T) {
	text := "nm,a,b\n400,1,2\n401,3,4\n"
	if _, err := OpenWide("x.csv", strings.NewReader(text), int64(len(text)), Options{Column: 3}); err != ErrSingle {
		t.Error(err)
	}
}

func TestBlocksStopWithTheirContext(t *testing.T) {
	w := openWide(t, wideText(20), Options{})
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	n := 0
	var last error
	for _, err := range w.Blocks(ctx, 1) {
		n++
		last = err
		cancel()
	}
	if n != 2 || !errors.Is(last, context.Canceled) {
		t.Errorf("%d blocks, then %v", n, last)
	}
}

func TestAFileThatShrinksIsAnError(t *testing.T) {
	text := wideText(20)
	r := &shrinking{text, len(text)}
	w, err := OpenWide("x.csv", r, int64(len(text)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r.size /= 2
	for _, err = range w.Blocks(context.Background(), 20) {
		if err != nil {
			break
		}
	}
	if !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Errorf("%v; want an unexpected end", err)
	}
}

type shrinking struct {
	text string
	size int
}

func (s *shrinking) ReadAt(p []byte, at int64) (int, error) {
	return strings.NewReader(s.text[:s.size]).ReadAt(p, at)
}

// generated is a batch that exists only as it is read: 32 rows of so many
// columns of “ 0.123”.
type generated struct{ columns int64 }

const generatedRows, generatedCell = 32, ",0.123"

func (g generated) rowBytes() int64 { return 3 + g.columns*int64(len(generatedCell)) + 1 }
func (g generated) size() int64     { return generatedRows * g.rowBytes() }
func (g generated) ReadAt(p []byte, at int64) (int, error) {
	for i := range p {
		row, in := at/g.rowBytes(), at%g.rowBytes()
		switch {
		case row >= generatedRows:
			return i, io.EOF
		case in < 3:
			p[i] = fmt.Sprintf("%d", 400+row)[in]
		case in == g.rowBytes()-1:
			p[i] = '\n'
		default:
			p[i] = generatedCell[(in-3)%int64(len(generatedCell))]
		}
		at++
	}
	return len(p), nil
}

func TestMemoryDoesNotGrowWithTheSpectra(t *testing.T) {
	most := func(columns int64) (peak uint64) {
		g := generated{columns}
		w, err := OpenWide("x.csv", g, g.size(), Options{})
		if err != nil {
			t.Fatal(err)
		}
		var m runtime.MemStats
		for _, err := range w.Blocks(context.Background(), 1000) {
			if err != nil {
				t.Fatal(err)
			}
			runtime.GC()
			runtime.ReadMemStats(&m)
			peak = max(peak, m.HeapAlloc)
		}
		return peak
	}
	few, many := most(10_000), most(100_000)
	// A block is 1000 columns of 32 rows, about 200 kB, and 16 kB a row are read
	// ahead; the file grows by 17 MB.
	if many > few+256<<10 {
		t.Errorf("%d bytes in use with 10 000 spectra, %d with 100 000", few, many)
	}
}

func TestATableOfMillionsOfLinesIsRefusedBeforeItIsTakenApart(t *testing.T) {
	text := bytes.Repeat([]byte("400,1\n"), maxLines+1)
	var err error
	allocations := testing.AllocsPerRun(1, func() {
		_, err = OpenWide("long.csv", bytes.NewReader(text), int64(len(text)), Options{})
	})
	if err == nil || err.Error() != "long.csv: found more than 1048576 lines; a spectrum has fewer wavelengths: check that this is the right file" {
		t.Errorf("%v", err)
	}
	if _, err := ReadSeries("long.csv", bytes.NewReader(text), Options{}); err == nil || !strings.Contains(err.Error(), "more than 1048576 lines") {
		t.Errorf("a series: %v", err)
	}
	if allocations > 1000 { // one for each line and more, where lines are kept
		t.Errorf("%g allocations", allocations)
	}
	if text = text[:len(text)-6]; countLines(bytes.NewReader(text), int64(len(text))) != nil {
		t.Error("as many lines as there may be are too many")
	}
}
