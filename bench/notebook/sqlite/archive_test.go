package sqlite

import (
	"archive/zip"
	"bytes"
	"context"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
	"lampassay/bench/notebook/archive"
)

// full makes a notebook with a record of every kind and readings of every sort.
// All of it is invented.
func full(tb testing.TB) *Store {
	tb.Helper()
	ctx := tb.Context()
	s := fresh(tb)
	must := func(err error) {
		tb.Helper()
		if err != nil {
			tb.Fatal(err)
		}
	}
	day := func(m time.Month, d int) notebook.Day {
		return notebook.Day{Time: time.Date(2026, m, d, 0, 0, 0, 0, time.UTC)}
	}
	photo, err := s.Keep(ctx, "tube.jpg", "image/jpeg", strings.NewReader("\xff\xd8 no real picture"))
	must(err)
	photo.Caption = "as it came; <b>unsafe</b> & \"quoted\""
	hours, empty, third := 1200.5, 0.0, 1.0/3
	lamp, err := s.Lamps().Add(ctx, notebook.Lamp{
		Name: "Kitchen tube", Maker: "Invented", Technology: "fluorescent", Gear: "electronic ballast", Base: "G13",
		BurnedHours: &hours, Declared: []notebook.Declared{{Quantity: "luminous_flux", Value: 3350, Unit: "lm", Source: "box"}},
		History: []notebook.Event{{On: day(3, 1), Text: "bought"}}, Photos: []notebook.Attachment{photo}, Notes: "first line\nsecond, line; with 'marks' \u2028 λ",
	})
	must(err)
	meter, err := s.Instruments().Add(ctx, notebook.Instrument{Name: "Plug meter", Sort: "power meter", Calibrations: []notebook.Calibration{{What: "power", Made: day(2, 1), TrustedDays: 365}}})
	must(err)
	halogen, err := s.References().Add(ctx, notebook.Reference{Name: "Halogen 12 V", Values: []notebook.Declared{{Quantity: "cct", Value: 2856, Unit: "K"}}})
	must(err)
	sitting, err := s.Sittings().Add(ctx, notebook.Sitting{
		Lamp: lamp.ID, Title: "Run-up", Started: time.Date(2026, 11, 25, 9, 0, 0, 123456000, time.FixedZone("", 3600)),
		SetUp: notebook.SetUp{DistanceM: &third, AmbientC: &empty, Position: "horizontal"}, Instruments: []notebook.ID{meter.ID}, References: []notebook.ID{halogen.ID},
		Checklist: []notebook.Step{{Text: "fan off"}}, Rule: &notebook.Rule{BegunFrom: "en-13032-4", BurningS: 180, WindowS: 120, Spread: 0.01 / 3},
		Struck: []notebook.Strike{{From: 2, To: 2, Reason: "door opened"}},
	})
	must(err)
	g := newSpectra(64)
	other := newSpectra(32)
	var all []notebook.Reading
	for i := range 20 {
		all = append(all, g.at(i, 1), watts(float64(i)))
	}
	odd := other.at(20, 0)
	odd.Curve.Samples[3], odd.Curve.Samples[4], odd.Curve.Samples[5], odd.Curve.Samples[6] = math.NaN(), math.Copysign(0, -1), 5e-324, -math.MaxFloat64
	over := watts(21)
	over.Values[0] = notebook.Value{Key: "power", Unit: "W", Flag: "over range"}
	over.Flags, over.Raw = []string{"half a line; cut", "clock jumped back"}, "PW=\t9.9E37\r\n\x00\\"
	all = append(all, odd, g.at(21, 1), over,
		notebook.Reading{At: time.Date(2026, 11, 25, 9, 0, 22, 0, time.UTC), Channel: "bench", Note: "=door, \"opened\"\nand shut"},
		notebook.Reading{At: time.Date(2026, 11, 25, 9, 0, 23, 1000, time.UTC), Channel: "photodiode", Curve: &notebook.Curve{Quantity: "V", RateHz: 48000, Samples: []float64{0.1, 0.2, 0.1, -0.05}}})
	n, err := s.Append(ctx, sitting.ID, all)
	must(err)
	tally, err := s.Tally(ctx, sitting.ID)
	must(err)
	tm27, err := s.Keep(ctx, "tube.spdx", "application/xml", strings.NewReader("<IESTM2714/>"))
	must(err)
	var ids []notebook.ID
	for _, cct := range []float64{2987.5, 3012.25} {
		a, err := s.Assays().Add(ctx, notebook.Assay{
			Lamp: lamp.ID, Sitting: sitting.ID, Made: time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC), Program: "test",
			Methods: map[string]string{"ra": "CIE 13.3-1995"}, Inputs: []notebook.Input{{What: "readings", From: 1, To: n, SHA256: tally.Chain}},
			Figures: map[string]float64{"cct": cct, "ra": 82.1}, Strip: []float64{0, .5, 1}, Spectrum: &tm27, Record: []byte(`{ "quantities": {"cct": {"value": 2987.5e0, "why": "<&>"}} }`),
		})
		must(err)
		ids = append(ids, a.ID)
	}
	lamp.PrimaryAssay = ids[0] // the lamp names an assay that names the lamp
	_, err = s.Lamps().Update(ctx, *lamp)
	must(err)
	_, err = s.Comparisons().Add(ctx, notebook.Comparison{Title: "Before and after", Assays: ids, Normalise: "per lumen"})
	must(err)
	p, err := s.Publications().Add(ctx, notebook.Publication{Title: "Tubes", Made: time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC), Assays: ids})
	must(err)
	p.Errata = append(p.Errata, notebook.Erratum{At: time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC), Text: "the second was dimmed"})
	_, err = s.Publications().Update(ctx, *p)
	must(err)
	spare, err := s.Lamps().Add(ctx, notebook.Lamp{Name: "Broken"})
	must(err)
	away, err := s.Trash(ctx, notebook.Ref{Kind: notebook.KindLamp, ID: spare.ID})
	must(err)
	_, err = s.Undo(ctx, away)
	must(err)
	_, err = s.Trash(ctx, notebook.Ref{Kind: notebook.KindLamp, ID: spare.ID})
	must(err)
	return s
}

func export(tb testing.TB, s *Store) []byte {
	tb.Helper()
	var b bytes.Buffer
	if err := s.Export(context.Background(), &b); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

func load(tb testing.TB, archived []byte) (*Store, error) {
	path := filepath.Join(tb.TempDir(), "copy.notebook")
	if _, err := Import(context.Background(), path, bytes.NewReader(archived), int64(len(archived)), archive.Limits{}); err != nil {
		if left, _ := filepath.Glob(path + "*"); len(left) > 0 {
			tb.Errorf("a refused archive left %v", left)
		}
		return nil, err
	}
	s, err := Open(context.Background(), path)
	if err == nil {
		tb.Cleanup(func() { s.Close() })
	}
	return s, err
}

func TestAnArchiveRoundTripsByteForByte(t *testing.T) {
	s := full(t)
	wantClean(t, s)
	first := export(t, s)
	again, err := load(t, first)
	if err != nil {
		t.Fatal(err)
	}
	wantClean(t, again)
	if second := export(t, again); !bytes.Equal(first, second) {
		t.Errorf("the second archive differs from the first: %s", difference(t, first, second))
	}
	if other := export(t, full(t)); !bytes.Equal(first, other) {
		t.Errorf("the same notebook made twice gives another archive: %s", difference(t, first, other))
	}
	// Work goes on where it stopped.
	if l := tube(t, again); l.ID != 3 {
		t.Errorf("the next lamp has the number %d, want 3", l.ID)
	}
	if n, err := again.Append(t.Context(), 1, []notebook.Reading{watts(99)}); err != nil || n != 46 {
		t.Errorf("the next reading has the number %d, want 46 (%v)", n, err)
	}
	wantClean(t, again)
}

// unzip returns the entries of an archive in their order.
func unzip(tb testing.TB, b []byte) (names []string, texts map[string]string) {
	tb.Helper()
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		tb.Fatal(err)
	}
	texts = map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			tb.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			tb.Fatal(err)
		}
		names, texts[f.Name] = append(names, f.Name), string(text)
	}
	return names, texts
}

// rezip makes an archive of entries, leaving out what has no text.
func rezip(tb testing.TB, names []string, texts map[string]string) []byte {
	tb.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, n := range names {
		if text, is := texts[n]; is {
			w, err := z.Create(n)
			if err != nil {
				tb.Fatal(err)
			}
			if _, err := io.WriteString(w, text); err != nil {
				tb.Fatal(err)
			}
		}
	}
	if err := z.Close(); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

func difference(tb testing.TB, a, b []byte) string {
	an, at := unzip(tb, a)
	_, bt := unzip(tb, b)
	for _, n := range an {
		if at[n] != bt[n] {
			return n + ":\n" + at[n] + "\nbut\n" + bt[n]
		}
	}
	return "in the zip itself"
}

func TestATamperedArchiveIsRefused(t *testing.T) {
	whole := export(t, full(t))
	edit := func(name, old, new string) func([]string, map[string]string) []string {
		return func(names []string, texts map[string]string) []string {
			if !strings.Contains(texts[name], old) {
				t.Errorf("%s does not contain %q", name, old)
			}
			texts[name] = strings.Replace(texts[name], old, new, 1)
			return names
		}
	}
	for _, c := range []struct {
		name   string
		tamper func(names []string, texts map[string]string) []string
		code   notebook.Code
		says   string
	}{
		{"a value changed", edit("sitting/1/readings.csv", ",27.03,W", ",28.03,W"), notebook.Invalid, "do not add up"},
		{"a sample changed", edit("sitting/1/spectra.csv", "\n1,", "\n1,9"), notebook.Invalid, "do not add up"},
		{"a wavelength changed", edit("sitting/1/spectra.csv", "wavelength_nm,350", "wavelength_nm,349"), notebook.Invalid, "do not add up"},
		{"a number that is none", edit("sitting/1/readings.csv", ",27.03,W", ",2x,W"), notebook.Invalid, `sitting/1/readings.csv, line 6: value is "2x"`},
		{"a moment that is none", edit("sitting/1/readings.csv", "1,2026-", "1,soon"), notebook.Invalid, "line 2: at is"},
		{"a column missing", edit("sitting/1/readings.csv", "n,at,", "n,"), notebook.Invalid, "the columns are n, at"},
		{"a file changed", edit("files/"+string(notebook.SumOf([]byte("<IESTM2714/>")))+".xml", "<", "< "), notebook.Invalid, "checksum"},
		{"a record changed", edit("lamp/1.json", "Invented", "Renamed"), notebook.Invalid, "lamp 1 is not what the journal says"},
		{"a field nobody knows", edit("lamp/1.json", `"name"`, `"nome"`), notebook.Invalid, "lamp/1.json"},
		{"no lamp for a sitting", edit("sitting/1.json", `"lamp": 1`, `"lamp": 7`), notebook.Invalid, "refers to"},
		{"another format", edit("notebook.json", "notebook archive", "shopping list"), notebook.Invalid, "shopping list"},
		{"a later version", edit("notebook.json", `"version": 1`, `"version": 2`), notebook.Newer, "version 2"},
		{"a change left out", edit("journal.jsonl", `{"seq":1,`, `{"seq":99,`), notebook.Invalid, ""},
		{"no journal", func(n []string, texts map[string]string) []string { delete(texts, "journal.jsonl"); return n }, notebook.Invalid, "journal.jsonl is missing"},
		{"no spectra", func(n []string, texts map[string]string) []string { delete(texts, "sitting/1/spectra.csv"); return n }, notebook.Invalid, "a spectrum has no table"},
		{"a lamp left out", func(n []string, texts map[string]string) []string { delete(texts, "lamp/1.json"); return n }, notebook.Invalid, ""},
		{"a path upwards", func(n []string, texts map[string]string) []string {
			texts["../../x"] = "x"
			return append(n, "../../x")
		}, notebook.Invalid, `"../../x" belongs to no notebook`},
		{"a file too many", func(n []string, texts map[string]string) []string { texts["x"] = "x"; return append(n, "x") }, notebook.Invalid, `"x" belongs to no notebook`},
		{"an entry twice", func(n []string, _ map[string]string) []string { return append(n, n[0]) }, notebook.Invalid, "twice"},
	} {
		t.Run(c.name, func(t *testing.T) {
			names, texts := unzip(t, whole)
			names = c.tamper(names, texts)
			_, err := load(t, rezip(t, names, texts))
			wantCode(t, err, c.code, c.says)
		})
	}
	_, err := load(t, []byte("nm,counts\n400,1\n"))
	wantCode(t, err, notebook.Invalid, "no zip file")
}

func TestAnArchiveThatUnfoldsTooFarIsRefused(t *testing.T) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, err := z.Create("notebook.json")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write(bytes.Repeat([]byte(" "), 8<<20)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	for _, l := range []archive.Limits{{Bytes: 1 << 20}, {JSONBytes: 1 << 20}} {
		path := filepath.Join(t.TempDir(), "bomb.notebook")
		_, err := Import(t.Context(), path, bytes.NewReader(b.Bytes()), int64(b.Len()), l)
		wantCode(t, err, notebook.Invalid, "bytes")
		if _, err := os.Stat(path); err == nil {
			t.Error("a notebook was left behind")
		}
	}
}
