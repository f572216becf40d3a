package figure

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"
)

// pointLabel is what is lettered beside a light.
type pointLabel struct {
	at    vg.Point
	lines []string
	w, h  vg.Length
	above bool // the light lies above the locus
}

// labelLine is the height of a line of a label, labelPad the room on either side of it,
// leaderFrom how far from its light a label stands that needs a leader.
const (
	labelLine  = 14
	labelPad   = 5
	leaderFrom = 18
)

// labelOf is the label of a light, its name alone where it is to be short; a name takes
// a part of the frame at most.
func labelOf(f frame, q ChromaticityPoint, short bool, part vg.Length) pointLabel {
	l := pointLabel{at: f.at(q.U, q.V), above: q.Duv >= 0}
	l.lines = []string{strong.fit(q.Name, part*(f.box.Max.X-f.box.Min.X))}
	if q.CCT > 0 && !short {
		l.lines = append(l.lines, fixed(q.CCT, 0)+" K", "Duv "+signed(q.Duv, 4))
	}
	l.w, l.h = strong.width(l.lines[0]), labelLine*vg.Length(len(l.lines))
	for _, s := range l.lines[1:] {
		l.w = max(l.w, small.width(s))
	}
	return l
}

// setLabel is where a label stands: its text's box, and the leader to its light where
// it stands apart.
type setLabel struct {
	box    vg.Rectangle
	leader []vg.Point
}

// covers are the places of a label, and of its leader, that others keep off.
func (s setLabel) covers() (all []vg.Rectangle) {
	for _, q := range along(s.leader) {
		all = append(all, rectangle(q.X-2, q.Y-2, q.X+2, q.Y+2))
	}
	return append(all, s.box)
}

// along are points every few pixels of a line between two points.
func along(line []vg.Point) (pts []vg.Point) {
	if len(line) < 2 {
		return nil
	}
	a, b := line[0], line[1]
	n := int(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y))/3) + 1
	for k := range n + 1 {
		t := vg.Length(k) / vg.Length(n)
		pts = append(pts, vg.Point{X: a.X + t*(b.X-a.X), Y: a.Y + t*(b.Y-a.Y)})
	}
	return pts
}

// setLabels finds a place for the label of each light, so that none lies over another,
// over a light or over what is taken. Where the whole labels have no room beside the
// lights, names alone are tried, and then names at the edges of the frame; the rest
// stands in the table. A label that finds no place at all is left out.
func (c Chromaticity) setLabels(f frame, taken []vg.Rectangle, curves []vg.Point) ([]pointLabel, []*setLabel) {
	all := func(short bool, part vg.Length) (labels []pointLabel) {
		for _, q := range c.Points {
			labels = append(labels, labelOf(f, q, short, part))
		}
		return labels
	}
	for _, short := range []bool{false, true} {
		labels := all(short, 0.45)
		if set, missing := setBest(f, labels, taken, curves); missing == 0 {
			return labels, set
		}
	}
	labels := all(true, 1)
	for i := range labels {
		name := fitEnds(strong, labels[i].lines[0], 0.34*(f.box.Max.X-f.box.Min.X))
		labels[i].lines[0], labels[i].w = name, strong.width(name)
	}
	return labels, setAtEdges(f, labels, taken)
}

// fitEnds shortens a name to a width by its middle: names of one bench differ at their
// ends.
func fitEnds(h hand, name string, width vg.Length) string {
	r := []rune(name)
	text := name
	for keep := len(r) - 1; keep > 1 && h.width(text) > width; keep-- {
		head, tail := string(r[:(keep+1)/2]), string(r[len(r)-keep/2:])
		text = strings.TrimRight(head, " ") + "…" + strings.TrimLeft(tail, " ")
	}
	return text
}

// setAtEdges sets labels in a column at either edge, the left half of the lights at the
// left, in the order of their heights, so that leaders seldom cross.
func setAtEdges(f frame, labels []pointLabel, taken []vg.Rectangle) []*setLabel {
	const pitch = labelLine + 6
	set, order := make([]*setLabel, len(labels)), make([]int, len(labels))
	taken = slices.Clone(taken)
	for i, l := range labels {
		order[i] = i
		taken = append(taken, rectangle(l.at.X-7, l.at.Y-7, l.at.X+7, l.at.Y+7))
	}
	slices.SortStableFunc(order, func(a, b int) int { return sign(labels[a].at.X - labels[b].at.X) })
	half := (len(order) + 1) / 2
	for side, column := range [][]int{order[:half], order[half:]} {
		slices.SortStableFunc(column, func(a, b int) int { return sign(labels[a].at.Y - labels[b].at.Y) })
		var w, middle vg.Length
		for _, i := range column {
			w, middle = max(w, labels[i].w), middle+labels[i].at.Y/vg.Length(len(column))
		}
		x := f.box.Min.X + 8
		if side == 1 {
			x = f.box.Max.X - 8 - w
		}
		var rows []vg.Length // that are free
		for y := f.box.Min.Y + 8; y+labelLine < f.box.Max.Y-8; y += pitch {
			if !overlaps(rectangle(x-labelPad, y-2, x+w+labelPad, y+labelLine+2), taken) {
				rows = append(rows, y)
			}
		}
		first, least := 0, math.Inf(1)
		for k := range len(rows) - len(column) + 1 {
			if d := math.Abs(float64(rows[k]+rows[k+len(column)-1]+labelLine)/2 - float64(middle)); d < least {
				first, least = k, d
			}
		}
		for k, i := range column {
			if first+k < len(rows) {
				labels[i].w = w // a column has one edge
				one := labels[i].standing(x, rows[first+k])
				set[i] = &one
			}
		}
	}
	return set
}

// setBest sets labels one after another in a few orders and returns the try that
// leaves out fewest, and of those the nearest to its lights.
func setBest(f frame, labels []pointLabel, taken []vg.Rectangle, curves []vg.Point) (best []*setLabel, missing int) {
	missing = len(labels) + 1
	least := math.Inf(1)
	order := make([]int, len(labels))
	for i := range order {
		order[i] = i
	}
	for _, before := range []func(a, b int) int{
		func(a, b int) int { return a - b },
		func(a, b int) int { return sign(labels[a].at.X - labels[b].at.X) },
		func(a, b int) int { return sign(labels[b].at.X - labels[a].at.X) },
		func(a, b int) int { return sign(labels[a].at.Y - labels[b].at.Y) },
		func(a, b int) int { return sign(labels[b].at.Y - labels[a].at.Y) },
	} {
		slices.SortStableFunc(order, before)
		set, left, cost := setInOrder(f, labels, order, taken, curves)
		if left < missing || left == missing && cost < least {
			best, missing, least = set, left, cost
		}
	}
	return best, missing
}

func sign(v vg.Length) int {
	switch {
	case v < 0:
		return -1
	case v > 0:
		return 1
	}
	return 0
}

func setInOrder(f frame, labels []pointLabel, order []int, taken []vg.Rectangle, curves []vg.Point) (set []*setLabel, left int, cost float64) {
	set = make([]*setLabel, len(labels))
	taken = slices.Clone(taken)
	for _, i := range order {
		best, least := (*setLabel)(nil), math.Inf(1)
		for k, s := range labels[i].candidates(f) {
			price := s.price(labels[i], curves)
			if k == 0 {
				price -= 30 // where a reader of one such picture looks in the next
			}
			if price < least && s.free(f, labels, i, taken) {
				best, least = &s, price
			}
		}
		if best == nil {
			left++
			continue
		}
		set[i], cost = best, cost+least
		taken = append(taken, best.covers()...)
	}
	return set, left, cost
}

// candidates are places for a label: first the one to the upper left of a light above
// the locus, or the lower right of one below, where the locus does not run; then all
// round it, nearer and farther.
func (l pointLabel) candidates(f frame) []setLabel {
	x, y := l.at.X-l.w-14, l.at.Y+6
	if !l.above {
		x, y = l.at.X+14, l.at.Y-6-l.h
	}
	x = min(max(x, f.box.Min.X+8), f.box.Max.X-l.w-8)
	y = min(max(y, f.box.Min.Y+6), f.box.Max.Y-6-l.h)
	all := []setLabel{l.standing(x, y)}
	for _, d := range []vg.Length{12, 22, 36, 54, 78, 108, 144} {
		for k := range 24 {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / 24)
			cx, cy := l.at.X+vg.Length(cos)*(l.w/2+d), l.at.Y+vg.Length(sin)*(l.h/2+d)
			all = append(all, l.standing(cx-l.w/2, cy-l.h/2))
		}
	}
	return all
}

// standing is a label with its lower left corner at a place.
func (l pointLabel) standing(x, y vg.Length) setLabel {
	s := setLabel{box: rectangle(x-labelPad, y-2, x+l.w+labelPad, y+l.h+2)}
	near := vg.Point{X: min(max(l.at.X, s.box.Min.X), s.box.Max.X), Y: min(max(l.at.Y, s.box.Min.Y), s.box.Max.Y)}
	dx, dy := near.X-l.at.X, near.Y-l.at.Y
	if n := vg.Length(math.Hypot(float64(dx), float64(dy))); n > leaderFrom {
		s.leader = []vg.Point{{X: l.at.X + dx/n*8, Y: l.at.Y + dy/n*8}, near}
	}
	return s
}

// price is what a place costs: its distance from the light, and what it covers of the
// curves.
func (s setLabel) price(l pointLabel, curves []vg.Point) float64 {
	near := vg.Point{X: min(max(l.at.X, s.box.Min.X), s.box.Max.X), Y: min(max(l.at.Y, s.box.Min.Y), s.box.Max.Y)}
	price := math.Hypot(float64(near.X-l.at.X), float64(near.Y-l.at.Y))
	for _, q := range curves {
		if inside(q, s.box) {
			price += 6
		}
	}
	return price
}

// free reports whether a place lies within the frame, off all that is taken and off the
// lights; its leader too.
func (s setLabel) free(f frame, labels []pointLabel, own int, taken []vg.Rectangle) bool {
	if s.box.Min.X < f.box.Min.X+4 || s.box.Max.X > f.box.Max.X-4 || s.box.Min.Y < f.box.Min.Y+4 || s.box.Max.Y > f.box.Max.Y-4 {
		return false
	}
	if overlaps(s.box, taken) {
		return false
	}
	for i, l := range labels {
		if overlaps(rectangle(l.at.X-7, l.at.Y-7, l.at.X+7, l.at.Y+7), []vg.Rectangle{s.box}) {
			return false
		}
		for _, q := range along(s.leader) {
			if i != own && math.Hypot(float64(q.X-l.at.X), float64(q.Y-l.at.Y)) < 7 {
				return false
			}
		}
	}
	for _, q := range along(s.leader) {
		for _, r := range taken {
			if inside(q, r) {
				return false
			}
		}
	}
	return true
}

func inside(q vg.Point, r vg.Rectangle) bool {
	return r.Min.X < q.X && q.X < r.Max.X && r.Min.Y < q.Y && q.Y < r.Max.Y
}

// letterPoints letters the lights and returns what is taken then.
func (c Chromaticity) letterPoints(p *pen, f frame, taken []vg.Rectangle, curves []vg.Point) []vg.Rectangle {
	labels, set := c.setLabels(f, taken, curves)
	for i, l := range labels {
		taken = append(taken, rectangle(l.at.X-10, l.at.Y-10, l.at.X+10, l.at.Y+10))
		s := set[i]
		if s == nil {
			continue
		}
		if len(s.leader) > 0 {
			p.line(ink{roleMuted, 0.8}, 1, s.leader...)
		}
		for k, text := range l.lines {
			hand := strong
			if k > 0 {
				hand = small
			}
			p.textOn(hand, inkFull, s.box.Min.X+labelPad, s.box.Max.Y-2-vg.Length(k+1)*labelLine+3, left, text)
		}
		taken = append(taken, s.covers()...)
	}
	return taken
}
