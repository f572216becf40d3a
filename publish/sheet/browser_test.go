package sheet

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// chromium finds the browser. The tests need one: without it nothing would show
// that the page is what it says.
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

// tab is a page opened in a browser of its own, with what went over the
// network and what the console said.
type tab struct {
	ctx context.Context
	mu  sync.Mutex
	// requests are URLs; complaints are console errors, warnings and exceptions.
	requests, complaints []string
}

// open starts a fresh browser that can reach no network and no earlier profile.
func open(t *testing.T) *tab {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(chromium(t)),
		chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("no-sandbox", true),
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true),
	)
	ctx, cancel := context.WithTimeout(t.Context(), 90*time.Second)
	t.Cleanup(cancel)
	ctx, cancelBrowser := chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancelBrowser)
	ctx, cancelTab := chromedp.NewContext(ctx)
	t.Cleanup(cancelTab)

	page := &tab{ctx: ctx}
	err := chromedp.Listen(ctx, func(ev any) {
		page.mu.Lock()
		defer page.mu.Unlock()
		switch ev := ev.(type) {
		case *network.EventRequestWillBeSent:
			page.requests = append(page.requests, ev.Request.URL)
		case *runtime.EventConsoleAPICalled:
			page.complaints = append(page.complaints, fmt.Sprint("console: ", ev.Type))
		case *runtime.EventExceptionThrown:
			page.complaints = append(page.complaints, "exception: "+ev.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			page.complaints = append(page.complaints, "log: "+ev.Entry.Text)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	page.do(t, command(network.Enable, network.EnableParams{}), command(log.Enable, cdp.Empty{}))
	return page
}

// command makes a protocol command a step.
func command[P, R any](c cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, c, params)
		return err
	})
}

func (p *tab) do(t *testing.T, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(p.ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

// show writes a page to a file and goes there.
func (p *tab) show(t *testing.T, html string, width int64) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, []byte(html), 0o600); err != nil {
		t.Fatal(err)
	}
	p.do(t, chromedp.EmulateViewport(width, 900), chromedp.Navigate("file://"+file))
}

// ask evaluates an expression in the page.
func ask[T any](t *testing.T, p *tab, expression string) T {
	t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

func (p *tab) scheme(t *testing.T, scheme string) {
	t.Helper()
	p.do(t, command(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	}))
}

// everyPage returns a sheet for each specimen and each lamp of the club, and the
// comparison of the specimens.
func everyPage(t *testing.T) map[string]string {
	pages := map[string]string{
		"comparison":   comparisonOf(t, lampsOf(t), Options{Invented: true}),
		"side by side": comparisonOf(t, besideLamps(t), Options{Invented: true, Cost: bill(t)}),
	}
	for _, l := range append(lampsOf(t), clubLamps(t)...) {
		pages[l.Name] = sheetOf(t, l, Options{Invented: true, Version: "test"})
	}
	return pages
}

func TestPagesInABrowser(t *testing.T) {
	page := open(t)
	for name, html := range everyPage(t) {
		for _, width := range []int64{390, 1280} {
			t.Run(fmt.Sprintf("%s at %d px", name, width), func(t *testing.T) {
				page.show(t, html, width)
				if over := ask[int](t, page, `document.documentElement.scrollWidth - innerWidth`); over > 0 {
					t.Errorf("the page is %d px wider than the screen: %s", over, ask[string](t, page, widest))
				}
				if nameless := ask[int](t, page, `[...document.querySelectorAll('svg')].filter(s =>
					s.getAttribute('role') !== 'img' || !s.getAttribute('aria-label')).length`); nameless > 0 {
					t.Errorf("%d pictures have no name for those who cannot see them", nameless)
				}
				if bare := ask[int](t, page, `[...document.querySelectorAll('figure.picture')].filter(f =>
					!f.querySelector('details table tbody td') && !f.querySelector('.absent')).length`); bare > 0 {
					t.Errorf("%d figures have no table of their data", bare)
				}
				if faint := ask[[]string](t, page, faintText); len(faint) > 0 {
					t.Errorf("contrast under 4.5 in the light theme: %q", faint)
				}
				if jumps := ask[[]string](t, page, headingJumps); len(jumps) > 0 {
					t.Errorf("headings leave out a level: %q", jumps)
				}
			})
		}
	}
	page.mu.Lock()
	defer page.mu.Unlock()
	for _, url := range page.requests {
		if !strings.HasPrefix(url, "file:") && !strings.HasPrefix(url, "data:") {
			t.Errorf("the page asked for %s", url)
		}
	}
	if len(page.requests) == 0 {
		t.Error("no request was seen, not even for the pages: the listener is deaf")
	}
	if len(page.complaints) > 0 {
		t.Errorf("the browser complains: %q", page.complaints)
	}
}

// widest names the element that reaches furthest to the right.
const widest = `[...document.querySelectorAll('body *')].filter(e => !e.closest('.scroll, .data') || e.matches('.scroll, .data'))
	.map(e => [e.getBoundingClientRect().right, e.tagName + '.' + e.className + ' ' + e.textContent.slice(0, 40)])
	.sort((a, b) => b[0] - a[0])[0][1]`

// faintText lists visible text whose contrast with the page's ground is under
// 4.5, by WCAG 2.2.
const faintText = `(() => {
	const rgb = s => s.match(/[\d.]+/g).slice(0, 3).map(v => v / 255);
	const lum = s => rgb(s).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
		.reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
	const ground = lum(getComputedStyle(document.body).backgroundColor);
	const faint = new Set();
	const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	while (walk.nextNode()) {
		const e = walk.currentNode.parentElement;
		if (!walk.currentNode.data.trim() || e.closest('svg, script')) continue;
		const l = lum(getComputedStyle(e).color);
		if ((Math.max(l, ground) + 0.05) / (Math.min(l, ground) + 0.05) < 4.5) faint.add(walk.currentNode.data.trim());
	}
	return [...faint];
})()`

const headingJumps = `[...document.querySelectorAll('h1, h2, h3, h4')].filter((h, i, all) =>
	+h.tagName[1] > (i ? +all[i - 1].tagName[1] : 0) + 1).map(h => h.textContent)`

func TestTheDarkThemeIsDarkAndReadable(t *testing.T) {
	page := open(t)
	_, dark := ground()
	want := fmt.Sprintf("rgb(%d, %d, %d)", dark.R, dark.G, dark.B)
	const background = `getComputedStyle(document.body).backgroundColor`
	for name, html := range everyPage(t) {
		page.scheme(t, "dark")
		page.show(t, html, 1280)
		if got := ask[string](t, page, background); got != want {
			t.Errorf("%s: the ground is %s, want %s", name, got, want)
		}
		if faint := ask[[]string](t, page, faintText); len(faint) > 0 {
			t.Errorf("%s: contrast under 4.5 in the dark theme: %q", name, faint)
		}
		if got := ask[string](t, page, `document.getElementById('theme').click() ?? `+background); got == want {
			t.Errorf("%s: the reader cannot choose the light page", name)
		}
	}
}

func TestTheComparisonSortsByKeyboard(t *testing.T) {
	page := open(t)
	page.show(t, comparisonOf(t, lampsOf(t), Options{}), 1280)
	reach(t, page, "Ra")

	order := func() []string {
		return ask[[]string](t, page, `[...document.querySelectorAll('.compare tbody th')].map(th => th.textContent.trim())`)
	}
	byRa := []string{"Tungsten filament", "Phosphor LED, 4000 K class", "Triphosphor tube", "Tube without figures", "High-pressure sodium, yard lantern"}
	// Sodium is outside the index's scope, and the green line has none.
	unranked := []string{"Low-pressure sodium", "Green line"}

	page.do(t, chromedp.KeyEvent(kb.Enter))
	if got, want := order(), slices.Concat(byRa, unranked); !slices.Equal(got, want) {
		t.Errorf("by Ra, highest first: %q, want %q", got, want)
	}
	const sorted = `document.querySelector('[aria-sort]').ariaSort + ': ' + document.getElementById('sorted').textContent`
	if got, want := ask[string](t, page, sorted), "descending: Sorted by general colour rendering index, highest first."; got != want {
		t.Errorf("announced %q, want %q", got, want)
	}
	page.do(t, chromedp.KeyEvent(" "))
	slices.Reverse(byRa)
	if got, want := order(), slices.Concat(byRa, unranked); !slices.Equal(got, want) {
		t.Errorf("by Ra, lowest first: %q, want %q", got, want)
	}

	reach(t, page, "Efficacy")
	page.do(t, chromedp.KeyEvent(kb.Enter))
	got := order()
	if last := got[len(got)-2:]; got[0] != "Low-pressure sodium" || !slices.Equal(last, []string{"Tube without figures", "Green line"}) {
		t.Errorf("by efficacy the sodium lamp is first and the lamps without a value last, got %q", got)
	}
	if n := ask[int](t, page, `document.querySelectorAll('[aria-sort]').length`); n != 1 {
		t.Errorf("%d columns say they are sorted, want 1", n)
	}
}

// reach presses Tab until a column's button has the focus, and checks that the
// focus can be seen.
func reach(t *testing.T, p *tab, label string) {
	t.Helper()
	for range 60 {
		p.do(t, chromedp.KeyEvent(kb.Tab))
		if ask[string](t, p, `document.activeElement.textContent.trim()`) == label {
			if ask[string](t, p, `getComputedStyle(document.activeElement).outlineStyle`) == "none" {
				t.Errorf("the focus on %q cannot be seen", label)
			}
			return
		}
	}
	t.Fatalf("Tab never reaches the column %q", label)
}
