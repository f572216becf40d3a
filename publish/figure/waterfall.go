package figure

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"sync"

	"lampassay/light/colorimetry"

	"gonum.org/v1/plot/vg"
)

// Waterfall shows spectra over time: wavelength across, time downwards, and a
// colour for the power at each place. The scale is logarithmic, its colours a row
// of even perceived steps from dark to light, so that the lightness alone tells
// more from less.
type Waterfall struct {
	Wavelengths []float64   // nm, increasing
	Seconds     []float64   // increasing, two or more
	Values      [][]float64 // Values[i] at Seconds[i], any unit
	From, To    float64     // range in nm; both zero for all that was measured
	// Decades is how far the scale reaches below the strongest place; 0 is 3.
	Decades float64
	Flags   []EmissionEvent

	Title string
	Note  string
}

// Picture checks the spectra and returns the picture.
func (w Waterfall) Picture() (*Picture, error) {
	n := len(w.Seconds)
	if n < 2 || n != len(w.Values) {
		return nil, fmt.Errorf("figure: waterfall: %d times and %d spectra make no course", n, len(w.Values))
	}
	for i, values := range w.Values {
		if err := checkCurve("waterfall", w.Wavelengths, values); err != nil {
			return nil, err
		}
		if !finite(w.Seconds[i]) || i > 0 && w.Seconds[i] <= w.Seconds[i-1] {
			return nil, fmt.Errorf("figure: waterfall: spectrum %d is not after the one before it", i+1)
		}
	}
	for _, f := range w.Flags {
		if !finite(f.Seconds) {
			return nil, fmt.Errorf("figure: waterfall: %q has no time", f.Text)
		}
	}
	if w.From == 0 && w.To == 0 {
		w.From, w.To = w.Wavelengths[0], w.Wavelengths[len(w.Wavelengths)-1]
	}
	if w.Decades == 0 {
		w.Decades = 3
	}
	if !(w.To > w.From) || !(w.Decades > 0) {
		return nil, fmt.Errorf("figure: waterfall: %g nm to %g nm over %g decades is no picture", w.From, w.To, w.Decades)
	}
	p := &Picture{
		Name: "waterfall", Title: w.Title,
		Note:    joinNotes(w.Note, "Each place shows the largest power in it, on a logarithmic scale of the strongest; what is below the scale is as dark as its end."),
		Columns: []string{"time / s", "strongest at / nm", "power there, of the strongest"},
		drawing: &w,
	}
	strongest := w.strongest()
	p.Alt = fmt.Sprintf("Spectra from %g to %g nm over %s s.", w.From, w.To, fixed(w.Seconds[n-1]-w.Seconds[0], 0))
	rows := min(n, tableRows)
	for k := range rows {
		i := k * (n - 1) / max(rows-1, 1)
		_, hi, at, ok := extreme(w.Wavelengths, w.Values[i], w.From, w.To)
		if !ok || hi <= 0 {
			p.Rows = append(p.Rows, []string{significant(w.Seconds[i], 4), "–", "0"})
			continue
		}
		p.Rows = append(p.Rows, []string{significant(w.Seconds[i], 4), fixed(at, 1), significant(hi/strongest, 3)})
		if k == 0 || k == rows-1 {
			p.Alt += fmt.Sprintf(" At %s s strongest at %s nm.", fixed(w.Seconds[i], 0), fixed(at, 0))
		}
	}
	if p.Title == "" {
		p.Title = fmt.Sprintf("%d spectra over %s s", n, fixed(w.Seconds[n-1]-w.Seconds[0], 0))
	}
	return p, nil
}

// strongest is the largest value shown.
func (w *Waterfall) strongest() float64 {
	most := 0.0
	for _, values := range w.Values {
		if _, hi, _, ok := extreme(w.Wavelengths, values, w.From, w.To); ok {
			most = max(most, hi)
		}
	}
	return most
}

// mapSteps is how many colours the scale has.
const mapSteps = 32

// powerMap is a row of colours of even steps in CIELAB (ISO/CIE 11664-4, white
// D65), from a dark blue over green to a pale yellow: lightness rises throughout.
var powerMap = sync.OnceValue(func() (list [mapSteps]color.NRGBA) {
	// A path through CIELAB, walked in steps of one length.
	at := func(t float64) colorimetry.Lab {
		hue, chroma := (290-195*t)*math.Pi/180, 30*math.Sin(math.Pi*(0.2+0.62*t))
		return colorimetry.Lab{L: 8 + 88*t, A: chroma * math.Cos(hue), B: chroma * math.Sin(hue)}
	}
	const fine = 4000
	walked := make([]float64, fine+1)
	for i := 1; i <= fine; i++ {
		walked[i] = walked[i-1] + colorimetry.DeltaE76(at(float64(i-1)/fine), at(float64(i)/fine))
	}
	for k := range list {
		i, _ := slices.BinarySearch(walked, walked[fine]*float64(k)/(mapSteps-1))
		list[k] = colorimetry.Swatch(xyzFromLab(at(float64(min(i, fine)) / fine)))
	}
	return list
})

// xyzFromLab inverts ISO/CIE 11664-4 for the white D65.
func xyzFromLab(c colorimetry.Lab) colorimetry.XYZ {
	inverse := func(f float64) float64 {
		if f > 6.0/29 {
			return f * f * f
		}
		return (f - 4.0/29) * 3 * (6.0 / 29) * (6.0 / 29)
	}
	white, fy := colorimetry.D65(), (c.L+16)/116
	return colorimetry.XYZ{X: white.X * inverse(fy+c.A/500), Y: white.Y * inverse(fy), Z: white.Z * inverse(fy-c.B/200)}
}

const (
	waterCell  = 3 // px across and down
	waterMost  = 260
	waterLeast = 120
	scaleBar   = 10
	scaleRoom  = 34 // of the scale above the picture
)

func (w *Waterfall) timeline() *EmissionTimeline {
	return &EmissionTimeline{Seconds: []float64{w.Seconds[0], w.Seconds[len(w.Seconds)-1]}, Events: w.Flags}
}

func (w *Waterfall) plotHeight() vg.Length {
	return vg.Length(min(max(waterCell*len(w.Seconds), waterLeast), waterMost))
}

func (w *Waterfall) height(width vg.Length) vg.Length {
	_, lines := w.timeline().eventNames(width)
	h := scaleRoom + w.plotHeight() + letterHeight + vg.Length(lines)*eventLine
	if lines > 0 {
		h += 8
	}
	return h
}

func (w *Waterfall) draw(p *pen, box vg.Rectangle) {
	unit, name := w.timeline().clockUnit()
	from, to := w.Seconds[0], w.Seconds[len(w.Seconds)-1]
	times := ticks(from/unit, to/unit, int(w.plotHeight())/40+1)
	margin := max(widest(times), small.width(name)) + 10
	side := vg.Length(8)
	if len(w.Flags) > 0 {
		side = 20
	}
	// Time runs downwards.
	f := frame{rectangle(box.Min.X+margin, box.Max.Y-scaleRoom-w.plotHeight(), box.Max.X-side, box.Max.Y-scaleRoom), w.From, w.To, to, from}
	w.scale(p, f, box)
	w.cells(p, f)
	for i := range times {
		y := f.y(times[i].value * unit)
		p.line(inkMuted, 1, vg.Point{X: f.box.Min.X - 4, Y: y}, vg.Point{X: f.box.Min.X, Y: y})
		p.text(number, inkMuted, f.box.Min.X-7, min(max(y-number.middle(), f.box.Min.Y), f.box.Max.Y-8), right, times[i].text)
	}
	p.text(small, inkMuted, f.box.Min.X-7, f.box.Max.Y+8, right, name)
	p.letterX(f, ticks(w.From, w.To, int(f.box.Max.X-f.box.Min.X)/70+1), f.box.Min.Y, box.Max.X, "nm")

	lastMark := f.box.Max.Y + 99
	for i := range w.Flags {
		at := f.y(min(max(w.Flags[i].Seconds, from), to))
		p.line(inkFull, 1.5, vg.Point{X: f.box.Max.X, Y: at}, vg.Point{X: f.box.Max.X + 5, Y: at})
		lastMark = max(min(at-4, lastMark-12), f.box.Min.Y)
		p.text(strong, inkFull, f.box.Max.X+8, lastMark, left, eventLetter(i))
	}
	w.timeline().legend(p, box, f.box.Min.Y-letterHeight-8)
}

// scale draws the row of colours with what they stand for.
func (w *Waterfall) scale(p *pen, f frame, box vg.Rectangle) {
	const length = 170
	bar := rectangle(f.box.Max.X-length, box.Max.Y-scaleBar, f.box.Max.X, box.Max.Y)
	step := vg.Length(length) / mapSteps
	for k, c := range powerMap() {
		x := bar.Min.X + vg.Length(k)*step
		p.rect(c, rectangle(x, bar.Min.Y, min(x+step+0.5, bar.Max.X), bar.Max.Y))
	}
	p.text(small, inkMuted, bar.Min.X, bar.Min.Y-13, left, "10"+superscript(-int(math.Round(w.Decades))))
	p.text(small, inkMuted, bar.Max.X, bar.Min.Y-13, right, "1")
	p.text(small, inkMuted, bar.Min.X-8, bar.Min.Y+1, right, "power, of the strongest")
}

// cells fills the box, one shape for each colour.
func (w *Waterfall) cells(p *pen, f frame) {
	f.box = snap(f.box)
	columns := w.columns(int(f.box.Max.X-f.box.Min.X) / waterCell)
	rows := int(f.box.Max.Y-f.box.Min.Y) / waterCell
	colours := powerMap()
	p.rect(colours[0], f.box)
	strongest := w.strongest()
	if strongest <= 0 {
		return
	}
	cw, rh := (f.box.Max.X-f.box.Min.X)/vg.Length(len(columns)), (f.box.Max.Y-f.box.Min.Y)/vg.Length(rows)
	levels := make([][]int, rows)
	for r := range rows {
		for _, v := range w.row(r, rows, columns) {
			level := 0
			if v > 0 {
				part := 1 + math.Log10(v/strongest)/w.Decades
				level = min(max(int(part*mapSteps), 0), mapSteps-1)
			}
			levels[r] = append(levels[r], level)
		}
	}
	// Each colour also lies beneath all brighter ones, so that no seam shows.
	for k := 1; k < mapSteps; k++ {
		var shape vg.Path
		for r, line := range levels {
			y1 := f.box.Max.Y - vg.Length(r)*rh
			for c := 0; c < len(line); c++ {
				from := c
				for c < len(line) && line[c] >= k {
					c++
				}
				if c > from {
					run := rectangle(f.box.Min.X+vg.Length(from)*cw, y1-rh, f.box.Min.X+vg.Length(c)*cw, y1)
					shape = append(shape, run.Path()...)
				}
			}
		}
		if len(shape) > 0 {
			p.SetColor(colours[k])
			p.Fill(shape)
		}
	}
}

// column is where one column of cells finds its samples.
type column struct {
	from, to int     // samples within it
	at       float64 // its middle, nm; NaN where nothing was measured
}

func (w *Waterfall) columns(n int) []column {
	per := (w.To - w.From) / float64(n)
	list := make([]column, n)
	for c := range list {
		a := w.From + float64(c)*per
		list[c].from, _ = slices.BinarySearch(w.Wavelengths, a)
		list[c].to, _ = slices.BinarySearch(w.Wavelengths, a+per)
		list[c].at = a + per/2
		if list[c].at < w.Wavelengths[0] || list[c].at > w.Wavelengths[len(w.Wavelengths)-1] {
			list[c].at = math.NaN()
		}
	}
	return list
}

// row returns the largest power in each cell of a row; what was not measured has
// none. A cell without a sample is read between its neighbours.
func (w *Waterfall) row(r, rows int, columns []column) []float64 {
	from, to := w.Seconds[0], w.Seconds[len(w.Seconds)-1]
	t0 := from + (to-from)*float64(r)/float64(rows)
	t1 := from + (to-from)*float64(r+1)/float64(rows)
	lo, _ := slices.BinarySearch(w.Seconds, t0)
	hi, _ := slices.BinarySearch(w.Seconds, t1)
	if hi == lo { // between two: the nearer
		middle := (t0 + t1) / 2
		if lo == len(w.Seconds) || lo > 0 && middle-w.Seconds[lo-1] < w.Seconds[lo]-middle {
			lo--
		}
		hi = lo + 1
	}
	line := slices.Repeat([]float64{math.Inf(-1)}, len(columns))
	for _, values := range w.Values[lo:hi] {
		for i, c := range columns {
			for _, v := range values[c.from:c.to] {
				line[i] = max(line[i], v)
			}
			if c.from == c.to && !math.IsNaN(c.at) {
				line[i] = max(line[i], valueAt(w.Wavelengths, values, c.at))
			}
		}
	}
	return line
}
