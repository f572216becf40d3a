package standards

import (
	"bytes"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// near fails unless got is within tol of want.
func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.9g, want %.9g ± %.2g", what, got, want, tol)
	}
}

func sum(w []float64) (s float64) {
	for _, v := range w {
		s += v
	}
	return s
}

func TestEveryTableLoadsWithItsSealAndItsHead(t *testing.T) {
	all, err := Tables()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 19 {
		t.Errorf("%d tables are compiled in, want 19", len(all))
	}
	doi := regexp.MustCompile(`^10\.25039/CIE\.DS\.[a-z0-9]{8}$`)
	for _, table := range all {
		if table.Title == "" || table.Source == "" || table.Licence == "" || table.Changed == "" {
			t.Errorf("%s: the head lacks title, source, licence or what was changed", table.Name)
		}
		if fromCIE := table.Licence == "CC BY-SA 4.0"; fromCIE != doi.MatchString(table.DOI) {
			t.Errorf("%s: licence %s with DOI %q", table.Name, table.Licence, table.DOI)
		}
		if !strings.Contains(table.Cite(), table.Source) || !strings.Contains(table.Cite(), table.DOI) {
			t.Errorf("%s: cited as %q", table.Name, table.Cite())
		}
		for c, column := range table.Columns {
			if len(table.Data[c]) != len(table.Nm) {
				t.Errorf("%s: column %s has %d figures for %d wavelengths", table.Name, column, len(table.Data[c]), len(table.Nm))
			}
			if table.Name != "lines" && slices.ContainsFunc(table.Data[c], math.IsNaN) {
				t.Errorf("%s: column %s holds what is not a number", table.Name, column)
			}
		}
	}
}

func TestTablesSpanWhatTheyShould(t *testing.T) {
	for _, c := range []struct {
		name        string
		first, last float64
		step        float64 // 0: uneven
		columns     int
	}{
		{"cie1931", 360, 830, 1, 3}, {"cie1964", 360, 830, 5, 3}, {"v_prime", 380, 780, 1, 1},
		{"alphaopic", 380, 780, 1, 5}, {"tcs", 380, 780, 5, 14}, {"ces", 380, 780, 5, 99},
		{"daylight", 300, 830, 5, 3}, {"illuminant_a", 300, 830, 1, 1}, {"illuminant_a_d65", 300, 830, 5, 2},
		{"illuminant_d50", 300, 830, 5, 1}, {"illuminant_c", 300, 780, 5, 1}, {"illuminant_fl", 380, 780, 5, 12},
		{"illuminant_fl3", 380, 780, 5, 15}, {"illuminant_hp", 380, 780, 5, 5}, {"illuminant_led", 380, 780, 5, 9},
		{"actinic_uv", 200, 400, 0, 1}, {"blue_light", 300, 700, 5, 1}, {"retinal_thermal", 380, 1400, 5, 1},
	} {
		table, err := load(c.name)
		if err != nil {
			t.Error(err)
			continue
		}
		n := len(table.Nm)
		if table.Nm[0] != c.first || table.Nm[n-1] != c.last || len(table.Columns) != c.columns {
			t.Errorf("%s: %g–%g nm, %d columns; want %g–%g nm, %d", c.name, table.Nm[0], table.Nm[n-1], len(table.Columns), c.first, c.last, c.columns)
		}
		for i := 1; i < n && c.step > 0; i++ {
			if table.Nm[i]-table.Nm[i-1] != c.step {
				t.Errorf("%s: %g nm follows %g nm", c.name, table.Nm[i], table.Nm[i-1])
			}
		}
	}
}

func TestADamagedTableIsReported(t *testing.T) {
	good, err := files.ReadFile("data/cie1931.csv")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := parse("cie1931", good); err != nil {
		t.Fatalf("undamaged: %v", err)
	}
	replaced := func(from, to string) []byte {
		if !bytes.Contains(good, []byte(from)) {
			t.Fatalf("the table has no %q to replace", from)
		}
		return bytes.Replace(good, []byte(from), []byte(to), 1)
	}
	for _, c := range []struct {
		name string
		raw  []byte
		want string
	}{
		{"one digit", replaced("555,", "556,"), "do not match their seal"},
		{"cut short", good[:len(good)-2], "do not match their seal"},
		{"a blank added", append(slices.Clone(good), ' '), "do not match their seal"},
		{"line ends changed", bytes.ReplaceAll(good, []byte("\n"), []byte("\r\n")), "do not match their seal"},
		{"a head line unknown", replaced("# title", "# titel"), "unknown head line"},
		{"empty", nil, "do not match their seal"},
	} {
		if _, err := parse("cie1931", c.raw); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one that says %q", c.name, err, c.want)
		}
	}
	if _, err := load("cie2099"); err == nil {
		t.Error("a table that is not there loaded")
	}
}

// FuzzTable: no bytes make the reader panic, sealed or not.
func FuzzTable(f *testing.F) {
	f.Add([]byte("# title: x\nnm,a\n500,1\n501,2\n"), true)
	f.Add([]byte("nm,a\n500,1\n500,2\n"), true)
	f.Add([]byte("nm\n"), true)
	f.Add([]byte("\"\n"), true)
	f.Add([]byte("# sha256: 00\n"), false)
	f.Fuzz(func(t *testing.T, raw []byte, seal bool) {
		if seal {
			raw = sealed(raw)
		}
		table, err := parse("fuzz", raw)
		if (table == nil) == (err == nil) {
			t.Errorf("table %v with error %v", table, err)
		}
	})
}
