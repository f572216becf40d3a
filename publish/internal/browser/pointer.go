package browser

import (
	"fmt"

	"github.com/chromedp/cdproto/input"
)

// Middle brings an element to the middle of the screen and returns where it is. The
// page's own scrolling is smooth, and what is read on the way is no place.
func (p *Tab) Middle(selector string) (x, y float64) {
	p.Helper()
	Ask[bool](p, fmt.Sprintf(`(document.querySelector(%s).scrollIntoView({block: 'center', inline: 'center', behavior: 'instant'}), true)`, Quoted(selector)))
	return p.Place(selector)
}

// Place is where on the screen an element is, in CSS pixels.
func (p *Tab) Place(selector string) (x, y float64) {
	p.Helper()
	at := Ask[[]float64](p, fmt.Sprintf(`(() => {
		const r = document.querySelector(%s).getBoundingClientRect();
		return [r.x + r.width / 2, r.y + r.height / 2];
	})()`, Quoted(selector)))
	return at[0], at[1]
}

// steps is in how many moves a pointer goes from one place to another.
const steps = 5

func (p *Tab) mouse(what input.DispatchMouseEventType, x, y float64) {
	p.Helper()
	e := input.DispatchMouseEventParams{Type: what, X: x, Y: y, Button: "left", ClickCount: 1}
	if what != input.DispatchMouseEventTypeMouseReleased {
		e.Buttons = 1
	}
	p.Do(command(input.DispatchMouseEvent, e))
}

// Drag moves the mouse, pressed, from one element onto another, and holds it there.
func (p *Tab) Drag(from, to string) {
	p.Helper()
	x, y := p.Middle(from)
	toX, toY := p.Place(to)
	p.mouse(input.DispatchMouseEventTypeMousePressed, x, y)
	for i := 1.0; i <= steps; i++ {
		p.mouse(input.DispatchMouseEventTypeMouseMoved, x+i/steps*(toX-x), y+i/steps*(toY-y))
	}
}

// LetGo releases the mouse over an element.
func (p *Tab) LetGo(at string) {
	p.Helper()
	x, y := p.Place(at)
	p.mouse(input.DispatchMouseEventTypeMouseReleased, x, y)
}

// Finger touches, moves by so many pixels in steps, and stays down.
func (p *Tab) Finger(x, y, dx, dy float64) {
	p.Helper()
	touch := func(what input.DispatchTouchEventType, x, y float64) {
		p.Do(command(input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: what, TouchPoints: []*input.TouchPoint{{X: x, Y: y}}}))
	}
	touch(input.DispatchTouchEventTypeTouchStart, x, y)
	for i := 1.0; i <= steps; i++ {
		touch(input.DispatchTouchEventTypeTouchMove, x+dx*i/steps, y+dy*i/steps)
	}
}

// LiftFinger ends a touch.
func (p *Tab) LiftFinger() {
	p.Helper()
	p.Do(command(input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchEnd}))
}
