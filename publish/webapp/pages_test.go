package webapp

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/png"
	"math"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/bench/notebook"
	"lampassay/bench/tidewater"
	"lampassay/publish/sheet"
)

func TestALampIsAddedChangedUndoneTrashedAndRestored(t *testing.T) {
	b := newBench(t)
	want(t, b.page("/"), "No lamp stands here yet")
	made := b.must("/lamps", url.Values{"name": {"Kitchen tube"}, "technology": {"fluorescent"}, "declared_cct": {"4000"}})
	want(t, made.body, "Kitchen tube", "Lamp 1 was added.", "correlated colour temperature 4000 K")

	b.must("/lamps/1", url.Values{"name": {"Cellar tube"}, "revision": {"1"}})
	want(t, b.page("/lamps/1"), "Cellar tube")
	stale := b.post("/lamps/1", url.Values{"name": {"Attic tube"}, "revision": {"1"}})
	if stale.status != http.StatusConflict || !strings.Contains(stale.body, "Attic tube") {
		t.Errorf("a change made from an older page: %d, and what was written is kept: %v", stale.status, strings.Contains(stale.body, "Attic tube"))
	}
	want(t, b.must("/undo", url.Values{"change": {"2"}, "from": {"/lamps/1?done=2"}}).body, "Kitchen tube", "which took back change 2")

	gone := b.must("/trash", url.Values{"kind": {"lamp"}, "id": {"1"}, "from": {"/lamps/1"}})
	want(t, gone.body, "No lamp stands here yet", "put into the trash")
	want(t, b.page("/trash"), "Kitchen tube")
	b.must("/restore", url.Values{"kind": {"lamp"}, "id": {"1"}})
	want(t, b.page("/"), "Kitchen tube")
	want(t, b.page("/log"), "Lamp 1 was restored.")
}

func TestEveryClubFileIsImportedAsItIs(t *testing.T) {
	b := newBench(t)
	for _, l := range tidewater.Lamps() {
		id := b.importLamp(l)
		page := b.page(fmt.Sprintf("/assays/%d", id))
		want(t, page, l.Name, "The numbers", "In the notebook")
		if strings.Contains(page, "style=") || strings.Contains(page, "<style") {
			t.Errorf("%s: the page has a style of its own, which its policy forbids", l.Name)
		}
	}
	want(t, b.page("/"), "Turntable lantern", "Station spotlight", "1–8 of 8 lamps")
	if verdict, err := b.nb.Verify(t.Context()); err != nil || len(verdict.Faults) > 0 {
		t.Errorf("after eight imports: %v %v", verdict, err)
	}
}

func TestAWrongFirstGuessIsPutRight(t *testing.T) {
	b := newBench(t)
	// Three columns: the second is the dark, which a reader cannot know.
	var file strings.Builder
	file.WriteString("nm;dark;light\n")
	for nm := 380; nm <= 780; nm += 2 {
		fmt.Fprintf(&file, "%d;0,0%d;%d,5\n", nm, nm%7, 100+nm%97)
	}
	seen := b.upload("/import", "odd.csv", []byte(file.String()), nil)
	want(t, seen.body, "odd.csv", "How it is read")
	path, query, _ := strings.Cut(seen.path, "?")
	ask, err := url.ParseQuery(query)
	if err != nil {
		t.Fatal(err)
	}
	ask.Set("column", "3")
	want(t, b.page(path+"?"+ask.Encode()), "Whose light it is")
	recipe := b.get(path + "/recipe?" + ask.Encode())
	if recipe.status != http.StatusOK || !strings.Contains(recipe.body, `"column": 3`) {
		t.Errorf("the recipe: %d %s", recipe.status, recipe.body)
	}
	b.must(path, url.Values{"name": {"odd.csv"}, "column": {"3"}, "new_lamp": {"Odd"}})
	reading, err := b.server.reading(t.Context(), 1, 1)
	if err != nil {
		t.Fatal(err)
	}
	if got := reading.Curve.Samples[0]; got != 100+380%97+0.5 {
		t.Errorf("the first sample of the chosen column is %g", got)
	}

	again := b.page("/import")
	earlier := regexp.MustCompile(`<option value="([0-9a-f]{64})">odd, of`).FindStringSubmatch(again)
	if earlier == nil {
		t.Fatalf("how the file was read is not offered for the next: %s", textOf(again))
	}
	same := b.upload("/import", "odd-2.csv", []byte(strings.Replace(file.String(), "380;", "379;", 1)), url.Values{"earlier": {earlier[1]}})
	if !strings.Contains(same.path, "column=3") {
		t.Errorf("a file by an earlier recipe is looked at as %s", same.path)
	}
	want(t, same.body, "Whose light it is")
	other := b.upload("/import", "other.csv", clubFile(t, 0), url.Values{"earlier": {earlier[1]}})
	want(t, other.body, "The recipe is for files of another shape")

	ask.Set("column", "9")
	want(t, b.page(path+"?"+ask.Encode()), "odd.csv")
	if page := b.page(path + "?" + ask.Encode()); strings.Contains(page, "Whose light it is") {
		t.Error("a column that is not there can be taken")
	}
}

func TestASittingFromChecklistToAssay(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Level crossing lamp"}, "technology": {"low-pressure sodium"}})
	form := b.page("/lamps/1/sit")
	if caution, title := strings.Index(form, "metallic sodium"), strings.Index(form, `name="title"`); caution < 0 || caution > title {
		t.Error("the cautions for sodium do not stand before the form")
	}
	sit := b.must("/sittings", url.Values{"lamp": {"1"}, "title": {"From cold"}, "power_at": {"mains"}})
	want(t, sit.body, "From cold", "It holds metallic sodium", "sodium has taken over from neon")

	b.must("/sittings/1/step", url.Values{"step": {"0"}})
	b.must("/sittings/1/reading", url.Values{"power": {"45,7"}, "illuminance": {"120"}})
	b.must("/sittings/1/reading", url.Values{"note": {"someone opened the door"}})
	page := b.page("/sittings/1")
	want(t, page, "Power 45.7 W", "someone opened the door", "2 readings recorded")
	if bad := b.post("/sittings/1/reading", url.Values{"power": {"much"}}); bad.status != http.StatusUnprocessableEntity {
		t.Errorf("power %q is answered with %d", "much", bad.status)
	}
	want(t, b.post("/sittings/1/assay", nil).body, "has no spectrum yet")
	want(t, b.must("/sittings/1/reading", url.Values{"temperature": {"24,5"}}).body, "Reading 3 is recorded.", "Set it aside")
	b.must("/sittings/1/strike", url.Values{"from": {"1"}, "reason": {"the meter was still ranging"}})
	want(t, b.page("/sittings/1"), "set aside: the meter was still ranging")

	var file strings.Builder
	if err := tidewater.RunUp().Write(&file); err != nil {
		t.Fatal(err)
	}
	seen := b.upload("/import", "run-up.csv", []byte(file.String()), url.Values{"sitting": {"1"}})
	want(t, seen.body, "46 spectra over 900 s", "Level crossing lamp, sitting")
	path, _, _ := strings.Cut(seen.path, "?")
	made := b.must(path, url.Values{"name": {"run-up.csv"}, "sitting": {"1"}})
	want(t, made.body, "Level crossing lamp", "The numbers")
	a, err := b.nb.Assays().Get(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	tally, err := b.nb.Tally(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	if in := a.Inputs[0]; in.What != inputSpectrum || in.From != tally.Readings || in.SHA256 != tally.Chain {
		t.Errorf("the assay names reading %d as its spectrum, the last is %d", in.From, tally.Readings)
	}
	if len(a.Inputs) != 1 {
		t.Errorf("the power that was set aside is among the inputs: %v", a.Inputs)
	}
	b.must("/sittings/1/end", nil)
	if late := b.post("/sittings/1/reading", url.Values{"power": {"1"}}); late.status != http.StatusUnprocessableEntity {
		t.Errorf("a reading after the end is answered with %d", late.status)
	}
}

func TestASheetIsTheSameAfterExportAndImport(t *testing.T) {
	b := newBench(t)
	assays := b.club(3)
	archive := b.get("/export")
	if archive.status != http.StatusOK || archive.header.Get("Content-Type") != "application/zip" {
		t.Fatalf("the export: %d %s", archive.status, archive.header.Get("Content-Type"))
	}
	other := serveNotebook(t, importedFrom(t, archive.body))
	for _, id := range assays {
		path := fmt.Sprintf("/assays/%d", id)
		here, there := textOf(b.page(path)), textOf(other.page(path))
		if here != there {
			t.Errorf("%s says something else in the notebook made from the export:\n%s\n%s", path, here, there)
		}
		if h, o := b.get(path+"/record.json").body, other.get(path+"/record.json").body; h != o || len(h) < 1000 {
			t.Errorf("%s has another record there", path)
		}
	}
	if here, there := textOf(b.page("/")), textOf(other.page("/")); here != there {
		t.Errorf("the shelf differs:\n%s\n%s", here, there)
	}
}

func TestLampsThatCannotBeToldApartShareALetter(t *testing.T) {
	b := newBench(t)
	first := tidewater.Lamps()[0]
	twin, dimmer := first, first
	twin.Name, dimmer.Name = "Its twin", "A dim one"
	dimmer.FluxLm /= 3
	ask := url.Values{}
	for _, l := range []tidewater.Lamp{first, dimmer, twin} {
		ask.Add("assay", fmt.Sprint(b.importLamp(l)))
	}
	page := b.page("/compare?" + ask.Encode())
	want(t, page, "Which can’t be told apart", "At 95 %, with nothing taken as shared between the lamps",
		"luminous flux Not told apart: a: "+first.Name+" and Its twin.", "group a", "group b")

	again := b.importLamp(first) // a lamp of the same name
	one := ask.Get("assay")
	want(t, b.page(fmt.Sprintf("/compare?assay=%s&assay=%d", one, again)), fmt.Sprintf("%s (assay %s) and %s (assay %d)", first.Name, one, first.Name, again))

	if alone := textOf(b.page("/compare?assay=" + one)); strings.Contains(alone, "group a") || strings.Contains(alone, "told apart") {
		t.Errorf("a lamp by itself is grouped: %.800s", alone)
	}
}

func TestGroupsThatOverlapAndLampsThatCannotBeComparedAreSpokenOf(t *testing.T) {
	b := newBench(t)
	top := tidewater.Lamps()[0]
	ids := []notebook.ID{b.importLamp(top)}
	a, err := b.nb.Assays().Get(t.Context(), ids[0])
	if err != nil {
		t.Fatal(err)
	}
	one, err := b.server.assayedOf(t.Context(), a)
	if err != nil {
		t.Fatal(err)
	}
	flux, _ := one.Result.Value(quantity.LuminousFlux)
	// Two lamps are told apart from 1.96·√2 = 2.8 u on: a step is 2 u, two are 4 u.
	step := 1 - 2*one.Result.Spread(quantity.LuminousFlux).U/flux
	middle, bottom := top, top
	middle.Name, bottom.Name = "The middle one", "The bottom one"
	middle.FluxLm *= step
	bottom.FluxLm *= step * step
	ids = append(ids, b.importLamp(middle), b.importLamp(bottom))
	want(t, b.page(fmt.Sprintf("/compare?assay=%d&assay=%d&assay=%d", ids[0], ids[1], ids[2])),
		"Not told apart: a: "+top.Name+" and The middle one; b: The middle one and The bottom one.",
		"Not passed on: "+top.Name, "be told from The middle one, nor The middle one from The bottom one, and yet "+top.Name+" and The bottom one are apart.",
		"group ab")

	endless := *one.Result
	endless.Uncertainty = new(assay.Uncertainty)
	endless.Uncertainty.SetSpread(quantity.LuminousFlux, &assay.Spread{U: math.Inf(1)})
	unsure := one
	unsure.Result = &endless
	d := compareView{Lamps: []compareLamp{{Assay: a, Name: "Sure"}, {Assay: a, Name: "Unsure"}}}
	d.groupBy([]sheet.Lamp{one, unsure}, 0, quantity.LuminousFlux)
	var page strings.Builder
	if err := templates().ExecuteTemplate(&page, "compare.html", &view{Data: &d}); err != nil {
		t.Fatal(err)
	}
	want(t, page.String(), "Not compared: Unsure: the uncertainty by", "is not a finite number.")
}

func TestLampsAreComparedUnderEachNormalisation(t *testing.T) {
	b := newBench(t)
	ids := b.club(3)
	ask := url.Values{}
	for _, id := range ids {
		ask.Add("assay", fmt.Sprint(id))
	}
	for _, n := range normalisations {
		ask.Set("by", n.Key)
		want(t, b.page("/compare?"+ask.Encode()), n.Printed, "Harbour panel", "Goods shed bulb")
	}
	kept := b.must("/comparisons", url.Values{"title": {"Layout room"}, "by": {"watt"}, "assay": ask["assay"]})
	want(t, kept.body, "per watt at the mains", "Comparison 1 was added.")
	if one := b.post("/comparisons", url.Values{"title": {"Alone"}, "assay": {"1"}}); one.status != http.StatusUnprocessableEntity {
		t.Errorf("a comparison of one lamp is answered with %d", one.status)
	}
}

func TestTheLimitPageAnswersAndKnowsWhatCannotBe(t *testing.T) {
	b := newBench(t)
	want(t, b.page("/limit?cct=3000&ra=80"), "lm/W: no light of 3000 K", "One more point of Ra would cost")
	want(t, b.page("/limit/answer?cct=99999&ra=x"), "no light of 8000 K")
}

func TestTheStandaloneSheetMayDoNothing(t *testing.T) {
	b := newBench(t)
	b.club(1)
	a := b.get("/assays/1/sheet")
	csp := a.header.Get("Content-Security-Policy")
	if !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "script-src 'unsafe-inline'") || !strings.Contains(csp, "script-src 'sha256-") {
		t.Errorf("its policy is %q", csp)
	}
	if !strings.HasPrefix(a.header.Get("Content-Disposition"), "attachment") {
		t.Error("it is not handed out as a file")
	}
}

func TestTheCautionsForALampAreThoseOfAllItsTraits(t *testing.T) {
	b := newBench(t)
	for technology, parts := range map[string][]string{
		"UV-C LED":     {"Ultraviolet without a warning"},
		"metal halide": {"It holds mercury", "Hot for many minutes", "Hands and probes off", "It can burst"},
		"HPS":          {"Do not restrike it hot", "Never with a cracked outer bulb", "It can burst", "It holds mercury"},
		"T8":           {"It holds mercury", "Only on its own gear"},
		"":             {"Find out what it is", "It holds mercury", "Ultraviolet without a warning", "cautions for the worst"},
	} {
		made := b.must("/lamps", url.Values{"name": {"Shelf lamp"}, "technology": {technology}})
		lamp := b.numberIn(made.path, `^/lamps/(\d+)`)
		page := b.page(fmt.Sprintf("/lamps/%d/sit", lamp))
		want(t, page, append(parts, "Unplug before you change anything")...)
		if caution, title := strings.Index(page, "Unplug before"), strings.Index(page, `name="title"`); caution < 0 || caution > title {
			t.Errorf("%q: the cautions do not stand before the form", technology)
		}
	}
	want(t, b.page("/help"), "low-pressure sodium", "It holds metallic sodium", "unknown", "Find out what it is")
}

func TestASpectrometerIsCalibratedFromItsRecordings(t *testing.T) {
	b := newBench(t)
	b.must("/instruments", url.Values{"name": {"Club spectrometer"}, "sort": {"spectrometer"}})
	var file strings.Builder
	for _, r := range tidewater.Recordings() {
		if strings.Contains(r.Of, "ercury") && file.Len() == 0 {
			if err := r.Write(&file); err != nil {
				t.Fatal(err)
			}
		}
	}
	if file.Len() == 0 {
		t.Fatal("the club recorded no mercury lamp")
	}
	seen := b.upload("/instruments/1/wavelength", "hg.csv", []byte(file.String()), url.Values{"lamp": {"mercury-argon"}})
	want(t, seen.body, "hg.csv", "Residuals", "Pairs", "Hg I 435.8")
	path, query, _ := strings.Cut(seen.path, "?")
	ask, err := url.ParseQuery(query)
	if err != nil {
		t.Fatal(err)
	}
	at := regexp.MustCompile(`value="(\d+)" aria-label="Leave out Hg I 435.834"`).FindStringSubmatch(seen.body)
	if at == nil {
		t.Fatal("the peak of the blue mercury line cannot be left out")
	}
	ask.Set("without", at[1])
	fewer := b.page(path + "?" + ask.Encode())
	want(t, fewer, "leave out the peak at pixel "+at[1])
	if strings.Contains(fewer, `aria-label="Leave out Hg I 435.834"`) {
		t.Error("a peak that was left out is paired all the same")
	}
	ask.Del("without")
	kept := b.must(path, ask)
	want(t, kept.body, "Instrument 1 was changed: its own file.", "Lines and pixels", "The pairing is certain.")
	if page := b.page("/instruments/1"); !strings.Contains(page, "<svg") {
		t.Error("the residuals are not drawn")
	}
}

func TestALampHasPictures(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	add := func(name string, content []byte) answer {
		var body bytes.Buffer
		m := multipart.NewWriter(&body)
		f, err := m.CreateFormFile("photo", name)
		if err == nil {
			_, err = f.Write(content)
		}
		if err := errors.Join(err, m.WriteField("token", b.server.guard.token), m.WriteField("caption", "On its hook"), m.Close()); err != nil {
			t.Fatal(err)
		}
		r := b.request("POST", "/lamps/1/photos", &body)
		r.Header.Set("Content-Type", m.FormDataContentType())
		return b.do(r)
	}
	var picture bytes.Buffer
	if err := png.Encode(&picture, image.NewGray(image.Rect(0, 0, 8, 8))); err != nil {
		t.Fatal(err)
	}
	page := add("tube.png", picture.Bytes())
	want(t, page.body, "On its hook", "Lamp 1 was changed: the picture tube.png was added.")
	address := "/lamps/1/photos/" + string(notebook.SumOf(picture.Bytes()))
	if a := b.get(address); a.header.Get("Content-Type") != "image/png" || a.body != picture.String() {
		t.Errorf("the picture comes back as %s", a.header.Get("Content-Type"))
	}
	for name, content := range map[string]string{"a page": "<html><script>alert(1)</script>", "a drawing with a script": `<svg xmlns="http://www.w3.org/2000/svg"><script/></svg>`, "nothing": ""} {
		if a := add("x.png", []byte(content)); a.status != http.StatusUnprocessableEntity {
			t.Errorf("%s as a picture is answered with %d", name, a.status)
		}
	}
	seen := b.upload("/import", "x.csv", []byte("<script>alert(1)</script>"), nil)
	if a := b.get("/lamps/1/photos/" + strings.TrimPrefix(seen.path[:8+64], "/import/")); a.status != http.StatusNotFound {
		t.Errorf("a file of the notebook that is no picture of this lamp is answered with %d", a.status)
	}
}

func TestTheClubsLampsFillAnEmptyShelfOnly(t *testing.T) {
	b := newBench(t)
	want(t, b.must("/club", nil).body, "1–8 of 8 lamps", "Level crossing lamp")
	want(t, b.page("/assays/4"), "Invented data.", "declared 3350 lm")
	if sheet := b.get("/assays/4/sheet").body; !strings.Contains(sheet, "Invented data.") {
		t.Error("the sheet that goes out does not say that it is invented")
	}
	if again := b.post("/club", nil); again.status != http.StatusUnprocessableEntity {
		t.Errorf("a shelf with lamps is filled: %d", again.status)
	}
}
