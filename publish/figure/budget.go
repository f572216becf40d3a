package figure

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// Budget shows which input makes which figure unsure: a line for each input, a
// column for each quantity, and in every cell a bar as long as the input's share
// of the variance. The largest share of a column is the one to improve first.
type Budget struct {
	Quantities []BudgetColumn
	Inputs     []BudgetLine

	Title string // empty for the input that leads in most columns
	Note  string
}

// BudgetColumn is one quantity.
type BudgetColumn struct {
	Symbol string
	Spread string // its uncertainty as it is read, "± 76 K"
}

// BudgetLine is one input with its share for every quantity, 0 to 1, NaN where
// the quantity does not respond to it.
type BudgetLine struct {
	Name   string
	Shares []float64
	Rest   bool // what the other lines leave: never the one to improve
}

// Picture checks the shares and returns the picture.
func (b Budget) Picture() (*Picture, error) {
	if len(b.Quantities) == 0 || len(b.Inputs) == 0 {
		return nil, fmt.Errorf("figure: budget: it needs a quantity and an input")
	}
	p := &Picture{
		Name:    "budget",
		Title:   b.Title,
		Note:    joinNotes(b.Note, "In per cent of the variance of each figure, every input varied alone; the largest of a column is set in full colour."),
		Columns: []string{"input"},
		drawing: b,
	}
	for _, q := range b.Quantities {
		p.Columns = append(p.Columns, q.Symbol+" ("+q.Spread+")")
	}
	for _, in := range b.Inputs {
		if len(in.Shares) != len(b.Quantities) {
			return nil, fmt.Errorf("figure: budget: %s has %d shares for %d quantities", in.Name, len(in.Shares), len(b.Quantities))
		}
		row := []string{in.Name}
		for _, s := range in.Shares {
			if s < 0 || s > 1+1e-9 {
				return nil, fmt.Errorf("figure: budget: a share of %g of %s is none", s, in.Name)
			}
			row = append(row, share(s))
		}
		p.Rows = append(p.Rows, row)
	}
	for q, c := range b.Quantities {
		if q > 0 {
			p.Alt += "; "
		}
		p.Alt += c.Symbol + " " + c.Spread
		if first := b.first(q); first >= 0 {
			p.Alt += ", mostly from the " + b.Inputs[first].Name + " (" + share(b.Inputs[first].Shares[q]) + ")"
		}
	}
	p.Alt += "."
	if p.Title == "" {
		p.Title = b.title()
	}
	return p, nil
}

// share writes a share for reading.
func share(s float64) string {
	switch {
	case math.IsNaN(s) || s == 0:
		return "–"
	case s < 0.005:
		return "< 1 %"
	}
	return fixed(100*s, 0) + " %"
}

// first returns the input with the largest share of a quantity, −1 for none.
func (b Budget) first(q int) int {
	best := -1
	for i, in := range b.Inputs {
		if !in.Rest && in.Shares[q] > 0 && (best < 0 || in.Shares[q] > b.Inputs[best].Shares[q]) {
			best = i
		}
	}
	return best
}

func (b Budget) title() string {
	leads := make([]int, len(b.Inputs))
	for q := range b.Quantities {
		if first := b.first(q); first >= 0 {
			leads[first]++
		}
	}
	best := slices.Index(leads, slices.Max(leads))
	if leads[best] == 0 {
		return "Nothing here is unsure"
	}
	return fmt.Sprintf("To improve first: the %s, which leads for %d of %d figures", b.Inputs[best].Name, leads[best], len(b.Quantities))
}

// leading letters the largest share of a column.
var leading = hand{TextFamily, 600, 11}

const (
	budgetRow    = 24 // px from line to line
	budgetNarrow = 520
)

func (b Budget) rowHeight(width vg.Length) vg.Length {
	if width < budgetNarrow { // the name stands over its cells
		return budgetRow + 18
	}
	return budgetRow
}

func (b Budget) height(width vg.Length) vg.Length {
	return headHeight(width < budgetNarrow) + vg.Length(len(b.Inputs))*b.rowHeight(width) + 4
}

// headHeight is what stands over the columns: a symbol, and its uncertainty
// where there is room.
func headHeight(narrow bool) vg.Length {
	if narrow {
		return 20
	}
	return 36
}

func (b Budget) draw(p *pen, box vg.Rectangle) {
	width := box.Max.X - box.Min.X
	narrow := width < budgetNarrow
	names := vg.Length(0)
	if !narrow {
		for _, in := range b.Inputs {
			names = max(names, label.width(in.Name))
		}
		names = min(names, 0.32*width) + 16
	}
	const gap = 8
	cell := (width - names) / vg.Length(len(b.Quantities))
	at := func(q int) vg.Length { return box.Min.X + names + vg.Length(q)*cell }
	top := box.Max.Y - headHeight(narrow)
	for q, c := range b.Quantities {
		p.text(strong, inkFull, at(q), box.Max.Y-12, left, strong.fit(c.Symbol, cell-gap))
		if !narrow { // there, the table beside the picture has them
			p.text(number, inkMuted, at(q), box.Max.Y-28, left, number.fit(c.Spread, cell-2))
			p.line(inkGrid, 1, vg.Point{X: at(q), Y: top}, vg.Point{X: at(q), Y: box.Min.Y})
		}
	}
	row := b.rowHeight(width)
	for i, in := range b.Inputs {
		y := top - vg.Length(i)*row
		p.line(inkGrid, 1, vg.Point{X: box.Min.X, Y: y}, vg.Point{X: box.Max.X, Y: y})
		middle := y - budgetRow/2.0
		if narrow {
			p.text(label, inkFull, box.Min.X, middle-label.middle(), left, label.fit(in.Name, width))
			middle -= 18
		} else {
			p.text(label, inkFull, box.Min.X, middle-label.middle(), left, label.fit(in.Name, names-12))
		}
		for q, s := range in.Shares {
			p.share(rectangle(at(q), middle-7, at(q)+cell-gap, middle+7), s, b.first(q) == i)
		}
	}
}

// share draws one cell: a bar as long as the share, its number behind it.
func (p *pen) share(cell vg.Rectangle, s float64, leads bool) {
	c := ink{roleSeries, 0.35}
	hand, letters := number, inkMuted
	if leads {
		c, hand, letters = inkTint, leading, inkFull
	}
	text := fixed(100*s, 0)
	if math.IsNaN(s) || s < 0.005 {
		s, text = 0, ""
	}
	room := cell.Max.X - cell.Min.X - leading.width("100") - 5
	end := cell.Min.X + vg.Length(min(s, 1))*room
	if s > 0 {
		p.rect(c, rectangle(cell.Min.X, cell.Min.Y, max(end, cell.Min.X+1), cell.Max.Y))
	}
	y := (cell.Min.Y+cell.Max.Y)/2 - hand.middle()
	p.text(hand, letters, end+4, y, left, text)
}
