package figure

import (
	"image/color"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// pen draws on any canvas. Lengths are CSS pixels of the design, y upwards as
// in the plotting library.
type pen struct{ vg.Canvas }

// Where text lies from its point.
const (
	left   = 0.0
	centre = -0.5
	right  = -1.0
)

// text letters one line with its baseline at y.
func (p *pen) text(h hand, c color.Color, x, y vg.Length, align float64, s string) {
	p.SetColor(c)
	p.FillString(h.face(), vg.Point{X: x + vg.Length(align)*h.width(s), Y: y}, s)
}

// textOn letters a line on a patch of the ground, so that lines passing under
// it do not cross it out.
func (p *pen) textOn(h hand, c color.Color, x, y vg.Length, align float64, s string) {
	w := h.width(s)
	x += vg.Length(align) * w
	p.rect(ink{rolePanel, 0.85}, rectangle(x-2, y-2, x+w+2, y+h.size-1))
	p.text(h, c, x, y, left, s)
}

// units are what is not torn from its number.
var units = []string{"%", "nm", "K", "W", "lm/W", "W/nm"}

// wrap breaks text at spaces into lines no wider than width, where it can, and
// never between a number and its unit.
func (h hand) wrap(s string, width vg.Length) []string {
	const noBreak = "\u00a0"
	var words []string
	for _, w := range strings.Split(s, " ") {
		switch n := len(words); {
		case w == "":
		case n > 0 && slices.Contains(units, strings.TrimRight(w, ",.;:)")):
			words[n-1] += noBreak + w
		default:
			words = append(words, w)
		}
	}
	var lines []string
	for _, w := range words {
		if n := len(lines); n > 0 && h.width(lines[n-1]+" "+w) <= width {
			lines[n-1] += " " + w
		} else {
			lines = append(lines, w)
		}
	}
	return lines
}

// fit shortens text to a width with an ellipsis, where it must.
func (h hand) fit(s string, width vg.Length) string {
	if h.width(s) <= width {
		return s
	}
	r := []rune(s)
	for len(r) > 1 && h.width(string(r)+"…") > width {
		r = r[:len(r)-1]
	}
	return strings.TrimRight(string(r), " ,") + "…"
}

// snap moves a rectangle's edges to whole pixels, so that they are sharp.
func snap(r vg.Rectangle) vg.Rectangle {
	whole := func(v vg.Length) vg.Length { return vg.Length(math.Round(float64(v))) }
	return rectangle(whole(r.Min.X), whole(r.Min.Y), whole(r.Max.X), whole(r.Max.Y))
}

func (p *pen) rect(c color.Color, r vg.Rectangle) {
	p.SetColor(c)
	p.Fill(r.Path())
}

// frameRect strokes a rectangle, its line wholly inside.
func (p *pen) frameRect(c color.Color, width vg.Length, r vg.Rectangle) {
	h := width / 2
	p.style(c, width)
	r = rectangle(r.Min.X+h, r.Min.Y+h, r.Max.X-h, r.Max.Y-h)
	// From the middle of an edge, so that every corner is a join.
	path := polyline([]vg.Point{{X: (r.Min.X + r.Max.X) / 2, Y: r.Min.Y}, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min})
	path.Close()
	p.Stroke(path)
}

func (p *pen) style(c color.Color, width vg.Length, dashes ...vg.Length) {
	p.SetColor(c)
	p.SetLineWidth(width)
	p.SetLineDash(dashes, 0)
}

func (p *pen) line(c color.Color, width vg.Length, pts ...vg.Point) {
	p.style(c, width)
	p.Stroke(polyline(pts))
}

func (p *pen) dashed(c color.Color, width vg.Length, pts ...vg.Point) {
	p.style(c, width, 4, 3)
	p.Stroke(polyline(pts))
}

func (p *pen) polygon(c color.Color, pts ...vg.Point) {
	if len(pts) < 3 {
		return
	}
	p.SetColor(c)
	path := polyline(pts)
	path.Close()
	p.Fill(path)
}

func (p *pen) disc(c color.Color, at vg.Point, radius vg.Length) {
	p.SetColor(c)
	p.Fill(circle(at, radius))
}

func (p *pen) ring(c color.Color, width vg.Length, at vg.Point, radius vg.Length) {
	p.style(c, width)
	p.Stroke(circle(at, radius))
}

// arrow draws a line with a filled head at its end; one too short for a head
// is a line alone.
func (p *pen) arrow(c color.Color, width, head vg.Length, from, to vg.Point) {
	dx, dy := to.X-from.X, to.Y-from.Y
	n := vg.Length(math.Hypot(float64(dx), float64(dy)))
	if n < head {
		p.line(c, width, from, to)
		return
	}
	ux, uy := dx/n, dy/n
	base := vg.Point{X: to.X - ux*head, Y: to.Y - uy*head}
	p.line(c, width, from, base)
	w := 0.45 * head
	p.polygon(c, to, vg.Point{X: base.X - uy*w, Y: base.Y + ux*w}, vg.Point{X: base.X + uy*w, Y: base.Y - ux*w})
}

func polyline(pts []vg.Point) vg.Path {
	var path vg.Path
	for i, q := range pts {
		if i == 0 {
			path.Move(q)
		} else {
			path.Line(q)
		}
	}
	return path
}

func circle(at vg.Point, radius vg.Length) vg.Path {
	var path vg.Path
	path.Move(vg.Point{X: at.X + radius, Y: at.Y})
	path.Arc(at, radius, 0, 2*math.Pi)
	path.Close()
	return path
}

// clip returns the parts of a line within a box.
func clip(box vg.Rectangle, pts []vg.Point) [][]vg.Point {
	c := draw.Canvas{Rectangle: box}
	return c.ClipLinesXY(pts)
}

// clipArea returns the part of an area within a box.
func clipArea(box vg.Rectangle, pts []vg.Point) []vg.Point {
	c := draw.Canvas{Rectangle: box}
	return c.ClipPolygonXY(pts)
}
