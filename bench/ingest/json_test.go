package ingest

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampassay/light/spectrum"
)

func TestJSONIsReadInEveryShape(t *testing.T) {
	for _, c := range []struct {
		name, text, choose string
		path               string
		quantity           spectrum.Quantity
		values             []float64
	}{
		{"pairs", `[[400, 1], [410.5, 2e0], [420, -3]]`, "", "", spectrum.Relative, []float64{1, 2, -3}},
		{"pairs of strings", `[["400", "1"], ["410.5", "2e0"], ["420", "-3"]]`, "", "", spectrum.Relative, []float64{1, 2, -3}},
		{"objects", `[{"nm": 400, "W/nm": 1}, {"nm": 410.5, "W/nm": 2}, {"nm": 420, "W/nm": -3}]`, "", "W/nm", spectrum.Flux, []float64{1, 2, -3}},
		{"objects with times", `[{"time": 1, "wavelength": 400, "value": 1}, {"time": 1, "wavelength": 410.5, "value": 2}, {"time": 1, "wavelength": 420, "value": -3}]`, "", "value", spectrum.Relative, []float64{1, 2, -3}},
		{"arrays", `{"wavelengths_nm": [420, 410.5, 400], "values": [-3, "2", 1], "lamp": "invented"}`, "", "values", spectrum.Relative, []float64{1, 2, -3}},
		{"x and y", `{"x": [400, 410.5, 420], "y": [1, 2, -3]}`, "", "y", spectrum.Relative, []float64{1, 2, -3}},
		{"keys", `{"spectrum": {"400": 1, "410.5": 2, "420": -3}, "unit": "mW/m²/nm"}`, "", "spectrum", spectrum.Irradiance, []float64{1e-3, 2e-3, per(-3, 1e3)}},
		{"nested", `{"lamp": {"name": "invented"}, "data": {"unit": "W/nm", "spectrum": [[400, 1], [410.5, 2], [420, -3]]}}`, "", "data.spectrum", spectrum.Flux, []float64{1, 2, -3}},
		{"the chosen array", `{"data": {"nm": [400, 410.5, 420], "dark": [9, 9, 9], "light": [1, 2, -3]}}`, "data.light", "data.light", spectrum.Relative, []float64{1, 2, -3}},
		{"the chosen part", `{"dark": [[400, 9], [410.5, 9]], "shots": [{"s": [[400, 1], [410.5, 2], [420, -3]]}]}`, "shots.0", "shots.0.s", spectrum.Relative, []float64{1, 2, -3}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Read("x", strings.NewReader(c.text), Options{Path: c.choose})
			if err != nil {
				t.Fatal(err)
			}
			if f.Report.Format != formatJSON || f.Report.Path != c.path || f.Spectrum.Quantity() != c.quantity {
				t.Errorf("%s at %q, %v; want %q, %v", f.Report.Format, f.Report.Path, f.Spectrum.Quantity(), c.path, c.quantity)
			}
			if !slices.Equal(f.Spectrum.Axis(), []float64{400, 410.5, 420}) || !slices.Equal(f.Spectrum.Values(), c.values) {
				t.Errorf("%v %v; want %v", f.Spectrum.Axis(), f.Spectrum.Values(), c.values)
			}
			checkReport(t, &f.Report)
		})
	}
}

func TestWhatStandsBesideACurveIsKept(t *testing.T) {
	f, err := Read("x", strings.NewReader(`{"lamp": "invented", "meta": {"ms": 120}, "a.b": {"averages": 3, "s": [[400, 1], [410, 2]], "other": {"t": 5}}}`), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []Pair{{"lamp", "invented"}, {"meta.ms", "120"}, {"a.b.averages", "3"}, {"a.b.other.t", "5"}}
	if !slices.Equal(f.Report.Metadata, want) {
		t.Errorf("%v; want %v", f.Report.Metadata, want)
	}
}

func TestBadJSONIsOneSentence(t *testing.T) {
	for _, c := range []struct{ name, text, path, want string }{
		{"two curves", `{"nm": [400, 410], "dark": [1, 2], "light": [3, 4]}`, "", "x: found JSON with 2 curves; choose by its path: “dark”, “light”"},
		{"a series", `[{"t": 0, "s": [[400, 1], [410, 2]]}, {"t": 1, "s": [[400, 1], [410, 2]]}]`, "", "x: found JSON with 2 curves; choose by its path: “0.s”, “1.s”"},
		{"a path to nothing", `{"a": [[400, 1], [410, 2]]}`, "b", "x: found JSON without a spectrum at “b”; it can be pairs, objects with a wavelength and a value, or arrays of both"},
		{"no curve", `{"a": 1}`, "", "x: found JSON without a spectrum; it can be pairs, objects with a wavelength and a value, or arrays of both"},
		{"arrays of two lengths", `{"nm": [400, 410, 420], "v": [1, 2]}`, "", "x: found JSON without a spectrum; it can be pairs, objects with a wavelength and a value, or arrays of both"},
		{"a word for a value", `[[400, 1], [410, "red"]]`, "", "x: found “red” where the value at 410 should be; write it as a number, with a decimal point"},
		{"a comma for a point", `[[400, 1], [410, "1,500"]]`, "", "x: found “1,500” where the value at 410 should be; write it as a number, with a decimal point"},
		{"truth for a value", `[[400, 1], [410, true]]`, "", "x: found “true” where the value at 410 should be; write it as a number, with a decimal point"},
		{"nulls", `[[400, 1], [410, null]]`, "", "x: found 1 sample; a spectrum needs at least two"},
		{"two values", `[[400, 1], [400, 2]]`, "", "x: found 400 a second time, with the value 2 where the first has 1; a wavelength can have one value: remove the wrong row"},
		{"broken off", "{\"nm\": [400,\n410", "", "x, line 2: found broken JSON; export the file again"},
		{"two documents", "[[400, 1], [410, 2]]\n[]", "", "x, line 2: found something behind the end of the JSON document; one file holds one document"},
		{"deep nesting", strings.Repeat("[", 1e5), "", "x, line 1: found JSON more than 64 deep; export the spectrum alone"},
		{"ångström", `[[4000, 1], [4100, 2]]`, "", "x: found wavelengths from 4000 to 4100, which cannot be nanometres of light; if they are ångström say --wavelength-unit angstrom"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read("x", strings.NewReader(c.text), Options{Path: c.path})
			if err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestTextThatBeginsWithABracketIsText(t *testing.T) {
	f, err := Read("x", strings.NewReader("[Data]\n400;1\n410;2\n"), Options{})
	if err != nil || f.Report.Format != formatText {
		t.Error(f, err)
	}
}

func TestJSONGivesTheSameBitsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawText(t)
		pairs, objects := [][2]float64{}, []map[string]float64{}
		for i := range d.axis {
			pairs = append(pairs, [2]float64{d.axis[i], d.values[i]})
			objects = append(objects, map[string]float64{"wavelength": d.axis[i], "value": d.values[i]})
		}
		shape := rapid.SampledFrom([]any{pairs, objects, map[string]any{"nm": d.axis, "v": d.values}}).Draw(t, "shape")
		raw, err := json.Marshal(map[string]any{"of": "lamp", "deep": map[string]any{"er": shape}})
		if err != nil {
			t.Fatal(err)
		}
		f, err := Read("x", bytes.NewReader(raw), Options{})
		if err != nil {
			t.Fatalf("%v\n%s", err, raw)
		}
		if !slices.EqualFunc(f.Spectrum.Axis(), d.axis, same) || !slices.EqualFunc(f.Spectrum.Values(), d.values, same) {
			t.Fatalf("%v %v from %s", f.Spectrum.Axis(), f.Spectrum.Values(), raw)
		}
	})
}

func FuzzJSON(f *testing.F) {
	for _, s := range []string{
		`[[400, 1], [410.5, "2"]]`, `{"nm": [400, 410], "a.b": {"c": {"400": 1, "410": null}}, "v": [1, 2]}`, `[{"x": 400, "y": 1}, {"x": 410, "y": 2}]`,
		`{`, `[[[[`, `{"a": "\u0000\ud800"}`, `[[400, 1, 2], [410, 2, 3]]`, "[x]\n400 1\n410 2\n",
	} {
		f.Add([]byte(s), "")
		f.Add([]byte(s), "a.b.c")
	}
	f.Fuzz(func(t *testing.T, raw []byte, path string) {
		for _, o := range []Options{{}, {Path: path}, {Column: 3}} {
			if file, err := Read("x", bytes.NewReader(raw), o); err != nil {
				checkProblem(t, err)
			} else {
				checkFile(t, file)
			}
		}
	})
}
