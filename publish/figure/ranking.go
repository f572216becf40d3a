package figure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"
)

// Ranking shows lamps by falling value, each as a dot with its interval, and
// beside them the groups of lamps that can't be told apart as lettered brackets.
type Ranking struct {
	Quantity string // what is ranked, e.g. "Luminous efficacy"
	Unit     string
	Places   []RankedLamp // best first
	Note     string
}

// RankedLamp is one place of a [Ranking].
type RankedLamp struct {
	Name             string
	Value, Low, High float64
	Text             string // the value as it is read
	Groups           []int  // those it belongs to, counted from 0
	Ranks            string // the ranks it may have, e.g. "2 to 4"
}

// Picture checks the places and returns the picture.
func (r Ranking) Picture() (*Picture, error) {
	if len(r.Places) == 0 {
		return nil, fmt.Errorf("figure: ranking: no lamp given")
	}
	p := &Picture{
		Name:    "ranking",
		Note:    joinNotes("Bars: 95 % interval of each lamp by itself. Lamps with dots on one line of a letter can't be told apart.", r.Note),
		Columns: []string{"lamp", r.Quantity + unitIn(r.Unit), "groups", "rank"},
		drawing: r,
	}
	var said []string
	for _, l := range r.Places {
		if !finite(l.Value, l.Low, l.High) || l.Low > l.High || len(l.Groups) == 0 {
			return nil, fmt.Errorf("figure: ranking: %s: a finite value, its interval and a group are needed", l.Name)
		}
		var letters []string
		for _, g := range l.Groups {
			letters = append(letters, groupLetter(g))
		}
		p.Rows = append(p.Rows, []string{l.Name, l.Text, strings.Join(letters, " "), l.Ranks})
		said = append(said, fmt.Sprintf("%s %s (group %s)", l.Name, strings.TrimSpace(l.Text+" "+r.Unit), strings.Join(letters, ", ")))
	}
	p.Title = r.title()
	p.Alt = "By falling value: " + strings.Join(said, "; ") + "."
	return p, nil
}

// title says what the groups come to.
func (r Ranking) title() string {
	top := 0
	for _, l := range r.Places {
		if slices.Contains(l.Groups, r.Places[0].Groups[0]) {
			top++
		}
	}
	switch {
	case len(r.Places) == 1:
		return r.Quantity + " of one lamp"
	case top == len(r.Places):
		return r.Quantity + ": the lamps can't be told apart"
	case top == 1:
		return r.Quantity + ": " + r.Places[0].Name + " leads"
	}
	return fmt.Sprintf("%s: %d lamps share the lead", r.Quantity, top)
}

func unitIn(unit string) string {
	if unit == "" {
		return ""
	}
	return " / " + unit
}

func groupLetter(g int) string {
	s := string(rune('a' + g%26))
	if g >= 26 {
		s += fmt.Sprint(g/26 + 1)
	}
	return s
}

const rankingColumn = 18 // px from bracket to bracket

// rankingRow is the height of a row; where the picture is narrow the lamp's name
// has its own line.
func rankingRow(width vg.Length) vg.Length {
	if width < efficacyNarrow {
		return 58
	}
	return 40
}

// columns gives every group the first column in which no group stands beside
// it, and returns them with the number of columns.
func (r Ranking) columns() (column []int, columns int) {
	groups := 0
	for _, l := range r.Places {
		groups = max(groups, slices.Max(l.Groups)+1)
	}
	var free []int // the place from which a column is free
	for g := range groups {
		first, last := r.ends(g)
		c := slices.IndexFunc(free, func(from int) bool { return from <= first })
		if c < 0 {
			c = len(free)
			free = append(free, 0)
		}
		free[c] = last + 1
		column = append(column, c)
	}
	return column, len(free)
}

// ends returns the first and the last place of a group.
func (r Ranking) ends(group int) (first, last int) {
	first, last = len(r.Places), -1
	for i, l := range r.Places {
		if slices.Contains(l.Groups, group) {
			first, last = min(first, i), i
		}
	}
	return first, last
}

func (r Ranking) height(width vg.Length) vg.Length {
	return vg.Length(len(r.Places))*rankingRow(width) + letterHeight + 4
}

func (r Ranking) draw(p *pen, box vg.Rectangle) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, l := range r.Places {
		lo, hi = math.Min(lo, l.Low), math.Max(hi, l.High)
	}
	if lo > 0 && lo < 0.6*hi { // an amount is read from zero unless that squeezes it
		lo = 0
	}
	room := 0.06 * (hi - lo)
	if size := math.Max(math.Abs(lo), math.Abs(hi)); room < 1e-3*size || size == 0 { // all but one value
		room = 0.05 * cmp.Or(size, 1)
	}
	f := frame{box: box, x0: lo - room, x1: hi + room, y1: 1}
	if lo == 0 {
		f.x0 = 0
	}
	narrow := box.Max.X-box.Min.X < efficacyNarrow
	names := vg.Length(0)
	if !narrow {
		for _, l := range r.Places {
			names = max(names, label.width(l.Name))
		}
		names = min(names, 0.32*(box.Max.X-box.Min.X)) + 16
	}
	f.box.Min.X += names + efficacyInset
	column, columns := r.columns()
	f.box.Max.X -= vg.Length(columns)*rankingColumn + 30
	f.box.Min.Y += letterHeight
	scale, prefix := powerTicks(f.x0, f.x1, int(f.box.Max.X-f.box.Min.X)/62+1)
	if len(scale) > 0 { // the first number stays inside
		f.box.Min.X += max(0, box.Min.X+number.width(scale[0].text)/2-f.x(scale[0].value))
	}
	p.gridX(f, scale)
	p.letterX(f, scale, f.box.Min.Y, f.box.Max.X+26, prefix+r.Unit)
	row := rankingRow(box.Max.X - box.Min.X)
	y := func(i int) vg.Length { return f.box.Max.Y - vg.Length(i)*row - row/2 - 4 }
	for i, l := range r.Places {
		p.line(inkGrid, 1, vg.Point{X: f.box.Min.X, Y: y(i)}, vg.Point{X: f.box.Max.X, Y: y(i)})
		p.dotAndBar(f.x(l.Low), f.x(l.High), f.x(l.Value), y(i))
		text := min(max(f.x(l.Value)-number.width(l.Text)/2, f.box.Min.X), f.box.Max.X-number.width(l.Text))
		if narrow {
			p.textOn(number, inkFull, text, y(i)-9-0.73*number.size, left, l.Text)
			p.textOn(label, inkFull, box.Min.X, y(i)+12, left, label.fit(l.Name, f.box.Max.X-box.Min.X))
		} else {
			p.textOn(number, inkFull, text, y(i)+8, left, l.Text)
			p.text(label, inkFull, box.Min.X, y(i)-label.middle(), left, label.fit(l.Name, names-16))
		}
	}
	for g, c := range column {
		p.bracket(r, g, f.box.Max.X+36+vg.Length(c)*rankingColumn, y)
	}
}

// bracket joins the lamps of a group with a line, a tick at each member, and
// letters it.
func (p *pen) bracket(r Ranking, group int, x vg.Length, y func(int) vg.Length) {
	first, last := r.ends(group)
	if last < 0 {
		return
	}
	for i := first; i <= last; i++ {
		if slices.Contains(r.Places[i].Groups, group) {
			p.disc(inkFull, vg.Point{X: x, Y: y(i)}, 3)
		}
	}
	p.line(inkMuted, 1.5, vg.Point{X: x, Y: y(first)}, vg.Point{X: x, Y: y(last)})
	p.text(strong, inkFull, x, y(first)+10, centre, groupLetter(group))
}
