package webapp

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"lampassay/bench/notebook"
	"lampassay/bench/tidewater"
)

// pressed sends the form of a page whose button has a name.
func (b *bench) pressed(page, button string) answer {
	b.Helper()
	for _, form := range regexp.MustCompile(`(?s)<form[^>]*action="([^"]*)"[^>]*>(.*?)</form>`).FindAllStringSubmatch(page, -1) {
		if !strings.Contains(form[2], button) {
			continue
		}
		fields := url.Values{}
		for _, in := range regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)">`).FindAllStringSubmatch(form[2], -1) {
			fields.Add(in[1], in[2])
		}
		return b.post(form[1], fields)
	}
	b.Fatalf("there is no button %q: %.1500s", button, textOf(page))
	panic("unreachable")
}

func TestOneEntryIsTakenOutThoughTheRecordWasChangedSince(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	entry := func(on, text, hours string) {
		b.must("/lamps/1/history", url.Values{"on": {on}, "text": {text}, "burned_hours": {hours}})
	}
	entry("2026-11-01", "bought", "100")
	entry("2026-11-10", "fell on the floor", "9000")
	entry("2026-11-20", "new starter", "")
	page := b.page("/lamps/1")
	want(t, page, "9000 h burned")
	b.must("/lamps/1", url.Values{"name": {"Cellar tube"}, "burned_hours": {"9000"}, "revision": {fmt.Sprint(revisionOf(b))}})

	out := b.pressed(page, "Take out the entry of 10\u00a0Nov\u00a02026")
	want(t, out.body, "Cellar tube", "100 h burned", "the entry of 10 Nov 2026, “fell on the floor”, was taken out", "bought", "new starter")
	if stale := b.pressed(page, "Take out the entry of 10\u00a0Nov\u00a02026"); stale.status != http.StatusConflict {
		t.Errorf("what is out already is answered with %d", stale.status)
	}
	want(t, b.must("/undo", url.Values{"change": {fmt.Sprint(revisionOf(b))}, "from": {"/lamps/1"}}).body, "Cellar tube", "9000 h burned", "fell on the floor")
}

func TestOnePictureIsTakenOut(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	for i := range 2 {
		var picture, body bytes.Buffer
		if err := png.Encode(&picture, image.NewGray(image.Rect(0, 0, 2+i, 2))); err != nil {
			t.Fatal(err)
		}
		m := multipart.NewWriter(&body)
		f, err := m.CreateFormFile("photo", fmt.Sprintf("%d.png", i))
		if err == nil {
			_, err = f.Write(picture.Bytes())
		}
		if err == nil {
			err = m.WriteField("token", b.server.guard.token)
		}
		if err == nil {
			err = m.WriteField("caption", fmt.Sprint("side ", i))
		}
		if err != nil || m.Close() != nil {
			t.Fatal(err)
		}
		r := b.request("POST", "/lamps/1/photos", &body)
		r.Header.Set("Content-Type", m.FormDataContentType())
		if a := b.do(r); a.status != http.StatusOK {
			t.Fatalf("picture %d: %d %s", i, a.status, textOf(a.body))
		}
	}
	out := b.pressed(b.page("/lamps/1"), "Take out the picture 0.png")
	want(t, out.body, "side 1", "the picture 0.png was taken out")
	if strings.Contains(textOf(out.body), "side 0") {
		t.Error("the picture is still on the page")
	}
	want(t, b.must("/undo", url.Values{"change": {fmt.Sprint(revisionOf(b))}, "from": {"/lamps/1"}}).body, "side 0", "side 1")
}

func TestOneCalibrationIsTakenOut(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.upload("/instruments", "", nil, url.Values{"name": {"Light meter"}, "sort": {"light meter"}})
	for _, day := range []string{"2026-01-05", "2026-06-05"} {
		b.must("/instruments/1/calibrations", url.Values{"what": {"illuminance scale"}, "made": {day}})
	}
	out := b.pressed(b.page("/instruments/1"), "Take out the calibration of 5\u00a0Jan\u00a02026")
	want(t, out.body, "the calibration of the illuminance scale, 5 Jan 2026, was taken out", "5 Jun 2026")
	if strings.Contains(out.body, "Take out the calibration of 5\u00a0Jan\u00a02026") {
		t.Error("the calibration is still listed")
	}
}

// inUse is how many lamps, sittings and assays are not in the trash.
func (b *bench) inUse() (n int) {
	b.Helper()
	lamps, err := b.nb.Lamps().List(b.Context(), notebook.Query{})
	if err != nil {
		b.Fatal(err)
	}
	sittings, err := b.nb.Sittings().List(b.Context(), notebook.Query{})
	if err != nil {
		b.Fatal(err)
	}
	assays, err := b.nb.Assays().List(b.Context(), notebook.Query{})
	if err != nil {
		b.Fatal(err)
	}
	return lamps.Total + sittings.Total + assays.Total
}

func TestAnImportIsTakenBackWithAllThatItMade(t *testing.T) {
	b := newBench(t)
	id := b.club(1)[0]
	made := b.page(fmt.Sprintf("/assays/%d?done=%s", id, changesSince(b, 0)))
	want(t, made, "Lamp 1, sitting 1 and assay 1 were added.")
	gone := b.pressed(made, "Undo")
	want(t, gone.body, "No lamp stands here yet", "Lamp 1, sitting 1 and assay 1 were put into the trash, which took back 3 changes.")
	if n := b.inUse(); n != 0 {
		t.Errorf("%d records are still in use", n)
	}
	b.pressed(gone.body, "Undo")
	if n := b.inUse(); n != 3 {
		t.Errorf("%d records came back of 3", n)
	}
}

// changesSince are the additions after a change, as the page after an import names
// them.
func changesSince(b *bench, after int64) changeList {
	b.Helper()
	changes, err := b.nb.ChangesBefore(b.Context(), 1<<62, 0)
	if err != nil {
		b.Fatal(err)
	}
	var list changeList
	for _, c := range changes {
		if c.Seq > after && c.Action == notebook.Added {
			list = append(list, c.Seq)
		}
	}
	return list
}

func TestAnImportWithSomethingBuiltOnItStays(t *testing.T) {
	b := newBench(t)
	first := b.importing(t)
	b.must("/sittings", url.Values{"lamp": {"1"}})
	refused := b.pressed(first.body, "Undo")
	if refused.status != http.StatusConflict || b.inUse() != 4 {
		t.Errorf("it is answered with %d, and %d records are in use", refused.status, b.inUse())
	}
	want(t, refused.body, "Sitting 2 is built on lamp 1: nothing was taken back")
}

// importing takes a file through the pages and returns the page it ends at.
func (b *bench) importing(t *testing.T) answer {
	t.Helper()
	l := tidewater.Lamps()[0]
	seen := b.upload("/import", l.FileName, clubFile(t, 0), nil)
	path, _, _ := strings.Cut(seen.path, "?")
	return b.must(path, url.Values{"name": {l.FileName}, "new_lamp": {l.Name}, "technology": {l.Technology}})
}

func TestTheInventedLampsAreTakenBackAtOnce(t *testing.T) {
	b := newBench(t)
	filled := b.must("/club", nil)
	want(t, filled.body, "8 lamps, 8 sittings and 8 assays were added.")
	want(t, b.pressed(filled.body, "Undo").body, "No lamp stands here yet", "were put into the trash")
}

func TestAListOfChangesIsReadAsItIsWritten(t *testing.T) {
	for text, ok := range map[string]bool{"7": true, "14,12,11": true, "": false, "0": false, "-1": false, "1,": false, "x": false, strings.Repeat("1,", mostChanges) + "1": false} {
		list, err := changesAsked(text)
		if (err == nil) != ok || ok && list.String() != text {
			t.Errorf("%q is read as %v (%v)", text, list, err)
		}
	}
}
