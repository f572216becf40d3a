package browser

import (
	_ "embed"
	"fmt"
)

//go:embed axe/axe.min.js
var axe string // see NOTICE

// TooWide says what reaches beyond the screen's right edge, "" where nothing does.
// What scrolls by itself may be wider.
func (p *Tab) TooWide() string {
	p.Helper()
	const widest = `[...document.querySelectorAll('body *')].filter(e => !e.closest('.scroll, .data') || e.matches('.scroll, .data'))
	.map(e => [e.getBoundingClientRect().right, e.tagName + '.' + e.className + ' ' + e.textContent.slice(0, 40)])
	.sort((a, b) => b[0] - a[0])[0][1]`
	if over := Ask[int](p, `document.documentElement.scrollWidth - innerWidth`); over > 0 {
		return fmt.Sprintf("the page is %d px wider than the screen: %s", over, Ask[string](p, widest))
	}
	return ""
}

// HeadingJumps returns the headings that leave out a level.
func (p *Tab) HeadingJumps() []string {
	p.Helper()
	return Ask[[]string](p, `[...document.querySelectorAll('h1, h2, h3, h4')].filter((h, i, all) =>
	+h.tagName[1] > (i ? +all[i - 1].tagName[1] : 0) + 1).map(h => h.textContent)`)
}

// Axe returns what the accessibility checker calls serious or critical.
func (p *Tab) Axe() []string {
	p.Helper()
	if !Ask[bool](p, `typeof axe === 'object'`) {
		Ask[bool](p, axe+"; true")
	}
	return Ask[[]string](p, `axe.run(document, {resultTypes: ['violations']}).then((r) =>
		r.violations.filter((v) => v.impact === 'serious' || v.impact === 'critical')
			.flatMap((v) => v.nodes.map((n) => v.id + ': ' + n.html.slice(0, 160) + ' | ' + (n.any[0]?.message ?? n.failureSummary).slice(0, 200))))`)
}
