package webapp

import (
	"fmt"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lampassay/publish/internal/browser"

	"lampassay/bench/notebook"
	"lampassay/bench/tidewater"

	"github.com/chromedp/chromedp"
)

// cold imports the club's sodium lamp from its switch on: 46 spectra over a quarter
// of an hour in sitting 1.
func (b *bench) cold() {
	b.Helper()
	b.must("/lamps", url.Values{"name": {"Level crossing lamp"}, "technology": {"low-pressure sodium"}})
	b.must("/sittings", url.Values{"lamp": {"1"}, "title": {"From cold"}})
	var file strings.Builder
	if err := tidewater.RunUp().Write(&file); err != nil {
		b.Fatal(err)
	}
	seen := b.upload("/import", "run-up.csv", []byte(file.String()), url.Values{"sitting": {"1"}})
	path, _, _ := strings.Cut(seen.path, "?")
	b.must(path, url.Values{"name": {"run-up.csv"}, "sitting": {"1"}})
}

func TestARunUpIsDrawnAsItsSpectraAndItsElements(t *testing.T) {
	b := newBench(t)
	b.cold()
	if !strings.Contains(b.page("/sittings/1"), `href="/sittings/1/pictures"`) {
		t.Error("the sitting's page does not lead to its pictures")
	}
	page := b.page("/sittings/1/pictures")
	// Neon's red glow gives way to sodium's D lines at 589 nm.
	want(t, page, "46 spectra, times from the beginning of the record", "900.0 589.0 1.00", "Na I", "Ne I", "The same as a table")
	for _, alt := range []string{"Spectra from 400 to 850 nm over 900 s.", "At 900 s strongest at 589 nm.", "Power in the lines of each emitter from 0 to 900 s. Highest: "} {
		if !strings.Contains(page, alt) {
			t.Errorf("whoever does not see the pictures is not told %q", alt)
		}
	}
	b.must("/sittings/1/reading", url.Values{"note": {"someone opened the door"}})
	b.must("/sittings/1/strike", url.Values{"from": {"1"}, "to": {"6"}, "reason": {"not yet lit"}})
	want(t, b.page("/sittings/1/pictures"), "40 spectra, times")
}

func TestARunUpThatCannotBeDrawnSaysWhy(t *testing.T) {
	b := newBench(t)
	sit := b.sit(notebook.SetUp{})
	want(t, textOf(b.page("/sittings/1/pictures")), "This sitting has no spectrum yet.")
	harbourSpectra(b, sit, 1)
	if strings.Contains(b.page("/sittings/1"), "/pictures") {
		t.Error("pictures of one spectrum are offered")
	}
	want(t, textOf(b.page("/sittings/1/pictures")), "two spectra or more from one source", "here there is one")
	harbourSpectra(b, sit, 0, 0) // nothing at all
	want(t, textOf(b.page("/sittings/1/pictures")), "3 spectra")
	if got := b.get("/sittings/9/pictures"); got.status != http.StatusNotFound {
		t.Errorf("the pictures of no sitting are answered with %d", got.status)
	}
}

func TestALongListIsSpreadFromEndToEnd(t *testing.T) {
	var all []int
	for i := range 1000 {
		all = append(all, i)
	}
	some := spread(all, 48)
	if len(some) != 48 || some[0] != 0 || some[47] != 999 || !slices.IsSorted(some) || len(slices.Compact(some)) != 48 {
		t.Errorf("of a thousand these are taken: %d", some)
	}
	if got := spread(all[:48], 48); !slices.Equal(got, all[:48]) {
		t.Errorf("of 48 these are taken: %d", got)
	}
}

func TestThePicturesOfARunUpAreReadByEveryone(t *testing.T) {
	b := newBench(t)
	b.cold()
	p := browser.Open(t, b.http.URL)
	for _, width := range []int64{390, 1280} {
		for _, scheme := range []string{"light", "dark"} {
			p.Scheme(scheme)
			p.Do(chromedp.EmulateViewport(width, 900))
			p.Visit("/sittings/1/pictures")
			p.Said("In pictures")
			if over := p.TooWide(); over != "" {
				t.Error(over)
			}
			if jumps := p.HeadingJumps(); len(jumps) > 0 {
				t.Errorf("headings leave out a level: %q", jumps)
			}
			for _, fault := range p.Axe() {
				t.Errorf("%d px, %s: %s", width, scheme, fault)
			}
			if *shots != "" {
				p.Shoot(filepath.Join(*shots, fmt.Sprintf("pictures-%d-%s.png", width, scheme)))
			}
		}
	}
	p.Quiet()
}
