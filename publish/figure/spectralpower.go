package figure

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"gonum.org/v1/plot/vg"
)

// SpectralPower is the curve of a spectrum over its strip.
type SpectralPower struct {
	Wavelengths []float64 // nm, increasing
	Values      []float64 // in Unit
	Unit        string    // e.g. "W/nm"; empty for a relative curve
	Colours     Palette   // nil for [SpectralColours]
	From, To    float64   // range drawn, nm; both zero for 380 to 780
	Lines       []LineMark

	Title string // empty for the place of the strongest sample
	Note  string
}

// LineMark names a wavelength of a [SpectralPower], say a mercury line.
type LineMark struct {
	Wavelength float64 // nm
	Label      string  // e.g. "Hg 435.8"
}

// Picture checks the curve and returns its picture.
func (s SpectralPower) Picture() (*Picture, error) {
	s.From, s.To = visibleUnless(s.From, s.To)
	if err := checkCurve("spectral power", s.Wavelengths, s.Values); err != nil {
		return nil, err
	}
	if s.Colours == nil {
		s.Colours = SpectralColours
	}
	_, top, peak, ok := extreme(s.Wavelengths, s.Values, s.From, s.To)
	if !ok {
		return nil, fmt.Errorf("figure: spectral power: no sample lies from %g nm to %g nm", s.From, s.To)
	}
	s.Lines = append([]LineMark(nil), s.Lines...)
	sort.SliceStable(s.Lines, func(i, k int) bool { return s.Lines[i].Wavelength < s.Lines[k].Wavelength })

	p := &Picture{
		Name:    "spectral-power",
		Title:   s.Title,
		Note:    joinNotes(s.Note, stripNote),
		Columns: []string{"wavelength / nm", s.axis()},
		drawing: s,
	}
	says := fmt.Sprintf("strongest at %s nm", fixed(peak, 0))
	if top <= 0 {
		says = "no power above zero"
	}
	if p.Title == "" {
		p.Title = sentence(says)
	}
	p.Alt = fmt.Sprintf("Curve of %s over wavelength from %g to %g nm, %s", s.axis(), s.From, s.To, says)
	if s.Unit != "" && top > 0 {
		p.Alt += fmt.Sprintf(" with %s %s", significant(top, 3), s.Unit)
	}
	p.Alt += "."
	if first, last := s.Wavelengths[0], s.Wavelengths[len(s.Wavelengths)-1]; first > s.From || last < s.To {
		covered := fmt.Sprintf("The spectrum covers %s to %s nm; the rest is shaded.", fixed(first, 0), fixed(last, 0))
		p.Note = joinNotes(covered, p.Note)
		p.Alt += " " + covered
	}
	for i, m := range s.Lines {
		if i == 0 {
			p.Alt += " Marked: "
		} else {
			p.Alt += ", "
		}
		p.Alt += m.Label
	}
	if len(s.Lines) > 0 {
		p.Alt += "."
	}
	s.fill(p)
	return p, nil
}

// fill gives the picture's table: the samples where they are few, else means
// over 5 nm, which keep what a narrow line carries.
func (s SpectralPower) fill(p *Picture) {
	const few, step = 161, 5.0
	if len(s.Wavelengths) <= few {
		for i, l := range s.Wavelengths {
			p.Rows = append(p.Rows, []string{significant(l, 5), significant(s.Values[i], 4)})
		}
		return
	}
	p.Columns[1] += ", mean over 5 nm"
	for l := math.Ceil(s.From/step) * step; l <= s.To; l += step {
		if mean := meanOver(s.Wavelengths, s.Values, l-step/2, l+step/2); !math.IsNaN(mean) {
			p.Rows = append(p.Rows, []string{fixed(l, 0), significant(mean, 4)})
		}
	}
}

const stripNote = "Strip: brightness proportional to power, strongest place at full."

func joinNotes(a, b string) string {
	if a == "" {
		return b
	}
	return a + " " + b
}

func (s SpectralPower) axis() string {
	if s.Unit == "" {
		return "relative power per nm"
	}
	return s.Unit
}

// unitLine names the axis with the power of ten its numbers are in.
func (s SpectralPower) unitLine(prefix string) string {
	if s.Unit == "" && prefix != "" {
		return s.axis() + ", in " + strings.TrimSpace(prefix)
	}
	return prefix + s.axis()
}

const (
	stripHeight = 22
	unitHeight  = 18 // the line above a frame that names its unit
	markRows    = 4
)

func (s SpectralPower) height(width vg.Length) vg.Length {
	plot := min(max(0.42*width, 190), 320)
	return unitHeight + plot + 5 + stripHeight + letterHeight
}

func (s SpectralPower) draw(p *pen, box vg.Rectangle) {
	low, top, _, _ := extreme(s.Wavelengths, s.Values, s.From, s.To)
	if top <= 0 {
		top = 1
	}
	if low > -0.02*top {
		low = 0
	}
	marks, prefix := powerTicks(low, low+(top-low)*1.04, 6)
	f := frame{rectangle(box.Min.X+widest(marks)+8, box.Min.Y+letterHeight+stripHeight+5, box.Max.X-10, box.Max.Y-unitHeight),
		s.From, s.To, low, 0}
	list, set, rows := s.markCallouts(f)
	f.y1 = low + (top-low)*(1+0.04+float64(calloutRow*vg.Length(rows)/(f.box.Max.Y-f.box.Min.Y)))
	p.gridY(f, marks)
	p.text(small, inkMuted, box.Min.X, box.Max.Y-small.size, left, s.unitLine(prefix))

	shadeUncovered(p, f, s.Wavelengths)
	p.spectrumCurve(f, s.Wavelengths, s.Values, inkFull)
	zero := f.y(0)
	p.line(inkMuted, 1, vg.Point{X: f.box.Min.X, Y: zero}, vg.Point{X: f.box.Max.X, Y: zero})
	nm := s.Wavelengths
	p.callouts(list, set, f.box.Max.Y-calloutRow*vg.Length(rows-1)-small.size, func(i int) vg.Length {
		if at := s.Lines[i].Wavelength; at >= nm[0] && at <= nm[len(nm)-1] {
			return f.y(valueAt(nm, s.Values, at))
		}
		return zero
	})

	band := f
	band.box.Max.Y = f.box.Min.Y - 5
	band.box.Min.Y = band.box.Max.Y - stripHeight
	p.strip(band, s.Wavelengths, s.Values, s.Colours)
	p.letterX(band, ticks(s.From, s.To, int(f.box.Max.X-f.box.Min.X)/70+1), band.box.Min.Y, box.Max.X, "nm")
}

// shadeUncovered marks what of a frame's range a curve does not cover.
func shadeUncovered(p *pen, f frame, nm []float64) {
	gap := func(a, b float64) {
		if b <= a {
			return
		}
		x0, x1 := f.x(a), f.x(b)
		p.rect(ink{roleGrid, 0.5}, rectangle(x0, f.box.Min.Y, x1, f.box.Max.Y))
		if text := "not covered"; x1-x0 > small.width(text)+6 {
			p.text(small, inkMuted, (x0+x1)/2, f.box.Min.Y+8, centre, text)
		}
	}
	gap(f.x0, min(nm[0], f.x1))
	gap(max(nm[len(nm)-1], f.x0), f.x1)
}

// markCallouts are the marks within a frame's range.
func (s SpectralPower) markCallouts(f frame) (list []callout, set []hoisted, rows int) {
	for _, m := range s.Lines {
		list = append(list, callout{x: f.x(m.Wavelength), text: m.Label})
	}
	set, rows = hoist(list, f.box.Min.X, f.box.Max.X, markRows)
	return list, set, rows
}
