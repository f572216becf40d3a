package ingest

import (
	"bytes"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"lampassay/light/spectrum"
)

const recipeFile = "Lamp: invented\nnm;dark;light [mW/m²/nm]\n400,5;1;2,5\n410,5;1;3,5\n"

// recipeOf reads a text with options and makes the recipe of it.
func recipeOf(t *testing.T, text string, o Options) *Recipe {
	t.Helper()
	f, err := Read("first", strings.NewReader(text), o)
	if err != nil {
		t.Fatal(err)
	}
	return NewRecipe("bench", &f.Report, &o)
}

func TestARecipeComesBackFromItsFile(t *testing.T) {
	radiance, sampled := spectrum.Radiance, spectrum.Sampled
	o := Options{Separator: ';', Decimal: ',', Column: 3, Quantity: &radiance, Projection: &sampled, WavelengthUnit: Nanometre, Photon: true, Time: Clock, Sheet: "s", Path: "p"}
	r := recipeOf(t, recipeFile, o)
	r.Notes = "µ & <b>"
	var b bytes.Buffer
	if err := r.Save(&b); err != nil {
		t.Fatal(err)
	}
	again, err := LoadRecipe(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(again, r) {
		t.Errorf("%+v; want %+v", again, r)
	}
	back, err := again.Options()
	if err != nil || !reflect.DeepEqual(back, o) {
		t.Errorf("%+v, %v; want %+v", back, err, o)
	}
}

func TestTheRecipeOfTheDocumentationIsTheProgramsOwn(t *testing.T) {
	doc, err := os.ReadFile("../../docs/format/recipe.md")
	if err != nil {
		t.Fatal(err)
	}
	_, example, _ := strings.Cut(string(doc), "```json\n")
	example, _, _ = strings.Cut(example, "```")
	r := recipeOf(t, recipeFile, Options{Column: 3})
	r.Notes = "The second column is the dark reading."
	var b bytes.Buffer
	if err := r.Save(&b); err != nil {
		t.Fatal(err)
	}
	if b.String() != example {
		t.Errorf("the documentation has\n%s\nwhere the program writes\n%s", example, b.String())
	}
}

func TestARecipeReadsFilesOfItsShape(t *testing.T) {
	r := recipeOf(t, recipeFile, Options{Column: 3})
	for name, text := range map[string]string{
		"the same":                 recipeFile,
		"more header":              "Lamp: other\nBench: 2\n\nnm;dark;light [mW/m²/nm]\n400,5;1;2,5\n410,5;1;3,5\n",
		"numbers without decimals": "nm;dark;light [mW/m²/nm]\n400;1;2\n410;1;3\n",
	} {
		f, err := r.Read("x", strings.NewReader(text), Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if f.Spectrum.Quantity() != spectrum.Irradiance || f.Report.Column != 3 || f.Spectrum.Values()[1] < 2e-3 {
			t.Errorf("%s: %v of column %d, %v", name, f.Spectrum.Quantity(), f.Report.Column, f.Spectrum.Values())
		}
	}
}

func TestAFileOfAnotherShapeIsOneSentence(t *testing.T) {
	const is = "x: found another shape than the recipe “bench” is for: "
	const want = "; read the file without it, or make a recipe for it"
	table := recipeOf(t, recipeFile, Options{Column: 3})
	tree := recipeOf(t, `{"a": {"nm": [400, 410], "v": [1, 2]}}`, Options{})
	for _, c := range []struct {
		name string
		r    *Recipe
		text string
		want string
	}{
		{"another separator and mark", table, "nm,dark,light [mW/m²/nm]\n400.5,1,2.5\n410.5,1,3.5\n", is + "the separator is “comma” and should be “semicolon”, the decimal mark is “point” and should be “comma”" + want},
		{"another unit", table, "nm;dark;light [W/nm]\n400,5;1;2,5\n410,5;1;3,5\n", is + "the columns are “nm | dark | light [W/nm]” and should be “nm | dark | light [mW/m²/nm]”, the unit is “W/nm” and should be “mW/m²/nm”" + want},
		{"no headings", table, "400,5;1;2,5\n410,5;1;3,5\n", is + "the columns are not given and should be “nm | dark | light [mW/m²/nm]”, the unit is not given and should be “mW/m²/nm”" + want},
		{"another format", table, `[[400, 1], [410, 2]]`, is + "it is “JSON” and should be “text”" + want},
		{"another path", tree, `{"b": {"nm": [400, 410], "v": [1, 2]}}`, is + "the curve is at “b.v” and should be “a.v”" + want},
		{"the same shape with a fault", table, "nm;dark;light [mW/m²/nm]\n400,5;1;2,5\n410,5;1;red\n411,5;1;1\n", "x, line 3: found “red” where a value should be; correct or remove the line"},
		{"nothing", table, "", "x: found nothing: the file is empty; a spectrum is rows of wavelength and value"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := c.r.Read("folder/x", strings.NewReader(c.text), Options{})
			if err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestASeriesHasARecipeToo(t *testing.T) {
	s, err := ReadSeries("first", strings.NewReader(seriesTexts["rows"].text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := NewRecipe("run-up", &s.Report, new(Options))
	if again, err := r.ReadSeries("x", strings.NewReader("time,400,410,420,430\n0,1,1,1,1\n"), Options{}); err != nil || len(again.Times) != 1 {
		t.Error(again, err)
	}
	_, err = r.ReadSeries("x", strings.NewReader(seriesTexts["rows without a corner"].text), Options{})
	if want := "x: found another shape than the recipe “run-up” is for: the columns are not given and should be “time”, the times are “clock” and should be “elapsed”; read the file without it, or make a recipe for it"; err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

func TestARecipeKeepsTheCalibration(t *testing.T) {
	o := Options{Axis: onDetector}
	r := recipeOf(t, pixels(40), o)
	if f, err := r.Read("x", strings.NewReader(pixels(40)), o); err != nil || f.Report.WavelengthUnit != "pixel" {
		t.Error(f, err)
	}
}

func TestBadRecipesAreOneSentence(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "ingest: this is no recipe: it is not JSON with a format and a version"},
		{"[]", "ingest: this is no recipe: it is not JSON with a format and a version"},
		{"{}", "ingest: this is no recipe: its format is “” and should be “lampassay recipe”"},
		{`{"format": "lampassay instrument", "version": 1}`, "ingest: this is no recipe: its format is “lampassay instrument” and should be “lampassay recipe”"},
		{`{"format": "lampassay recipe", "version": 2}`, "ingest: the recipe is of version 2 and this program reads up to 1"},
		{`{"format": "lampassay recipe", "version": 1, "nme": "x"}`, "ingest: the recipe cannot be read: unknown field \"nme\""},
		{`{"format": "lampassay recipe", "version": 1}`, "ingest: the recipe has no name"},
		{`{"format": "lampassay recipe", "version": 1, "name": "x"}`, "ingest: the recipe “x” does not say what files it is for"},
		{`{"format": "lampassay recipe", "version": 1, "name": "x", "shape": {"format": "text"}, "fixed": {"separator": "!"}}`, "ingest: the recipe “x”: ingest: unknown separator \"!\": use auto, comma, semicolon, tab, space or pipe"},
		{strings.Repeat(" ", maxRecipe+1), "ingest: this is no recipe: it is larger than 1 MB"},
	} {
		if _, err := LoadRecipe(strings.NewReader(c.text)); err == nil || err.Error() != c.want {
			t.Errorf("got  %v\nwant %s", err, c.want)
		}
	}
}

func TestAPreviewShowsTheCutAndTheFirstValues(t *testing.T) {
	p, err := Look("x", strings.NewReader(recipeFile), Options{Column: 3})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(p.Before, []Line{{1, "Lamp: invented"}, {2, "nm;dark;light [mW/m²/nm]"}}) || !slices.Equal(p.Data, []Line{{3, "400,5;1;2,5"}, {4, "410,5;1;3,5"}}) {
		t.Errorf("%v | %v", p.Before, p.Data)
	}
	if len(p.Curves) != 1 || p.Curves[0].Name != "x" || !slices.Equal(p.Curves[0].Nm, []float64{400.5, 410.5}) || !slices.Equal(p.Curves[0].Values, []float64{2.5e-3, 3.5e-3}) {
		t.Errorf("%+v", p.Curves)
	}
	for text, names := range map[string][]string{
		"nm,a,b,c,d\n400,1.0,2,3,4\n410,5,6,7,8\n": {"a", "b", "c"},
		seriesTexts["rows"].text:                   {"0 s", "10 s", "25 s"},
		seriesTexts["long"].text:                   {"0 s", "10 s", "25 s"},
		`{"nm": [400, 410], "v": [1, 2]}`:          {"x"},
	} {
		p, err := Look("x", strings.NewReader(text), Options{})
		if err != nil || len(p.Data) == 0 {
			t.Errorf("%q: %v %v", text, p, err)
			continue
		}
		var got []string
		for _, c := range p.Curves {
			got = append(got, c.Name)
		}
		if !slices.Equal(got, names) {
			t.Errorf("%q: %v; want %v", text, got, names)
		}
	}
}

func TestAPreviewShowsWhatCannotBeRead(t *testing.T) {
	p, err := Look("x", strings.NewReader("Lamp: invented\n4000,1.0\n4100,2\n"), Options{})
	if want := "x: found wavelengths from 4000 to 4100, which cannot be nanometres of light; if they are ångström say --wavelength-unit angstrom"; err == nil || err.Error() != want {
		t.Fatalf("got  %v\nwant %s", err, want)
	}
	if len(p.Before) != 1 || len(p.Data) != 2 || p.Curves != nil || p.Report.Separator != "comma" {
		t.Errorf("%+v", p)
	}
}

func FuzzLook(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, raw []byte) {
		p, err := Look("x", bytes.NewReader(raw), Options{})
		if err != nil {
			checkProblem(t, err)
			return
		}
		if len(p.Data) == 0 {
			t.Fatal("read, but shows no line of it")
		}
		r := NewRecipe("own", &p.Report, new(Options))
		if err := r.Check("x", &p.Report); err != nil {
			t.Fatal(err)
		}
	})
}

func FuzzRecipe(f *testing.F) {
	f.Add([]byte(`{"format": "lampassay recipe", "version": 1, "name": "x", "shape": {"format": "text", "separator": "comma"}, "fixed": {"column": 3}}`), []byte("nm,a,b\n400,1,2\n410,1,2\n"))
	f.Add([]byte(`{"format": "lampassay recipe", "version": 1, "name": "x", "shape": {"format": "JSON", "path": "a"}, "fixed": {"photon": true}}`), []byte(`{"a": [[400, 1], [410, 2]]}`))
	f.Fuzz(func(t *testing.T, recipe, raw []byte) {
		r, err := LoadRecipe(bytes.NewReader(recipe))
		if err != nil {
			if s := err.Error(); len(s) > 1000 || strings.ContainsAny(s, "\r\n") {
				t.Fatalf("no clear sentence: %q", s)
			}
			return
		}
		if file, err := r.Read("x", bytes.NewReader(raw), Options{}); err == nil {
			checkFile(t, file)
		}
		var b bytes.Buffer
		if err := r.Save(&b); err != nil {
			t.Fatal(err)
		}
		if again, err := LoadRecipe(&b); err != nil || !reflect.DeepEqual(again, r) {
			t.Fatalf("%+v came back as %+v, %v", r, again, err)
		}
	})
}
