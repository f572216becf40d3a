package figure

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"
)

// Response shows what an instrument counts for equal power at each wavelength,
// where that is known, and below it how well.
type Response struct {
	Wavelengths []float64 // nm, increasing
	Values      []float64 // relative, the largest 1
	U           []float64 // relative standard uncertainty, independent between wavelengths
	Tilt        []float64 // relative error for one standard uncertainty of the reference's temperature, all together
	Reference   string
	// Detector is the range of the instrument, nm: the rest of it is unknown.
	DetectorFrom, DetectorTo float64

	Title string // empty for the range
	Note  string
}

// Picture checks the curve and returns the picture.
func (r Response) Picture() (*Picture, error) {
	if err := checkCurve("response", r.Wavelengths, r.Values); err != nil {
		return nil, err
	}
	n := len(r.Wavelengths)
	if len(r.U) != n || len(r.Tilt) != n {
		return nil, fmt.Errorf("figure: response: %d values have %d uncertainties and %d tilts", n, len(r.U), len(r.Tilt))
	}
	for i := range r.U {
		if !finite(r.U[i], r.Tilt[i]) {
			return nil, fmt.Errorf("figure: response: the uncertainty at %g nm is no number", r.Wavelengths[i])
		}
	}
	from, to := r.Wavelengths[0], r.Wavelengths[n-1]
	if !(r.DetectorTo > r.DetectorFrom) {
		r.DetectorFrom, r.DetectorTo = from, to
	}
	p := &Picture{
		Name:    "response",
		Title:   r.Title,
		Note:    joinNotes(r.Note, "Against "+r.Reference+". Hatched: not known, and not made up."),
		Columns: []string{"wavelength / nm", "response", "u independent / %", "tilt / %"},
		Alt:     fmt.Sprintf("Relative response, known from %s nm to %s nm; below, its relative uncertainty from noise and stray light, and the tilt that one standard uncertainty of the reference's temperature would give it.", fixed(from, 0), fixed(to, 0)),
		drawing: r,
	}
	if p.Title == "" {
		p.Title = fmt.Sprintf("The response is known from %s to %s nm", fixed(from, 0), fixed(to, 0))
	}
	for _, nm := range every(25, from, to) {
		p.Rows = append(p.Rows, []string{
			nm.text, fixed(valueAt(r.Wavelengths, r.Values, nm.value), 4),
			fixed(100*valueAt(r.Wavelengths, r.U, nm.value), 2), signed(100*valueAt(r.Wavelengths, r.Tilt, nm.value), 2),
		})
	}
	return p, nil
}

const (
	responsePlot    = 180
	uncertaintyPlot = 100
)

func (r Response) height(vg.Length) vg.Length {
	return unitHeight + responsePlot + residualGap + unitHeight + uncertaintyPlot + letterHeight
}

func (r Response) draw(p *pen, box vg.Rectangle) {
	n := len(r.Wavelengths)
	from, to := r.Wavelengths[0], r.Wavelengths[n-1]
	f := frame{x0: r.DetectorFrom, x1: r.DetectorTo, y0: 0, y1: 1.05}
	g := frame{x0: f.x0, x1: f.x1}
	u, tilt := make([]float64, n), make([]float64, n)
	for i := range u {
		u[i], tilt[i] = 100*r.U[i], 100*r.Tilt[i]
		g.y1 = math.Max(g.y1, math.Max(u[i], tilt[i]))
		g.y0 = math.Min(g.y0, tilt[i])
	}
	g.y0, g.y1 = 1.1*g.y0, math.Max(1.1*g.y1, 0.1)
	up, upU := ticks(0, f.y1, 6), ticks(g.y0, g.y1, 5)
	for i := range upU {
		upU[i].text += " %"
	}
	letters := max(widest(up), widest(upU)) + 8
	p.text(small, inkMuted, box.Min.X, box.Max.Y-small.size, left, "counts for equal power, largest 1")
	f.box = rectangle(box.Min.X+letters, box.Max.Y-unitHeight-responsePlot, box.Max.X-10, box.Max.Y-unitHeight)
	y := f.box.Min.Y - residualGap
	p.text(small, inkMuted, box.Min.X, y-small.size, left, "standard uncertainty")
	g.box = rectangle(f.box.Min.X, y-unitHeight-uncertaintyPlot, f.box.Max.X, y-unitHeight)

	for _, fr := range []frame{f, g} {
		p.unknown(fr, fr.x0, from)
		p.unknown(fr, to, fr.x1)
	}
	p.gridY(f, up)
	p.gridY(g, upU)
	p.spectrumCurve(f, r.Wavelengths, r.Values, inkFull)
	p.line(inkMuted, 1, f.at(f.x0, 0), f.at(f.x1, 0))
	p.line(inkMuted, 1, g.at(g.x0, 0), g.at(g.x1, 0))
	p.line(inkTint, 1.5, trace(g, r.Wavelengths, u)...)
	p.dashed(ink{roleSeries + 1, 1}, 1.5, trace(g, r.Wavelengths, tilt)...)
	// The tilt falls steeply, so its name has room to its right; the other curve
	// is flat at its end.
	i := n / 10
	p.text(small, ink{roleSeries + 1, 1}, g.x(r.Wavelengths[i])+10, g.y(tilt[i])-2, left, "reference temperature")
	p.text(small, inkTint, g.x(to), g.y(u[n-1])+7, right, "noise, stray light, certificate")
	across := ticks(f.x0, f.x1, int(f.box.Max.X-f.box.Min.X)/70+1)
	p.letterX(g, across, g.box.Min.Y, box.Max.X, "nm")
}

// unknown hatches a range of which nothing is known.
func (p *pen) unknown(f frame, from, to float64) {
	if !(to > from) {
		return
	}
	r := rectangle(f.x(from), f.box.Min.Y, f.x(to), f.box.Max.Y)
	h := r.Max.Y - r.Min.Y
	for x := r.Min.X - h; x < r.Max.X; x += 7 {
		for _, part := range clip(r, []vg.Point{{X: x, Y: r.Min.Y}, {X: x + h, Y: r.Max.Y}}) {
			p.line(inkGrid, 1, part...)
		}
	}
}
