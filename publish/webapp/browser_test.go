package webapp

import (
	"bytes"
	"flag"
	"fmt"
	"net/url"
	"path/filepath"
	"strings"
	"testing"

	"lampassay/publish/internal/browser"

	"github.com/chromedp/chromedp"

	"lampassay/bench/notebook"
	"lampassay/bench/tidewater"
)

var shots = flag.String("screenshots", "", "write every page as it looks to this `folder`")

// furnished is a bench with something on every page.
func furnished(t *testing.T) (b *bench, pages map[string]string) {
	t.Helper()
	b = newBench(t)
	ids := b.club(6)
	var file bytes.Buffer
	if err := tidewater.RunUp().Write(&file); err != nil {
		t.Fatal(err)
	}
	b.must("/lamps", url.Values{"name": {"Level crossing lamp"}, "technology": {"low-pressure sodium"}, "declared_luminous_flux": {"4800"}, "notes": {"Invented, like all of the club."}})
	b.must("/sittings", url.Values{"lamp": {"7"}, "title": {"From cold"}, "geometry": {"lux at a distance"}, "distance_m": {"2.5"}, "position": {"horizontal"}, "ambient_c": {"24.6"}, "power_at": {"mains"}})
	seen := b.upload("/import", "run-up.csv", file.Bytes(), url.Values{"sitting": {"7"}})
	path, _, _ := strings.Cut(seen.path, "?")
	b.must(path, url.Values{"name": {"run-up.csv"}, "sitting": {"7"}})
	warming(b, 7)
	b.must("/sittings/7/step", url.Values{"step": {"0"}})
	b.must("/lamps/7/history", url.Values{"on": {"2026-11-20"}, "text": {"New tube fitted"}, "burned_hours": {"0"}})
	b.must("/instruments", url.Values{"name": {"Club light meter"}, "sort": {"light meter"}, "maker": {"invented"}})
	b.must("/instruments/1/calibrations", url.Values{"what": {"illuminance scale"}, "made": {"2024-05-01"}, "trusted_days": {"365"}, "result": {"reads 1.2 % low"}})
	b.must("/trash", url.Values{"kind": {"lamp"}, "id": {"5"}, "from": {"/"}})
	b.must("/instruments", url.Values{"name": {"Club spectrometer"}, "sort": {"spectrometer"}})
	var mercury bytes.Buffer
	if err := tidewater.Recordings()[2].Write(&mercury); err != nil {
		t.Fatal(err)
	}
	b.must("/references", url.Values{"name": {"Halogen no. 3"}, "sort": {"halogen"}, "serial": {"H-3"}, "value_cct": {"2856"}, "value_voltage": {"12"}, "source": {"certificate 12"}, "made": {"2024-05-01"}, "trusted_days": {"365"}, "trusted_hours": {"50"}, "burned_hours": {"12.5"}})
	b.must("/references", url.Values{"name": {"Neon line lamp"}, "sort": {"line lamp"}, "notes": {"Wavelengths from atoms do not age."}})
	b.upload("/references/1/files", "certificate-12.pdf", []byte("%PDF-1.4 invented"), nil)
	b.must("/sittings/7", url.Values{"revision": {fmt.Sprint(sittingRevision(t, b, 7))}, "title": {"From cold"}, "geometry": {"lux at a distance"}, "distance_m": {"2.5"}, "position": {"horizontal"}, "ambient_c": {"24.6"}, "power_at": {"mains"}, "instrument": {"1", "2"}, "reference": {"1"}})
	b.must("/comparisons", url.Values{"title": {"Panels of the layout room"}, "by": {"lumen"}, "assay": {"2", "4"}})
	b.must("/publications", url.Values{"title": {"Which lamps light the layout room"}, "made": {"2026-03-02"}, "where": {"Tidewater club paper, no. 41"}, "licence": {"CC BY 4.0"}, "assay": {fmt.Sprint(ids[3])}, "comparison": {"1"}})
	b.must("/publications/1/errata", url.Values{"at": {"2026-03-09"}, "text": {"The power of the Harbour panel is that of its box; it was printed as measured."}})
	pairs := b.upload("/instruments/2/wavelength", "mercury-argon.csv", mercury.Bytes(), url.Values{"lamp": {"mercury-argon"}})
	look := b.upload("/import", "triphosphor.csv", clubFile(t, 3), nil)
	broken := b.upload("/import", "letter.txt", []byte("Dear club,\n\nthe spectrum is on the other stick.\n"), nil)
	return b, map[string]string{
		"shelf": "/", "lamp": "/lamps/7", "lamp-new": "/lamps/new", "lamp-edit": "/lamps/7/edit", "sitting-new": "/lamps/7/sit", "sitting": "/sittings/7",
		"assay": fmt.Sprintf("/assays/%d", ids[3]), "import": "/import", "import-look": look.path, "import-broken": broken.path,
		"compare": "/compare?assay=2&assay=4&assay=6", "limit": "/limit?cct=3000&ra=80", "instruments": "/instruments", "instrument-new": "/instruments/new", "instrument": "/instruments/1",
		"lamp-published": "/lamps/4", "instrument-edit": "/instruments/1/edit", "sitting-edit": "/sittings/7/edit", "references": "/references", "reference": "/references/1", "reference-new": "/references/new", "reference-edit": "/references/1/edit",
		"publications": "/publications", "publication": "/publications/1", "publication-new": "/publications/new?assay=4",
		"wavelength-start": "/instruments/2/wavelength", "wavelength": pairs.path,
		"log": "/log", "trash": "/trash", "settings": "/settings", "help": "/help", "error": "/lamps/99",
	}
}

// sittingRevision is the revision of a sitting, as its form has it.
func sittingRevision(t *testing.T, b *bench, sitting notebook.ID) int64 {
	t.Helper()
	sit, err := b.nb.Sittings().Get(t.Context(), sitting)
	if err != nil {
		t.Fatal(err)
	}
	return sit.Revision
}

func clubFile(t *testing.T, i int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := tidewater.Lamps()[i].Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestEveryPageCanBeReadByEveryone(t *testing.T) {
	b, pages := furnished(t)
	p := browser.Open(t, b.http.URL)
	for name, path := range pages {
		for _, width := range []int64{390, 1280} {
			for _, scheme := range []string{"light", "dark"} {
				if *shots == "" && (width == 390) == (scheme == "dark") {
					continue // each width and each scheme once
				}
				t.Run(fmt.Sprintf("%s at %d px, %s", name, width, scheme), func(t *testing.T) {
					p.Scheme(scheme)
					p.Do(chromedp.EmulateViewport(width, 900))
					p.Visit(path)
					if name == "sitting" {
						p.Await("the chart", `!!document.querySelector('.uplot')`)
					}
					if over := p.TooWide(); over != "" {
						t.Error(over)
					}
					if jumps := p.HeadingJumps(); len(jumps) > 0 {
						t.Errorf("headings leave out a level: %q", jumps)
					}
					if found := p.Axe(); len(found) > 0 {
						t.Errorf("%d faults of accessibility: %q", len(found), found[:min(4, len(found))])
					}
					if *shots != "" {
						p.Shoot(filepath.Join(*shots, fmt.Sprintf("%s-%d-%s.png", name, width, scheme)))
					}
				})
			}
		}
	}
	p.Quiet("404")
}
