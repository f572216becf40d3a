package webapp

import (
	"bytes"
	"errors"
	"fmt"
	"html"
	"mime/multipart"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"lampassay/publish/internal/browser"

	"github.com/chromedp/chromedp"

	"lampassay/bench/notebook"
)

// asked is a notebook with a lamp, a sitting with three readings, an instrument and
// a file that is ready to be taken, for forms to be sent to.
func asked(t *testing.T) (b *bench, take string) {
	t.Helper()
	b = newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}, "technology": {"fluorescent"}})
	b.must("/sittings", url.Values{"lamp": {"1"}, "title": {"From cold"}})
	for _, lux := range []string{"100", "110", "112"} {
		b.must("/sittings/1/reading", url.Values{"illuminance": {lux}})
	}
	b.must("/instruments", url.Values{"name": {"Club light meter"}, "sort": {"light meter"}})
	seen := b.upload("/import", "tube.csv", clubFile(t, 3), nil)
	take, _, _ = strings.Cut(seen.path, "?")
	return b, take
}

// form sends a form as its page does: with files, where there are any.
func (b *bench) form(path string, fields url.Values, files map[string]string) answer {
	b.Helper()
	if files == nil {
		return b.post(path, fields)
	}
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	errs := []error{m.WriteField("token", b.server.guard.token)}
	for k, all := range fields {
		for _, v := range all {
			errs = append(errs, m.WriteField(k, v))
		}
	}
	for k, content := range files {
		f, err := m.CreateFormFile(k, "odd <file>.json")
		if err == nil {
			_, err = f.Write([]byte(content))
		}
		errs = append(errs, err)
	}
	if err := errors.Join(append(errs, m.Close())...); err != nil {
		b.Fatal(err)
	}
	r := b.request("POST", path, &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return b.do(r)
}

func TestAFormThatCannotBeTakenKeepsWhatWasTyped(t *testing.T) {
	b, take := asked(t)
	const odd = `2 <b>"lamps"`
	none := map[string]string{}
	for name, c := range map[string]struct {
		path   string
		typed  url.Values
		files  map[string]string
		faults map[string]string // by field, what is said
	}{
		"a lamp's numbers and day": {"/lamps", url.Values{"name": {odd}, "burned_hours": {"much"}, "acquired": {"yesterday"}, "declared_cct": {"warm"}, "tags": {"kitchen, old"}, "notes": {odd + "\n two lines"}}, nil,
			map[string]string{"lamp-burned_hours": "“much” is no number for the hours burned", "lamp-acquired": "“yesterday” is no day: write it as 2026-11-25", "lamp-declared_cct": "“warm” is no number"}},
		"a lamp without a name": {"/lamps", url.Values{"name": {"  "}, "maker": {odd}}, nil, map[string]string{"lamp-name": "A lamp needs a name."}},
		"a lamp's hours":        {"/lamps/1", url.Values{"name": {odd}, "burned_hours": {"-3"}, "revision": {"1"}}, nil, map[string]string{"lamp-burned_hours": "burned for −3 hours: from 0 up"}},
		"an entry of a lamp's history": {"/lamps/1/history", url.Values{"on": {"31.12.2026"}, "text": {odd}, "burned_hours": {"1,5,2"}}, nil,
			map[string]string{"history-on": "“31.12.2026” is no day", "history-burned_hours": "“1,5,2” is no number"}},
		"an entry that says nothing": {"/lamps/1/history", url.Values{"on": {""}, "burned_hours": {"12"}}, nil,
			map[string]string{"history-on": "has a day", "history-text": "says what happened"}},
		"a picture that is none": {"/lamps/1/photos", url.Values{"caption": {odd}}, map[string]string{"photo": "<html>"}, map[string]string{"photo-photo": "is no picture that a browser can be trusted with"}},
		"no picture":             {"/lamps/1/photos", url.Values{"caption": {odd}}, none, map[string]string{"photo-photo": "choose one first"}},
		"the beginning of a sitting": {"/sittings", url.Values{"lamp": {"1"}, "title": {odd}, "distance_m": {"far"}, "ambient_c": {"-300"}, "supply_v": {"2 30 V"}, "supply_hz": {"-50"}, "instrument": {"1"}, "remarks": {"two\nlines"}}, nil,
			map[string]string{"sitting-distance_m": "“far” is no number for the distance: write it as 24.5 or 24,5", "sitting-ambient_c": "from −60 to 200 °C is possible", "sitting-supply_v": "“2 30 V” is no number", "sitting-supply_hz": "from 0 Hz, which is direct current"}},
		"a distance of nothing": {"/sittings", url.Values{"lamp": {"1"}, "distance_m": {"0"}}, nil, map[string]string{"sitting-distance_m": "above 0 m and up to 10000 m is possible"}},
		"readings":              {"/sittings/1/reading", url.Values{"power": {"45,7"}, "illuminance": {"bright"}, "voltage": {"NaN"}, "note": {odd}}, nil, map[string]string{"reading-illuminance": "“bright” is no number for the illuminance", "reading-voltage": "“NaN” is no number"}},
		"no reading at all":     {"/sittings/1/reading", url.Values{"note": {" "}}, nil, map[string]string{"reading-luminous_flux": "give a number or a note"}},
		"readings set aside":    {"/sittings/1/strike", url.Values{"from": {"9"}, "to": {"two"}, "reason": {odd}}, nil, map[string]string{"strike-from": "give one from 1 to 3", "strike-to": "“two” is no whole number"}},
		"readings backwards":    {"/sittings/1/strike", url.Values{"from": {"3"}, "to": {"2"}, "reason": {""}}, nil, map[string]string{"strike-to": "give one from 3 to 3, or nothing for reading 3 alone", "strike-reason": "Say why"}},
		"a rule's numbers": {"/sittings/1/rule", url.Values{"from": {"en-13032-4"}, "had": {""}, "burning": {"long"}, "window": {"0"}, "step": {"-1"}, "spread": {"100"}, "give_up": {"0,1"}}, nil,
			map[string]string{"numbers-burning": "“long” is no number", "numbers-window": "“0” will not do for the time looked back on: more than 0 minutes", "numbers-step": "“-1” will not do for the step", "numbers-spread": "“100” will not do for the spread: more than 0 %", "numbers-give_up": ""}},
		"a rule's numbers left out": {"/sittings/1/rule", url.Values{"from": {"lm-79-19"}, "had": {""}, "burning": {"3"}, "window": {""}, "step": {"20"}, "spread": {"1e400"}, "give_up": {"1"}}, nil,
			map[string]string{"numbers-window": "A number for the time looked back on is missing", "numbers-spread": "“1e400” is no number", "numbers-give_up": "“1” will not do for giving up: as many minutes"}},
		"a rule that is not published": {"/sittings/1/rule", url.Values{"do": {"choose"}, "had": {""}, "rule": {odd}}, nil, map[string]string{"rule-rule": "choose one of the list"}},
		"an assay without a spectrum":  {"/sittings/1/assay", url.Values{}, nil, map[string]string{"": "has no spectrum yet"}},
		"an instrument without a name": {"/instruments", url.Values{"maker": {odd}, "sort": {"sphere"}, "notes": {odd}}, none, map[string]string{"instrument-name": "needs a name"}},
		"an instrument's file":         {"/instruments", url.Values{"name": {odd}}, map[string]string{"file": "{"}, map[string]string{"instrument-file": "cannot be taken"}},
		"a calibration": {"/instruments/1/calibrations", url.Values{"what": {""}, "made": {"May"}, "trusted_days": {"1.5"}, "result": {odd}}, nil,
			map[string]string{"calibration-what": "Say what was calibrated", "calibration-made": "“May” is no day", "calibration-trusted_days": "“1.5” is no whole number"}},
		"a calibration trusted for ever": {"/instruments/1/calibrations", url.Values{"what": {odd}, "made": {"2026-05-01"}, "trusted_days": {"99999999999"}}, nil, map[string]string{"calibration-trusted_days": "from 1 to 36500 will do"}},
		"an import without a file":       {"/import", url.Values{}, none, map[string]string{"import-file": "choose one first"}},
		"an import of nothing":           {"/import", url.Values{}, map[string]string{"file": ""}, map[string]string{"import-file": "is empty"}},
		"an import by no recipe":         {"/import", url.Values{}, map[string]string{"file": "400 1\n500 2\n", "recipe": "{"}, map[string]string{"import-recipe": "cannot be taken"}},
		"numbers beside a file": {take, url.Values{"name": {"tube.csv"}, "lamp": {"0"}, "new_lamp": {odd}, "technology": {odd}, "luminous_flux": {"lots"}, "power": {"-2"}, "power_lamp": {"12"}, "class": {"bench"}}, nil,
			map[string]string{"take-luminous_flux": "“lots” is no number", "take-power": "a number above 0 belongs there"}},
		"a file of no lamp": {take, url.Values{"name": {"tube.csv"}, "lamp": {"0"}, "new_lamp": {" "}, "power": {"1"}, "class": {"best"}}, nil, map[string]string{"take-new_lamp": "Which lamp is it?", "take-class": "choose one of the list"}},
	} {
		t.Run(name, func(t *testing.T) {
			before := b.server.latest(t.Context())
			a := b.form(c.path, c.typed, c.files)
			if a.status != http.StatusUnprocessableEntity {
				t.Fatalf("it is answered with %d: %.600s", a.status, textOf(a.body))
			}
			if after := b.server.latest(t.Context()); after != before {
				t.Errorf("something was kept: change %d", after)
			}
			want(t, a.body, "Nothing was kept. What you wrote is still here")
			for field, typed := range c.typed {
				if text := typed[0]; !strings.Contains(html.UnescapeString(a.body), text) {
					t.Errorf("%s was %q, which is gone", field, text)
				}
			}
			if strings.Contains(a.body, "<b>") {
				t.Error("what was typed is in the page as it is, not escaped")
			}
			marked := 0
			for field, says := range c.faults {
				if field == "" {
					want(t, a.body, says)
					continue
				}
				if says == "" {
					continue // its fault follows from another's
				}
				marked++
				beside := regexp.MustCompile(`(?s)id="` + field + `"[^>]* aria-invalid="true" aria-describedby="` + field + `-fault[" ].*?<p class="fault" id="` + field + `-fault">([^<]*)</p>`).FindStringSubmatch(a.body)
				if beside == nil || !strings.Contains(html.UnescapeString(beside[1]), says) {
					t.Errorf("beside %s stands %q, want %q", field, beside, says)
				}
				if !strings.Contains(a.body, `<a href="#`+field+`">`) {
					t.Errorf("the top of the page does not lead to %s", field)
				}
			}
			if n := strings.Count(a.body, `aria-invalid="true"`); n < marked || len(c.faults) == marked && n != marked {
				t.Errorf("%d fields are marked, of which %d are at fault", n, marked)
			}
			if n := strings.Count(a.body, " autofocus"); n != 1 {
				t.Errorf("%d elements take the focus", n)
			}
			if c.files["file"] != "" || c.files["photo"] != "" {
				want(t, html.UnescapeString(a.body), "again: a browser sends a file once")
			}
		})
	}
}

func TestAConflictKeepsBothSides(t *testing.T) {
	b, _ := asked(t)
	old := fmt.Sprint(func() int64 {
		l, err := b.nb.Lamps().Get(t.Context(), 1)
		if err != nil {
			t.Fatal(err)
		}
		return l.Revision
	}())
	b.must("/lamps/1", url.Values{"name": {"Cellar tube"}, "technology": {"fluorescent"}, "revision": {old}})
	mine := url.Values{"name": {"Attic tube"}, "technology": {"fluorescent"}, "maker": {"Tidewater"}, "revision": {old}}
	a := b.post("/lamps/1", mine)
	if a.status != http.StatusConflict {
		t.Fatalf("the slower of two is answered with %d", a.status)
	}
	want(t, a.body, "Send it again to put yours in its place", "Kept by now: Cellar tube", "Kept by now: nothing")
	if !strings.Contains(a.body, `value="Attic tube"`) || strings.Contains(a.body, "Kept by now: fluorescent") {
		t.Error("what was written is gone, or what is the same on both sides is named")
	}
	now := regexp.MustCompile(`name="revision" value="(\d+)"`).FindStringSubmatch(a.body)
	if now == nil || now[1] == old {
		t.Fatalf("sent again it would be refused again: %v", now)
	}
	mine.Set("revision", now[1])
	want(t, b.must("/lamps/1", mine).body, "Attic tube")

	// A number that is none, in a page that is old besides, does not make it new.
	b.must("/lamps/1", url.Values{"name": {"Loft tube"}, "revision": {b.revisionIn("/lamps/1/edit")}})
	wrong := b.post("/lamps/1", url.Values{"name": {"Barn tube"}, "burned_hours": {"x"}, "revision": {now[1]}})
	if !strings.Contains(wrong.body, `name="revision" value="`+now[1]+`"`) {
		t.Error("correcting a number would silently write over what another changed")
	}
}

func (b *bench) revisionIn(path string) string {
	b.Helper()
	m := regexp.MustCompile(`name="revision" value="(\d+)"`).FindStringSubmatch(b.page(path))
	if m == nil {
		b.Fatalf("%s has no revision", path)
	}
	return m[1]
}

func TestARefusedFormIsReadByEveryone(t *testing.T) {
	b, take := asked(t)
	warming(b, 1)
	p := browser.Open(t, b.http.URL)
	for name, c := range map[string]struct {
		page  string
		fill  map[string]string
		press string
		focus string
	}{
		"refused-lamp":    {"/lamps/new", map[string]string{"[name=name]": "Harbour panel", "[name=burned_hours]": "about 300", "[name=declared_cct]": "warm"}, "Add the lamp", "lamp-burned_hours"},
		"refused-sitting": {"/lamps/1/sit", map[string]string{"[name=title]": "From cold", "[name=distance_m]": "2,5 m", "[name=supply_v]": "230 V"}, "Begin", "sitting-distance_m"},
		"refused-reading": {"/sittings/1", map[string]string{"[name=power]": "45,7 W", "[name=note]": "fan off"}, "Record", "reading-power"},
		"refused-rule":    {"/sittings/1", map[string]string{"[name=burning]": "3", "[name=window]": "0", "[name=spread]": "200"}, "Judge by these numbers", "numbers-window"},
		"refused-take":    {take + "?name=tube.csv", map[string]string{"[name=luminous_flux]": "3 350 lm"}, "Keep it and compute the assay", "take-luminous_flux"},
	} {
		for _, look := range []struct {
			width  int64
			scheme string
		}{{1280, "light"}, {390, "dark"}, {1280, "dark"}, {390, "light"}} {
			if *shots == "" && (look.width == 390) != (look.scheme == "dark") {
				continue
			}
			t.Run(fmt.Sprintf("%s at %d px, %s", name, look.width, look.scheme), func(t *testing.T) {
				p.Scheme(look.scheme)
				p.Do(chromedp.EmulateViewport(look.width, 900))
				p.Visit(c.page)
				if name == "refused-rule" {
					p.Press("Judge by another rule")
				}
				for field, text := range c.fill {
					p.Fill(field, text)
				}
				p.Press(c.press)
				p.Said("Nothing was kept.")
				p.Await("the focus on "+c.focus, fmt.Sprintf(`document.activeElement.id === %q`, c.focus))
				for field, text := range c.fill {
					if got := browser.Ask[string](p, fmt.Sprintf(`document.querySelector(%q).value`, field)); got != text {
						t.Errorf("%s was %q and is %q", field, text, got)
					}
				}
				if over := p.TooWide(); over != "" {
					t.Error(over)
				}
				if found := p.Axe(); len(found) > 0 {
					t.Errorf("%d faults of accessibility: %q", len(found), found[:min(4, len(found))])
				}
				if *shots != "" {
					p.Shoot(filepath.Join(*shots, fmt.Sprintf("%s-%d-%s.png", name, look.width, look.scheme)))
				}
			})
		}
	}
	p.Quiet("422")
}

func FuzzWhatIsTypedStaysTyped(f *testing.F) {
	for _, s := range []string{"", "2,5", "<script>alert(1)</script>", `"><input name=x>`, "{{.Token}}", "a\nb", "\x00", "\xff", "−3 lm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r := &http.Request{PostForm: url.Values{"title": {text}, "distance_m": {text}, "remarks": {text}, "had": {text}}}
		form := formOf(r, "sitting")
		form.number("distance_m", "the distance")
		form.wrong("", "It was not taken.")
		v := &view{Form: form, Data: &sittingFormView{Sitting: new(notebook.Sitting), New: true, Lamp: &notebook.Lamp{Name: "Kitchen tube"}, Family: familyOf("")}}
		var page strings.Builder
		if err := templates().ExecuteTemplate(&page, "sittingform.html", v); err != nil {
			t.Fatal(err)
		}
		m := regexp.MustCompile(`name="title" value="([^"]*)"`).FindStringSubmatch(page.String())
		// NUL has no place in a page; a browser never sends it from a field.
		if m == nil || html.UnescapeString(m[1]) != strings.ReplaceAll(text, "\x00", "\ufffd") {
			t.Errorf("%q is in the page as %q", text, m)
		}
		if n := strings.Count(page.String(), "<script"); n != 1 {
			t.Errorf("%q puts a script into the page", text)
		}
	})
}
