package figure

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"
)

// Intervals sets measured figures, each with its coverage interval, against what
// was declared of them, all on one scale: per cent of the declared value. A band
// is what a tolerance would let pass.
type Intervals struct {
	Lines []IntervalLine

	Title string // empty for how many intervals hold the declared value
	Note  string
}

// IntervalLine is one figure, in any unit.
type IntervalLine struct {
	Name             string
	Value, Low, High float64
	Declared         float64 // above zero
	From, To         float64 // the tolerance band, in the figure's unit; infinite where it is open, both 0 for none
	Text             string  // the measured value as it is read, "806 ± 45 lm"
	DeclaredText     string  // "810 lm"
}

func (l *IntervalLine) holds() bool { return l.Low <= l.Declared && l.Declared <= l.High }

func (l *IntervalLine) banded() bool { return l.From != 0 || l.To != 0 }

// Picture checks the figures and returns the picture.
func (in Intervals) Picture() (*Picture, error) {
	if len(in.Lines) == 0 {
		return nil, fmt.Errorf("figure: intervals: no figure given")
	}
	p := &Picture{
		Name: "intervals", Title: in.Title, Note: joinNotes(in.Note, "In per cent of what was declared. Dot and line: measured value and its 95 % interval."),
		Columns: []string{"figure", "declared", "measured", "interval / % of declared", "tolerance / % of declared"},
		drawing: in,
	}
	held := 0
	for i, l := range in.Lines {
		if !finite(l.Value, l.Low, l.High, l.Declared) || !(l.Declared > 0) || l.Low > l.High || math.IsNaN(l.From+l.To) || l.From > l.To {
			return nil, fmt.Errorf("figure: intervals: %s: its figures must be finite and in order, and what was declared above zero", l.Name)
		}
		if i > 0 {
			p.Alt += " "
		}
		says := "which does not hold"
		if l.holds() {
			says = "which holds"
			held++
		}
		low, high := fixed(100*l.Low/l.Declared, 1), fixed(100*l.High/l.Declared, 1)
		p.Alt += fmt.Sprintf("%s: measured %s, 95 %% interval %s to %s %% of declared, %s the declared %s.", l.Name, l.Text, low, high, says, l.DeclaredText)
		p.Rows = append(p.Rows, []string{l.Name, l.DeclaredText, l.Text, low + " to " + high, l.band()})
	}
	for i := range in.Lines {
		if in.Lines[i].banded() {
			p.Note = joinNotes(p.Note, "Band: what the tolerance lets pass.")
			break
		}
	}
	if p.Title == "" {
		p.Title = fmt.Sprintf("%d of %d intervals hold what was declared", held, len(in.Lines))
	}
	return p, nil
}

// band writes the tolerance for the table.
func (l *IntervalLine) band() string {
	from, to := 100*l.From/l.Declared, 100*l.To/l.Declared
	switch {
	case !l.banded():
		return "none"
	case math.IsInf(to, 1):
		return "from " + fixed(from, 1)
	case math.IsInf(from, -1):
		return "up to " + fixed(to, 1)
	}
	return fixed(from, 1) + " to " + fixed(to, 1)
}

const (
	intervalRow       = 40
	intervalNarrowRow = 50
)

func (in Intervals) row(width vg.Length) vg.Length {
	if width < budgetNarrow {
		return intervalNarrowRow
	}
	return intervalRow
}

func (in Intervals) height(width vg.Length) vg.Length {
	return vg.Length(len(in.Lines))*in.row(width) + letterHeight + 4
}

func (in Intervals) draw(p *pen, box vg.Rectangle) {
	width := box.Max.X - box.Min.X
	narrow := width < budgetNarrow
	lo, hi := 0.95, 1.05
	for _, l := range in.Lines {
		for _, v := range []float64{l.Low, l.High, l.Value, l.From, l.To} {
			if r := v / l.Declared; v != 0 && !math.IsInf(v, 0) {
				lo, hi = min(lo, r), max(hi, r)
			}
		}
	}
	margin := 0.06 * (hi - lo)
	f := frame{box: box, x0: 100 * (lo - margin), x1: 100 * (hi + margin), y1: 1}
	if !narrow {
		names := vg.Length(0)
		for _, l := range in.Lines {
			names = max(names, label.width(l.Name), small.width("declared "+l.DeclaredText))
		}
		f.box.Min.X += min(names, 0.35*width) + 16
	}
	f.box.Max.X -= 12
	f.box.Min.Y += letterHeight
	scale := ticks(f.x0, f.x1, int(f.box.Max.X-f.box.Min.X)/62+1)
	p.gridX(f, scale)
	p.letterX(f, scale, f.box.Min.Y, box.Max.X, "%")
	hundred := f.x(100)
	p.line(inkFull, 1, vg.Point{X: hundred, Y: f.box.Min.Y}, vg.Point{X: hundred, Y: box.Max.Y})
	row := in.row(width)
	for i := range in.Lines {
		l := &in.Lines[i]
		top := box.Max.Y - vg.Length(i)*row
		y := top - row/2
		if narrow {
			y = top - row + 14
			p.textOn(label, inkFull, box.Min.X, top-14, left, label.fit(l.Name, 0.62*width))
			p.textOn(number, inkFull, box.Max.X, top-14, right, number.fit(l.Text, 0.36*width))
		} else {
			p.text(label, inkFull, box.Min.X, y+4, left, label.fit(l.Name, f.box.Min.X-box.Min.X-12))
			p.text(small, inkMuted, box.Min.X, y-11, left, small.fit("declared "+l.DeclaredText, f.box.Min.X-box.Min.X-12))
		}
		p.interval(f, l, y, !narrow)
	}
}

// interval draws one figure: band, line, dot, and its reading above where asked.
func (p *pen) interval(f frame, l *IntervalLine, y vg.Length, lettered bool) {
	at := func(v float64) vg.Length {
		return min(max(f.x(100*v/l.Declared), f.box.Min.X), f.box.Max.X)
	}
	if l.banded() {
		from, to := at(l.From), at(l.To)
		p.rect(ink{roleMuted, 0.16}, rectangle(from, y-9, to, y+9))
		for _, x := range []vg.Length{from, to} {
			if x > f.box.Min.X && x < f.box.Max.X {
				p.dashed(inkMuted, 1, vg.Point{X: x, Y: y - 9}, vg.Point{X: x, Y: y + 9})
			}
		}
	}
	a, b, dot := at(l.Low), at(l.High), at(l.Value)
	p.line(inkTint, 2, vg.Point{X: a, Y: y}, vg.Point{X: b, Y: y})
	for _, x := range []vg.Length{a, b} {
		p.line(inkTint, 1.5, vg.Point{X: x, Y: y - 5}, vg.Point{X: x, Y: y + 5})
	}
	p.disc(inkTint, vg.Point{X: dot, Y: y}, 4.5)
	if lettered {
		w := number.width(l.Text)
		x := min(max(dot-w/2, f.box.Min.X+2), f.box.Max.X-w)
		p.textOn(number, inkFull, x, y+9, left, l.Text)
	}
}
