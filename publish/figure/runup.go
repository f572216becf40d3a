package figure

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
)

// RunUp shows a lamp after switch-on: light, watts, colour and whatever else was
// read, each in a panel of its own, on one axis of time. Flags say what happened
// when, and a pale ground the time from which a rule calls the lamp stable.
type RunUp struct {
	Panels []RunUpPanel // from the top, light first
	Flags  []EmissionEvent
	// Stable and StableTo bound the time in which the rule holds, s after
	// switch-on; both zero where it does not.
	Stable, StableTo float64

	Title string // empty for what the first panel says
	Note  string
}

// RunUpPanel is one reading in time. Traces need not share their moments.
type RunUpPanel struct {
	Name    string    // "light"
	Unit    string    // "lx"; empty for none
	Seconds []float64 // after switch-on, increasing
	Values  []float64 // NaN where there is none: the line breaks
	// Level is the stabilised value, drawn across; NaN for none.
	Level float64
	// Reached are places to be marked on the line, such as 80 % of the level.
	Reached []RunUpMark
	// FromZero begins the scale at zero; otherwise it holds the readings alone.
	FromZero bool
}

// RunUpMark is a place on a panel's line.
type RunUpMark struct {
	Seconds, Value float64
	Text           string // empty for a dot alone
}

// Picture checks the panels and returns the picture.
func (r RunUp) Picture() (*Picture, error) {
	if len(r.Panels) == 0 {
		return nil, fmt.Errorf("figure: run-up: there is nothing to draw")
	}
	p := &Picture{Name: "run-up", Title: r.Title, Note: r.Note, drawing: r}
	for _, panel := range r.Panels {
		if err := panel.check(); err != nil {
			return nil, err
		}
		lo, hi := panel.extent()
		p.Alt += fmt.Sprintf("%s between %s and %s%s", panel.Name, significant(lo, 4), significant(hi, 4), unitAfter(panel.Unit))
		if finite(panel.Level) {
			p.Alt += fmt.Sprintf(", stabilised at %s%s", significant(panel.Level, 4), unitAfter(panel.Unit))
		}
		p.Alt += ". "
	}
	from, to := r.span()
	if !(to > from) {
		return nil, fmt.Errorf("figure: run-up: the readings cover no time")
	}
	for _, f := range r.Flags {
		if !finite(f.Seconds) {
			return nil, fmt.Errorf("figure: run-up: %q has no time", f.Text)
		}
		p.Alt += fmt.Sprintf("At %s s: %s. ", fixed(f.Seconds, 0), f.Text)
	}
	if !finite(r.Stable, r.StableTo) || r.StableTo < r.Stable {
		return nil, fmt.Errorf("figure: run-up: the lamp cannot be stable from %g s to %g s", r.Stable, r.StableTo)
	}
	if r.StableTo > r.Stable {
		p.Note = joinNotes(p.Note, "Pale ground: stable by the rule.")
	}
	p.Alt = "Readings over time, one panel each. " + strings.TrimSpace(p.Alt)
	if p.Title == "" {
		p.Title = fmt.Sprintf("%s over %s", r.Panels[0].Name, r.lasting(to-from))
	}
	p.Columns, p.Rows = r.table(from, to)
	return p, nil
}

func (r *RunUp) lasting(s float64) string {
	if s > minutesFrom {
		return fixed(s/60, 0) + " min"
	}
	return fixed(s, 0) + " s"
}

// minutesFrom is the length of an axis, in s, from which it is lettered in minutes.
const minutesFrom = 300

func unitAfter(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

func (p *RunUpPanel) check() error {
	if len(p.Seconds) == 0 || len(p.Seconds) != len(p.Values) {
		return fmt.Errorf("figure: run-up: %s has %d times for %d values", p.Name, len(p.Seconds), len(p.Values))
	}
	some := false
	for i, s := range p.Seconds {
		if !finite(s) || i > 0 && s <= p.Seconds[i-1] || math.IsInf(p.Values[i], 0) {
			return fmt.Errorf("figure: run-up: reading %d of %s has no time after the one before it, or no value", i+1, p.Name)
		}
		some = some || !math.IsNaN(p.Values[i])
	}
	if !some {
		return fmt.Errorf("figure: run-up: %s has no value", p.Name)
	}
	for _, m := range p.Reached {
		if !finite(m.Seconds, m.Value) {
			return fmt.Errorf("figure: run-up: the mark %q of %s has no place", m.Text, p.Name)
		}
	}
	return nil
}

// extent is the least and the largest value.
func (p *RunUpPanel) extent() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, v := range p.Values {
		if !math.IsNaN(v) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	return lo, hi
}

// span is the time that all panels cover together.
func (r *RunUp) span() (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for _, p := range r.Panels {
		from, to = min(from, p.Seconds[0]), max(to, p.Seconds[len(p.Seconds)-1])
	}
	return from, to
}

// tableRows is how many moments the table gives of a long record.
const tableRows = 60

// table reads every panel at even moments.
func (r *RunUp) table(from, to float64) (columns []string, rows [][]string) {
	columns = []string{"time / s"}
	n := 1
	for _, p := range r.Panels {
		columns = append(columns, p.Name+over(p.Unit))
		n = max(n, len(p.Seconds)-1)
	}
	n = min(n, tableRows)
	for i := range n + 1 {
		at := from + (to-from)*float64(i)/float64(n)
		row := []string{significant(at, 4)}
		for _, p := range r.Panels {
			cell := ""
			if at >= p.Seconds[0] && at <= p.Seconds[len(p.Seconds)-1] {
				if v := valueAt(p.Seconds, p.Values, at); !math.IsNaN(v) {
					cell = significant(v, 4)
				}
			}
			row = append(row, cell)
		}
		rows = append(rows, row)
	}
	return columns, rows
}

const (
	runUpFirst = 148 // height of the first panel's plot, px
	runUpOther = 64
)

// timeline is the axis of time with its flags, as an [EmissionTimeline] has it.
func (r *RunUp) timeline() *EmissionTimeline {
	from, to := r.span()
	return &EmissionTimeline{Seconds: []float64{from, to}, Events: r.Flags}
}

func (r *RunUp) plotHeight(i int) vg.Length {
	if i == 0 {
		return runUpFirst
	}
	return runUpOther
}

// scale returns a panel's frame without its horizontal part, and its ticks.
func (p *RunUpPanel) scale(height vg.Length) (f frame, list []tick, prefix string) {
	lo, hi := p.extent()
	if finite(p.Level) {
		lo, hi = min(lo, p.Level), max(hi, p.Level)
	}
	if p.FromZero {
		lo = min(lo, 0)
	}
	if hi == lo { // one value throughout
		room := 0.02 * math.Abs(hi)
		if room == 0 {
			room = 1
		}
		lo, hi = lo-room, hi+room
	}
	room := 0.06 * (hi - lo)
	f.y0, f.y1 = lo-room, hi+room
	if p.FromZero && lo == 0 {
		f.y0 = 0
	}
	for n := int(height)/30 + 1; len(list) < 2 && n < 10; n++ { // one number is no scale
		list, prefix = powerTicks(f.y0, f.y1, n)
	}
	return f, list, prefix
}

// margin is what the numbers left of the panels need.
func (r *RunUp) margin() vg.Length {
	w := vg.Length(0)
	for i := range r.Panels {
		_, list, _ := r.Panels[i].scale(r.plotHeight(i))
		w = max(w, widest(list))
	}
	return w + 8
}

func (r *RunUp) frame(box vg.Rectangle) (f frame, letters []callout) {
	return r.timeline().axis(box.Min.X+r.margin(), box.Max.X)
}

func (r RunUp) height(width vg.Length) vg.Length {
	_, letters := r.frame(rectangle(0, 0, width, 1))
	_, rows := hoist(letters, 0, width, eventRows)
	_, lines := r.timeline().eventNames(width)
	h := calloutRow*vg.Length(rows) + letterHeight + vg.Length(lines)*eventLine
	if lines > 0 {
		h += 8
	}
	for i := range r.Panels {
		h += trackName + r.plotHeight(i) + trackGap
	}
	return h
}

func (r RunUp) draw(p *pen, box vg.Rectangle) {
	t := r.timeline()
	f, letters := r.frame(box)
	set, rows := hoist(letters, box.Min.X, box.Max.X, eventRows)
	top := box.Max.Y - calloutRow*vg.Length(rows)
	y := top
	frames, units := make([]frame, len(r.Panels)), make([]string, len(r.Panels))
	for i := range r.Panels {
		one, list, prefix := r.Panels[i].scale(r.plotHeight(i))
		one.box, one.x0, one.x1 = f.box, f.x0, f.x1
		one.box.Max.Y = y - trackName
		one.box.Min.Y = one.box.Max.Y - r.plotHeight(i)
		frames[i] = one
		if r.StableTo > r.Stable {
			p.rect(inkWash, rectangle(one.x(max(r.Stable, f.x0)), one.box.Min.Y, one.x(min(r.StableTo, f.x1)), one.box.Max.Y))
		}
		p.gridY(one, list)
		units[i] = prefix + r.Panels[i].Unit
		y = one.box.Min.Y - trackGap
	}
	bottom := y + trackGap
	for i := range r.Flags {
		x := t.eventX(f, i)
		for _, one := range frames {
			p.dashed(ink{roleMuted, 0.8}, 1, vg.Point{X: x, Y: one.box.Max.Y}, vg.Point{X: x, Y: one.box.Min.Y})
		}
	}
	for i := range r.Panels {
		r.Panels[i].draw(p, frames[i], box.Max.X)
	}
	p.callouts(letters, set, top+4, func(int) vg.Length { return frames[0].box.Max.Y })
	for i, one := range frames { // names over the leaders
		name, at := r.Panels[i].Name, one.box.Max.Y+trackName-14
		p.textOn(strong, inkFull, box.Min.X, at, left, name)
		if units[i] != "" {
			p.textOn(small, inkMuted, box.Min.X+strong.width(name)+8, at, left, units[i])
		}
	}
	p.line(inkMuted, 1, vg.Point{X: f.box.Min.X, Y: bottom}, vg.Point{X: f.box.Max.X, Y: bottom})
	t.clock(p, f, bottom, box.Max.X)
	t.legend(p, box, bottom-letterHeight-8)
}

// draw draws a panel's level, line and marks.
func (r *RunUpPanel) draw(p *pen, f frame, edge vg.Length) {
	if finite(r.Level) {
		y := f.y(r.Level)
		p.dashed(inkMuted, 1, vg.Point{X: f.box.Min.X, Y: y}, vg.Point{X: f.box.Max.X, Y: y})
	}
	for from := 0; from < len(r.Values); {
		if math.IsNaN(r.Values[from]) {
			from++
			continue
		}
		to := from
		for to < len(r.Values) && !math.IsNaN(r.Values[to]) {
			to++
		}
		pts := trace(f, r.Seconds[from:to], r.Values[from:to])
		if len(pts) == 1 { // one reading between gaps
			p.disc(inkFull, pts[0], 1.8)
		}
		for _, part := range clip(f.box, pts) {
			p.line(inkFull, 1.5, part...)
		}
		from = to
	}
	for _, m := range r.Reached {
		at := f.at(m.Seconds, m.Value)
		p.disc(inkPanel, at, 4.5)
		p.disc(inkTint, at, 3)
		if m.Text == "" {
			continue
		}
		x := at.X + 9
		if w := small.width(m.Text); x+w > edge {
			x = at.X - 9 - w
		}
		p.textOn(small, inkFull, x, at.Y-small.middle()-7, left, m.Text)
	}
}
