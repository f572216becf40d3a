package webapp

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"lampassay/bench/notebook"
	"lampassay/bench/tidewater"
)

var shots = flag.String("screenshots", "", "write every page as it looks to this `folder`")

// chromium finds the browser. The tests need one: without it nothing would show
// that the pages are what they say.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Fatal("no chromium is installed, and the pages are tested in one: on Debian, apt-get install chromium")
	return ""
}

// tab is a page in a browser of its own, with what it asked for and what it
// complained of.
type tab struct {
	*testing.T
	ctx  context.Context
	base string

	mu                   sync.Mutex
	requests, complaints []string
}

func openTab(t *testing.T, base string) *tab {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(chromium(t)),
		chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("no-sandbox", true),
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true),
	)
	ctx, cancel := context.WithTimeout(t.Context(), 3*time.Minute)
	t.Cleanup(cancel)
	ctx, cancelBrowser := chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancelBrowser)
	ctx, cancelTab := chromedp.NewContext(ctx)
	t.Cleanup(cancelTab)
	p := &tab{T: t, ctx: ctx, base: base}
	err := chromedp.Listen(ctx, func(ev any) {
		p.mu.Lock()
		defer p.mu.Unlock()
		switch ev := ev.(type) {
		case *network.EventRequestWillBeSent:
			p.requests = append(p.requests, ev.Request.URL)
		case *runtime.EventConsoleAPICalled:
			p.complaints = append(p.complaints, fmt.Sprint("console: ", ev.Type))
		case *runtime.EventExceptionThrown:
			p.complaints = append(p.complaints, "exception: "+ev.ExceptionDetails.Text)
		case *cdplog.EventEntryAdded:
			p.complaints = append(p.complaints, "log: "+ev.Entry.Text+" "+ev.Entry.URL)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	p.do(command(network.Enable, network.EnableParams{}), command(cdplog.Enable, cdp.Empty{}))
	return p
}

// command makes a protocol command a step.
func command[P, R any](c cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, c, params)
		return err
	})
}

func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.Helper()
	if err := chromedp.Do(p.ctx, steps...); err != nil {
		p.Fatal(err)
	}
}

// ask evaluates an expression in the page.
func ask[T any](p *tab, expression string) T {
	p.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		p.Fatalf("%.200s: %v", expression, err)
	}
	return v
}

// await waits until an expression holds.
func (p *tab) await(what, expression string) {
	p.Helper()
	for range 300 {
		if v, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](expression)); err == nil && v {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	text := ask[string](p, `document.body.innerText.slice(0, 1500)`)
	p.Fatalf("%s did not come: %s", what, text)
}

// said waits for words on the page.
func (p *tab) said(words string) {
	p.Helper()
	p.await(fmt.Sprintf("%q", words), fmt.Sprintf(`document.body.innerText.includes(%s)`, quoted(words)))
}

func quoted(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err) // a string can be written
	}
	return string(b)
}

func (p *tab) visit(path string) {
	p.Helper()
	p.do(chromedp.Navigate(p.base + path))
}

// press clicks what has these words.
func (p *tab) press(words string) {
	p.Helper()
	p.await("the button "+words, fmt.Sprintf(`(() => {
		const e = [...document.querySelectorAll('button, a, summary')].find((e) => e.textContent.trim() === %s && e.checkVisibility());
		if (e) e.click();
		return !!e;
	})()`, quoted(words)))
}

// fill writes into a field as a person would.
func (p *tab) fill(selector, value string) {
	p.Helper()
	p.await(selector, fmt.Sprintf(`(() => {
		const e = document.querySelector(%s);
		if (!e) return false;
		e.focus();
		e.value = %s;
		e.dispatchEvent(new Event('input', {bubbles: true}));
		e.dispatchEvent(new Event('change', {bubbles: true}));
		return true;
	})()`, quoted(selector), quoted(value)))
}

// choose gives a file to the page's file field.
func (p *tab) choose(name string, content []byte) {
	p.Helper()
	path := filepath.Join(p.TempDir(), name)
	if err := os.WriteFile(path, content, 0o600); err != nil {
		p.Fatal(err)
	}
	p.do(chromedp.SetUploadFiles("input[type=file]", []string{path}))
}

// quiet fails on anything that the browser complained of, and on any request that
// left the server.
func (p *tab) quiet(allowed ...string) {
	p.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.requests) == 0 {
		p.Error("no request was seen: the listener is deaf")
	}
	for _, u := range p.requests {
		if !strings.HasPrefix(u, p.base) && !strings.HasPrefix(u, "data:") && u != "about:blank" {
			p.Errorf("the page asked for %s", u)
		}
	}
complaints:
	for _, c := range p.complaints {
		for _, a := range allowed {
			if strings.Contains(c, a) {
				continue complaints
			}
		}
		p.Errorf("the browser complains: %s", c)
	}
}

// axe returns what the accessibility checker calls serious or critical.
func (p *tab) axe() []string {
	p.Helper()
	if !ask[bool](p, `typeof axe === 'object'`) {
		source, err := os.ReadFile("testdata/axe/axe.min.js")
		if err != nil {
			p.Fatal(err)
		}
		ask[bool](p, string(source)+"; true")
	}
	return ask[[]string](p, `axe.run(document, {resultTypes: ['violations']}).then((r) =>
		r.violations.filter((v) => v.impact === 'serious' || v.impact === 'critical')
			.flatMap((v) => v.nodes.map((n) => v.id + ': ' + n.html.slice(0, 160) + ' | ' + (n.any[0]?.message ?? n.failureSummary).slice(0, 200))))`)
}

func (p *tab) scheme(scheme string) {
	p.Helper()
	p.do(command(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	}))
}

// widest names the element that reaches furthest to the right.
const widest = `[...document.querySelectorAll('body *')].filter(e => !e.closest('.scroll, .data') || e.matches('.scroll, .data'))
	.map(e => [e.getBoundingClientRect().right, e.tagName + '.' + e.className + ' ' + e.textContent.slice(0, 40)])
	.sort((a, b) => b[0] - a[0])[0][1]`

const headingJumps = `[...document.querySelectorAll('h1, h2, h3, h4')].filter((h, i, all) =>
	+h.tagName[1] > (i ? +all[i - 1].tagName[1] : 0) + 1).map(h => h.textContent)`

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
	p := openTab(t, b.http.URL)
	for name, path := range pages {
		for _, width := range []int64{390, 1280} {
			for _, scheme := range []string{"light", "dark"} {
				if *shots == "" && (width == 390) == (scheme == "dark") {
					continue // each width and each scheme once
				}
				t.Run(fmt.Sprintf("%s at %d px, %s", name, width, scheme), func(t *testing.T) {
					p.scheme(scheme)
					p.do(chromedp.EmulateViewport(width, 900))
					p.visit(path)
					if name == "sitting" {
						p.await("the chart", `!!document.querySelector('.uplot')`)
					}
					if over := ask[int](p, `document.documentElement.scrollWidth - innerWidth`); over > 0 {
						t.Errorf("the page is %d px wider than the screen: %s", over, ask[string](p, widest))
					}
					if jumps := ask[[]string](p, headingJumps); len(jumps) > 0 {
						t.Errorf("headings leave out a level: %q", jumps)
					}
					if found := p.axe(); len(found) > 0 {
						t.Errorf("%d faults of accessibility: %q", len(found), found[:min(4, len(found))])
					}
					if *shots != "" {
						p.shoot(filepath.Join(*shots, fmt.Sprintf("%s-%d-%s.png", name, width, scheme)))
					}
				})
			}
		}
	}
	p.quiet("404")
}

// shoot writes the whole page as it looks.
func (p *tab) shoot(path string) {
	p.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		p.Fatal(err)
	}
	png, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		p.Fatal(err)
	}
	if err := os.WriteFile(path, png, 0o644); err != nil {
		p.Fatal(err)
	}
}
