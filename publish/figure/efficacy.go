package figure

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/plot/vg"
)

// Efficacies compares lamps: the luminous efficacy of each as a dot with its
// interval, and as a hollow mark the luminous efficacy of its radiation, which
// no lamp of that spectrum can exceed.
type Efficacies struct {
	Lamps []LampEfficacy // in any order; drawn by falling efficacy

	Title string // empty for the first and the last
	Note  string
}

// LampEfficacy is one lamp of [Efficacies].
type LampEfficacy struct {
	Name     string
	Efficacy float64 // lm/W
	Expanded float64 // half the interval drawn, lm/W; 0 for none
	Text     string  // the efficacy as it is read; empty for whole lm/W, below 20 tenths
	LER      float64 // lm/W; 0 where not known
	Strip    *Strip  // drawn beside the name; may be nil
}

// Picture checks the lamps and returns the picture.
func (e Efficacies) Picture() (*Picture, error) {
	if len(e.Lamps) == 0 {
		return nil, fmt.Errorf("figure: efficacies: no lamp given")
	}
	e.Lamps = append([]LampEfficacy(nil), e.Lamps...)
	for i := range e.Lamps {
		l := &e.Lamps[i]
		if !finite(l.Efficacy, l.Expanded, l.LER) || l.Efficacy < 0 || l.Expanded < 0 || l.LER < 0 {
			return nil, fmt.Errorf("figure: efficacies: %s: efficacy, interval and limit must be finite and not negative", l.Name)
		}
		if l.Text == "" {
			l.Text = fixed(l.Efficacy, 0)
			if l.Efficacy < 20 {
				l.Text = fixed(l.Efficacy, 1)
			}
		}
		if l.Strip != nil {
			s := *l.Strip
			if err := checkCurve("efficacies: "+l.Name, s.Wavelengths, s.Values); err != nil {
				return nil, err
			}
			s.From, s.To = visibleUnless(s.From, s.To)
			if s.Colours == nil {
				s.Colours = SpectralColours
			}
			l.Strip = &s
		}
	}
	sort.SliceStable(e.Lamps, func(i, k int) bool { return e.Lamps[i].Efficacy > e.Lamps[k].Efficacy })

	best, last := e.Lamps[0], e.Lamps[len(e.Lamps)-1]
	p := &Picture{
		Name:    "efficacies",
		Title:   e.Title,
		Note:    joinNotes(e.Note, "Hollow mark: luminous efficacy of the radiation, the limit for that spectrum."),
		Columns: []string{"lamp", "luminous efficacy / lm/W", "± / lm/W", "limit of the spectrum / lm/W"},
		Alt:     "Dots on one scale, sorted: ",
		drawing: e,
	}
	if p.Title == "" {
		p.Title = fmt.Sprintf("%s lm/W (%s)", best.Text, best.Name)
		if len(e.Lamps) > 1 {
			p.Title = fmt.Sprintf("From %s down to %s lm/W (%s)", p.Title, last.Text, last.Name)
		}
	}
	for i, l := range e.Lamps {
		row := []string{l.Name, l.Text, "not given", "not known"}
		if i > 0 {
			p.Alt += "; "
		}
		p.Alt += fmt.Sprintf("%s %s lm/W", l.Name, l.Text)
		if l.Expanded > 0 {
			row[2] = significant(l.Expanded, 2)
		}
		if l.LER > 0 {
			row[3] = fixed(l.LER, 0)
			p.Alt += " of at most " + row[3]
		}
		p.Rows = append(p.Rows, row)
	}
	p.Alt += "."
	return p, nil
}

// A lamp has its name above its line where the picture is narrow, else beside
// it.
const (
	efficacyNarrow = 520
	efficacyInset  = 6 // px from the zero to the left edge
)

func efficacyRow(width vg.Length) vg.Length {
	if width < efficacyNarrow {
		return 58
	}
	return 36
}

func (e Efficacies) height(width vg.Length) vg.Length {
	return vg.Length(len(e.Lamps))*efficacyRow(width) + letterHeight + 4
}

func (e Efficacies) draw(p *pen, box vg.Rectangle) {
	width := box.Max.X - box.Min.X
	row := efficacyRow(width)
	narrow := width < efficacyNarrow
	top := 0.0
	for _, l := range e.Lamps {
		top = math.Max(top, math.Max(l.Efficacy+l.Expanded, l.LER))
	}
	f := frame{box: box, x1: top * 1.04, y1: 1}
	if top == 0 {
		f.x1 = 1
	}
	if !narrow {
		f.box.Min.X += e.nameWidth(width) + 16
	}
	f.box.Min.X += efficacyInset
	f.box.Max.X -= 28
	f.box.Min.Y += letterHeight
	scale := ticks(0, f.x1, int(f.box.Max.X-f.box.Min.X)/62+1)
	p.gridX(f, scale)
	p.letterX(f, scale, f.box.Min.Y, box.Max.X, "lm/W")

	for i, l := range e.Lamps {
		y := box.Max.Y - vg.Length(i+1)*row + row/2
		if narrow {
			p.nameAndStrip(l, box.Min.X, y+17, width, 0)
		} else {
			p.nameAndStrip(l, box.Min.X, y, e.nameWidth(width), -1)
		}
		p.efficacy(f, l, y, narrow)
	}
}

// nameWidth is the width of the column of names, with the strips under them.
func (e Efficacies) nameWidth(width vg.Length) vg.Length {
	w := vg.Length(90)
	for _, l := range e.Lamps {
		w = max(w, label.width(l.Name))
	}
	return min(w, 0.3*width)
}

// nameAndStrip letters a lamp's name at y with the strip of its spectrum: under
// it where below is negative, else behind it.
func (p *pen) nameAndStrip(l LampEfficacy, x, y, width vg.Length, below int) {
	const high = 9
	behind := rectangle(x+width-90, y-high/2.0, x+width, y+high/2.0)
	if below < 0 {
		behind = rectangle(x, y-14, x+90, y-14+high)
		if l.Strip != nil {
			y += 7
		}
	} else if l.Strip != nil {
		width -= 98
	}
	p.text(label, inkFull, x, y-label.middle(), left, label.fit(l.Name, width))
	if l.Strip != nil {
		p.strip(frame{behind, l.Strip.From, l.Strip.To, 0, 1}, l.Strip.Wavelengths, l.Strip.Values, l.Strip.Colours)
	}
}

// efficacy draws one lamp's marks. Its value stands above the dot, below it
// where the name is above.
func (p *pen) efficacy(f frame, l LampEfficacy, y vg.Length, below bool) {
	at := vg.Point{X: f.x(l.Efficacy), Y: y}
	limit := vg.Point{X: f.x(l.LER), Y: y}
	p.line(inkGrid, 1, vg.Point{X: f.box.Min.X, Y: y}, vg.Point{X: f.box.Max.X, Y: y})
	if l.LER > 0 {
		p.line(ink{roleMuted, 0.6}, 1, at, limit)
		p.disc(inkPanel, limit, 5)
		p.ring(inkMuted, 1.5, limit, 4.5)
		p.text(number, inkMuted, limit.X+8, y-number.middle(), left, fixed(l.LER, 0))
	}
	if l.Expanded > 0 {
		a, b := f.x(max(0, l.Efficacy-l.Expanded)), f.x(l.Efficacy+l.Expanded)
		p.line(inkTint, 2, vg.Point{X: a, Y: y}, vg.Point{X: b, Y: y})
		for _, x := range []vg.Length{a, b} {
			p.line(inkTint, 1.5, vg.Point{X: x, Y: y - 5}, vg.Point{X: x, Y: y + 5})
		}
	}
	p.disc(inkTint, at, 4.5)
	base := y + 9
	if below {
		base = y - 9 - 0.73*number.size
	}
	x := max(at.X-number.width(l.Text)/2, f.box.Min.X-efficacyInset)
	p.textOn(number, inkFull, x, base, left, l.Text)
}
