package figure

import (
	"cmp"
	"slices"

	"gonum.org/v1/plot/vg"
)

// callout is a label that is to stand in a row above a curve, with a leader down
// to the place it names.
type callout struct {
	x      vg.Length // of that place
	text   string
	muted  bool
	weight float64 // what is lost without it
}

// hoisted is where a callout stands: its row, from 0 next to the curve, and
// where its text begins. A row of −1 is no room.
type hoisted struct {
	row int
	x0  vg.Length
}

const (
	calloutRow = 14 // px from row to row
	calloutGap = 7  // between two labels of a row
	leaderRoom = 3  // between a leader and a label it passes
)

// hoist finds room for callouts between two edges in a number of rows, so that no
// label lies over another and no leader runs through one. It also returns how
// many rows are in use.
//
// No order of setting labels is best for every picture, so several are tried:
// the heaviest first, or one after another from either side, each over its place
// or to one side of it. The try that loses least weight is taken.
func hoist(list []callout, from, to vg.Length, rows int) (set []hoisted, used int) {
	h := hoister{list: list, from: from, to: to}
	order := make([]int, len(list))
	for i, c := range list {
		h.widths = append(h.widths, small.width(c.text))
		order[i] = i
	}
	best, most := -1.0, -1
	for _, before := range []func(a, b int) int{
		func(a, b int) int { return cmp.Compare(list[b].weight, list[a].weight) },
		func(a, b int) int { return cmp.Compare(list[a].x, list[b].x) },
		func(a, b int) int { return cmp.Compare(list[b].x, list[a].x) },
	} {
		slices.SortStableFunc(order, before)
		for _, sides := range [][]float64{{0.5, 0, 1}, {0, 0.5, 1}, {1, 0.5, 0}, {0}, {1}} {
			weight, count, high := h.try(order, sides, rows)
			if weight > best || weight == best && count > most {
				best, most = weight, count
				set, used = slices.Clone(h.set), high
			}
		}
	}
	// A label stands over its place where it can.
	h.set = set
	for i, c := range list {
		x0 := min(max(c.x-h.widths[i]/2, from), to-h.widths[i])
		if row := set[i].row; row >= 0 && h.free(i, row, x0) {
			set[i].x0 = x0
		}
	}
	return set, used
}

// hoister sets labels in one way.
type hoister struct {
	list     []callout
	widths   []vg.Length
	from, to vg.Length
	set      []hoisted
}

// try sets the labels in an order, each in the lowest row where it can be, its
// place at one of the given parts of its width. It returns what found room.
func (h *hoister) try(order []int, sides []float64, rows int) (weight float64, count, used int) {
	h.set = slices.Repeat([]hoisted{{row: -1}}, len(h.list))
	for _, i := range order {
		if row := h.place(i, sides, rows); row >= 0 {
			weight, count, used = weight+h.list[i].weight, count+1, max(used, row+1)
		}
	}
	return weight, count, used
}

func (h *hoister) place(i int, sides []float64, rows int) int {
	x, w := h.list[i].x, h.widths[i]
	if x < h.from || x > h.to || w > h.to-h.from {
		return -1
	}
	const inset = 3 // of a leader from the end of its label
	for row := range rows {
		for _, part := range sides {
			x0 := min(max(x-inset-vg.Length(part)*(w-2*inset), h.from), h.to-w)
			if h.free(i, row, x0) {
				h.set[i] = hoisted{row, x0}
				return row
			}
		}
	}
	return -1
}

// free reports whether a label may stand in a row from x0 on.
func (h *hoister) free(i, row int, x0 vg.Length) bool {
	x1 := x0 + h.widths[i]
	for k, other := range h.set {
		o0, o1 := other.x0, other.x0+h.widths[k]
		switch {
		case other.row < 0 || k == i:
		case other.row == row && x0 < o1+calloutGap && o0 < x1+calloutGap:
			return false
		case other.row > row && h.list[k].x > x0-leaderRoom && h.list[k].x < x1+leaderRoom:
			return false
		case other.row < row && h.list[i].x > o0-leaderRoom && h.list[i].x < o1+leaderRoom:
			return false
		}
	}
	return true
}

// callouts draws the labels that found room, the lowest row on base; foot gives
// the height at which a callout's leader ends.
func (p *pen) callouts(list []callout, set []hoisted, base vg.Length, foot func(i int) vg.Length) {
	for i, h := range set {
		if h.row < 0 {
			continue
		}
		y := base + calloutRow*vg.Length(h.row)
		if low := foot(i) + 3; low < y-4 {
			p.line(ink{roleMuted, 0.6}, 1, vg.Point{X: list[i].x, Y: low}, vg.Point{X: list[i].x, Y: y - 3})
		}
		c := inkFull
		if list[i].muted {
			c = inkMuted
		}
		p.text(small, c, h.x0, y, left, list[i].text)
	}
}
