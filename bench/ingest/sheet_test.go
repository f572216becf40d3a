package ingest

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"lampassay/light/spectrum"
)

// workbook makes a spreadsheet of sheets with rows.
func workbook(tb testing.TB, sheets map[string][][]any) []byte {
	tb.Helper()
	book := excelize.NewFile()
	names := []string{}
	for name := range sheets {
		names = append(names, name)
	}
	slices.Sort(names)
	for i, name := range names {
		if i == 0 {
			if err := book.SetSheetName("Sheet1", name); err != nil {
				tb.Fatal(err)
			}
		} else if _, err := book.NewSheet(name); err != nil {
			tb.Fatal(err)
		}
		for k, row := range sheets[name] {
			if err := book.SetSheetRow(name, fmt.Sprintf("A%d", k+1), &row); err != nil {
				tb.Fatal(err)
			}
		}
	}
	b, err := book.WriteToBuffer()
	if err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

// archiveOf packs files; names and contents alternate.
func archiveOf(tb testing.TB, parts ...string) []byte {
	tb.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for i := 0; i < len(parts); i += 2 {
		e, err := w.CreateHeader(&zip.FileHeader{Name: parts[i], Method: zip.Deflate})
		if err == nil {
			_, err = e.Write([]byte(parts[i+1]))
		}
		if err != nil {
			tb.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

var curveRows = [][]any{{"Lamp", "invented"}, {}, {"Wavelength (nm)", "mW/m²/nm"}, {400, 1.5}, {410, 1e-3}, {420, -0.25}}

func TestASpreadsheetIsReadAsItsStoredNumbers(t *testing.T) {
	raw := workbook(t, map[string][][]any{"notes": nil, "scan": curveRows})
	f, err := Read("x", bytes.NewReader(raw), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if want := []float64{1.5e-3, per(1e-3, 1e3), per(-0.25, 1e3)}; !slices.Equal(f.Spectrum.Values(), want) || f.Spectrum.Quantity() != spectrum.Irradiance {
		t.Errorf("%v %v; want %v", f.Spectrum.Quantity(), f.Spectrum.Values(), want)
	}
	if f.Report.Sheet != "scan" || f.Report.FirstLine != 4 || !slices.Equal(f.Report.Metadata, []Pair{{"Lamp", "invented"}}) {
		t.Errorf("sheet %q from row %d, metadata %v", f.Report.Sheet, f.Report.FirstLine, f.Report.Metadata)
	}
	if got, want := f.Report.Sentences()[0], "Text in the sheet “scan” of a spreadsheet; 3 rows from row 4 on, 400–420 nm."; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestASeriesIsReadFromASpreadsheet(t *testing.T) {
	date := time.Date(2026, 1, 31, 14, 5, 0, 0, time.UTC)
	rows := [][]any{{"time", 400, 410, 420, 430}}
	for i := range 4 {
		rows = append(rows, []any{date.Add(time.Duration(i) * 10 * time.Second), i, i + 1, i + 2, i + 3})
	}
	s, err := ReadSeries("x", bytes.NewReader(workbook(t, map[string][][]any{"run": rows})), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !s.Start.Equal(date) || len(s.Times) != 4 || s.Times[3] < 29.999 || s.Times[3] > 30.001 || s.Values[3][3] != 6 {
		t.Errorf("from %v at %v: %v", s.Start, s.Times, s.Values)
	}
}

func TestABatchIsReadFromASpreadsheet(t *testing.T) {
	raw := workbook(t, map[string][][]any{"run": {{"nm", "red", "blue"}, {400, 1, 2}, {410, 3, 4}}})
	w, err := OpenWide("x", bytes.NewReader(raw), int64(len(raw)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if p := parseWide(t, w, 2); w.Columns() != 2 || p.spectra[1][1] != 4 {
		t.Errorf("%v", p.spectra)
	}
}

func TestBadSpreadsheetsAreOneSentence(t *testing.T) {
	whole := workbook(t, map[string][][]any{"scan": curveRows})
	for _, c := range []struct {
		name string
		raw  []byte
		o    Options
		want string
	}{
		{"two sheets", workbook(t, map[string][][]any{"a": curveRows, "b": curveRows}), Options{}, "x: found a spreadsheet of 2 sheets; choose one: “a”, “b”"},
		{"no such sheet", whole, Options{Sheet: "lamp"}, "x: found no sheet “lamp”; it has “scan”"},
		{"empty", workbook(t, map[string][][]any{"a": nil}), Options{}, "x: found an empty spreadsheet; a spectrum is rows of wavelength and value"},
		{"broken off", whole[:len(whole)/2], Options{}, "x: found a spreadsheet or zip archive that is damaged; save it again"},
		{"no workbook in it", archiveOf(t, "xl/workbook.xml", "<a>"), Options{}, "x: found a spreadsheet that cannot be opened; save it again, without a password"},
		{"an archive", archiveOf(t, "a.csv", "400,1\n410,2\n", "b.csv", ""), Options{}, "x: found a zip archive of 2 files; unpack it, or read it as a batch"},
		{"a bomb", archiveOf(t, "xl/workbook.xml", strings.Repeat(" ", 8<<20)), Options{}, "x: found an archive that unpacks to more than a hundred times its size; check that this is the right file"},
		{"too large", whole, Options{MaxBytes: int64(len(whole)) + 100}, "x: found an archive of more than 0 MB unpacked; split it, or check that this is the right file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read("x", bytes.NewReader(c.raw), c.o)
			if err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestAChosenSheetIsRead(t *testing.T) {
	raw := workbook(t, map[string][][]any{"a": curveRows, "b": {{400, 7}, {410, 8}}})
	f, err := Read("x", bytes.NewReader(raw), Options{Sheet: "b"})
	if err != nil || f.Spectrum.Values()[0] != 7 {
		t.Error(f, err)
	}
}

func TestAnArchiveYieldsASpectrumForEachFile(t *testing.T) {
	curve := "400,1.0\n410,2.5\n"
	raw := archiveOf(t,
		"folder/", "", "folder/a.csv", curve, ".hidden", "x", "__MACOSX/a.csv", "x", "Thumbs.db", "x",
		"../b.csv", curve, "/c.csv", curve, `..\d.csv`, curve, "C:/e.csv", curve,
		"f.csv", "red", "g.json", "[[400, 1], [410, 2.5]]", "h.zip", string(archiveOf(t, "a.csv", curve)),
		"i.xlsx", string(workbook(t, map[string][][]any{"s": {{400, 1}, {410, 2.5}}})))
	var got []string
	for f, err := range Archive(context.Background(), "box/x.zip", bytes.NewReader(raw), int64(len(raw)), Options{}) {
		if err != nil {
			got = append(got, err.Error())
			continue
		}
		if !slices.Equal(f.Spectrum.Values(), []float64{1, 2.5}) {
			t.Errorf("%s: %v", f.Name, f.Spectrum.Values())
		}
		got = append(got, f.Name)
	}
	want := []string{
		"box/x.zip/folder/a.csv",
		"x.zip: found an entry “../b.csv” whose name leads out of the archive; the other entries are read",
		"x.zip: found an entry “/c.csv” whose name leads out of the archive; the other entries are read",
		"x.zip: found an entry “..\\d.csv” whose name leads out of the archive; the other entries are read",
		"x.zip: found an entry “C:/e.csv” whose name leads out of the archive; the other entries are read",
		"f.csv: found no rows of numbers; a spectrum is rows of a wavelength and a value",
		"box/x.zip/g.json",
		"h.zip: found a zip archive of 1 file; unpack it, or read it as a batch",
		"box/x.zip/i.xlsx",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %s\nwant %s", strings.Join(got, "\n     "), strings.Join(want, "\n     "))
	}
}

func TestBadArchivesAreOneSentence(t *testing.T) {
	many := make([]string, 2*(maxEntries+1))
	for i := range many {
		many[i] = fmt.Sprint(i)
	}
	for _, c := range []struct {
		name string
		raw  []byte
		want string
	}{
		{"text", []byte("400,1\n"), "x: found no zip archive, or a damaged one; save it again"},
		{"nothing in it", archiveOf(t, "folder/", ""), "x: found a zip archive without files; it has to hold a spectrum in each"},
		{"too many", archiveOf(t, many...), "x: found an archive of 10001 files; split it: 10000 are read at most"},
		{"a bomb", archiveOf(t, "a.csv", strings.Repeat("0", 8<<20)), "x: found an archive that unpacks to more than a hundred times its size; check that this is the right file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			n := 0
			for f, err := range Archive(context.Background(), "x", bytes.NewReader(c.raw), int64(len(c.raw)), Options{}) {
				if n++; n > 1 || f != nil || err == nil || err.Error() != c.want {
					t.Errorf("got  %v\nwant %s", err, c.want)
				}
			}
		})
	}
}

func TestACancelledArchiveEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	raw := archiveOf(t, "a", "400 1\n410 2\n", "b", "400 1\n410 2\n")
	n := 0
	for _, err := range Archive(ctx, "x", bytes.NewReader(raw), int64(len(raw)), Options{}) {
		if n++; n == 2 && err != context.Canceled {
			t.Error(err)
		}
		cancel()
	}
	if n != 2 {
		t.Errorf("%d entries", n)
	}
}

func FuzzSpreadsheet(f *testing.F) {
	f.Add(workbook(f, map[string][][]any{"scan": curveRows}))
	f.Add(archiveOf(f, "xl/workbook.xml", "<workbook/>", "[Content_Types].xml", "<Types/>"))
	f.Add(archiveOf(f, "a.csv", "400,1\n410,2\n", "../b", "x"))
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		o := Options{MaxBytes: 4 << 20}
		if file, err := Read("x", bytes.NewReader(raw), o); err != nil {
			checkProblem(t, err)
		} else {
			checkFile(t, file)
		}
		for file, err := range Archive(context.Background(), "x", bytes.NewReader(raw), int64(len(raw)), o) {
			if err == nil {
				checkFile(t, file)
			}
		}
	})
}
