package webapp

import (
	"bytes"
	"fmt"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"lampassay/publish/internal/browser"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"lampassay/bench/tidewater"
)

// unpaired is a bench with the club's mercury-argon lamp on its spectrometer, whose
// yellow lines are one peak that the search pairs with nothing. page is where the
// pairing is shown.
func unpaired(t *testing.T) (b *bench, page string) {
	t.Helper()
	b = newBench(t)
	b.must("/instruments", url.Values{"name": {"Club spectrometer"}, "sort": {"spectrometer"}})
	var file bytes.Buffer
	if err := tidewater.Recordings()[2].Write(&file); err != nil {
		t.Fatal(err)
	}
	seen := b.upload("/instruments/1/wavelength", "mercury-argon.csv", file.Bytes(), url.Values{"lamp": {"mercury-argon"}})
	if row := rowOf(seen.body, yellowPeak); !strings.Contains(row, "no line") {
		t.Fatalf("the yellow peak says %q", row)
	}
	return b, seen.path
}

// The peak of mercury's yellow lines, and what a pair calls one of them.
const yellowPeak, yellowLine = "347.5", "576.961"

// rowOf is what the table says of a peak, the list of lines left out.
func rowOf(page, peak string) string {
	m := regexp.MustCompile(`(?s)<th scope="row" class="num">` + regexp.QuoteMeta(peak) + `</th>(.*?)</tr>`).FindStringSubmatch(page)
	if m == nil {
		return ""
	}
	return textOf(regexp.MustCompile(`(?s)<optgroup.*?</optgroup>`).ReplaceAllString(m[1], ""))
}

// shown is rowOf in a browser.
func shown(p *browser.Tab, peak string) string {
	p.Helper()
	return rowOf(browser.Ask[string](p, `document.documentElement.outerHTML`), peak)
}

// residualsOn are those of the lines that the search finds, as an axis moves them all.
func residualsOn(p *browser.Tab) string {
	p.Helper()
	return browser.Ask[string](p, `[...document.querySelectorAll('.pairs tbody tr')].filter((r) => r.cells[5].textContent === 'found').map((r) => r.cells[0].textContent + ': ' + r.cells[3].textContent).join('; ')`)
}

const (
	onYellowPeak = `[data-peak="` + yellowPeak + `"] .reach`
	onYellowLine = `[data-line="` + yellowLine + `"] .reach`
	isPaired     = `new URLSearchParams(location.search).getAll('pair').join() === '` + yellowPeak + `:` + yellowLine + `' && document.readyState === 'complete'`
	isUnpaired   = `!new URLSearchParams(location.search).has('pair') && document.readyState === 'complete' && document.fonts.status === 'loaded' && !!document.querySelector('[role=slider]')`
	said         = `document.getElementById('pairing-said').textContent`
)

func TestAPeakIsDraggedOntoItsLine(t *testing.T) {
	b, path := unpaired(t)
	p := browser.Open(t, b.http.URL)
	p.Do(chromedp.EmulateViewport(1280, 900))
	p.Visit(path)
	p.Await("the handles", isUnpaired)
	before := residualsOn(p)

	p.Drag(onYellowPeak, onYellowLine)
	if got := browser.Ask[string](p, said); got != "Pixel 347.5 with Hg I 576.961: let go to pair them." {
		t.Errorf("while dragging the page says %q", got)
	}
	if *shots != "" {
		p.Shoot(filepath.Join(*shots, "pairing-drag-1280-light.png"))
	}
	p.Do(chromedp.KeyEvent(kb.Escape))
	p.LetGo(onYellowLine)
	if got := browser.Ask[string](p, said+" + location.search"); !strings.HasPrefix(got, "Let go; nothing was paired.") || strings.Contains(got, "pair=") {
		t.Errorf("after Escape the page says %q", got)
	}

	for _, way := range [][2]string{{onYellowPeak, onYellowLine}, {onYellowLine, onYellowPeak}} {
		p.Drag(way[0], way[1])
		p.LetGo(way[1])
		p.Await("the pair", isPaired)
		if row := shown(p, yellowPeak); !strings.Contains(row, "Hg I 576.961") || !strings.Contains(row, "given") {
			t.Errorf("the table says %q", row)
		}
		if after := residualsOn(p); after == before {
			t.Errorf("the axis did not change: %s", after)
		}
		p.Said("the peak at pixel 347.5 is Hg I 576.961")
		browser.Ask[bool](p, `history.back() ?? true`)
		p.Await("the page before", isUnpaired)
		if row := shown(p, yellowPeak); !strings.Contains(row, "no line") {
			t.Errorf("after going back the table says %q", row)
		}
		if again := residualsOn(p); again != before {
			t.Errorf("after going back the axis is not what it was: %s, before %s", again, before)
		}
	}
	p.Quiet()
}

func TestAPeakIsPairedByKeyboardAlone(t *testing.T) {
	b, path := unpaired(t)
	p := browser.Open(t, b.http.URL)
	p.Do(chromedp.EmulateViewport(390, 844))
	p.Visit(path)
	p.Await("the handles", isUnpaired)
	p.TabTo("Peak at pixel 43.7")
	for range 4 {
		p.Do(chromedp.KeyEvent(kb.ArrowDown))
	}
	if got := browser.Ask[string](p, said); got != "Pixel 347.5: no line: the search found none." {
		t.Errorf("on the peak the page says %q", got)
	}
	p.Do(chromedp.KeyEvent(kb.ArrowRight))
	p.Do(chromedp.KeyEvent(kb.ArrowLeft))
	if got := browser.Ask[string](p, said+` + document.activeElement.getAttribute('aria-valuetext')`); got != "Pixel 347.5 with Hg I 576.961: Enter pairs them.Hg I 576.961" {
		t.Errorf("on the line the page says %q", got)
	}
	p.Do(chromedp.KeyEvent(kb.Escape), chromedp.KeyEvent(kb.Enter))
	if browser.Ask[bool](p, `location.search.includes('pair')`) {
		t.Error("Enter paired what Escape had let go")
	}
	p.Do(chromedp.KeyEvent(kb.ArrowLeft), chromedp.KeyEvent(kb.Enter))
	p.Await("the pair", isPaired)
	if row := shown(p, yellowPeak); !strings.Contains(row, "Hg I 576.961") || !strings.Contains(row, "given") {
		t.Errorf("the table says %q", row)
	}
	if found := p.Axe(); len(found) > 0 {
		t.Errorf("%d faults of accessibility: %q", len(found), found)
	}
	if *shots != "" {
		for name, more := range map[string]string{"zoom": "&zoom=4", "contradiction": "&pair=301.6:579.067", "refused": "&pair=301.6:650"} {
			for _, width := range []int64{390, 1280} {
				for _, scheme := range []string{"light", "dark"} {
					p.Scheme(scheme)
					p.Do(chromedp.EmulateViewport(width, 900))
					p.Visit(path + "&pair=143.2:435.8335" + more)
					p.Shoot(filepath.Join(*shots, fmt.Sprintf("pairing-%s-%d-%s.png", name, width, scheme)))
				}
			}
		}
		return
	}
	p.Quiet()
}

func TestPeaksArePairedWithoutAScript(t *testing.T) {
	b, path := unpaired(t)
	address, query, _ := strings.Cut(path, "?")
	fields, err := url.ParseQuery(query)
	if err != nil {
		t.Fatal(err)
	}
	fields["as"] = []string{"", yellowPeak + ":" + yellowLine, ""}
	seen := b.get(address + "?" + fields.Encode())
	if !strings.Contains(seen.path, "pair=347.5%3A576.961") || strings.Contains(seen.path, "as=") {
		t.Errorf("the choice led to %s", seen.path)
	}
	if row := rowOf(seen.body, yellowPeak); !strings.Contains(row, "Hg I 576.961") || !strings.Contains(row, "given") {
		t.Errorf("the table says %q", row)
	}
	want(t, seen.body, "the peak at pixel 347.5 is Hg I 576.961")

	// Another choice for the same peak, and then for the same line, replaces it.
	_, query, _ = strings.Cut(seen.path, "?")
	fields, err = url.ParseQuery(query)
	if err != nil {
		t.Fatal(err)
	}
	fields["as"] = []string{yellowPeak + ":579.067"}
	if seen := b.get(address + "?" + fields.Encode()); !strings.Contains(seen.path, "pair=347.5%3A579.067") || strings.Contains(seen.path, yellowLine) {
		t.Errorf("the choice led to %s", seen.path)
	}
	fields["as"] = []string{"526.1:" + yellowLine}
	if seen := b.get(address + "?" + fields.Encode()); !strings.Contains(seen.path, "pair=526.1%3A576.961") || strings.Contains(seen.path, yellowPeak) {
		t.Errorf("the choice led to %s", seen.path)
	}

	// What is kept says which line was given.
	fields.Del("as")
	fields.Set("accept", "1")
	kept := b.must(address, fields)
	want(t, kept.body, "Instrument 1 was changed: its own file.", "Hg I 576.961", "yes, given")
	want(t, b.page("/log"), "Instrument 1")
}

func TestPairsThatCannotBeAreTakenBackOnThePage(t *testing.T) {
	b, path := unpaired(t)
	address, query, _ := strings.Cut(path, "?")
	fields, err := url.ParseQuery(query)
	if err != nil {
		t.Fatal(err)
	}
	for pair, says := range map[string]string{
		"200.0:546.075":  "mercury-argon.csv has no peak near pixel 200: the nearest is at pixel",
		"347.5:550":      "has no known line within 0.5 nm of 550 nm",
		"99.0:978.4503":  "No axis holds pixel 99.0 with Ar I 978.450 and the rest",
		"5000:546.075":   "the detector has the pixels 0 to 1023",
		"347.5":          "A pair is written like 812.3:546.075",
		"green:546.075":  "A pair is written like 812.3:546.075",
		"NaN:546.075":    "the detector has the pixels 0 to 1023",
		"347.5:<script>": "A pair is written like 812.3:546.075",
	} {
		fields["pair"] = []string{pair}
		seen := b.get(address + "?" + fields.Encode())
		if text := textOf(seen.body); seen.status != 422 || !strings.Contains(strings.ReplaceAll(text, "&#39;", "’"), says) {
			t.Errorf("%s: %d, %.600s", pair, seen.status, text)
		}
		if strings.Contains(says, "written like") {
			continue // nothing can be shown for what cannot be read
		}
		if !strings.Contains(seen.body, `name="pair" value="`+pair+`" checked`) || !strings.Contains(seen.body, "data-pairing") {
			t.Errorf("%s cannot be taken back", pair)
		}
		if kept := b.post(address, fields); kept.status != 422 {
			t.Errorf("%s was kept: %d", pair, kept.status)
		}
	}
}
