package figure

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// emissionPlan is an [Emission] laid out between two edges. From the top: the
// names of strong lines, the straight scale, the bands, the names of faint
// lines, the logarithmic scale, the strip.
type emissionPlan struct {
	across     frame // x only
	low, top   float64
	up         []tick
	prefix     string
	straight   emissionCallouts
	log        emissionCallouts
	bands      []bandName
	bandsHigh  vg.Length
	plot, deep vg.Length // heights of the two scales
	decades    [2]float64
}

// emissionCallouts are the names over one of the two scales. of holds the index of
// each one's line.
type emissionCallouts struct {
	list []callout
	of   []int
	set  []hoisted
	rows int
}

const (
	straightRows, logRows = 4, 3
	// strongFrom is the share of the tallest sample that a line's height must
	// reach to be named over the straight scale: below it nothing is to be seen
	// there.
	strongFrom = 0.04
	planGap    = 10
)

func (e *Emission) plan(from, to vg.Length) *emissionPlan {
	l := &emissionPlan{}
	l.low, l.top, _, _ = extreme(e.Wavelengths, e.Values, e.From, e.To)
	if l.top <= 0 {
		l.top = 1
	} else {
		l.decades = e.decades(l.top)
	}
	if l.low > -0.02*l.top {
		l.low = 0
	}
	l.up, l.prefix = powerTicks(l.low, l.top*1.04, 5)
	letters := widest(l.up)
	if l.logarithmic() {
		letters = max(letters, widest(decadeTicks(l.decades)))
	}
	l.across = frame{rectangle(from+letters+8, 0, to-10, 1), e.From, e.To, 0, 1}

	var strong, faint []int
	for i, line := range e.Lines {
		switch {
		case line.Wavelength < e.From || line.Wavelength > e.To:
		case line.Area > strongFrom*l.top*line.Width:
			strong = append(strong, i)
		default:
			faint = append(faint, i)
		}
	}
	l.straight = e.hoist(strong, l.across, straightRows)
	if l.logarithmic() {
		// What found no room above has a second chance below.
		for k, h := range l.straight.set {
			if h.row < 0 {
				faint = append(faint, l.straight.of[k])
			}
		}
		slices.Sort(faint)
		l.log = e.hoist(faint, l.across, logRows)
	}
	l.bands, l.bandsHigh = e.nameBands(l.across)
	width := to - from
	l.plot = min(max(0.3*width, 150), 230)
	if l.logarithmic() {
		l.deep = min(max(0.19*width, 120), 150)
	}
	return l
}

// decades returns the powers of ten at the ends of the logarithmic scale: from
// below the noise, where it is known, to above the tallest sample, two to six
// apart.
func (e *Emission) decades(top float64) [2]float64 {
	low := 1e-3 * top
	if e.Noise != nil {
		low, _, _, _ = extreme(e.Wavelengths, e.Noise, e.From, e.To)
		low *= 0.3
	}
	return [2]float64{math.Log10(min(max(low, 1e-6*top), 1e-2*top)), math.Log10(1.5 * top)}
}

func (l *emissionPlan) logarithmic() bool { return l.decades[1] > l.decades[0] }

func decadeTicks(d [2]float64) []tick {
	list := every(1, d[0], d[1])
	if len(list) > 4 {
		list = every(2, d[0], d[1])
	}
	for i := range list {
		list[i].text = "10" + superscript(int(math.Round(list[i].value)))
	}
	return list
}

func (e *Emission) hoist(which []int, f frame, rows int) emissionCallouts {
	l := emissionCallouts{of: which}
	for _, i := range which {
		line := &e.Lines[i]
		l.list = append(l.list, callout{x: f.x(line.Wavelength), text: line.label(), muted: line.Symbol == "", weight: line.Area})
	}
	l.set, l.rows = hoist(l.list, f.box.Min.X, f.box.Max.X, rows)
	return l
}

// bandName is a name with the bands that bear it.
type bandName struct {
	name   string
	spans  []bracket
	text   []string
	x, y   vg.Length // middle of the text; the brackets' height under the lane's top
	x0, x1 vg.Length // what the brackets and the text take up
}

// bracket is the width of a band at half height, with its middle; whole for a
// continuum that has neither.
type bracket struct {
	from, middle, to vg.Length
	whole            bool
}

const (
	bracketRoom = 19 // for a bracket and its first line of text
	bandLine    = 13
	bandGap     = 8
)

// nameBands sets the names of the bands under their brackets, in as few rows as
// keep them apart.
func (e *Emission) nameBands(f frame) (names []bandName, high vg.Length) {
	inside := func(nm float64) vg.Length { return f.x(min(max(nm, e.From), e.To)) }
	index := map[string]int{}
	for _, b := range e.Bands {
		if b.Centre < e.From || b.Centre > e.To {
			continue
		}
		k, known := index[b.Name]
		if !known {
			k = len(names)
			index[b.Name] = k
			names = append(names, bandName{name: b.Name, x0: f.box.Max.X, x1: f.box.Min.X})
		}
		n := &names[k]
		span := bracket{f.box.Min.X, inside(b.Centre), f.box.Max.X, math.IsNaN(b.Width)}
		if !span.whole {
			span.from, span.to = inside(b.Centre-b.Width/2), inside(b.Centre+b.Width/2)
		}
		n.spans = append(n.spans, span)
		n.x0, n.x1 = min(n.x0, span.from), max(n.x1, span.to)
	}
	type row struct{ end, high vg.Length }
	var rows []row
	at := make([]int, len(names))
	for k := range names {
		n := &names[k]
		n.text = small.wrap(n.name, min(f.box.Max.X-f.box.Min.X, max(n.x1-n.x0, 260)))
		w := vg.Length(0)
		for _, line := range n.text {
			w = max(w, small.width(line))
		}
		n.x = min(max((n.x0+n.x1)/2, f.box.Min.X+w/2), f.box.Max.X-w/2)
		n.x0, n.x1 = min(n.x0, n.x-w/2), max(n.x1, n.x+w/2)
	}
	for k := range names {
		n := &names[k]
		r := slices.IndexFunc(rows, func(r row) bool { return n.x0 > r.end+2*calloutGap })
		if r < 0 {
			r = len(rows)
			rows = append(rows, row{})
		}
		at[k] = r
		rows[r].end = n.x1
		rows[r].high = max(rows[r].high, bracketRoom+vg.Length(len(n.text)-1)*bandLine+bandGap)
	}
	for k := range names {
		for _, r := range rows[:at[k]] {
			names[k].y += r.high
		}
	}
	for _, r := range rows {
		high += r.high
	}
	return names, high
}

func (e Emission) height(width vg.Length) vg.Length {
	l := e.plan(0, width)
	h := unitHeight + calloutRow*vg.Length(l.straight.rows) + l.plot + planGap + l.bandsHigh + 5 + stripHeight + letterHeight
	if l.logarithmic() {
		h += unitHeight + calloutRow*vg.Length(l.log.rows) + l.deep
	}
	return h
}

func (e Emission) draw(p *pen, box vg.Rectangle) {
	l := e.plan(box.Min.X, box.Max.X)
	across := ticks(e.From, e.To, int(l.across.box.Max.X-l.across.box.Min.X)/70+1)
	unit := SpectralPower{Unit: e.Unit}
	y := box.Max.Y
	p.text(small, inkMuted, box.Min.X, y-small.size, left, unit.unitLine(l.prefix))
	y -= unitHeight + calloutRow*vg.Length(l.straight.rows)

	f := l.across
	f.box.Min.Y, f.box.Max.Y = y-l.plot, y
	f.y0, f.y1 = l.low, l.top*1.04
	p.gridX(f, across)
	p.gridY(f, l.up)
	shadeUncovered(p, f, e.Wavelengths)
	p.spectrumCurve(f, e.Wavelengths, e.Values, inkFull)
	p.line(inkMuted, 1, f.at(e.From, 0), f.at(e.To, 0))
	p.callouts(l.straight.list, l.straight.set, y+4, func(i int) vg.Length {
		return f.y(valueAt(e.Wavelengths, e.Values, e.Lines[l.straight.of[i]].Wavelength))
	})
	y -= l.plot + planGap
	p.bandNames(l.bands, y)
	y -= l.bandsHigh

	if l.logarithmic() {
		p.text(small, inkMuted, box.Min.X, y-small.size, left, "the same, logarithmic")
		y -= unitHeight + calloutRow*vg.Length(l.log.rows)
		f.box.Min.Y, f.box.Max.Y = y-l.deep, y
		e.drawLogarithmic(p, f, l, across)
		y -= l.deep
	}
	f.box.Min.Y, f.box.Max.Y = y-5-stripHeight, y-5
	p.strip(f, e.Wavelengths, e.Values, e.Colours)
	p.letterX(f, across, f.box.Min.Y, box.Max.X, "nm")
}

// bandNames draws the brackets and names of the bands under y.
func (p *pen) bandNames(names []bandName, y vg.Length) {
	for _, n := range names {
		at := y - n.y
		for _, s := range n.spans {
			if s.to-s.from > 9 { // else its middle is all there is room for
				p.line(inkMuted, 1.5, vg.Point{X: s.from, Y: at + 4}, vg.Point{X: s.from, Y: at}, vg.Point{X: s.to, Y: at}, vg.Point{X: s.to, Y: at + 4})
			}
			if !s.whole {
				p.disc(inkMuted, vg.Point{X: s.middle, Y: at}, 2.5)
			}
		}
		for k, line := range n.text {
			p.text(small, inkFull, n.x, at-bracketRoom+4-vg.Length(k)*bandLine, centre, line)
		}
	}
}

// noiseShown is how many standard deviations of a sample the shaded floor is
// high.
const noiseShown = 3

func (e *Emission) drawLogarithmic(p *pen, f frame, l *emissionPlan, across []tick) {
	f.y0, f.y1 = l.decades[0], l.decades[1]
	logs := func(values []float64, times float64) []float64 {
		list := make([]float64, len(values))
		for i, v := range values {
			list[i] = math.Log10(max(times*v, math.Pow(10, f.y0)))
		}
		return list
	}
	onFloor := func(c ink, values []float64) []vg.Point {
		pts := trace(f, e.Wavelengths, values)
		area := append([]vg.Point{{X: pts[0].X, Y: f.box.Min.Y}}, pts...)
		p.polygon(c, clipArea(f.box, append(area, vg.Point{X: pts[len(pts)-1].X, Y: f.box.Min.Y}))...)
		return pts
	}
	p.gridX(f, across)
	p.gridY(f, decadeTicks(l.decades))
	shadeUncovered(p, f, e.Wavelengths)
	values := logs(e.Values, 1)
	pts := onFloor(inkWash, values)
	var floor []vg.Point
	if e.Noise != nil {
		floor = onFloor(ink{roleMuted, 0.28}, logs(e.Noise, noiseShown))
	}
	for _, part := range clip(f.box, pts) {
		p.line(inkFull, 1.2, part...)
	}
	for _, part := range clip(f.box, floor) {
		p.dashed(inkMuted, 1, part...)
	}
	p.line(inkMuted, 1, f.box.Min, vg.Point{X: f.box.Max.X, Y: f.box.Min.Y})
	if e.Noise != nil {
		p.textOn(small, inkFull, f.box.Min.X+8, f.box.Min.Y+5, left, "noise floor, 3 standard deviations")
	}
	foot := func(i int) vg.Length { return f.y(valueAt(e.Wavelengths, values, e.Lines[l.log.of[i]].Wavelength)) }
	p.callouts(l.log.list, l.log.set, f.box.Max.Y+4, foot)
	for i, h := range l.log.set {
		if h.row < 0 {
			x, y := l.log.list[i].x, foot(i)
			p.line(inkMuted, 1, vg.Point{X: x, Y: y + 3}, vg.Point{X: x, Y: y + 9})
		}
	}
}
