package webapp

import (
	"bytes"
	"fmt"
	"math"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"lampassay/publish/internal/browser"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/bench/evidence"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/bench/tidewater"
	"lampassay/light/calibration"
	"lampassay/publish/sheet"
)

// clubRecording is a file of the club's spectrometer.
func clubRecording(t *testing.T, name string) []byte {
	t.Helper()
	for _, r := range tidewater.Recordings() {
		if r.FileName == name {
			var raw bytes.Buffer
			if err := r.Write(&raw); err != nil {
				t.Fatal(err)
			}
			return raw.Bytes()
		}
	}
	t.Fatalf("the club has no recording %s", name)
	return nil
}

func clubFrame(t *testing.T, name string) calibration.Frame {
	t.Helper()
	f, err := frameOf(name, clubRecording(t, name))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// counted keeps a recording in a sitting as raw counts on the pixels' wavelengths.
func (b *bench) counted(sit notebook.ID, own *instrument.Instrument, name string) int64 {
	b.Helper()
	d, err := own.Dispersion()
	if err != nil {
		b.Fatal(err)
	}
	f := clubFrame(b.T, name)
	return b.append(sit, notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "counts", Axis: d.Axis(), Samples: f.Counts, ExposureMs: f.ExposureMs}})
}

func TestRawCountsOnThePageHaveTheFiguresOfTheirFilesElsewhere(t *testing.T) {
	b := newBench(t)
	own, kept := b.clubSpectrometer()
	sit := b.sit(notebook.SetUp{}, kept.ID)
	dark := b.counted(sit, own, "dark-40ms.csv")
	b.counted(sit, own, "harbour-panel-40ms.csv")
	page := b.page("/sittings/1")
	want(t, page, "corrected by the file of Club no. 3", "Their dark", "axis, response and stray light")
	a := b.made(sit, url.Values{"instrument": {fmt.Sprint(kept.ID)}, "dark": {fmt.Sprint(dark)}})

	m := instrument.Measurement{Frames: []calibration.Frame{clubFrame(t, "harbour-panel-40ms.csv")}, Darks: []calibration.Frame{clubFrame(t, "dark-40ms.csv")}}
	applied, err := own.Apply(m, instrument.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	result := assess(t, applied.Spectrum, assay.Given{}, nil, func(c *uncertainty.Conditions, _ *uncertainty.Case) {
		if err := applied.State(c); err != nil {
			t.Fatal(err)
		}
	})
	same(t, a, result)
	if cct, _ := result.Value(quantity.CCT); math.Abs(cct-3022) > 60 { // the panel's truth, and an axis from one lamp
		t.Errorf("the panel has %g K", cct)
	}
	sheet := b.page(fmt.Sprintf("/assays/%d", a.ID))
	want(t, sheet, "Raw counts, corrected by the file of Club no. 3.", "Correction, dark: its own subtracted", "instrument file: response of",
		fmt.Sprintf("club-3.json, SHA-256 %.12s…", kept.File.SHA256), "what the file of Club no. 3 does not tell")
	if !bytes.Contains(a.Record, []byte(`"corrections":[{"step":"clip mask"`)) || len(a.Files) != 1 {
		t.Error("the record does not say what was done to the counts, or not with which file")
	}

	// A dark that comes as a file instead.
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("dark_file", "dark-40ms.csv")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := part.Write(clubRecording(t, "dark-40ms.csv")); err != nil {
		t.Fatal(err)
	}
	for k, v := range map[string]string{"token": b.server.guard.token, "instrument": fmt.Sprint(kept.ID)} {
		if err := form.WriteField(k, v); err != nil {
			t.Fatal(err)
		}
	}
	if err := form.Close(); err != nil {
		t.Fatal(err)
	}
	r := b.request("POST", "/sittings/1/assay", &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	done := b.do(r)
	if done.status != http.StatusOK {
		t.Fatalf("%d %s", done.status, textOf(done.body))
	}
	by, err := b.nb.Assays().Get(t.Context(), b.numberIn(done.path, `^/assays/(\d+)`))
	if err != nil {
		t.Fatal(err)
	}
	same(t, by, result)
}

func TestAKeptAssayIsComputedAgainToTheSameFigures(t *testing.T) {
	b := newBench(t)
	own, kept := b.clubSpectrometer()
	sit := b.sit(notebook.SetUp{Geometry: "sphere"}, kept.ID)
	for range 5 {
		b.counted(sit, own, "harbour-panel-40ms.csv")
	}
	lm := 3100.0
	b.append(sit, notebook.Reading{Channel: "entry", Values: []notebook.Value{{Key: keyFlux, V: &lm, Unit: "lm"}}})
	a := b.made(sit, url.Values{"spectra": {"4"}, "instrument": {fmt.Sprint(kept.ID)}, "meter": {"analyser"}})
	if a.Methods[evidence.MethodRoute] != "sphere-label" || a.Methods[evidence.MethodMeter] != "analyser" {
		t.Errorf("the methods are %v", a.Methods)
	}
	before := textOf(b.page(fmt.Sprintf("/assays/%d", a.ID)))

	// Another spectrum, a strike over the old ones and a new calibration change nothing.
	b.counted(sit, own, "halogen.csv")
	b.must("/sittings/1/strike", url.Values{"from": {"1"}, "to": {"5"}, "reason": {"the wrong lamp"}})
	b.server.sheets, b.server.fragments = newMemory[notebook.ID, *assayed](8), newMemory[sheetKey, *sheet.Fragment](8)
	if after := textOf(b.page(fmt.Sprintf("/assays/%d", a.ID))); after != before {
		t.Error("computed again the sheet says something else")
	}
	e, err := b.server.evidenceOf(t.Context(), a)
	if err != nil {
		t.Fatal(err)
	}
	done, err := b.server.evaluate(t.Context(), e)
	if err != nil {
		t.Fatal(err)
	}
	same(t, a, done.lamp.Result)
	record, err := recordOf(done, e)
	if err != nil || !bytes.Equal(bytes.TrimSpace(record), a.Record) {
		t.Errorf("the record is another (%v)", err)
	}

	// The same in another notebook.
	other := serveNotebook(t, importedFrom(t, b.get("/export").body))
	if there := textOf(other.page(fmt.Sprintf("/assays/%d", a.ID))); there != before {
		t.Error("the sheet says something else in the notebook made from the export")
	}
	verdict, err := b.nb.Verify(t.Context())
	if err != nil || len(verdict.Faults) > 0 {
		t.Errorf("the notebook does not hold: %v %v", verdict, err)
	}
}

func TestAnAssayThatCannotBeMadeSaysWhy(t *testing.T) {
	b := newBench(t)
	_, kept := b.clubSpectrometer()
	sit := b.sit(notebook.SetUp{}, kept.ID)
	nm, spectra := harbour(t, 4)
	for i, v := range spectra {
		from := 0
		if i == 3 {
			from = 1
		}
		b.append(sit, notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "irradiance", Axis: nm[from:], Samples: v[from:]}})
	}
	want(t, b.page("/sittings/1"), "The latest spectrum is spectral irradiance in W/(m²·nm), and no raw counts: the file of Club no. 3 is not applied to it again")
	for _, one := range []struct {
		fields url.Values
		says   string
	}{
		{url.Values{"spectra": {"4"}}, "Reading 4 has other wavelengths than reading 1: a mean is taken of spectra from one instrument in one state."},
		{url.Values{"spectra": {"8"}}, "A mean of 8 spectra was asked for, and in this sitting there are 4."},
		{url.Values{"spectra": {"mark"}}, "There is no mark in this sitting"},
		{url.Values{"spectra": {"two"}}, "“two” is no whole number for spectra to average"},
		{url.Values{"instrument": {fmt.Sprint(kept.ID)}}, "Reading 4 holds irradiance, not raw counts: the file of Club no. 3 is not applied to what was corrected before."},
		{url.Values{"dark": {"3"}}, "A dark is for raw counts that an instrument’s file corrects"},
		{url.Values{"dark": {"soon"}}, "“soon” names no readings"},
		{url.Values{"exposure_ms": {"-4"}}, "An exposure of −4 ms cannot be"},
		{url.Values{"class": {"best"}}, "There is no class \"best\" of spectrometer"},
	} {
		got := b.post("/sittings/1/assay", one.fields)
		if said := textOf(got.body); got.status != http.StatusUnprocessableEntity || !strings.Contains(strings.NewReplacer("&#34;", `"`, "&#39;", "’", "'", "’").Replace(said), one.says) {
			t.Errorf("%v is answered with %d: %s", one.fields, got.status, said)
		}
	}
	if all, err := b.nb.Assays().List(t.Context(), notebook.Query{}); err != nil || all.Total != 0 {
		t.Errorf("%d assays were kept (%v)", all.Total, err)
	}
}

func TestWhatIsChosenForAnAssayStaysWhileReadingsArrive(t *testing.T) {
	b := newBench(t)
	sit := b.sit(notebook.SetUp{})
	nm, spectra := harbour(t, 6)
	record := func(v []float64) {
		b.append(sit, notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "relative", Axis: nm, Samples: v}})
	}
	for _, v := range spectra[:5] {
		record(v)
	}
	p := browser.Open(t, b.http.URL)
	p.Visit("/sittings/1")
	p.Fill("[name=spectra]", "4")
	p.Await("nothing to have the focus", `(document.activeElement.blur(), document.activeElement === document.body)`)
	record(spectra[5])
	p.Said("6 readings; chain") // the rest of the page has heard of it
	if got := browser.Ask[string](p, `document.querySelector("[name=spectra]").value`); got != "4" {
		t.Errorf("4 spectra were chosen, and now it is %s", got)
	}
	p.Quiet()
}

func TestAFileOfPixelsIsImportedByTheSittingsSpectrometer(t *testing.T) {
	b := newBench(t)
	own, kept := b.clubSpectrometer()
	sit := b.sit(notebook.SetUp{}, kept.ID)
	for _, name := range []string{"dark-40ms.csv", "harbour-panel-40ms.csv"} {
		seen := b.upload("/import", name, clubRecording(t, name), url.Values{"sitting": {"1"}})
		want(t, seen.body, "counts", "1024")
		path, _, _ := strings.Cut(seen.path, "?")
		done := b.must(path, url.Values{"name": {name}, "sitting": {"1"}})
		want(t, done.body, "Their dark, by numbers of readings", "corrected by the file of Club no. 3")
	}
	if all, err := b.nb.Assays().List(t.Context(), notebook.Query{}); err != nil || all.Total != 0 {
		t.Errorf("%d assays of raw counts were made without being asked for (%v)", all.Total, err)
	}
	a := b.made(sit, url.Values{"instrument": {fmt.Sprint(kept.ID)}, "dark": {"1"}})
	applied, err := own.Apply(instrument.Measurement{Frames: []calibration.Frame{clubFrame(t, "harbour-panel-40ms.csv")}, Darks: []calibration.Frame{clubFrame(t, "dark-40ms.csv")}}, instrument.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	same(t, a, assess(t, applied.Spectrum, assay.Given{}, nil, func(c *uncertainty.Conditions, _ *uncertainty.Case) {
		if err := applied.State(c); err != nil {
			t.Fatal(err)
		}
	}))
}
