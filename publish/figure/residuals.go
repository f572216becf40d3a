package figure

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// Residuals shows how well a wavelength axis meets the lines it was made from:
// by how much each line is missed, against half a pixel, and below it how wide
// the instrument shows each line.
type Residuals struct {
	Lines     []ResidualLine
	HalfPixel func(nm float64) float64 // half a pixel in nm at a wavelength
	Width     func(nm float64) float64 // the instrument's width in nm; nil unknown
	Law       string                   // of the axis, in words
	RMS       float64                  // of the residuals, weighted as the fit was, nm
	Confident bool

	Title string // empty for the law and how far the lines are missed
	Note  string
}

// ResidualLine is a line of a known lamp.
type ResidualLine struct {
	Nm       float64
	Name     string  // as the table has it
	Emitter  string  // "Hg": what marks and key go by
	Residual float64 // line minus axis, nm
	Expanded float64 // k = 2, nm
	FWHM     float64 // nm
	Used     bool
}

// Picture checks the lines and returns the picture.
func (r Residuals) Picture() (*Picture, error) {
	if r.HalfPixel == nil {
		return nil, fmt.Errorf("figure: residuals: how wide a pixel is was not given")
	}
	used, most := 0, 0.0
	for _, l := range r.Lines {
		if !finite(l.Nm, l.Residual, l.Expanded, l.FWHM, r.HalfPixel(l.Nm)) {
			return nil, fmt.Errorf("figure: residuals: the line %s has a figure that is no number", l.Name)
		}
		if l.Used {
			used++
			most = max(most, math.Abs(l.Residual))
		}
	}
	if used < 2 {
		return nil, fmt.Errorf("figure: residuals: %d lines were used, and an axis needs two", used)
	}
	r.Lines = slices.Clone(r.Lines)
	slices.SortFunc(r.Lines, func(a, b ResidualLine) int { return cmp.Compare(a.Nm, b.Nm) })
	p := &Picture{
		Name:    "residuals",
		Title:   r.Title,
		Note:    joinNotes(r.Note, "Bars: two standard uncertainties of line and centre together. Band: half a pixel either way. A cross is a line that was not used."),
		Columns: []string{"line", "wavelength / nm", "residual / nm", "± / nm", "width / nm", "used"},
		Alt: fmt.Sprintf("Residuals of %d lines against wavelength, %s: root mean square %s nm, at most %s nm, within a band of about %s nm either way for half a pixel. Below, the width of each line.",
			used, r.Law, fixed(r.RMS, 3), fixed(most, 3), fixed(r.HalfPixel(r.middle()), 2)),
		drawing: r,
	}
	if p.Title == "" {
		p.Title = fmt.Sprintf("%d lines are met to %s nm by a %s", used, fixed(r.RMS, 3), r.Law)
		if !r.Confident {
			p.Title = "Not certain: " + p.Title
		}
	}
	for _, l := range r.Lines {
		row := []string{l.Name, fixed(l.Nm, 3), signed(l.Residual, 3), fixed(l.Expanded, 3), fixed(l.FWHM, 2), "yes"}
		if !l.Used {
			row[5] = "no"
		}
		p.Rows = append(p.Rows, row)
	}
	return p, nil
}

func (r Residuals) middle() float64 { return (r.Lines[0].Nm + r.Lines[len(r.Lines)-1].Nm) / 2 }

// emitters returns who emits the lines, in the order of their first.
func (r Residuals) emitters() (list []string) {
	for _, l := range r.Lines {
		if !slices.Contains(list, l.Emitter) {
			list = append(list, l.Emitter)
		}
	}
	return list
}

const (
	residualPlot = 190
	residualGap  = 14
	widthPlot    = 90
	residualKey  = 22
)

func (r Residuals) height(vg.Length) vg.Length {
	return residualKey + unitHeight + residualPlot + residualGap + unitHeight + widthPlot + letterHeight
}

func (r Residuals) draw(p *pen, box vg.Rectangle) {
	const radius = 3.5
	emitters := r.emitters()
	mark := func(l *ResidualLine, at vg.Point) {
		if !l.Used {
			p.cross(inkMuted, at, radius)
			return
		}
		k := slices.Index(emitters, l.Emitter)
		markers[min(k, len(markers)-1)](p, ink{uint8(roleSeries + k%5), 1}, at, radius)
	}
	x := box.Min.X
	for k, name := range emitters {
		at := vg.Point{X: x + 5, Y: box.Max.Y - 10 + small.middle()}
		mark(&ResidualLine{Emitter: emitters[k], Used: true}, at)
		p.text(small, inkFull, x+14, box.Max.Y-10, left, name)
		x += 14 + small.width(name) + 18
	}

	from, to := r.Lines[0].Nm, r.Lines[len(r.Lines)-1].Nm
	margin := 0.04 * (to - from)
	top, widest1 := 0.0, 0.0
	for _, l := range r.Lines {
		top = max(top, r.HalfPixel(l.Nm))
		if l.Used {
			top = max(top, math.Abs(l.Residual)+l.Expanded)
			widest1 = max(widest1, l.FWHM)
		}
	}
	f := frame{x0: from - margin, x1: to + margin, y0: -1.12 * top, y1: 1.12 * top}
	g := frame{x0: f.x0, x1: f.x1, y0: 0, y1: 1.2 * widest1}
	up, upWidth := ticks(f.y0, f.y1, 6), ticks(0, g.y1, 4)
	letters := max(widest(up), widest(upWidth)) + 8
	y := box.Max.Y - residualKey
	p.text(small, inkMuted, box.Min.X, y-small.size, left, "line minus axis, nm")
	f.box = rectangle(box.Min.X+letters, y-unitHeight-residualPlot, box.Max.X-10, y-unitHeight)
	y = f.box.Min.Y - residualGap
	p.text(small, inkMuted, box.Min.X, y-small.size, left, "width of the lines, nm")
	g.box = rectangle(f.box.Min.X, y-unitHeight-widthPlot, f.box.Max.X, y-unitHeight)

	r.drawBand(p, f)
	p.gridY(f, up)
	p.line(inkMuted, 1, f.at(f.x0, 0), f.at(f.x1, 0))
	p.gridY(g, upWidth)
	p.line(inkMuted, 1, g.at(g.x0, 0), g.at(g.x1, 0))
	across := ticks(f.x0, f.x1, int(f.box.Max.X-f.box.Min.X)/70+1)
	p.letterX(g, across, g.box.Min.Y, box.Max.X, "nm")
	if r.Width != nil {
		p.line(inkTint, 1.5, g.at(from, r.Width(from)), g.at(to, r.Width(to)))
	}
	for i := range r.Lines {
		l := &r.Lines[i]
		if e := l.Expanded; l.Used && e > 0 {
			p.line(ink{roleMuted, 0.8}, 1, f.at(l.Nm, l.Residual-e), f.at(l.Nm, l.Residual+e))
		}
		mark(l, f.at(l.Nm, min(max(l.Residual, f.y0), f.y1)))
		if l.FWHM <= g.y1 {
			mark(l, g.at(l.Nm, l.FWHM))
		}
	}
}

// drawBand shades half a pixel either way.
func (r Residuals) drawBand(p *pen, f frame) {
	const steps = 32
	var edge []vg.Point
	for _, side := range []float64{1, -1} {
		for k := range steps + 1 {
			t := float64(k) / steps
			if side < 0 {
				t = 1 - t
			}
			nm := f.x0 + t*(f.x1-f.x0)
			edge = append(edge, f.at(nm, side*r.HalfPixel(nm)))
		}
	}
	p.polygon(inkWash, edge...)
	at := f.at(f.x1, r.HalfPixel(f.x1))
	p.text(small, inkMuted, at.X-4, at.Y-small.size-1, right, "half a pixel")
}
