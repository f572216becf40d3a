package figure

import (
	"fmt"

	"gonum.org/v1/plot/vg"
)

// Ladder draws how a lamp stands between what it is and what physics allows: a
// bar a rung, on one scale from zero, with what was lost between them.
type Ladder struct {
	Rungs []LadderRung // from the top down

	Title string // empty for the last rung against the first
	Note  string
}

// LadderBasis is what a rung rests on. It looks the same on every ladder.
type LadderBasis int

// The kinds of basis, in the order of their looks.
const (
	LadderDefined LadderBasis = iota
	LadderComputed
	LadderMeasured
	LadderAssumed
)

var ladderWords = [...]string{"defined", "computed", "measured", "assumed"}

// LadderRung is one step.
type LadderRung struct {
	Name     string
	Efficacy float64 // lm/W
	Text     string  // the efficacy as it is read; empty for whole lm/W
	Basis    LadderBasis
	Loss     string  // what went on the way from the rung above; empty for none
	Kept     float64 // of the rung above, 0 to 1
	Absent   string  // why there is no efficacy; "" where there is one
}

// Picture checks the rungs and returns the picture.
func (l Ladder) Picture() (*Picture, error) {
	known := -1
	for i, r := range l.Rungs {
		switch {
		case int(r.Basis) < 0 || int(r.Basis) >= len(ladderWords):
			return nil, fmt.Errorf("figure: ladder: %s is of no known basis", r.Name)
		case r.Absent == "" && (!finite(r.Efficacy, r.Kept) || r.Efficacy < 0):
			return nil, fmt.Errorf("figure: ladder: %s has %g lm/W, which is no efficacy", r.Name, r.Efficacy)
		case r.Absent == "":
			known = i
		}
	}
	if known < 0 || l.Rungs[0].Absent != "" || l.Rungs[0].Efficacy == 0 {
		return nil, fmt.Errorf("figure: ladder: the first rung has no efficacy to hang the rest from")
	}
	top, last := l.Rungs[0], l.Rungs[known]
	p := &Picture{
		Name:    "ladder",
		Title:   l.Title,
		Note:    joinNotes(l.Note, "The pale part of a bar is what was lost from the rung above."),
		Columns: []string{"rung", "lm/W", "of the rung above / %", "basis", "what was lost"},
		Alt:     "Bars on one scale, from the top down: ",
		drawing: l,
	}
	if p.Title == "" {
		p.Title = fmt.Sprintf("%s of %s lm/W: %s of what the eye could have", last.text(), top.text(), percent(last.Efficacy/top.Efficacy))
		if known == 0 {
			p.Title = "Nothing of this lamp is known but what the eye could have"
		}
	}
	for i, r := range l.Rungs {
		row := []string{r.Name, "–", "", ladderWords[r.Basis], r.Loss}
		if i > 0 {
			p.Alt += "; "
		}
		if r.Absent != "" {
			row[3], row[4] = "", r.Absent
			p.Alt += r.Name + ": " + r.Absent
		} else {
			row[1] = r.text()
			p.Alt += fmt.Sprintf("%s, %s: %s lm/W", r.Name, ladderWords[r.Basis], r.text())
			if i > 0 {
				row[2] = percentNumber(r.Kept)
			}
		}
		p.Rows = append(p.Rows, row)
	}
	p.Alt += "."
	return p, nil
}

func (r LadderRung) text() string {
	switch {
	case r.Text != "":
		return r.Text
	case r.Efficacy < 20:
		return fixed(r.Efficacy, 1)
	}
	return fixed(r.Efficacy, 0)
}

const (
	ladderBar    = 22
	ladderLine   = 15 // leading of the names
	ladderSmall  = 14 // leading of the losses
	ladderGap    = 10 // between rungs
	ladderMargin = 76 // right of the longest bar, for its figure
	ladderKey    = 24
	ladderIndent = 14 // of a loss behind its tick
)

// lines is a rung's text, laid out for a width.
func (r LadderRung) lines(width vg.Length) (loss, name []string) {
	if r.Absent == "" && r.Loss != "" {
		loss = small.wrap(fmt.Sprintf("%s lost: %s", percent(max(0, 1-r.Kept)), r.Loss), width-ladderIndent)
	}
	return loss, label.wrap(r.Name, width)
}

func (l Ladder) height(width vg.Length) vg.Length {
	h := vg.Length(ladderKey)
	for _, r := range l.Rungs {
		loss, name := r.lines(width)
		h += vg.Length(len(loss))*ladderSmall + vg.Length(len(name))*ladderLine + ladderBar + ladderGap
		if len(loss) > 0 {
			h += 6
		}
		if r.Absent != "" {
			h += vg.Length(len(small.wrap(r.Absent, width)))*ladderSmall - ladderBar
		}
	}
	return h
}

func (l Ladder) draw(p *pen, box vg.Rectangle) {
	width := box.Max.X - box.Min.X
	f := frame{box: box, x1: l.Rungs[0].Efficacy, y1: 1}
	f.box.Max.X -= ladderMargin
	p.ladderLegend(box)
	y := box.Max.Y - ladderKey
	above := l.Rungs[0].Efficacy
	for i, r := range l.Rungs {
		loss, name := r.lines(width)
		if len(loss) > 0 {
			high := vg.Length(len(loss)) * ladderSmall
			p.line(ink{roleMuted, 0.7}, 1, vg.Point{X: box.Min.X + 4, Y: y + 2}, vg.Point{X: box.Min.X + 4, Y: y - high})
			for _, line := range loss {
				y -= ladderSmall
				p.text(small, inkMuted, box.Min.X+ladderIndent, y+3, left, line)
			}
			y -= 6
		}
		for _, line := range name {
			y -= ladderLine
			p.text(label, inkFull, box.Min.X, y+4, left, line)
		}
		if r.Absent != "" {
			for _, line := range small.wrap(r.Absent, width) {
				y -= ladderSmall
				p.text(small, inkMuted, box.Min.X, y+3, left, line)
			}
			y -= ladderGap
			continue
		}
		bar := snap(rectangle(f.x(0), y-ladderBar+4, f.x(r.Efficacy), y-2))
		if i > 0 && above > r.Efficacy {
			p.rect(ink{roleMuted, 0.12}, snap(rectangle(bar.Max.X, bar.Min.Y, f.x(above), bar.Max.Y)))
		}
		ladderFills[r.Basis](p, bar)
		end := bar.Max.X
		if i > 0 {
			end = max(end, f.x(min(above, l.Rungs[0].Efficacy)))
		}
		at := bar.Max.X + 6
		if end-bar.Max.X < number.width(r.text())+12 { // the pale part is too short to letter in
			at = end + 6
		}
		text := r.text()
		if i == 0 {
			text += " lm/W"
		}
		p.text(number, inkFull, at, (bar.Min.Y+bar.Max.Y)/2-number.middle(), left, text)
		above = r.Efficacy
		y -= ladderBar + ladderGap
	}
}

// ladderFills tell the kinds of basis apart without colour: outlined, hatched,
// full, dashed.
var ladderFills = [...]func(*pen, vg.Rectangle){
	LadderDefined: func(p *pen, r vg.Rectangle) { p.frameRect(inkFull, 1.5, r) },
	LadderComputed: func(p *pen, r vg.Rectangle) {
		p.rect(ink{roleSeries, 0.18}, r)
		p.hatch(inkTint, r, 6)
		p.frameRect(inkTint, 1, r)
	},
	LadderMeasured: func(p *pen, r vg.Rectangle) { p.rect(inkTint, r) },
	LadderAssumed: func(p *pen, r vg.Rectangle) {
		p.rect(ink{roleSeries, 0.1}, r)
		p.style(inkTint, 1.5, 4, 3)
		path := polyline([]vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}})
		path.Close()
		p.Stroke(path)
	},
}

// ladderLegend letters the key in one line at the top.
func (p *pen) ladderLegend(box vg.Rectangle) {
	x, y := box.Min.X, box.Max.Y-13
	for k, word := range ladderWords {
		ladderFills[k](p, snap(rectangle(x, y-1, x+14, y+10)))
		p.text(small, inkMuted, x+19, y, left, word)
		x += 19 + small.width(word) + 14
	}
}
