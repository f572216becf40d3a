package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// markers are the forms by which series are told apart without colour, in the
// order they are given out. The last serves whatever has none of its own.
var markers = [...]func(p *pen, c color.Color, at vg.Point, r vg.Length){
	func(p *pen, c color.Color, at vg.Point, r vg.Length) { p.disc(c, at, r) },
	regular(4, math.Pi/4, 1.2, true),    // square
	regular(3, math.Pi/2, 1.35, true),   // triangle
	regular(4, 0, 1.3, true),            // diamond
	regular(3, -math.Pi/2, 1.35, false), // hollow, on its tip
	func(p *pen, c color.Color, at vg.Point, r vg.Length) {
		p.disc(inkPanel, at, r)
		p.ring(c, 1.5, at, r-0.5)
	},
	regular(4, math.Pi/4, 1.2, false),
	regular(4, 0, 1.3, false),
	regular(3, -math.Pi/2, 1.35, true),
	regular(3, math.Pi/2, 1.35, false),
	func(p *pen, c color.Color, at vg.Point, r vg.Length) {
		p.line(c, 2, vg.Point{X: at.X - r, Y: at.Y}, vg.Point{X: at.X + r, Y: at.Y})
		p.line(c, 2, vg.Point{X: at.X, Y: at.Y - r}, vg.Point{X: at.X, Y: at.Y + r})
	},
	func(p *pen, c color.Color, at vg.Point, r vg.Length) {
		p.line(c, 3, vg.Point{X: at.X - r, Y: at.Y}, vg.Point{X: at.X + r, Y: at.Y})
	},
}

// cross marks what nothing explains.
func (p *pen) cross(c color.Color, at vg.Point, r vg.Length) {
	p.line(c, 1.5, vg.Point{X: at.X - r, Y: at.Y - r}, vg.Point{X: at.X + r, Y: at.Y + r})
	p.line(c, 1.5, vg.Point{X: at.X - r, Y: at.Y + r}, vg.Point{X: at.X + r, Y: at.Y - r})
}

// regular returns the marker of a regular polygon, its first corner at an angle,
// its radius so many times the disc's, to look as large.
func regular(corners int, first, times float64, full bool) func(*pen, color.Color, vg.Point, vg.Length) {
	return func(p *pen, c color.Color, at vg.Point, r vg.Length) {
		var pts []vg.Point
		for k := range corners {
			sin, cos := math.Sincos(first + 2*math.Pi*float64(k)/float64(corners))
			pts = append(pts, vg.Point{X: at.X + vg.Length(times*cos)*r, Y: at.Y + vg.Length(times*sin)*r})
		}
		if full {
			p.polygon(c, pts...)
			return
		}
		p.polygon(inkPanel, pts...)
		p.style(c, 1.5)
		path := polyline(pts)
		path.Close()
		p.Stroke(path)
	}
}
