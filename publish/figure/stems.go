package figure

import (
	"cmp"
	"fmt"
	"image/color"
	"slices"

	"gonum.org/v1/plot/vg"
)

// Stems shows how the energy in the lines of a spectrum is shared out: a stem
// for each, as high as its area, whatever width the instrument gave it.
type Stems struct {
	Lines    []EmissionLine // those with no positive area are left to the table
	AreaUnit string         // e.g. "W"; empty for a relative spectrum
	From, To float64        // range drawn, nm; both zero for 380 to 780

	Title string // empty for the share of the strongest emitter
	Note  string
}

// stemSeries is an emitter with its part of the energy.
type stemSeries struct {
	symbol, emitter string
	area            float64
}

// Picture checks the lines and returns the picture.
func (s Stems) Picture() (*Picture, error) {
	s.From, s.To = visibleUnless(s.From, s.To)
	if s.To <= s.From {
		return nil, fmt.Errorf("figure: stems: %g nm to %g nm is no range", s.From, s.To)
	}
	for i := range s.Lines {
		if err := s.Lines[i].check("stems"); err != nil {
			return nil, err
		}
	}
	whole := s.whole()
	if whole == 0 {
		return nil, fmt.Errorf("figure: stems: no line has any energy")
	}
	series := s.series()
	p := &Picture{
		Name:    "stems",
		Title:   s.Title,
		Note:    joinNotes(s.Note, "Height is the area of the line: a narrow line and a blurred one of the same energy stand equally high."),
		Columns: []string{"wavelength / nm", "± / nm", "area" + over(s.AreaUnit), "share of the lines / %", "width / nm", "SNR", "emitter", "note"},
		Alt:     "Stems for the energy in the lines, by emitter: ",
		drawing: s,
	}
	for i := range s.Lines {
		cells := s.Lines[i].cells()
		p.Rows = append(p.Rows, slices.Insert(cells, 3, percentNumber(max(s.Lines[i].Area, 0)/whole)))
	}
	for i, e := range series {
		if i > 0 {
			p.Alt += "; "
		}
		p.Alt += e.emitter + " " + percent(e.area/whole)
	}
	top := byArea(s.Lines)[0]
	p.Alt += fmt.Sprintf(". The highest is %s nm with %s.", top.name(), percent(top.Area/whole))
	if p.Title == "" {
		p.Title = fmt.Sprintf("%s of the energy in lines comes from %s", percent(series[0].area/whole), series[0].emitter)
		switch {
		case series[0].symbol == "":
			p.Title = fmt.Sprintf("%s of the energy in lines is not explained", percent(series[0].area/whole))
		case len(series) == 1:
			p.Title = "All the energy in lines comes from " + series[0].emitter
		}
	}
	return p, nil
}

func (s Stems) whole() (sum float64) {
	for _, l := range s.Lines {
		sum += max(l.Area, 0)
	}
	return sum
}

// series returns the emitters, the strongest first.
func (s Stems) series() []stemSeries {
	var list []stemSeries
	for _, l := range s.Lines {
		name := cmp.Or(l.Emitter, "not explained")
		k := slices.IndexFunc(list, func(e stemSeries) bool { return e.emitter == name })
		if k < 0 {
			k = len(list)
			list = append(list, stemSeries{symbol: l.Symbol, emitter: name})
		}
		list[k].area += max(l.Area, 0)
	}
	slices.SortStableFunc(list, func(a, b stemSeries) int { return cmp.Compare(b.area, a.area) })
	return list
}

// stemMarks gives each emitter its form and colour.
func stemMarks(series []stemSeries) map[string]func(p *pen, at vg.Point) {
	const radius = 4
	marks := map[string]func(*pen, vg.Point){}
	next := 0
	for _, e := range series {
		if e.symbol == "" {
			marks[e.emitter] = func(p *pen, at vg.Point) { p.cross(inkMuted, at, radius-0.5) }
			continue
		}
		form := markers[min(next, len(markers)-1)]
		var c color.Color = ink{uint8(roleSeries + next%5), 1}
		marks[e.emitter] = func(p *pen, at vg.Point) { form(p, c, at, radius) }
		next++
	}
	return marks
}

const (
	stemPlot   = 190
	stemHead   = 22 // over the highest stem, for its name
	stemKeyRow = 17
)

// keyPlace is where a word of the key stands: row, and px from the left.
type keyPlace struct {
	text string
	row  int
	x    vg.Length
}

func (s Stems) key(width vg.Length) (list []keyPlace, rows int) {
	x, whole := vg.Length(0), s.whole()
	for _, e := range s.series() {
		text := e.emitter + " " + percent(e.area/whole)
		w := 14 + small.width(text)
		if x > 0 && x+w > width {
			x, rows = 0, rows+1
		}
		list = append(list, keyPlace{text, rows, x})
		x += w + 18
	}
	return list, rows + 1
}

func (s Stems) height(width vg.Length) vg.Length {
	_, rows := s.key(width)
	return vg.Length(rows)*stemKeyRow + 6 + unitHeight + stemHead + stemPlot + letterHeight
}

func (s Stems) draw(p *pen, box vg.Rectangle) {
	series := s.series()
	marks := stemMarks(series)
	key, rows := s.key(box.Max.X - box.Min.X)
	for i, k := range key {
		y := box.Max.Y - vg.Length(k.row)*stemKeyRow - 10
		marks[series[i].emitter](p, vg.Point{X: box.Min.X + k.x + 5, Y: y + small.middle()})
		p.text(small, inkFull, box.Min.X+k.x+14, y, left, k.text)
	}
	y := box.Max.Y - vg.Length(rows)*stemKeyRow - 6
	p.text(small, inkMuted, box.Min.X, y-small.size, left, "share of the energy in lines")

	whole := s.whole()
	lines := byArea(s.Lines)
	f := frame{rectangle(box.Min.X, box.Min.Y+letterHeight, box.Max.X-10, y-unitHeight-stemHead), s.From, s.To, 0, 100 * lines[0].Area / whole}
	up := ticks(0, f.y1, 5)
	for i := range up {
		up[i].text += " %"
	}
	f.box.Min.X += widest(up) + 8
	across := ticks(s.From, s.To, int(f.box.Max.X-f.box.Min.X)/70+1)
	p.gridY(f, up)
	p.line(inkMuted, 1, f.at(s.From, 0), f.at(s.To, 0))
	p.letterX(f, across, f.box.Min.Y, box.Max.X, "nm")

	lines = slices.DeleteFunc(lines, func(l EmissionLine) bool {
		return l.Area <= 0 || l.Wavelength < s.From || l.Wavelength > s.To
	})
	foot := func(l *EmissionLine) vg.Point { return f.at(l.Wavelength, 100*l.Area/whole) }
	for i := len(lines) - 1; i >= 0; i-- { // the strongest on top
		at := foot(&lines[i])
		p.line(inkMuted, 1.5, vg.Point{X: at.X, Y: f.box.Min.Y}, at)
		marks[cmp.Or(lines[i].Emitter, "not explained")](p, at)
	}
	for _, n := range s.names(lines, f.box, foot) {
		p.text(small, n.ink, n.box.Min.X, n.box.Min.Y, left, n.text)
	}
}

// stemName is a name with the box it fills.
type stemName struct {
	text string
	ink  ink
	box  vg.Rectangle
}

// names sets the names of stems over their heads or beside them, the strongest
// first, where no other name, head or stem is in the way. The rest are in the
// table.
func (s Stems) names(lines []EmissionLine, box vg.Rectangle, foot func(*EmissionLine) vg.Point) (set []stemName) {
	var taken []vg.Rectangle
	for i := range lines {
		at := foot(&lines[i])
		taken = append(taken, rectangle(at.X-6, at.Y-6, at.X+6, at.Y+6), rectangle(at.X-2, box.Min.Y, at.X+2, at.Y))
	}
	for i := range lines {
		at, text := foot(&lines[i]), lines[i].name()
		w, h := small.width(text), 0.73*small.size
		for _, corner := range []vg.Point{{X: at.X - w/2, Y: at.Y + 9}, {X: at.X + 9, Y: at.Y - h/2}, {X: at.X - 9 - w, Y: at.Y - h/2}} {
			r := rectangle(corner.X, corner.Y, corner.X+w, corner.Y+h)
			if r.Min.X < box.Min.X || r.Max.X > box.Max.X+8 || r.Min.Y < box.Min.Y+3 || overlaps(r, taken) {
				continue
			}
			name := stemName{text, inkFull, r}
			if lines[i].Symbol == "" {
				name.ink = inkMuted
			}
			set = append(set, name)
			taken = append(taken, rectangle(r.Min.X-8, r.Min.Y-6, r.Max.X+8, r.Max.Y+6))
			break
		}
	}
	return set
}
