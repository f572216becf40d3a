package webapp

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/bench/tidewater"
	"lampassay/light/calibration"
)

// sent posts fields and files by the names of their fields.
func (b *bench) sent(path string, fields url.Values, files map[string][]byte) answer {
	b.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	check := func(err error) {
		if err != nil {
			b.Fatal(err)
		}
	}
	check(m.WriteField("token", b.server.guard.token))
	for k := range fields {
		check(m.WriteField(k, fields.Get(k)))
	}
	for field, content := range files {
		f, err := m.CreateFormFile(field, field+".csv")
		check(err)
		_, err = f.Write(content)
		check(err)
	}
	check(m.Close())
	r := b.request("POST", path, &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return b.do(r)
}

// kept reads the own file of an instrument.
func (b *bench) ownFile(id notebook.ID) *instrument.Instrument {
	b.Helper()
	in, err := b.nb.Instruments().Get(b.Context(), id)
	if err != nil {
		b.Fatal(err)
	}
	raw, err := b.nb.File(b.Context(), in.File.SHA256)
	if err != nil {
		b.Fatal(err)
	}
	own, err := instrument.Read(bytes.NewReader(raw))
	if err != nil {
		b.Fatal(err)
	}
	return own
}

func TestAResponseFoundOnThePageIsThatOfTheCommandLine(t *testing.T) {
	b := newBench(t)
	own, in := b.clubSpectrometer()
	start := b.page("/instruments/1/response")
	if caution, form := strings.Index(start, "Hot for many minutes"), strings.Index(start, `name="frame"`); caution < 0 || caution > form {
		t.Error("the cautions for a filament lamp do not stand before the form")
	}
	want(t, b.page("/instruments/1"), "Calibrate its response", "Hatched: not known, and not made up")

	fields := url.Values{"reference": {"tungsten"}, "cct": {"2856"}, "u_cct": {"40"}, "made": {"2026-03-14"}}
	files := map[string][]byte{"frame": clubRecording(t, "halogen.csv"), "dark": clubRecording(t, "dark-100ms.csv")}
	look := b.sent("/instruments/1/response", fields, files)
	if look.status != http.StatusOK {
		t.Fatalf("%d %s", look.status, textOf(look.body))
	}
	want(t, look.body, "Against tungsten", "It is known from", "Keep this response with the instrument", "Stray light: a share")
	if strings.Contains(look.body, "taken as exact") {
		t.Error("a lamp known to 40 K is called exact")
	}
	_, query, _ := strings.Cut(look.path, "?")
	ask, err := url.ParseQuery(query)
	if err != nil {
		t.Fatal(err)
	}
	done := b.must("/instruments/1/response/keep", ask)
	want(t, done.body, "Undo")

	ref, err := calibration.TungstenReference(tidewater.ClubHalogenCCT, 40)
	if err != nil {
		t.Fatal(err)
	}
	made, err := own.CalibrateResponse(instrument.Measurement{Frames: []calibration.Frame{clubFrame(t, "halogen.csv")}, Darks: []calibration.Frame{clubFrame(t, "dark-100ms.csv")}}, ref)
	if err != nil {
		t.Fatal(err)
	}
	got := b.ownFile(in.ID).Response
	if !slices.Equal(got.Value.Nm, made.Nm) || !slices.Equal(got.Value.Value, made.Value) || !slices.Equal(got.Value.U, made.U) || !slices.Equal(got.Value.Tilt, made.Tilt) {
		t.Error("the response that was kept is another one")
	}
	if got.Made.Format(time.DateOnly) != "2026-03-14" || got.Days != instrument.ResponseDays || !slices.Equal(got.Files, []string{"frame.csv", "dark.csv"}) {
		t.Errorf("it is dated %v, for %d days, from %v", got.Made, got.Days, got.Files)
	}
	changes, err := b.nb.Changes(t.Context(), 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	b.must("/undo", url.Values{"seq": {fmt.Sprint(changes[len(changes)-1].Seq)}, "change": {fmt.Sprint(changes[len(changes)-1].Seq)}})
	if after := b.ownFile(in.ID).Response; !slices.Equal(after.Value.Tilt, own.Response.Value.Tilt) {
		t.Error("the response was not taken back")
	}
}

func TestAReferenceLampOfTheNotebookBringsWhatIsKnownOfIt(t *testing.T) {
	b := newBench(t)
	b.clubSpectrometer()
	if _, err := b.nb.References().Add(t.Context(), notebook.Reference{Name: "Halogen no. 2", Values: []notebook.Declared{{Quantity: "cct", Value: 2856, Unit: "K"}}}); err != nil {
		t.Fatal(err)
	}
	want(t, b.page("/instruments/1/response"), "the notebook’s Halogen no. 2")
	files := map[string][]byte{"frame": clubRecording(t, "halogen.csv"), "dark": clubRecording(t, "dark-100ms.csv")}
	look := b.sent("/instruments/1/response", url.Values{"reference": {"1"}}, files)
	want(t, look.body, "Against tungsten", "2856 K", "The reference was taken as exact.")

	var certificate strings.Builder
	certificate.WriteString("nm,W/(m2 nm)\n")
	for nm := 350; nm <= 900; nm += 5 {
		fmt.Fprintf(&certificate, "%d,%g\n", nm, float64(nm-300))
	}
	files["certificate"] = []byte(certificate.String())
	look = b.sent("/instruments/1/response", url.Values{"reference": {"certificate"}, "u_certificate": {"1,5"}}, files)
	want(t, look.body, "Against certificate.csv", "Keep this response")
}

func TestAResponseThatCannotBeFoundSaysWhy(t *testing.T) {
	b := newBench(t)
	b.clubSpectrometer()
	if _, err := b.nb.Instruments().Add(t.Context(), notebook.Instrument{Name: "New one", Sort: "spectrometer"}); err != nil {
		t.Fatal(err)
	}
	want(t, b.page("/instruments/2/response"), "Its wavelengths are not calibrated yet")
	lamp, dark := clubRecording(t, "halogen.csv"), clubRecording(t, "dark-100ms.csv")
	untimed := bytes.Replace(lamp, []byte("# integration time: 100 ms\n"), nil, 1)
	for _, one := range []struct {
		path   string
		fields url.Values
		files  map[string][]byte
		says   string
	}{
		{"/instruments/1/response", url.Values{"cct": {"2856"}}, nil, "No recording arrived: choose the file of the reference lamp."},
		{"/instruments/1/response", nil, map[string][]byte{"frame": lamp, "dark": dark}, "What is its colour temperature?"},
		{"/instruments/1/response", url.Values{"cct": {"warm"}}, map[string][]byte{"frame": lamp}, "“warm” cannot be a colour temperature"},
		{"/instruments/1/response", url.Values{"cct": {"99000"}}, map[string][]byte{"frame": lamp}, "99000 K"},
		{"/instruments/1/response", url.Values{"cct": {"2856"}}, map[string][]byte{"frame": untimed}, "frame.csv does not tell its exposure time"},
		{"/instruments/1/response", url.Values{"cct": {"2856"}}, map[string][]byte{"frame": []byte("a poem")}, "frame.csv"},
		{"/instruments/1/response", url.Values{"cct": {"2856"}}, map[string][]byte{"frame": clubRecording(t, "neon.csv"), "dark": clubRecording(t, "dark-40ms.csv")}, "is it the line lamp’s?"},
		{"/instruments/1/response", url.Values{"cct": {"2856"}}, map[string][]byte{"frame": lamp, "dark": clubRecording(t, "dark-40ms.csv")}, "a dark serves its own exposure only"},
		{"/instruments/1/response", url.Values{"reference": {"certificate"}}, map[string][]byte{"frame": lamp}, "Choose the file of the certificate"},
		{"/instruments/1/response", url.Values{"cct": {"2856"}, "made": {"yesterday"}}, map[string][]byte{"frame": lamp}, "“yesterday” is no day"},
		{"/instruments/1/response", url.Values{"cct": {"2856"}, "made": {"2099-01-01"}}, map[string][]byte{"frame": lamp}, "2099-01-01 has not come yet"},
		{"/instruments/1/stray", url.Values{"edge_nm": {"555"}, "made": {"2099-01-01"}}, map[string][]byte{"frame": lamp}, "2099-01-01 has not come yet"},
		{"/instruments/2/response", url.Values{"cct": {"2856"}}, map[string][]byte{"frame": lamp}, "The wavelengths of New one are not calibrated yet"},
	} {
		got := b.sent(one.path, one.fields, one.files)
		said := strings.NewReplacer("&#34;", `"`, "&#39;", "’", "'", "’").Replace(textOf(got.body))
		if got.status != http.StatusUnprocessableEntity || !strings.Contains(said, one.says) {
			t.Errorf("%v is answered with %d and not with %q: %s", one.fields, got.status, one.says, said)
		}
	}
}

func TestStrayLightFoundOnThePageIsThatOfTheCommandLine(t *testing.T) {
	b := newBench(t)
	own, in := b.clubSpectrometer()
	want(t, b.page("/instruments/1/stray"), "Hot for many minutes", "The filter passes nothing below")
	files := map[string][]byte{"frame": clubRecording(t, "halogen-orange-filter.csv"), "dark": clubRecording(t, "dark-100ms.csv")}
	look := b.sent("/instruments/1/stray", url.Values{"edge_nm": {"555"}, "made": {"2026-03-14"}}, files)
	want(t, look.body, "of all light besides its own", "The response was found without this")
	_, query, _ := strings.Cut(look.path, "?")
	ask, err := url.ParseQuery(query)
	if err != nil {
		t.Fatal(err)
	}
	b.must("/instruments/1/stray/keep", ask)
	if got, was := b.ownFile(in.ID).Stray, own.Stray; got.Value.Share != was.Value.Share || got.Made.Format(time.DateOnly) != "2026-03-14" {
		t.Errorf("the share is %g of %v, not %g", got.Value.Share, got.Made, was.Value.Share)
	}
	want(t, b.page("/instruments/1"), "wavelengths", "stray light", "of all light in every pixel", "in its own file, trusted until", "No other is noted.")
	want(t, b.sent("/instruments/1/stray", nil, files).body, "Below which wavelength does the filter pass nothing?")
	want(t, b.sent("/instruments/1/stray", url.Values{"edge_nm": {"555"}}, nil).body, "No recording arrived")
}
