package figure

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"
)

// Multiples are the spectra of several lamps side by side, all on one scale.
type Multiples struct {
	Lamps []MultiplesPanel

	// Normalisation says what makes the curves comparable, e.g. "mW/nm per
	// lumen" or "power per nm, equal areas"; it is lettered on the picture.
	Normalisation string
	From, To      float64 // nm; both zero for 380 to 780
	Colours       Palette // nil for [SpectralColours]

	Title string // empty for how many and their normalisation
	Note  string
}

// MultiplesPanel is one lamp of [Multiples].
type MultiplesPanel struct {
	Name        string
	Wavelengths []float64 // nm, increasing
	Values      []float64 // normalised as Multiples.Normalisation says
}

// Picture checks the curves and returns the picture.
func (m Multiples) Picture() (*Picture, error) {
	m.From, m.To = visibleUnless(m.From, m.To)
	if m.Colours == nil {
		m.Colours = SpectralColours
	}
	if len(m.Lamps) == 0 {
		return nil, fmt.Errorf("figure: multiples: no lamp given")
	}
	if m.Normalisation == "" {
		return nil, fmt.Errorf("figure: multiples: spectra can only be compared under a normalisation, and none is named")
	}
	p := &Picture{
		Name:    "spectra",
		Title:   m.Title,
		Note:    joinNotes(m.Note, stripNote+" Each strip has its own full."),
		Columns: []string{"lamp", "strongest at / nm", m.Normalisation},
		Alt:     "Spectra on one scale, " + m.Normalisation + ": ",
		drawing: m,
	}
	if p.Title == "" {
		p.Title = fmt.Sprintf("%d %s, %s", len(m.Lamps), plural(len(m.Lamps), "spectrum", "spectra on one scale"), m.Normalisation)
	}
	for i, l := range m.Lamps {
		if err := checkCurve("multiples: "+l.Name, l.Wavelengths, l.Values); err != nil {
			return nil, err
		}
		_, high, at, ok := extreme(l.Wavelengths, l.Values, m.From, m.To)
		if !ok {
			return nil, fmt.Errorf("figure: multiples: %s has no sample from %g nm to %g nm", l.Name, m.From, m.To)
		}
		p.Rows = append(p.Rows, []string{l.Name, fixed(at, 0), significant(high, 3)})
		if i > 0 {
			p.Alt += "; "
		}
		p.Alt += fmt.Sprintf("%s, strongest at %s nm with %s", l.Name, fixed(at, 0), significant(high, 3))
	}
	p.Alt += "."
	return p, nil
}

const (
	multipleGap   = 16
	multiplePlot  = 104
	multipleStrip = 10
	multipleName  = 20
	multipleRow   = multipleName + multiplePlot + 3 + multipleStrip + letterHeight + 10
)

func (m Multiples) columns(width vg.Length) int {
	return min(max(int(width/220), 2), 3, len(m.Lamps))
}

func (m Multiples) height(width vg.Length) vg.Length {
	n := m.columns(width)
	return unitHeight + vg.Length((len(m.Lamps)+n-1)/n)*multipleRow - 10
}

func (m Multiples) draw(p *pen, box vg.Rectangle) {
	low, top := 0.0, 0.0
	for _, l := range m.Lamps {
		lo, hi, _, _ := extreme(l.Wavelengths, l.Values, m.From, m.To)
		low, top = math.Min(low, lo), math.Max(top, hi)
	}
	if top == 0 {
		top = 1
	}
	if low > -0.02*top {
		low = 0
	}
	n := m.columns(box.Max.X - box.Min.X)
	f := frame{x0: m.From, x1: m.To, y0: low, y1: top * 1.04}
	up, prefix := powerTicks(f.y0, f.y1, 5)
	letters := widest(up) + 8
	w := (box.Max.X - box.Min.X - letters - 10 - vg.Length(n-1)*multipleGap) / vg.Length(n)
	across := ticks(m.From, m.To, int(w)/48+1)
	p.text(small, inkMuted, box.Min.X, box.Max.Y-small.size, left, prefix+m.Normalisation)

	for i, l := range m.Lamps {
		x := box.Min.X + letters + vg.Length(i%n)*(w+multipleGap)
		y := box.Max.Y - unitHeight - vg.Length(i/n)*multipleRow - multipleName
		f.box = rectangle(x, y-multiplePlot, x+w, y)
		p.text(strong, inkFull, x, y+6, left, strong.fit(l.Name, w))
		if i%n == 0 {
			p.gridY(f, up)
		} else {
			for _, t := range up {
				p.line(inkGrid, 1, vg.Point{X: x, Y: f.y(t.value)}, vg.Point{X: x + w, Y: f.y(t.value)})
			}
		}
		p.spectrumCurve(f, l.Wavelengths, l.Values, inkFull)
		p.line(inkMuted, 1, vg.Point{X: x, Y: f.y(0)}, vg.Point{X: x + w, Y: f.y(0)})
		band := f
		band.box.Max.Y = f.box.Min.Y - 3
		band.box.Min.Y = band.box.Max.Y - multipleStrip
		p.strip(band, l.Wavelengths, l.Values, m.Colours)
		unit := ""
		if i%n == n-1 || i == len(m.Lamps)-1 {
			unit = "nm"
		}
		p.letterX(band, across, band.box.Min.Y, x+w+10, unit)
	}
}
