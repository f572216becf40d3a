package webapp

import (
	"fmt"
	"net/url"
	"testing"

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
		p := openTab(t, b.http.URL)
		p.do(chromedp.EmulateViewport(int64(width), 800))
		p.visit("/sittings/1")
		p.fill(`[name="power"]`, "36")
		p.press("Record")
		p.said("is recorded.")
		p.await("the box that takes it back, in sight of the readings", seen+`(document.querySelector('.done')) && `+seen+`(document.querySelector('#live'))`)
		p.visit("/sittings/1")
		p.await("the steps", `document.querySelectorAll('.steps button').length > 3`)
		ask[bool](p, `(document.querySelectorAll('.steps button')[3].click(), true)`)
		p.await("the tick", `location.hash === '#step3' && document.querySelectorAll('.steps button')[3].ariaPressed !== null`)
		p.said("ticked")
		p.do(chromedp.KeyEvent(kb.Tab))
		if at := ask[string](p, `document.activeElement.closest('li')?.id ?? document.activeElement.outerHTML.slice(0, 200)`); at != "step3" {
			t.Errorf("%d px: after a tick the first Tab leads to %s", width, at)
		}
		p.await("the step and the box that takes it back, in sight", seen+`(document.querySelector('.done')) && `+seen+`(document.querySelector('#step3'))`)
		if ask[bool](p, fmt.Sprintf(`(document.elementFromPoint(%d, document.querySelector('#step3').getBoundingClientRect().top + 4)?.closest('.just') ?? null) !== null`, width/3)) {
			t.Errorf("%d px: the box lies over the step", width)
		}
		p.quiet()
	}
}
