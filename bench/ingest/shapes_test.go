package ingest

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lampassay/light/spectrum"
)

// shapes lists what has to be found in each file of testdata/shapes. Their
// values are invented.
var shapes = map[string]struct {
	encoding, separator, decimal string
	firstLine, rows              int
	from, to                     float64
	quantity                     spectrum.Quantity
	first, last                  float64 // values, in SI
	skipped                      int
	warning                      string // in the warnings; empty for none
}{
	"comma_point.csv":             {"UTF-8", "comma", "point", 2, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"semicolon_decimal_comma.csv": {"UTF-8", "semicolon", "comma", 2, 41, 380, 780, spectrum.Irradiance, per(0.0013, 1e3), per(0.0001, 1e3), 0, ""},
	"tab_decimal_comma_crlf.txt":  {"UTF-8", "tab", "comma", 6, 41, 380, 780, spectrum.Counts, 100, 100, 0, ""},
	"spaces_ragged.txt":           {"UTF-8", "space", "point", 1, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"fixed_width_names.dat":       {"UTF-8", "space", "point", 2, 30, 380, 438, spectrum.Irradiance, per(1e-3, 1e2), per(3e-2, 1e2), 0, ""},
	"pipes.txt":                   {"UTF-8", "pipe", "point", 3, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"junk_60_lines.txt":           {"UTF-8", "tab", "point", 61, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"comments.txt":                {"UTF-8", "tab", "point", 6, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"utf8_bom.csv":                {"UTF-8 with byte order mark", "semicolon", "comma", 2, 41, 380, 780, spectrum.Irradiance, 0.0013, 0.0001, 0, ""},
	"utf16le_bom.txt":             {"UTF-16LE", "tab", "point", 2, 41, 380, 780, spectrum.Irradiance, per(0.0013, 1e2), per(0.0001, 1e2), 0, ""},
	"utf16be_no_bom.txt":          {"UTF-16BE without byte order mark", "tab", "point", 2, 41, 380, 780, spectrum.Flux, 0.0013, 0.0001, 0, ""},
	"windows_1252.txt":            {"Windows-1252", "semicolon", "point", 3, 41, 380, 780, spectrum.Irradiance, per(0.0013, 1e2), per(0.0001, 1e2), 0, ""},
	"cr_only.txt":                 {"UTF-8", "comma", "point", 2, 41, 380, 780, spectrum.Flux, 0.0013, 0.0001, 0, ""},
	"exponents.txt":               {"UTF-8", "space", "point", 1, 6, 380, 430, spectrum.Relative, 1.5e-3, 6, 0, ""},
	"thousands_space.csv":         {"UTF-8", "semicolon", "comma", 2, 4, 380, 410, spectrum.Counts, 1234.5, 1000, 0, "thousands marks"},
	"thousands_apostrophe.csv":    {"UTF-8", "semicolon", "point", 2, 3, 380, 400, spectrum.Counts, 1234.5, 999.5, 0, "thousands marks"},
	"descending.csv":              {"UTF-8", "comma", "point", 2, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"shuffled.csv":                {"UTF-8", "comma", "point", 2, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, "not in order"},
	"duplicates_agree.csv":        {"UTF-8", "comma", "point", 2, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, "41 repetitions"},
	"missing.csv":                 {"UTF-8", "comma", "point", 2, 32, 380, 780, spectrum.Relative, 0.0013, 0.0001, 9, "9 rows skipped, the first at line 5: “NaN” stands for no value"},
	"trailing_columns.csv":        {"UTF-8", "comma", "point", 2, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"trailing_separators.csv":     {"UTF-8", "semicolon", "comma", 2, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"quoted.csv":                  {"UTF-8", "comma", "comma", 2, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"pixel_first.csv":             {"UTF-8", "semicolon", "point", 2, 41, 380, 780, spectrum.Counts, 0.0013, 0.0001, 0, ""},
	"photons.csv":                 {"UTF-8", "comma", "point", 2, 41, 380, 780, spectrum.Flux, 0.0013 / spectrum.MicromolPerJoule(380), 0.0001 / spectrum.MicromolPerJoule(780), 0, ""},
	"key_value_unit.txt":          {"UTF-8", "tab", "point", 3, 41, 380, 780, spectrum.Flux, per(0.0013, 1e3), per(0.0001, 1e3), 0, ""},
	"table_5nm.csv":               {"UTF-8", "comma", "point", 2, 81, 380, 780, spectrum.Relative, 0, 3, 0, ""},
	"gap.csv":                     {"UTF-8", "comma", "point", 2, 31, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"all_zero.csv":                {"UTF-8", "comma", "point", 2, 10, 400, 409, spectrum.Flux, 0, 0, 0, "every value is zero"},
	"all_negative.csv":            {"UTF-8", "comma", "point", 2, 10, 400, 409, spectrum.Flux, -1, -1, 0, "every value is negative"},
	"count_line.txt":              {"UTF-8", "space", "point", 2, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, ""},
	"other_table.txt":             {"UTF-8", "space", "point", 5, 41, 380, 780, spectrum.Relative, 0.0013, 0.0001, 0, "lines 2 to 3 hold another table"},
}

// per divides as the reader does, rounding once; a constant expression would not
// round at all.
func per(v, by float64) float64 { return v / by }

// corpus returns the files of a folder of testdata by name; none is a failure.
func corpus(tb testing.TB, folder string) map[string][]byte {
	tb.Helper()
	names, err := filepath.Glob(filepath.Join("testdata", folder, "*"))
	if err != nil || len(names) == 0 {
		tb.Fatalf("testdata/%s holds no files (%v)", folder, err)
	}
	files := map[string][]byte{}
	for _, n := range names {
		b, err := os.ReadFile(n)
		if err != nil {
			tb.Fatal(err)
		}
		files[filepath.Base(n)] = b
	}
	return files
}

func TestShapesAreReadAsTheyAreMeant(t *testing.T) {
	files := corpus(t, "shapes")
	for name := range shapes {
		if files[name] == nil {
			t.Errorf("testdata/shapes has no %s", name)
		}
	}
	for name, raw := range files {
		t.Run(name, func(t *testing.T) {
			want, listed := shapes[name]
			if !listed {
				t.Fatal("nothing is expected of this file")
			}
			f, err := Read(name, bytes.NewReader(raw), Options{})
			if err != nil {
				t.Fatal(err)
			}
			r := &f.Report
			if r.Encoding != want.encoding || r.Separator != want.separator || r.Decimal != want.decimal {
				t.Errorf("read as %s, %s, %s; want %s, %s, %s", r.Encoding, r.Separator, r.Decimal, want.encoding, want.separator, want.decimal)
			}
			if r.FirstLine != want.firstLine || r.Rows != want.rows || len(r.Skipped) != want.skipped {
				t.Errorf("%d rows from line %d, %d skipped; want %d, %d, %d", r.Rows, r.FirstLine, len(r.Skipped), want.rows, want.firstLine, want.skipped)
			}
			from, to := f.Spectrum.Range()
			if from != want.from || to != want.to {
				t.Errorf("%g to %g nm; want %g to %g", from, to, want.from, want.to)
			}
			if f.Spectrum.Quantity() != want.quantity {
				t.Errorf("%v (%s); want %v", f.Spectrum.Quantity(), r.QuantityFrom, want.quantity)
			}
			v := f.Spectrum.Values()
			if v[0] != want.first || v[len(v)-1] != want.last {
				t.Errorf("values from %g to %g; want %g to %g", v[0], v[len(v)-1], want.first, want.last)
			}
			warnings := strings.Join(r.Warnings, "\n")
			if want.warning == "" && warnings != "" || !strings.Contains(warnings, want.warning) {
				t.Errorf("warnings %q; want %q", warnings, want.warning)
			}
			if _, err := OpenWide(name, bytes.NewReader(raw), int64(len(raw)), Options{}); err != ErrSingle {
				t.Errorf("opened as a batch: %v; want ErrSingle", err)
			}
		})
	}
}

func TestMetadataOfTheHeaderIsKept(t *testing.T) {
	f, err := Read("x", bytes.NewReader(corpus(t, "shapes")["tab_decimal_comma_crlf.txt"]), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []Pair{{"Lamp", "invented"}, {"Integration time", "120 ms"}}
	if len(f.Report.Metadata) != len(want) || f.Report.Metadata[0] != want[0] || f.Report.Metadata[1] != want[1] {
		t.Errorf("metadata %v; want %v", f.Report.Metadata, want)
	}
}
