package webapp

import (
	"bytes"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/jpeg"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"lampassay/bench/evidence"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
)

func TestTheSetUpOfASittingIsPutRight(t *testing.T) {
	b := newBench(t, on("2026-11-25"))
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}, "technology": {"fluorescent"}})
	b.must("/instruments", url.Values{"name": {"Club meter"}, "sort": {"light meter"}})
	b.must("/instruments", url.Values{"name": {"Old meter"}})
	b.must("/sittings", url.Values{"lamp": {"1"}, "title": {"From cold"}, "distance_m": {"25"}, "instrument": {"2"}})
	b.must("/sittings/1/step", url.Values{"step": {"0"}})
	b.must("/trash", url.Values{"kind": {"instrument"}, "id": {"2"}})
	form := b.page("/sittings/1/edit")
	want(t, form, "Set-up of From cold", "Unplug before you change anything", "Old meter")
	if !strings.Contains(form, `value="25"`) || !strings.Contains(form, `value="2" checked`) {
		t.Error("the form has not what is kept, with the instrument that is in the trash by now")
	}
	sit, err := b.nb.Sittings().Get(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	ask := url.Values{"revision": {fmt.Sprint(sit.Revision)}, "title": {"From cold"}, "distance_m": {"2.5"}, "ambient_c": {"24,5"}, "instrument": {"1", "2"}, "remarks": {"Fan off"}}
	want(t, b.must("/sittings/1", ask).body, "Distance 2.5 m", "Air 24.5 °C", "Club meter", "Old meter", "Fan off")
	is, err := b.nb.Sittings().Get(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	if is.Checklist[0].Done == nil || !is.Started.Equal(sit.Started) || is.Lamp != 1 {
		t.Error("the change of the set-up changed more")
	}
	if stale := b.post("/sittings/1", ask); stale.status != http.StatusConflict {
		t.Errorf("a change from an older page is answered with %d", stale.status)
	}
	b.must("/undo", url.Values{"change": {fmt.Sprint(is.Revision)}})
	want(t, b.page("/sittings/1"), "Distance 25 m")
}

func TestAnInstrumentIsChanged(t *testing.T) {
	b := newBench(t, on("2026-11-25"))
	b.must("/instruments", url.Values{"name": {"Club metre"}, "sort": {"light meter"}, "serial": {"7"}})
	b.must("/instruments/1/calibrations", url.Values{"what": {"scale"}, "made": {"2026-05-01"}, "trusted_days": {"30"}})
	if form := b.page("/instruments/1/edit"); !strings.Contains(form, `value="Club metre"`) || !strings.Contains(form, `value="light meter" selected`) {
		t.Error("the form has not what is kept")
	}
	want(t, b.must("/instruments/1", url.Values{"revision": {"2"}, "name": {"Club meter"}, "sort": {"light meter"}, "serial": {"7b"}, "notes": {"On loan"}}).body,
		"Club meter", "no. 7b", "On loan", "scale", "was to be trusted until 31 May 2026")
	if stale := b.post("/instruments/1", url.Values{"revision": {"2"}, "name": {"Mine"}}); stale.status != http.StatusConflict || !strings.Contains(stale.body, `value="Mine"`) {
		t.Errorf("a change from an older page is answered with %d", stale.status)
	}
	for says, fields := range map[string]url.Values{
		"has not come yet":             {"what": {"scale"}, "made": {"2099-01-01"}},
		"is trusted for 99999999999 d": {"what": {"scale"}, "made": {"2026-01-01"}, "trusted_days": {"99999999999"}},
	} {
		if a := b.post("/instruments/1/calibrations", fields); a.status != http.StatusUnprocessableEntity || !strings.Contains(textOf(a.body), says) {
			t.Errorf("%v is answered with %d", fields, a.status)
		}
	}
}

func TestAnInstrumentFilePastItsTimeIsSaidInListSittingAndAssay(t *testing.T) {
	b := newBench(t, on("2026-11-25"))
	own := instrument.Instrument{Name: "Club no. 3", Pixels: 512}
	var file bytes.Buffer
	if err := own.Write(&file); err != nil {
		t.Fatal(err)
	}
	kept, err := b.nb.Keep(t.Context(), "club.json", "application/json", &file)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.nb.Instruments().Add(t.Context(), notebook.Instrument{Name: "Club no. 3", Sort: "spectrometer", File: &kept}); err != nil {
		t.Fatal(err)
	}
	const says = "the wavelength axis has never been calibrated"
	want(t, b.page("/instruments"), "The"+strings.TrimPrefix(says, "the"))
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}, "technology": {"fluorescent"}})
	want(t, b.page("/lamps/1/sit"), "The"+strings.TrimPrefix(says, "the"))
	want(t, b.must("/sittings", url.Values{"lamp": {"1"}, "instrument": {"1"}}).body, "Club no. 3 : "+says)
	seen := b.upload("/import", "tube.csv", clubFile(t, 3), url.Values{"sitting": {"1"}})
	path, _, _ := strings.Cut(seen.path, "?")
	made := b.must(path, url.Values{"name": {"tube.csv"}, "sitting": {"1"}, "luminous_flux": {"3350"}, "power": {"40"}})
	want(t, made.body, "Of the instruments, Club no. 3: "+says)
	id := b.numberIn(made.path, `^/assays/(\d+)`)
	a, err := b.nb.Assays().Get(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(a.Record), says) {
		t.Error("the record of the assay does not say so")
	}

	// It stays so whatever becomes of the instrument.
	in, err := b.nb.Instruments().Get(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	in.File = nil
	if _, err := b.nb.Instruments().Update(t.Context(), *in); err != nil {
		t.Fatal(err)
	}
	sit, err := b.nb.Sittings().Get(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	terms, err := evidence.TermsOf(a.Methods)
	if err != nil {
		t.Fatal(err)
	}
	e, err := evidence.Take(t.Context(), b.nb, sit, a.Inputs, terms)
	if err != nil || !strings.Contains(strings.Join(e.Warnings(), "\n"), says) {
		t.Errorf("computed again from what was kept, the assay does not say so: %v", err)
	}
}

func TestWhatCannotBeIsRefusedBesideItsField(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	for _, c := range []struct {
		path, field, value string
		more               url.Values
		says               string
	}{
		{"/lamps", "declared_luminous_flux", "-5", url.Values{"name": {"x"}}, "The box cannot say −5"},
		{"/lamps", "declared_ra", "101", url.Values{"name": {"x"}}, "up to 100 is possible"},
		{"/lamps", "declared_rf", "-1", url.Values{"name": {"x"}}, "from 0 to 100 is possible"},
		{"/lamps", "name", strings.Repeat("n", 100_000), nil, "characters long"},
		{"/lamps", "name", "Kitchen\x00tube", nil, "cannot be seen"},
		{"/lamps", "maker", "a\x1b[31mred", url.Values{"name": {"x"}}, "cannot be seen"},
		{"/lamps", "notes", "\xff", url.Values{"name": {"x"}}, "cannot be seen"},
		{"/sittings", "distance_m", "-3", url.Values{"lamp": {"1"}}, "A distance of −3 m cannot be"},
		{"/sittings", "ambient_c", "-500", url.Values{"lamp": {"1"}}, "from −60 to 200 °C"},
		{"/sittings", "ambient_c", "201", url.Values{"lamp": {"1"}}, "from −60 to 200 °C"},
		{"/sittings", "supply_v", "0", url.Values{"lamp": {"1"}}, "A supply of 0 V cannot be"},
		{"/sittings/1/reading", "power", "9.9e37", nil, "Power 9.9 × 10³⁷ W cannot be"},
		{"/sittings/1/reading", "power", "-5", nil, "Power −5 W cannot be"},
		{"/sittings/1/reading", "temperature", "-300", nil, "Temperature −300 °C cannot be"},
	} {
		fields := url.Values{c.field: {c.value}}
		for k, v := range c.more {
			fields[k] = v
		}
		a := b.post(c.path, fields)
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(textOf(a.body), c.says) || !strings.Contains(a.body, c.field+`-fault"`) {
			t.Errorf("%s of %.20q is answered with %d and not with %q beside it", c.field, c.value, a.status, c.says)
		}
	}
	if lamps, err := b.nb.Lamps().List(t.Context(), notebook.Query{}); err != nil || lamps.Total != 1 {
		t.Errorf("of what was refused something was kept: %d lamps, %v", lamps.Total, err)
	}
	// An Ra below 0 is that of many a sodium lamp.
	b.must("/lamps", url.Values{"name": {"Level crossing lamp"}, "declared_ra": {"-44"}})
}

// sendPhoto sends a picture to a page.
func (b *bench) sendPhoto(path string, content []byte) answer {
	b.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	f, err := m.CreateFormFile("photo", "bench.picture")
	if err == nil {
		_, err = f.Write(content)
	}
	if err := errors.Join(err, m.WriteField("token", b.server.guard.token), m.WriteField("caption", "The baffles"), m.Close()); err != nil {
		b.Fatal(err)
	}
	r := b.request("POST", path, &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return b.do(r)
}

func TestPicturesOfASetUpAreShownAndBrokenOnesRefused(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	var asPNG, asJPEG bytes.Buffer
	gray := image.NewGray(image.Rect(0, 0, 64, 64))
	for i := range gray.Pix {
		gray.Pix[i] = byte(i * 31)
	}
	if err := errors.Join(png.Encode(&asPNG, gray), jpeg.Encode(&asJPEG, gray, nil)); err != nil {
		t.Fatal(err)
	}
	// A head that claims 100 000 × 100 000 pixels, with its checksum right.
	huge := bytes.Clone(asPNG.Bytes())
	copy(huge[16:], []byte{0, 1, 0x86, 0xa0, 0, 1, 0x86, 0xa0})
	sum := crc32.ChecksumIEEE(huge[12:29])
	copy(huge[29:], []byte{byte(sum >> 24), byte(sum >> 16), byte(sum >> 8), byte(sum)})
	for _, path := range []string{"/sittings/1/photos", "/lamps/1/photos"} {
		for name, c := range map[string]struct {
			content []byte
			says    string
		}{
			"half a PNG":          {asPNG.Bytes()[:asPNG.Len()/2], "it breaks off or is damaged"},
			"a PNG's first bytes": {asPNG.Bytes()[:20], "it is broken or of an unusual kind"},
			"half a JPEG":         {asJPEG.Bytes()[:asJPEG.Len()/2], "it breaks off or is damaged"},
			"a huge PNG":          {huge, "it is 100000 × 100000 pixels"},
			"a WebP of nothing":   {[]byte("RIFF\x24\x00\x00\x00WEBPVP8 \x18\x00\x00\x00"), "it is broken or of an unusual kind"},
			"text":                {[]byte("a picture"), "is no picture that a browser"},
		} {
			if a := b.sendPhoto(path, c.content); a.status != http.StatusUnprocessableEntity || !strings.Contains(textOf(a.body), c.says) {
				t.Errorf("%s to %s is answered with %d: %.300s", name, path, a.status, textOf(a.body))
			}
		}
	}
	for _, whole := range [][]byte{asPNG.Bytes(), asJPEG.Bytes()} {
		a := b.sendPhoto("/sittings/1/photos", whole)
		want(t, a.body, "The baffles", "Sitting 1 was changed")
		if shown := b.get("/sittings/1/photos/" + string(notebook.SumOf(whole))); shown.body != string(whole) {
			t.Errorf("the picture comes back with %d", shown.status)
		}
	}
	gone := b.must("/sittings/1/photos/out", url.Values{"n": {"0"}, "was": {string(notebook.SumOf(asPNG.Bytes()))}})
	if n := strings.Count(gone.body, "<img "); n != 1 {
		t.Errorf("of two pictures, with one taken out, %d are shown", n)
	}
	if again := b.post("/sittings/1/photos/out", url.Values{"n": {"0"}, "was": {string(notebook.SumOf(asPNG.Bytes()))}}); again.status != http.StatusConflict {
		t.Errorf("a picture that is out is taken out again: %d", again.status)
	}
	if a := b.get("/sittings/1/photos/" + strings.Repeat("0", 64)); a.status != http.StatusNotFound {
		t.Errorf("a picture that is none of the sitting's is answered with %d", a.status)
	}
}

func TestASittingMadeOfAFileHasEnded(t *testing.T) {
	b := newBench(t)
	b.club(1)
	sit, err := b.nb.Sittings().Get(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	if sit.Ended == nil || sit.Ended.Before(sit.Started) {
		t.Errorf("it began %s and ended %v", sit.Started, sit.Ended)
	}
	if page := b.page("/lamps/1"); strings.Contains(textOf(page), ", open") {
		t.Error("the lamp's page calls it open")
	}
}
