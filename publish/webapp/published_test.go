package webapp

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

// on sets the server's clock.
func on(day string) func(*Options) {
	return func(o *Options) {
		t, err := time.Parse(time.DateOnly, day)
		if err != nil {
			panic(err) // a test writes days as they are
		}
		o.Now = func() time.Time { return t.Add(15 * time.Hour) }
	}
}

func TestAReferenceLampIsWrittenDownUsedAndGoesOutOfDate(t *testing.T) {
	b := newBench(t, on("2026-11-25"))
	want(t, b.page("/references"), "No reference lamp is written down")
	made := b.must("/references", url.Values{"name": {"Halogen no. 3"}, "sort": {"halogen"}, "value_cct": {"2856"}, "source": {"certificate 12"}, "made": {"2025-11-25"}, "trusted_days": {"365"}, "trusted_hours": {"50"}, "burned_hours": {"12,5"}})
	want(t, made.body, "Reference 1 was added.", "2856 K, certificate 12", "25 Nov 2025, trusted until 25 Nov 2026", "12.5 h, of 50 h")
	if strings.Contains(textOf(made.body), "was to be trusted") {
		t.Error("it is past its time on its last day")
	}
	want(t, b.page("/instruments"), "Halogen no. 3")
	form := b.page("/references/1/edit")
	want(t, form, "Change Halogen no. 3")
	for _, field := range []string{`value="2856"`, `value="12.5"`, `value="certificate 12"`} {
		if !strings.Contains(form, field) {
			t.Errorf("the form to change it has no %s", field)
		}
	}
	changed := b.must("/references/1", url.Values{"revision": {"1"}, "name": {"Halogen no. 3"}, "sort": {"halogen"}, "made": {"2025-11-25"}, "trusted_hours": {"50"}, "burned_hours": {"51"}})
	want(t, changed.body, "and it has burned 51 h since")
	want(t, b.page("/references"), "and it has burned 51 h since")
	stale := b.post("/references/1", url.Values{"revision": {"1"}, "name": {"Another"}})
	if stale.status != http.StatusConflict || !strings.Contains(stale.body, `value="Another"`) {
		t.Errorf("a change from an older page: %d", stale.status)
	}
	file := b.upload("/references/1/files", "certificate.pdf", []byte("%PDF-1.4"), nil)
	want(t, file.body, "certificate.pdf", "Reference 1 was changed")
	gone := b.must("/references/1/files/out", url.Values{"n": {"0"}, "was": {string(notebook.SumOf([]byte("%PDF-1.4")))}})
	want(t, gone.body, "No file is attached.")

	b.must("/lamps", url.Values{"name": {"Kitchen tube"}, "technology": {"fluorescent"}})
	want(t, b.page("/lamps/1/sit"), "Reference lamps that it rests on", "Halogen no. 3")
	sit := b.must("/sittings", url.Values{"lamp": {"1"}, "reference": {"1"}})
	want(t, sit.body, "Reference lamp Halogen no. 3", "Halogen no. 3 : its calibration was to be trusted for 50 h")
	want(t, b.page("/references/1"), "Sitting of 25 November 2026")

}

func TestAReferenceLampThatCannotBeIsRefusedBesideItsField(t *testing.T) {
	b := newBench(t, on("2026-11-25"))
	for says, fields := range map[string]url.Values{
		"A reference lamp needs a name.":        {"value_cct": {"2856"}},
		"2099-01-01 has not come yet":           {"name": {"x"}, "made": {"2099-01-01"}},
		"is too long ago":                       {"name": {"x"}, "made": {"0001-01-01"}},
		"trusted for 99999999999 days":          {"name": {"x"}, "trusted_days": {"99999999999"}},
		"−5 K cannot be":                        {"name": {"x"}, "value_cct": {"-5"}},
		"characters in this that cannot be":     {"name": {"x\x00"}},
		"This name is 300 characters long":      {"name": {strings.Repeat("x", 300)}},
		"This is 100000 characters long":        {"name": {"x"}, "notes": {strings.Repeat("x", 100_000)}},
		"for −1 hours of burning":               {"name": {"x"}, "trusted_hours": {"-1"}},
		"cannot have burned for −1 hours":       {"name": {"x"}, "burned_hours": {"-1"}},
		"“a year” is no whole number for the d": {"name": {"x"}, "trusted_days": {"a year"}},
	} {
		a := b.post("/references", fields)
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(textOf(a.body), says) || !strings.Contains(a.body, `aria-invalid="true"`) {
			t.Errorf("%v is answered with %d and not with %q", fields, a.status, says)
		}
	}
}

func TestWhatWasPublishedIsSaidWithItsErrata(t *testing.T) {
	b := newBench(t, on("2026-11-25"))
	assay := b.club(2)[0]
	b.must("/comparisons", url.Values{"title": {"Two lamps"}, "by": {"lumen"}, "assay": {"1", "2"}})
	want(t, b.page("/publications"), "Nothing was published yet")
	form := b.page("/publications/new?assay=1")
	if !strings.Contains(form, `name="assay" value="1" checked`) || strings.Contains(form, `name="assay" value="2" checked`) {
		t.Error("the assay that was asked for is not the one that is ticked")
	}
	made := b.must("/publications", url.Values{"title": {"Lamps of the club"}, "made": {"2026-11-20"}, "where": {"Club paper no. 4"}, "assay": {"1"}, "licence": {"CC BY 4.0"}})
	want(t, made.body, "Publication 1 was added.", "Published 20 November 2026, Club paper no. 4", "None is known.", "CC BY 4.0")
	for _, page := range []string{"/assays/1", "/lamps/1", "/publications"} {
		want(t, b.page(page), "Lamps of the club")
	}
	for _, page := range []string{"/assays/2", "/lamps/2"} {
		if strings.Contains(b.page(page), "Lamps of the club") {
			t.Errorf("%s was published by what does not name it", page)
		}
	}

	erratum := b.must("/publications/1/errata", url.Values{"at": {"2026-11-25"}, "text": {"The power is that of the mains, not of the lamp."}})
	want(t, erratum.body, "25 November 2026", "not of the lamp.", "the erratum")
	for _, page := range []string{"/assays/1", "/lamps/1"} {
		want(t, b.page(page), "Erratum, 25 November 2026", "The power is that of the mains, not of the lamp.")
	}
	want(t, b.page("/publications"), "1 erratum")
	p, err := b.nb.Publications().Get(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	b.must("/undo", url.Values{"change": {fmt.Sprint(p.Revision)}, "from": {"/publications/1"}})
	want(t, b.page("/publications/1"), "None is known.")

	// A comparison brings its assays along.
	both := b.must("/publications", url.Values{"title": {"Side by side"}, "made": {"2026-11-25"}, "comparison": {"1"}})
	want(t, both.body, "Assay 1", "Assay 2", "Two lamps")
	want(t, b.must("/publications", url.Values{"title": {"By number"}, "made": {"2026-11-25"}, "others": {"2, 1"}}).body, "Assay 2", "Assay 1")
	b.must("/trash", url.Values{"kind": {"publication"}, "id": {"2"}, "from": {"/publications/2"}})
	if strings.Contains(b.page("/lamps/2"), "Side by side") {
		t.Error("a publication in the trash is named by the lamp's page")
	}
	want(t, b.page("/trash"), "Side by side")
	want(t, b.page("/publications/2"), "In the trash since")
	if assay != 1 {
		t.Fatal("the first assay is not 1")
	}
}

func TestAPublicationThatCannotBeIsRefusedBesideItsField(t *testing.T) {
	b := newBench(t, on("2026-11-25"))
	b.club(1)
	good := func(change string, to ...string) url.Values {
		v := url.Values{"title": {"x"}, "made": {"2026-11-20"}, "assay": {"1"}}
		v[change] = to
		return v
	}
	for says, fields := range map[string]url.Values{
		"A publication needs a title.":    good("title", " "),
		"Say what was published":          good("assay"),
		"There is no assay “7”":           good("others", "1 7"),
		"There is no assay “tube”":        good("others", "tube"),
		"2026-11-26 has not come yet":     good("made", "2026-11-26"),
		"A publication has a day":         good("made", ""),
		"“last week” is no day: write it": good("made", "last week"),
	} {
		a := b.post("/publications", fields)
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(textOf(a.body), says) {
			t.Errorf("%v is answered with %d: %.300s", fields, a.status, textOf(a.body))
		}
	}
	b.must("/publications", good("title", "Lamps"))
	for says, fields := range map[string]url.Values{
		"An erratum says what was wrong":      {"at": {"2026-11-25"}},
		"An erratum of 2026-11-01 cannot be":  {"at": {"2026-11-01"}, "text": {"x"}},
		"2027-01-01 has not come yet":         {"at": {"2027-01-01"}, "text": {"x"}},
		"An erratum has a day: write it as 2": {"text": {"x"}},
	} {
		a := b.post("/publications/1/errata", fields)
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(textOf(a.body), says) {
			t.Errorf("%v is answered with %d: %.300s", fields, a.status, textOf(a.body))
		}
	}
	if p, err := b.nb.Publications().List(t.Context(), notebook.Query{}); err != nil || p.Total != 1 || len(p.Items[0].Errata) != 0 {
		t.Errorf("what was refused was kept: %+v %v", p, err)
	}
}
