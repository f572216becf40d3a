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
	stripHeight   = 22
	unitHeight    = 18 // the line above a frame that names its unit
	markRowHeight = 14
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
	rows := s.placeMarks(frame{box: box, x0: s.From, x1: s.To})
	inner := rectangle(box.Min.X, box.Min.Y+letterHeight+stripHeight+5, box.Max.X, box.Max.Y-unitHeight)
	head := 1 + 0.04 + float64(markRowHeight*vg.Length(rows.count)/(inner.Max.Y-inner.Min.Y))
	f := frame{inner, s.From, s.To, low, low + (top-low)*head}
	marks, prefix := powerTicks(f.y0, low+(top-low)*1.04, 6)
	f.box.Min.X += widest(marks) + 8
	f.box.Max.X -= 10
	p.gridY(f, marks)
	p.text(small, inkMuted, box.Min.X, box.Max.Y-small.size, left, s.unitLine(prefix))

	s.shadeUncovered(p, f)
	p.spectrumCurve(f, s.Wavelengths, s.Values, inkFull)
	zero := f.y(0)
	p.line(inkMuted, 1, vg.Point{X: f.box.Min.X, Y: zero}, vg.Point{X: f.box.Max.X, Y: zero})
	s.drawMarks(p, f)

	band := f
	band.box.Max.Y = f.box.Min.Y - 5
	band.box.Min.Y = band.box.Max.Y - stripHeight
	p.strip(band, s.Wavelengths, s.Values, s.Colours)
	p.letterX(band, ticks(s.From, s.To, int(f.box.Max.X-f.box.Min.X)/70+1), band.box.Min.Y, box.Max.X, "nm")
}

// shadeUncovered marks what of the range the curve does not cover.
func (s SpectralPower) shadeUncovered(p *pen, f frame) {
	first, last := s.Wavelengths[0], s.Wavelengths[len(s.Wavelengths)-1]
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
	gap(s.From, min(first, s.To))
	gap(max(last, s.From), s.To)
}

// markRows says in which row above the curve each mark's label stands; -1 for
// one that finds no room in four rows and is left to the description.
type markRows struct {
	row   []int
	count int
}

func (s SpectralPower) placeMarks(f frame) markRows {
	const rows = 4
	r := markRows{row: make([]int, len(s.Lines))}
	var end [rows]vg.Length
	for i := range end {
		end[i] = -1e9
	}
	for i, m := range s.Lines {
		r.row[i] = -1
		if m.Wavelength < s.From || m.Wavelength > s.To {
			continue
		}
		x0, x1 := markSpan(f, m)
		for k := range rows {
			if x0 > end[k]+8 {
				r.row[i], end[k] = k, x1
				r.count = max(r.count, k+1)
				break
			}
		}
	}
	return r
}

// markSpan returns where a mark's label begins and ends: centred on its line,
// moved to stay in the frame.
func markSpan(f frame, m LineMark) (x0, x1 vg.Length) {
	w := small.width(m.Label)
	x0 = min(max(f.x(m.Wavelength)-w/2, f.box.Min.X+2), f.box.Max.X-w)
	return x0, x0 + w
}

func (s SpectralPower) drawMarks(p *pen, f frame) {
	rows := s.placeMarks(f)
	nm := s.Wavelengths
	base := func(i int) vg.Length { return f.box.Max.Y - markRowHeight*vg.Length(rows.row[i]) - small.size }
	for i, m := range s.Lines {
		if rows.row[i] < 0 {
			continue
		}
		foot := f.y(0)
		if m.Wavelength >= nm[0] && m.Wavelength <= nm[len(nm)-1] {
			foot = f.y(valueAt(nm, s.Values, m.Wavelength))
		}
		x := f.x(m.Wavelength)
		p.line(ink{roleMuted, 0.6}, 1, vg.Point{X: x, Y: foot + 3}, vg.Point{X: x, Y: base(i) - 3})
	}
	for i, m := range s.Lines {
		if rows.row[i] >= 0 {
			x0, _ := markSpan(f, m)
			p.textOn(small, inkFull, x0, base(i), left, m.Label)
		}
	}
}
