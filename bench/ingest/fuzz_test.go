package ingest

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"lampassay/light/spectrum"
)

// seed adds the corpus and the bad inputs that are short.
func seed(f *testing.F) {
	for _, raw := range corpus(f, "shapes") {
		f.Add(raw)
	}
	minimal, err := os.ReadFile("testdata/minimal.spdx")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(minimal)
	for _, s := range []string{
		"", "\n", "380,0.5\n", "380;1,5\n390;2,5\n", "nm,a,b\n380,1,2\n381,3,NaN\n", "\"380\n\"390,1", "PK\x03\x04", "\xff\xfe3\x008\x00", "\xfe\xff\x00", "\xef\xbb\xbf",
		"<IESTM2714><Header><a><b/></a></Header>", "<<x\n380 1\n390 2\n", "380|1\n|390|2|\n", "1e309 1\n1e-400 2\n", "380\t\n\t390\n",
	} {
		f.Add([]byte(s))
	}
}

// checkProblem requires one printable sentence.
func checkProblem(t *testing.T, err error) {
	t.Helper()
	var p *Problem
	if !errors.As(err, &p) {
		t.Fatalf("%v; want a Problem", err)
	}
	if s := p.Error(); p.Found == "" || p.Want == "" || p.File != "x" || strings.ContainsAny(s, "\r\n\x00") || !utf8.ValidString(s) || len(s) > 600 {
		t.Fatalf("no clear sentence: %q", s)
	}
}

func checkReport(t *testing.T, r *Report) {
	t.Helper()
	if _, err := json.Marshal(r); err != nil {
		t.Fatal(err)
	}
	if s := r.Sentences(); len(s) < 2 {
		t.Fatalf("sentences %q", s)
	}
}

func checkFile(t *testing.T, f *File) {
	t.Helper()
	axis := f.Spectrum.Axis()
	if err := spectrum.CheckAxis(axis); err != nil {
		t.Fatal(err)
	}
	for _, v := range f.Spectrum.Values() {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatal("a value that is no number")
		}
	}
	if f.Report.Rows != len(axis) {
		t.Fatalf("%d rows reported, %d samples", f.Report.Rows, len(axis))
	}
	checkReport(t, &f.Report)
}

func FuzzRead(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, raw []byte) {
		file, err := Read("x", bytes.NewReader(raw), Options{})
		if err != nil {
			checkProblem(t, err)
			return
		}
		checkFile(t, file)
		for _, o := range []Options{{WavelengthUnit: Angstrom}, {WavelengthUnit: WavenumberDensity}, {Photon: true}, {Column: 3}, {Decimal: ','}, {Separator: ' '}} {
			if file, err := Read("x", bytes.NewReader(raw), o); err != nil {
				checkProblem(t, err)
			} else {
				checkFile(t, file)
			}
		}
	})
}

func FuzzTM27(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, raw []byte) {
		file, err := ReadTM27("x", bytes.NewReader(raw), Options{})
		if err != nil {
			checkProblem(t, err)
			return
		}
		checkFile(t, file)
		if file.Spectrum.Quantity() != spectrum.Counts {
			var b bytes.Buffer
			if err := WriteTM27(&b, file.Spectrum, file.TM27); err != nil {
				return // a name that XML allows and this writer does not
			}
			if again, err := ReadTM27("x", &b, Options{WavelengthUnit: Nanometre}); err != nil {
				t.Fatal(err)
			} else if again.Spectrum.Len() != file.Spectrum.Len() {
				t.Fatalf("%d samples became %d", file.Spectrum.Len(), again.Spectrum.Len())
			}
		}
	})
}

func FuzzWide(f *testing.F) {
	seed(f)
	f.Add([]byte(strings.Repeat("380"+strings.Repeat(";1,5", 200)+"\n381"+strings.Repeat(";-2", 200)+"\n", 1)))
	f.Fuzz(func(t *testing.T, raw []byte) {
		w, err := OpenWide("x", bytes.NewReader(raw), int64(len(raw)), Options{})
		if err != nil {
			if err != ErrSingle {
				checkProblem(t, err)
			}
			return
		}
		if err := spectrum.CheckAxis(w.Axis); err != nil {
			t.Fatal(err)
		}
		checkReport(t, &w.Report)
		p := parseWide(t, w, 3)
		for c, err := range p.errs {
			if err != nil {
				checkProblem(t, err)
				continue
			}
			for _, v := range p.spectra[c] {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%v in column %d", v, c)
				}
			}
		}
	})
}

func FuzzDecode(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, raw []byte) {
		text, encoding, problem := Decode(raw)
		if problem != nil {
			return
		}
		if !utf8.Valid(text) || encoding == "" {
			t.Fatalf("%q decodes to %q as %s", raw, text, encoding)
		}
		lines, whole := splitLines(text, len(text)+1)
		n := 0
		for _, l := range lines {
			if bytes.ContainsAny(l.text, "\r\n") {
				t.Fatalf("a line holds a line's end: %q", l.text)
			}
			n += len(l.text)
		}
		if ends := bytes.Count(text, []byte("\n")) + bytes.Count(text, []byte("\r")); !whole || n+ends != len(text) {
			t.Fatalf("%d bytes in lines and %d in their ends, of %d", n, ends, len(text))
		}
	})
}
