package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// bar is one row of a bar chart: a name, a colour chip beside it and a value
// from zero.
type bar struct {
	name  string
	chip  color.Color // nil for none
	value float64     // NaN for none
	text  string      // the value as it is read, or why there is none
	head  bool        // a summary: stronger, with a gap below
}

const (
	barRow = 20 // px from row to row
	barGap = 8  // below a summary
)

// barsHeight is what bars and their axis need.
func barsHeight(list []bar) vg.Length {
	h := vg.Length(len(list))*barRow + letterHeight
	for _, b := range list {
		if b.head {
			h += barGap
		}
	}
	return h
}

// bars draws rows from the top of a box: names at the left, bars from zero,
// each value behind the end of its bar, and gridlines a step apart (0 for what
// there is room for). Bars below zero are hatched besides
// having another colour.
func (p *pen) bars(box vg.Rectangle, list []bar, lo, hi, step float64, unit string) {
	names, values := vg.Length(0), vg.Length(0)
	for _, b := range list {
		h := label
		if b.head {
			h = strong
		}
		w := h.width(b.name)
		if b.chip != nil {
			w += 20
		}
		names = max(names, w)
		values = max(values, number.width(b.text))
	}
	names = min(names, 0.45*(box.Max.X-box.Min.X))
	f := frame{box: box, x0: lo, x1: hi, y1: 1}
	f.box.Min.X += names + 8
	f.box.Max.X -= values + 8
	if lo < 0 {
		f.box.Min.X += values + 4
	}
	f.box.Min.Y += letterHeight

	scale := ticks(lo, hi, int(f.box.Max.X-f.box.Min.X)/45+1)
	if step > 0 {
		scale = every(step, lo, hi)
	}
	p.gridX(f, scale)
	p.letterX(f, scale, f.box.Min.Y, box.Max.X, unit)
	zero := f.x(0)
	y := box.Max.Y
	for _, b := range list {
		y -= barRow
		p.bar(f, b, box.Min.X, names, y)
		if b.head {
			y -= barGap
		}
	}
	p.line(inkMuted, 1, vg.Point{X: zero, Y: f.box.Min.Y}, vg.Point{X: zero, Y: box.Max.Y})
}

// bar draws one row, its lower edge at y.
func (p *pen) bar(f frame, b bar, x, names, y vg.Length) {
	middle := y + barRow/2.0
	h, c := label, color.Color(inkFull)
	if b.head {
		h = strong
	}
	if b.chip != nil {
		chip := rectangle(x, middle-6, x+14, middle+6)
		p.rect(b.chip, chip)
		p.frameRect(ink{roleMuted, 0.5}, 1, chip)
		x, names = x+20, names-20
	}
	p.text(h, c, x, middle-h.middle(), left, h.fit(b.name, names))

	zero := f.x(0)
	if math.IsNaN(b.value) {
		p.text(small, inkMuted, zero+5, middle-small.middle(), left, b.text)
		return
	}
	end := f.x(b.value)
	thick := vg.Length(11)
	if b.head {
		thick = 14
	}
	body := rectangle(min(zero, end), middle-thick/2, max(zero, end), middle+thick/2)
	switch {
	case b.value < 0:
		p.rect(ink{roleSeries + 1, 0.25}, body)
		p.hatch(ink{roleSeries + 1, 1}, body, 5)
		p.frameRect(ink{roleSeries + 1, 1}, 1, body)
		p.textOn(number, inkFull, end-5, middle-number.middle(), right, b.text)
	default:
		p.rect(inkTint, body)
		p.textOn(number, inkFull, end+5, middle-number.middle(), left, b.text)
	}
}

// hatch fills a rectangle with rising lines, a pitch apart.
func (p *pen) hatch(c color.Color, r vg.Rectangle, pitch vg.Length) {
	h := r.Max.Y - r.Min.Y
	var path vg.Path
	for x := r.Min.X - h + pitch/2; x < r.Max.X; x += pitch {
		from, to := max(x, r.Min.X), min(x+h, r.Max.X)
		if to > from {
			path.Move(vg.Point{X: from, Y: r.Min.Y + from - x})
			path.Line(vg.Point{X: to, Y: r.Min.Y + to - x})
		}
	}
	p.style(c, 1)
	p.Stroke(path)
}

// plural is for titles that count.
func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
