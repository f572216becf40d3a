package webapp

import (
	"fmt"
	"net/url"
	"testing"

	"lampassay/publish/internal/browser"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// seen tells whether an element is within the window.
const seen = `((e) => { const r = e.getBoundingClientRect(); return r.top >= 0 && r.bottom <= innerHeight; })`

func TestWhatWasDoneStaysInSightAndTheKeyboardGoesOnFromThere(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Level crossing lamp"}, "technology": {"low-pressure sodium"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	for _, width := range []int{1280, 390} {
		p := browser.Open(t, b.http.URL)
		p.Do(chromedp.EmulateViewport(int64(width), 800))
		p.Visit("/sittings/1")
		p.Fill(`[name="power"]`, "36")
		p.Press("Record")
		p.Said("is recorded.")
		p.Await("the box that takes it back, in sight of the readings", seen+`(document.querySelector('.done')) && `+seen+`(document.querySelector('#live'))`)
		p.Visit("/sittings/1")
		p.Await("the steps", `document.querySelectorAll('.steps button').length > 3`)
		browser.Ask[bool](p, `(document.querySelectorAll('.steps button')[3].click(), true)`)
		p.Await("the tick", `location.hash === '#step3' && document.querySelectorAll('.steps button')[3].ariaPressed !== null`)
		p.Said("ticked")
		p.Do(chromedp.KeyEvent(kb.Tab))
		if at := browser.Ask[string](p, `document.activeElement.closest('li')?.id ?? document.activeElement.outerHTML.slice(0, 200)`); at != "step3" {
			t.Errorf("%d px: after a tick the first Tab leads to %s", width, at)
		}
		p.Await("the step and the box that takes it back, in sight", seen+`(document.querySelector('.done')) && `+seen+`(document.querySelector('#step3'))`)
		if browser.Ask[bool](p, fmt.Sprintf(`(document.elementFromPoint(%d, document.querySelector('#step3').getBoundingClientRect().top + 4)?.closest('.just') ?? null) !== null`, width/3)) {
			t.Errorf("%d px: the box lies over the step", width)
		}
		p.Quiet()
	}
}
