package figure

import (
	"fmt"

	"gonum.org/v1/plot/vg"
)

// WhereWattsGo is one bar for the power a lamp takes, cut into what becomes of
// it. Its parts add up to the whole.
type WhereWattsGo struct {
	Parts []WattPart // in the order drawn

	Title string // empty for the share of the first part
	Note  string
}

// WattKind is what became of a part of the power. A kind looks the same on
// every sheet, whichever other parts there are.
type WattKind int

// The kinds, in the order of their looks.
const (
	WattLight WattKind = iota // visible light
	WattOther                 // other radiation
	WattGear                  // lost between mains and lamp
	WattRest                  // heat and whatever else
)

// WattPart is a part of the power.
type WattPart struct {
	Kind  WattKind
	Name  string  // e.g. "visible light, 380–780 nm"
	Watts float64 // W, not negative
	Text  string  // the watts as they are read, e.g. "1.87"
}

// Picture checks the parts and returns the picture.
func (g WhereWattsGo) Picture() (*Picture, error) {
	if len(g.Parts) == 0 {
		return nil, fmt.Errorf("figure: where watts go: no parts given")
	}
	whole := g.whole()
	for _, part := range g.Parts {
		if part.Kind < 0 || int(part.Kind) >= len(wattFills) {
			return nil, fmt.Errorf("figure: where watts go: %s is of no known kind", part.Name)
		}
		if !finite(part.Watts) || part.Watts < 0 {
			return nil, fmt.Errorf("figure: where watts go: %s has %g W, which is no part of a whole", part.Name, part.Watts)
		}
	}
	if whole == 0 {
		return nil, fmt.Errorf("figure: where watts go: the parts add up to nothing")
	}
	first := g.Parts[0]
	p := &Picture{
		Name:    "where-watts-go",
		Title:   g.Title,
		Note:    g.Note,
		Alt:     "One bar for the power taken, divided into: ",
		Columns: []string{"part", "power / W", "share / %"},
		drawing: g,
	}
	if p.Title == "" {
		p.Title = fmt.Sprintf("%s of the power becomes %s", percent(first.Watts/whole), first.Name)
	}
	for i, part := range g.Parts {
		p.Rows = append(p.Rows, []string{part.Name, part.text(), percentNumber(part.Watts / whole)})
		if i > 0 {
			p.Alt += "; "
		}
		p.Alt += fmt.Sprintf("%s %s W, %s", part.Name, part.text(), percent(part.Watts/whole))
	}
	p.Alt += "."
	return p, nil
}

func (g WhereWattsGo) whole() (sum float64) {
	for _, part := range g.Parts {
		sum += part.Watts
	}
	return sum
}

func (w WattPart) text() string {
	if w.Text != "" {
		return w.Text
	}
	return significant(w.Watts, 3)
}

// percentNumber writes a share with one decimal below ten per cent and close to
// the whole; a part too small for that is not written as nothing, nor is what
// falls short of the whole written as all of it.
func percentNumber(share float64) string {
	switch {
	case share > 0 && share < 0.0005:
		return "<0.1"
	case share > 0 && share < 0.0995:
		return fixed(100*share, 1)
	case share >= 0.9995 && share < 1:
		return ">99.9"
	case share >= 0.995 && share < 1:
		return fixed(100*share, 1)
	}
	return fixed(100*share, 0)
}

func percent(share float64) string { return percentNumber(share) + " %" }

const (
	wattBar  = 40
	wattLine = 15 // leading within a name
	wattGap  = 7  // between rows
	wattKey  = 22 // the key patch with its space
)

// wattFill is how a part is drawn: told apart without colour by being full,
// hatched, empty or pale.
type wattFill struct {
	fill func(*pen, vg.Rectangle)
	text ink  // on it
	busy bool // so that text needs a patch
}

var wattFills = [...]wattFill{
	WattLight: {func(p *pen, r vg.Rectangle) { p.rect(ink{roleSeries, 1}, r) }, inkPanel, false},
	WattOther: {func(p *pen, r vg.Rectangle) {
		p.rect(ink{roleSeries + 1, 0.25}, r)
		p.hatch(ink{roleSeries + 1, 1}, r, 6)
		p.frameRect(ink{roleSeries + 1, 1}, 1, r)
	}, inkFull, true},
	WattGear: {func(p *pen, r vg.Rectangle) { p.frameRect(inkFull, 1, r) }, inkFull, false},
	WattRest: {func(p *pen, r vg.Rectangle) {
		p.rect(ink{roleMuted, 0.18}, r)
		p.frameRect(ink{roleMuted, 0.7}, 1, r)
	}, inkFull, false},
}

// wattRows is the key under the bar, laid out for a width.
type wattRows struct {
	names        [][]string
	watts, share vg.Length // right edges of the columns
}

func (g WhereWattsGo) rows(width vg.Length) (r wattRows) {
	watts, shares, names := vg.Length(0), vg.Length(0), vg.Length(0)
	for _, part := range g.Parts {
		shares = max(shares, number.width(percent(part.Watts/g.whole())))
		watts = max(watts, number.width(part.text()+" W"))
		names = max(names, label.width(part.Name))
	}
	// At a wide measure the figures stand near their names, not at the far edge.
	r.share = min(width, wattKey+names+24+watts+16+shares)
	r.watts = r.share - shares - 16
	for _, part := range g.Parts {
		r.names = append(r.names, label.wrap(part.Name, r.watts-watts-12-wattKey))
	}
	return r
}

func (g WhereWattsGo) height(width vg.Length) vg.Length {
	h := vg.Length(wattBar + 10)
	for _, name := range g.rows(width).names {
		h += vg.Length(len(name))*wattLine + wattGap
	}
	return h
}

func (g WhereWattsGo) draw(p *pen, box vg.Rectangle) {
	whole, width := g.whole(), box.Max.X-box.Min.X
	x := box.Min.X
	figure := hand{TextFamily, 600, 13}
	for _, part := range g.Parts {
		share := part.Watts / whole
		end := x + vg.Length(share)*width
		if end-x > 0.5 {
			r, f, s := rectangle(x, box.Max.Y-wattBar, end, box.Max.Y), wattFills[part.Kind], percent(share)
			f.fill(p, r)
			if end-x > figure.width(s)+14 {
				letter := p.text
				if f.busy {
					letter = p.textOn
				}
				letter(figure, f.text, x+8, (r.Min.Y+r.Max.Y)/2-figure.middle(), left, s)
			}
		}
		x = end
	}
	rows := g.rows(width)
	y := box.Max.Y - wattBar - 10
	for i, part := range g.Parts {
		base := y - wattLine + 3
		wattFills[part.Kind].fill(p, rectangle(box.Min.X, base-2, box.Min.X+14, base+10))
		for k, line := range rows.names[i] {
			p.text(label, inkFull, box.Min.X+wattKey, base-vg.Length(k)*wattLine, left, line)
		}
		p.text(number, inkFull, box.Min.X+rows.watts, base, right, part.text()+" W")
		p.text(number, inkMuted, box.Min.X+rows.share, base, right, percent(part.Watts/whole))
		y -= vg.Length(len(rows.names[i]))*wattLine + wattGap
	}
}
