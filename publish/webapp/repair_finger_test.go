package webapp

import (
	"strings"
	"testing"

	"lampassay/publish/internal/browser"

	"github.com/chromedp/chromedp"
)

// scrolled is how far down the page stands and how far along the picture.
func scrolled(p *browser.Tab) (down, along float64) {
	p.Helper()
	at := browser.Ask[[]float64](p, `[scrollY, document.querySelector('.bench').scrollLeft]`)
	return at[0], at[1]
}

// phone is the page on a phone, its handles ready.
func phone(t *testing.T) (p *browser.Tab, path string) {
	t.Helper()
	b, path := unpaired(t)
	p = browser.Open(t, b.http.URL)
	p.Do(chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch))
	p.Visit(path)
	p.Await("the handles", isUnpaired)
	return p, path
}

func TestAFingerPairsAPeakWithALine(t *testing.T) {
	p, path := phone(t)
	for _, way := range []struct {
		name, from, to string
	}{
		{"peak to line", onYellowPeak, onYellowLine},
		{"line to peak", onYellowLine, onYellowPeak},
	} {
		p.Visit(path)
		p.Await("the handles", isUnpaired)
		fromX, fromY := p.Middle(way.from)
		toX, toY := p.Place(way.to)
		down, _ := scrolled(p)
		p.Finger(fromX, fromY, toX-fromX, toY-fromY)
		if got := browser.Ask[string](p, said); got != "Pixel 347.5 with Hg I 576.961: let go to pair them." {
			t.Errorf("%s: under the finger the page says %q", way.name, got)
		}
		if now, _ := scrolled(p); now != down {
			t.Errorf("%s: the page was scrolled by %g px", way.name, now-down)
		}
		p.LiftFinger()
		p.Await("the pair", isPaired)
		if row := shown(p, yellowPeak); !strings.Contains(row, "Hg I 576.961") || !strings.Contains(row, "given") {
			t.Errorf("%s: the table says %q", way.name, row)
		}
	}
	p.Quiet()
}

func TestAFingerBesideTheHandlesScrollsAndPairsNothing(t *testing.T) {
	p, _ := phone(t)
	p.Middle(onYellowPeak)
	at := browser.Ask[[]float64](p, `(() => {
		const seen = document.querySelector('.bench').getBoundingClientRect();
		for (let y = seen.top + 60; y < seen.bottom - 20; y += 4)
			for (let x = 120; x < 280; x += 4)
				if (!document.elementFromPoint(x, y).closest('.peak, .line')) return [x, y];
		return [];
	})()`)
	if len(at) != 2 {
		t.Fatal("the picture has no place beside its handles")
	}
	down, along := scrolled(p)
	p.Finger(at[0], at[1], 0, -80)
	p.LiftFinger()
	p.Await("the page to move", `scrollY !== `+plain(down))
	p.Finger(at[0], at[1], -80, 0)
	p.LiftFinger()
	p.Await("the picture to move", `document.querySelector('.bench').scrollLeft !== `+plain(along))
	if browser.Ask[bool](p, `location.search.includes('pair=')`) {
		t.Error("scrolling paired something")
	}
	p.Quiet()
}

func TestHandlesAreWideEnoughForAFinger(t *testing.T) {
	p, _ := phone(t)
	// WCAG 2.2, 2.5.8 (target size, minimum): 24 by 24 CSS pixels.
	if small := browser.Ask[[]string](p, `[...document.querySelectorAll('.bench .peak:not(.clipped) .reach, .bench .line .reach')]
		.map((e) => [e, e.getBoundingClientRect()]).filter(([, r]) => r.width < 23.99 || r.height < 23.99)
		.map(([e, r]) => e.parentNode.textContent.trim() + ' ' + r.width + ' by ' + r.height)`); len(small) > 0 {
		t.Errorf("too small for a finger: %q", small)
	}
}
