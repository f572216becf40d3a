package figure

import (
	"fmt"
	"slices"

	"gonum.org/v1/plot/vg"
)

// Ladders sets the ladders of lamps side by side: for each a bar within a bar
// within a bar, on one scale from zero to 683 lm/W.
type Ladders struct {
	Lamps []LampLadder // drawn in this order

	Title string // empty for what is shown
	Note  string
}

// LampLadder is one lamp of [Ladders]. All are lm/W, 0 for what is not known.
type LampLadder struct {
	Name     string
	Best     float64 // the best light of its colour
	Spectrum float64 // of its own radiation
	AtLamp   float64
	AtMains  float64
	Assumed  bool   // one of the last two rests on an assumption
	Strip    *Strip // drawn beside the name; may be nil
}

// laddersTop is where the scale ends, lm/W.
const laddersTop = 683

// Picture checks the lamps and returns the picture.
func (l Ladders) Picture() (*Picture, error) {
	if len(l.Lamps) == 0 {
		return nil, fmt.Errorf("figure: ladders: no lamp given")
	}
	l.Lamps = slices.Clone(l.Lamps)
	p := &Picture{
		Name:    "ladders",
		Title:   l.Title,
		Note:    joinNotes(l.Note, "The scale ends at 683 lm/W, which only a line at 555 nm has."),
		Columns: []string{"lamp", "best light of its colour / lm/W", "its own spectrum / lm/W", "at the lamp / lm/W", "at the mains / lm/W"},
		Alt:     "Bars within bars on one scale to 683 lm/W: ",
	}
	if p.Title == "" {
		p.Title = "What each lamp gives, of what its spectrum and its colour allow"
	}
	for i, one := range l.Lamps {
		if !finite(one.Best, one.Spectrum, one.AtLamp, one.AtMains) || min(one.Best, one.Spectrum, one.AtLamp, one.AtMains) < 0 {
			return nil, fmt.Errorf("figure: ladders: %s: efficacies must be finite and not negative", one.Name)
		}
		if one.Strip != nil {
			if err := checkCurve("ladders: "+one.Name, one.Strip.Wavelengths, one.Strip.Values); err != nil {
				return nil, err
			}
			l.Lamps[i].Strip = one.Strip.ready()
		}
		row := []string{one.Name}
		for _, v := range []float64{one.Best, one.Spectrum, one.AtLamp, one.AtMains} {
			row = append(row, ladderText(v))
		}
		p.Rows = append(p.Rows, row)
		if i > 0 {
			p.Alt += "; "
		}
		p.Alt += fmt.Sprintf("%s: best %s, own spectrum %s, at the lamp %s, at the mains %s", row[0], row[1], row[2], row[3], row[4])
	}
	p.Alt += "."
	p.drawing = l
	return p, nil
}

// ready returns a copy with its range and colours filled in.
func (s Strip) ready() *Strip {
	s.From, s.To = visibleUnless(s.From, s.To)
	if s.Colours == nil {
		s.Colours = SpectralColours
	}
	return &s
}

func ladderText(v float64) string {
	if v == 0 {
		return "–"
	}
	return LadderRung{Efficacy: v}.text()
}

// Bars lie within one another.
const (
	laddersBest     = 22
	laddersSpectrum = 14
	laddersPower    = 6
)

func (l Ladders) height(width vg.Length) vg.Length {
	return l.keyHeight(width) + vg.Length(len(l.Lamps))*efficacyRow(width) + letterHeight + 4
}

func (l Ladders) draw(p *pen, box vg.Rectangle) {
	width := box.Max.X - box.Min.X
	row, narrow := efficacyRow(width), width < efficacyNarrow
	names := Efficacies{}
	for _, one := range l.Lamps {
		names.Lamps = append(names.Lamps, LampEfficacy{Name: one.Name, Strip: one.Strip})
	}
	entries, _ := l.key(width)
	p.laddersLegend(entries, box)
	f := frame{box: box, x1: laddersTop, y1: 1}
	if !narrow {
		f.box.Min.X += names.nameWidth(width) + 16
	}
	f.box.Min.X += efficacyInset
	f.box.Max.X -= 34
	f.box.Min.Y += letterHeight
	f.box.Max.Y -= l.keyHeight(width)
	scale := ticks(0, f.x1, int(f.box.Max.X-f.box.Min.X)/62+1)
	p.gridX(f, scale)
	p.letterX(f, scale, f.box.Min.Y, box.Max.X, "lm/W")
	for i, one := range l.Lamps {
		y := f.box.Max.Y - vg.Length(i)*row - row/2
		if narrow {
			p.nameAndStrip(names.Lamps[i], box.Min.X, y+17, width, 0)
			y -= 5
		} else {
			p.nameAndStrip(names.Lamps[i], box.Min.X, y, names.nameWidth(width), -1)
		}
		p.ladderBars(f, one, y)
	}
}

func (l Ladders) assumed() bool {
	for _, one := range l.Lamps {
		if one.Assumed {
			return true
		}
	}
	return false
}

// ladderBars draws one lamp's bars about y, and letters what it gives.
func (p *pen) ladderBars(f frame, l LampLadder, y vg.Length) {
	bar := func(v float64, high vg.Length) vg.Rectangle {
		return snap(rectangle(f.x(0), y-high/2, f.x(v), y+high/2))
	}
	if l.Best > 0 {
		ladderFills[LadderComputed](p, bar(l.Best, laddersBest))
	}
	if l.Spectrum > 0 {
		r := bar(l.Spectrum, laddersSpectrum)
		p.rect(inkPanel, r)
		p.frameRect(inkFull, 1, r)
	}
	gives, text := l.AtMains, ladderText(l.AtMains)
	if gives == 0 { // what is known is only that end, and it says so
		gives, text = l.AtLamp, ladderText(l.AtLamp)+" at the lamp"
	}
	if gives == 0 {
		return
	}
	if l.AtLamp > l.AtMains {
		p.rect(ink{roleMuted, 0.7}, bar(l.AtLamp, laddersPower))
	}
	if l.AtMains > 0 {
		p.rect(inkTint, bar(l.AtMains, laddersPower))
	}
	end := f.x(max(gives, l.AtLamp))
	if free := f.x(l.Spectrum) - end; l.Spectrum > 0 && free < number.width(text)+10 {
		end = f.x(max(l.Best, l.Spectrum, gives))
	}
	p.textOn(number, inkFull, end+5, y-number.middle(), left, text)
}

// laddersKey is an entry of the key at its place from the top left.
type laddersKey struct {
	word string
	fill func(*pen, vg.Rectangle)
	x, y vg.Length
}

// key lays out the key in as many lines as a width needs, and says how many.
func (l Ladders) key(width vg.Length) (entries []laddersKey, lines int) {
	mains := "at the mains"
	if l.assumed() {
		mains += " (some assumed)"
	}
	entries = []laddersKey{
		{word: "best of its colour", fill: ladderFills[LadderComputed]},
		{word: "own spectrum", fill: func(p *pen, r vg.Rectangle) { p.frameRect(inkFull, 1, r) }},
		{word: "at the lamp, lost in gear", fill: func(p *pen, r vg.Rectangle) { p.rect(ink{roleMuted, 0.7}, r) }},
		{word: mains, fill: func(p *pen, r vg.Rectangle) { p.rect(inkTint, r) }},
	}
	lines = 1
	x := vg.Length(0)
	for i := range entries {
		w := 16 + small.width(entries[i].word)
		if x > 0 && x+w > width {
			x, lines = 0, lines+1
		}
		entries[i].x, entries[i].y = x, vg.Length(lines-1)*ladderSmall
		x += w + 11
	}
	return entries, lines
}

func (l Ladders) keyHeight(width vg.Length) vg.Length {
	_, lines := l.key(width)
	return ladderKey + 4 + vg.Length(lines-1)*ladderSmall
}

func (p *pen) laddersLegend(entries []laddersKey, box vg.Rectangle) {
	for _, e := range entries {
		x, y := box.Min.X+e.x, box.Max.Y-13-e.y
		e.fill(p, snap(rectangle(x, y-1, x+12, y+9)))
		p.text(small, inkMuted, x+16, y, left, e.word)
	}
}
