package figure

import (
	"image/color"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// raster is the library's image canvas at any scale (its own resolution is a
// whole number of dots per inch) with roles resolved for a theme.
type raster struct {
	*vgimg.Canvas
	scale vg.Length
	theme Theme
}

func newRaster(width, height int, scale float64, theme Theme) raster {
	ground := inkPanel.in(theme)
	c := vgimg.NewWith(vgimg.UseWH(vg.Length(width), vg.Length(height)), vgimg.UseDPI(72),
		vgimg.UseBackgroundColor(ground))
	return raster{c, vg.Length(scale), theme}
}

func (r raster) SetColor(c color.Color) {
	if i, ok := c.(ink); ok {
		c = i.in(r.theme)
	}
	r.Canvas.SetColor(c)
}

func (r raster) SetLineWidth(w vg.Length) { r.Canvas.SetLineWidth(w * r.scale) }

func (r raster) SetLineDash(pattern []vg.Length, offset vg.Length) {
	scaled := make([]vg.Length, len(pattern))
	for i, d := range pattern {
		scaled[i] = d * r.scale
	}
	r.Canvas.SetLineDash(scaled, offset*r.scale)
}

func (r raster) Translate(p vg.Point) { r.Canvas.Translate(p.Scale(r.scale)) }

func (r raster) Stroke(p vg.Path) { r.Canvas.Stroke(r.path(p)) }

func (r raster) Fill(p vg.Path) { r.Canvas.Fill(r.path(p)) }

func (r raster) path(p vg.Path) vg.Path {
	scaled := make(vg.Path, len(p))
	for i, e := range p {
		e.Pos = e.Pos.Scale(r.scale)
		e.Radius *= r.scale
		control := make([]vg.Point, len(e.Control))
		for k, q := range e.Control {
			control[k] = q.Scale(r.scale)
		}
		e.Control = control
		scaled[i] = e
	}
	return scaled
}

func (r raster) FillString(f font.Face, p vg.Point, s string) {
	f.Font.Size *= r.scale
	r.Canvas.FillString(f, p.Scale(r.scale), s)
}
