package webapp

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// finger touches, moves by so many pixels in steps, and stays down.
func (p *tab) finger(x, y, dx, dy float64) {
	p.Helper()
	touch := func(what input.DispatchTouchEventType, x, y float64) {
		p.do(command(input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: what, TouchPoints: []*input.TouchPoint{{X: x, Y: y}}}))
	}
	touch(input.DispatchTouchEventTypeTouchStart, x, y)
	const steps = 5
	for i := 1.0; i <= steps; i++ {
		touch(input.DispatchTouchEventTypeTouchMove, x+dx*i/steps, y+dy*i/steps)
	}
}

func (p *tab) liftFinger() {
	p.Helper()
	p.do(command(input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchEnd}))
}

// scrolled is how far down the page stands and how far along the picture.
func (p *tab) scrolled() (down, along float64) {
	p.Helper()
	at := ask[[]float64](p, `[scrollY, document.querySelector('.bench').scrollLeft]`)
	return at[0], at[1]
}

// phone is the page on a phone, its handles ready.
func phone(t *testing.T) (p *tab, path string) {
	t.Helper()
	b, path := unpaired(t)
	p = openTab(t, b.http.URL)
	p.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch))
	p.visit(path)
	p.await("the handles", isUnpaired)
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
		p.visit(path)
		p.await("the handles", isUnpaired)
		fromX, fromY := p.middle(way.from)
		toX, toY := p.place(way.to)
		down, _ := p.scrolled()
		p.finger(fromX, fromY, toX-fromX, toY-fromY)
		if got := ask[string](p, said); got != "Pixel 347.5 with Hg I 576.961: let go to pair them." {
			t.Errorf("%s: under the finger the page says %q", way.name, got)
		}
		if now, _ := p.scrolled(); now != down {
			t.Errorf("%s: the page was scrolled by %g px", way.name, now-down)
		}
		p.liftFinger()
		p.await("the pair", isPaired)
		if row := p.shown(yellowPeak); !strings.Contains(row, "Hg I 576.961") || !strings.Contains(row, "given") {
			t.Errorf("%s: the table says %q", way.name, row)
		}
	}
	p.quiet()
}

func TestAFingerBesideTheHandlesScrollsAndPairsNothing(t *testing.T) {
	p, _ := phone(t)
	p.middle(onYellowPeak)
	at := ask[[]float64](p, `(() => {
		const seen = document.querySelector('.bench').getBoundingClientRect();
		for (let y = seen.top + 60; y < seen.bottom - 20; y += 4)
			for (let x = 120; x < 280; x += 4)
				if (!document.elementFromPoint(x, y).closest('.peak, .line')) return [x, y];
		return [];
	})()`)
	if len(at) != 2 {
		t.Fatal("the picture has no place beside its handles")
	}
	down, along := p.scrolled()
	p.finger(at[0], at[1], 0, -80)
	p.liftFinger()
	p.await("the page to move", `scrollY !== `+plain(down))
	p.finger(at[0], at[1], -80, 0)
	p.liftFinger()
	p.await("the picture to move", `document.querySelector('.bench').scrollLeft !== `+plain(along))
	if ask[bool](p, `location.search.includes('pair=')`) {
		t.Error("scrolling paired something")
	}
	p.quiet()
}

func TestHandlesAreWideEnoughForAFinger(t *testing.T) {
	p, _ := phone(t)
	// WCAG 2.2, 2.5.8 (target size, minimum): 24 by 24 CSS pixels.
	if small := ask[[]string](p, `[...document.querySelectorAll('.bench .peak:not(.clipped) .reach, .bench .line .reach')]
		.map((e) => [e, e.getBoundingClientRect()]).filter(([, r]) => r.width < 23.99 || r.height < 23.99)
		.map(([e, r]) => e.parentNode.textContent.trim() + ' ' + r.width + ' by ' + r.height)`); len(small) > 0 {
		t.Errorf("too small for a finger: %q", small)
	}
}
