package figure

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"
)

// EmissionTimeline shows how the lines of each emitter of a lamp rise and fall,
// one panel under another on one axis of time, with what happened when.
type EmissionTimeline struct {
	Seconds []float64 // increasing, two or more
	Tracks  []EmissionTrack
	Events  []EmissionEvent
	Unit    string // of the power in lines, e.g. "W"; empty for a relative one

	Title string // empty for the emitters
	Note  string
}

// EmissionTrack is one emitter's share in an [EmissionTimeline].
type EmissionTrack struct {
	Emitter string    // "Na I"
	Power   []float64 // in its lines, one a moment; may be negative for noise
	PowerU  []float64 // standard uncertainty; nil for none
}

// EmissionEvent is something that happens once.
type EmissionEvent struct {
	Seconds float64
	Text    string
}

// Picture checks the series and returns the picture.
func (e EmissionTimeline) Picture() (*Picture, error) {
	n := len(e.Seconds)
	if n < 2 || len(e.Tracks) == 0 {
		return nil, fmt.Errorf("figure: emission timeline: %d moments and %d emitters make no course", n, len(e.Tracks))
	}
	for i := range e.Seconds {
		if !finite(e.Seconds[i]) || i > 0 && e.Seconds[i] <= e.Seconds[i-1] {
			return nil, fmt.Errorf("figure: emission timeline: moment %d is not after the one before it", i+1)
		}
	}
	for _, t := range e.Tracks {
		if len(t.Power) != n || t.PowerU != nil && len(t.PowerU) != n || !finite(t.Power...) || !finite(t.PowerU...) {
			return nil, fmt.Errorf("figure: emission timeline: %s has not one finite power for each of %d moments", t.Emitter, n)
		}
	}
	e.Events = slices.Clone(e.Events)
	for _, v := range e.Events {
		if !finite(v.Seconds) {
			return nil, fmt.Errorf("figure: emission timeline: %q has no time", v.Text)
		}
	}
	slices.SortStableFunc(e.Events, func(a, b EmissionEvent) int { return int(math.Copysign(1, a.Seconds-b.Seconds)) })

	var names, highest []string
	columns := []string{"time / s"}
	for i := range e.Tracks {
		t := &e.Tracks[i]
		names = append(names, t.Emitter)
		columns = append(columns, t.Emitter+over(e.Unit), "±")
		highest = append(highest, fmt.Sprintf("%s at %s s", t.Emitter, fixed(e.Seconds[t.highest()], 0)))
	}
	p := &Picture{
		Name:    "emission-timeline",
		Title:   e.Title,
		Note:    joinNotes(e.Note, "Each panel has its own scale, from nothing to its highest; the pale band is two standard deviations either way."),
		Alt:     fmt.Sprintf("Power in the lines of each emitter from %s to %s s. Highest: %s.", fixed(e.Seconds[0], 0), fixed(e.Seconds[n-1], 0), strings.Join(highest, ", ")),
		Columns: append(columns, "what happens"),
		drawing: e,
	}
	for _, v := range e.Events {
		p.Alt += fmt.Sprintf(" At %s s: %s.", fixed(v.Seconds, 0), v.Text)
	}
	if p.Title == "" {
		p.Title = fmt.Sprintf("Lines of %s over %s s", strings.Join(names, ", "), fixed(e.Seconds[n-1]-e.Seconds[0], 0))
	}
	p.Rows = e.rows()
	return p, nil
}

// rows is the table: each moment with what happened since the one before.
func (e *EmissionTimeline) rows() (rows [][]string) {
	for i, at := range e.Seconds {
		row := []string{significant(at, 4)}
		for _, t := range e.Tracks {
			u := ""
			if t.PowerU != nil {
				u = significant(t.PowerU[i], 2)
			}
			row = append(row, significant(t.Power[i], 3), u)
		}
		var happened []string
		for _, v := range e.Events {
			if v.Seconds <= at && (i == 0 || v.Seconds > e.Seconds[i-1]) || i == len(e.Seconds)-1 && v.Seconds > at {
				happened = append(happened, fmt.Sprintf("%s (%s s)", v.Text, fixed(v.Seconds, 0)))
			}
		}
		rows = append(rows, append(row, strings.Join(happened, "; ")))
	}
	return rows
}

// highest is the moment of a track's largest power.
func (t *EmissionTrack) highest() int { return slices.Index(t.Power, slices.Max(t.Power)) }

const (
	trackName = 20
	trackPlot = 56
	trackGap  = 8
	eventLine = 15
	eventMark = 20 // the letter before an event's text
)

// clockUnit returns the seconds that an axis of time is lettered in, and their
// name.
func (e *EmissionTimeline) clockUnit() (seconds float64, name string) {
	if e.Seconds[len(e.Seconds)-1]-e.Seconds[0] > 300 {
		return 60, "min"
	}
	return 1, "s"
}

// eventNames are the texts under the panels, wrapped, and the letters over them.
func (e *EmissionTimeline) eventNames(width vg.Length) (texts [][]string, lines int) {
	unit, name := e.clockUnit()
	for _, v := range e.Events {
		decimals := 0
		if unit > 1 {
			decimals = 1
		}
		text := label.wrap(fmt.Sprintf("%s %s: %s", fixed(v.Seconds/unit, decimals), name, v.Text), width-eventMark)
		texts = append(texts, text)
		lines += len(text)
	}
	return texts, lines
}

// eventLetter numbers events a, b, c …
func eventLetter(i int) string { return string(rune('a' + i%26)) }

// axis is the frame of the panels and the letters above it. Events that are
// close together share a place, as "a b".
func (e *EmissionTimeline) axis(from, to vg.Length) (f frame, letters []callout) {
	const close = 16
	f = frame{box: rectangle(from+5, 0, to-14, 1), x0: e.Seconds[0], x1: e.Seconds[len(e.Seconds)-1]}
	for i := range e.Events {
		x, n := e.eventX(f, i), len(letters)
		if n > 0 && x-letters[n-1].x < close {
			letters[n-1].text += " " + eventLetter(i)
		} else {
			letters = append(letters, callout{x: x, text: eventLetter(i)})
		}
	}
	return f, letters
}

func (e *EmissionTimeline) eventX(f frame, i int) vg.Length {
	return f.x(min(max(e.Events[i].Seconds, f.x0), f.x1))
}

const eventRows = 3

func (e EmissionTimeline) height(width vg.Length) vg.Length {
	_, letters := e.axis(0, width)
	_, rows := hoist(letters, 0, width, eventRows)
	_, lines := e.eventNames(width)
	return calloutRow*vg.Length(rows) + vg.Length(len(e.Tracks))*(trackName+trackPlot+trackGap) + letterHeight + 8 + vg.Length(lines)*eventLine
}

func (e EmissionTimeline) draw(p *pen, box vg.Rectangle) {
	f, letters := e.axis(box.Min.X, box.Max.X)
	set, rows := hoist(letters, box.Min.X, box.Max.X, eventRows)
	top := box.Max.Y - calloutRow*vg.Length(rows)
	bottom := top - vg.Length(len(e.Tracks))*(trackName+trackPlot+trackGap) + trackGap
	strongest := 0.0
	for _, t := range e.Tracks {
		strongest = max(strongest, slices.Max(t.Power))
	}
	y := top
	for i := range e.Tracks {
		f.box.Max.Y = y - trackName
		f.box.Min.Y = f.box.Max.Y - trackPlot
		e.track(p, f, &e.Tracks[i], strongest)
		y = f.box.Min.Y - trackGap
	}
	for i := range e.Events {
		x := e.eventX(f, i)
		p.dashed(ink{roleMuted, 0.8}, 1, vg.Point{X: x, Y: top}, vg.Point{X: x, Y: bottom})
	}
	p.callouts(letters, set, top+4, func(int) vg.Length { return top })
	for i := range e.Tracks { // names over the dashes
		at := top - vg.Length(i)*(trackName+trackPlot+trackGap) - 14
		t := &e.Tracks[i]
		p.textOn(strong, inkFull, box.Min.X+2, at, left, t.Emitter)
		p.textOn(small, inkMuted, box.Min.X+12+strong.width(t.Emitter), at, left, e.scale(t, strongest))
	}
	e.clock(p, f, bottom, box.Max.X)
	e.legend(p, box, bottom-letterHeight-8)
}

// clock letters the axis of time beneath the panels.
func (e *EmissionTimeline) clock(p *pen, f frame, bottom, edge vg.Length) {
	unit, name := e.clockUnit()
	list := ticks(f.x0/unit, f.x1/unit, int(f.box.Max.X-f.box.Min.X)/60+1)
	for i := range list {
		list[i].value *= unit
	}
	p.letterX(f, list, bottom, edge, name)
}

// legend writes each event's letter and what happened, from y down.
func (e *EmissionTimeline) legend(p *pen, box vg.Rectangle, y vg.Length) {
	texts, _ := e.eventNames(box.Max.X - box.Min.X)
	for i, text := range texts {
		for k, line := range text {
			y -= eventLine
			if k == 0 {
				p.text(strong, inkFull, box.Min.X+2, y+3, left, eventLetter(i))
			}
			p.text(label, inkFull, box.Min.X+eventMark, y+3, left, line)
		}
	}
}

// scale says what a panel's height stands for.
func (e *EmissionTimeline) scale(t *EmissionTrack, strongest float64) string {
	high := slices.Max(t.Power)
	switch {
	case high <= 0:
		return "nothing above zero"
	case e.Unit != "":
		return "at most " + significant(high, 3) + " " + e.Unit
	case high == strongest:
		return "the strongest"
	}
	return "at most " + percent(high/strongest) + " of the strongest"
}

// track draws one emitter's course with its uncertainty.
func (e *EmissionTimeline) track(p *pen, f frame, t *EmissionTrack, strongest float64) {
	f.y1 = slices.Max(t.Power)
	if f.y1 <= 0 {
		f.y1 = strongest
	}
	if f.y1 <= 0 {
		f.y1 = 1
	}
	f.y1 *= 1.04
	p.rect(ink{roleGrid, 0.35}, f.box)
	var line, upper, lower []vg.Point
	for i, s := range e.Seconds {
		line = append(line, f.at(s, t.Power[i]))
		if t.PowerU != nil {
			upper = append(upper, f.at(s, t.Power[i]+2*t.PowerU[i]))
			lower = append(lower, f.at(s, t.Power[i]-2*t.PowerU[i]))
		}
	}
	slices.Reverse(lower)
	if t.PowerU != nil {
		p.polygon(ink{roleMuted, 0.3}, clipArea(f.box, append(upper, lower...))...)
	}
	area := append([]vg.Point{{X: line[0].X, Y: f.box.Min.Y}}, line...)
	p.polygon(inkWash, clipArea(f.box, append(area, vg.Point{X: line[len(line)-1].X, Y: f.box.Min.Y}))...)
	for _, part := range clip(f.box, line) {
		p.line(inkFull, 1.5, part...)
	}
	p.line(inkMuted, 1, f.box.Min, vg.Point{X: f.box.Max.X, Y: f.box.Min.Y})
	if len(e.Seconds) <= 40 { // the samples, where they can be told apart
		for i, at := range line {
			if t.Power[i] >= 0 {
				p.disc(inkFull, at, 1.8)
			}
		}
	}
}
