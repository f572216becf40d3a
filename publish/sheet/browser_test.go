package sheet

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"lampassay/publish/internal/browser"
)

// show writes a page to a file and goes there.
func show(p *browser.Tab, html string, width int64) {
	p.Helper()
	file := filepath.Join(p.TempDir(), "page.html")
	if err := os.WriteFile(file, []byte(html), 0o600); err != nil {
		p.Fatal(err)
	}
	p.Width(width)
	p.Visit(file)
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
	page := browser.Open(t, "file://")
	for name, html := range everyPage(t) {
		for _, width := range []int64{390, 1280} {
			t.Run(fmt.Sprintf("%s at %d px", name, width), func(t *testing.T) {
				show(page, html, width)
				if over := page.TooWide(); over != "" {
					t.Error(over)
				}
				if nameless := browser.Ask[int](page, `[...document.querySelectorAll('svg')].filter(s =>
					s.getAttribute('role') !== 'img' || !s.getAttribute('aria-label')).length`); nameless > 0 {
					t.Errorf("%d pictures have no name for those who cannot see them", nameless)
				}
				if bare := browser.Ask[int](page, `[...document.querySelectorAll('figure.picture')].filter(f =>
					!f.querySelector('details table tbody td') && !f.querySelector('.absent')).length`); bare > 0 {
					t.Errorf("%d figures have no table of their data", bare)
				}
				if faint := browser.Ask[[]string](page, faintText); len(faint) > 0 {
					t.Errorf("contrast under 4.5 in the light theme: %q", faint)
				}
				if jumps := page.HeadingJumps(); len(jumps) > 0 {
					t.Errorf("headings leave out a level: %q", jumps)
				}
			})
		}
	}
	page.Quiet()
}

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

func TestTheDarkThemeIsDarkAndReadable(t *testing.T) {
	page := browser.Open(t, "file://")
	_, dark := ground()
	want := fmt.Sprintf("rgb(%d, %d, %d)", dark.R, dark.G, dark.B)
	const background = `getComputedStyle(document.body).backgroundColor`
	for name, html := range everyPage(t) {
		page.Scheme("dark")
		show(page, html, 1280)
		if got := browser.Ask[string](page, background); got != want {
			t.Errorf("%s: the ground is %s, want %s", name, got, want)
		}
		if faint := browser.Ask[[]string](page, faintText); len(faint) > 0 {
			t.Errorf("%s: contrast under 4.5 in the dark theme: %q", name, faint)
		}
		if got := browser.Ask[string](page, `document.getElementById('theme').click() ?? `+background); got == want {
			t.Errorf("%s: the reader cannot choose the light page", name)
		}
	}
}

func TestTheComparisonSortsByKeyboard(t *testing.T) {
	page := browser.Open(t, "file://")
	show(page, comparisonOf(t, lampsOf(t), Options{}), 1280)
	page.TabTo("Ra")

	order := func() []string {
		return browser.Ask[[]string](page, `[...document.querySelectorAll('.compare tbody th')].map(th => th.textContent.trim())`)
	}
	byRa := []string{"Tungsten filament", "Phosphor LED, 4000 K class", "Triphosphor tube", "Tube without figures", "High-pressure sodium, yard lantern"}
	// Sodium is outside the index's scope, and the green line has none.
	unranked := []string{"Low-pressure sodium", "Green line"}

	page.Key(kb.Enter)
	if got, want := order(), slices.Concat(byRa, unranked); !slices.Equal(got, want) {
		t.Errorf("by Ra, highest first: %q, want %q", got, want)
	}
	const sorted = `document.querySelector('[aria-sort]').ariaSort + ': ' + document.getElementById('sorted').textContent`
	if got, want := browser.Ask[string](page, sorted), "descending: Sorted by general colour rendering index, highest first."; got != want {
		t.Errorf("announced %q, want %q", got, want)
	}
	page.Key(" ")
	slices.Reverse(byRa)
	if got, want := order(), slices.Concat(byRa, unranked); !slices.Equal(got, want) {
		t.Errorf("by Ra, lowest first: %q, want %q", got, want)
	}

	page.TabTo("Efficacy")
	page.Key(kb.Enter)
	got := order()
	if last := got[len(got)-2:]; got[0] != "Low-pressure sodium" || !slices.Equal(last, []string{"Tube without figures", "Green line"}) {
		t.Errorf("by efficacy the sodium lamp is first and the lamps without a value last, got %q", got)
	}
	if n := browser.Ask[int](page, `document.querySelectorAll('[aria-sort]').length`); n != 1 {
		t.Errorf("%d columns say they are sorted, want 1", n)
	}
}
