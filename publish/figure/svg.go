package figure

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"math"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// svgCanvas is a [vg.Canvas] that writes SVG elements, one design pixel to the
// unit. Unlike the library's own it keeps roles as CSS custom properties, sets
// no identifiers (several pictures share a page) and no inline style (a page
// may forbid it).
type svgCanvas struct {
	body   bytes.Buffer
	height float64
	theme  Theme
	used   map[string]bool // font families and weights seen
	state  svgState
	stack  []svgState
}

type svgState struct {
	m      [6]float64 // x' = m0 x + m1 y + m2, y' = m3 x + m4 y + m5; y upwards
	width  float64
	dashes []vg.Length
	offset vg.Length
	colour color.Color
}

func newSVGCanvas(height vg.Length, theme Theme) *svgCanvas {
	c := &svgCanvas{height: height.Points(), theme: theme, used: map[string]bool{}}
	c.state = svgState{m: [6]float64{1, 0, 0, 0, 1, 0}, colour: color.Black, width: 1}
	return c
}

func (c *svgCanvas) SetLineWidth(w vg.Length) { c.state.width = w.Points() }

func (c *svgCanvas) SetLineDash(pattern []vg.Length, offset vg.Length) {
	c.state.dashes, c.state.offset = pattern, offset
}

func (c *svgCanvas) SetColor(clr color.Color) {
	if clr == nil {
		clr = color.Black
	}
	c.state.colour = clr
}

func (c *svgCanvas) Rotate(a float64) {
	sin, cos := math.Sincos(a)
	c.transform(cos, -sin, 0, sin, cos, 0)
}

func (c *svgCanvas) Translate(p vg.Point) { c.transform(1, 0, p.X.Points(), 0, 1, p.Y.Points()) }

func (c *svgCanvas) Scale(x, y float64) { c.transform(x, 0, 0, 0, y, 0) }

func (c *svgCanvas) transform(a, b, tx, d, e, ty float64) {
	m := c.state.m
	c.state.m = [6]float64{
		m[0]*a + m[1]*d, m[0]*b + m[1]*e, m[0]*tx + m[1]*ty + m[2],
		m[3]*a + m[4]*d, m[3]*b + m[4]*e, m[3]*tx + m[4]*ty + m[5],
	}
}

func (c *svgCanvas) Push() { c.stack = append(c.stack, c.state) }

func (c *svgCanvas) Pop() {
	c.state = c.stack[len(c.stack)-1]
	c.stack = c.stack[:len(c.stack)-1]
}

// place returns a point in SVG's own space, y downwards.
func (c *svgCanvas) place(p vg.Point) (x, y float64) {
	m, px, py := c.state.m, p.X.Points(), p.Y.Points()
	return m[0]*px + m[1]*py + m[2], c.height - (m[3]*px + m[4]*py + m[5])
}

func (c *svgCanvas) at(p vg.Point) string {
	x, y := c.place(p)
	return decimal(x) + " " + decimal(y)
}

func (c *svgCanvas) Stroke(p vg.Path) {
	if c.state.width <= 0 {
		return
	}
	m := c.state.m
	width := c.state.width * math.Sqrt(math.Abs(m[0]*m[4]-m[1]*m[3]))
	fmt.Fprintf(&c.body, `<path fill="none"%s stroke-width="%s"`, c.paint("stroke"), decimal(width))
	if len(c.state.dashes) > 0 {
		c.body.WriteString(` stroke-dasharray="`)
		for i, d := range c.state.dashes {
			if i > 0 {
				c.body.WriteByte(' ')
			}
			c.body.WriteString(decimal(d.Points()))
		}
		c.body.WriteByte('"')
		if c.state.offset != 0 {
			fmt.Fprintf(&c.body, ` stroke-dashoffset="%s"`, decimal(c.state.offset.Points()))
		}
	}
	fmt.Fprintf(&c.body, " d=\"%s\"/>\n", c.path(p))
}

func (c *svgCanvas) Fill(p vg.Path) {
	fmt.Fprintf(&c.body, "<path%s d=\"%s\"/>\n", c.paint("fill"), c.path(p))
}

func (c *svgCanvas) paint(attribute string) string {
	paint, alpha := css(c.state.colour, c.theme)
	s := fmt.Sprintf(` %s="%s"`, attribute, paint)
	if alpha < 1 {
		s += fmt.Sprintf(` %s-opacity="%s"`, attribute, decimal(alpha))
	}
	return s
}

func (c *svgCanvas) path(p vg.Path) string {
	var d bytes.Buffer
	var last [2]string // x, y of the current point where the next may be H or V
	for i, e := range p {
		x, y := c.place(e.Pos)
		here := [2]string{decimal(x), decimal(y)}
		switch e.Type {
		case vg.MoveComp:
			d.WriteString("M" + c.at(e.Pos))
		case vg.LineComp:
			switch {
			case here[1] == last[1]:
				d.WriteString("H" + here[0])
			case here[0] == last[0]:
				d.WriteString("V" + here[1])
			default:
				d.WriteString("L" + here[0] + " " + here[1])
			}
		case vg.CurveComp:
			letter := "C"
			if len(e.Control) == 1 {
				letter = "Q"
			}
			d.WriteString(letter)
			for _, q := range e.Control {
				d.WriteString(c.at(q) + " ")
			}
			d.WriteString(c.at(e.Pos))
		case vg.ArcComp:
			c.arc(&d, e, i == 0)
		case vg.CloseComp:
			d.WriteByte('Z')
		}
		last = [2]string{}
		if e.Type == vg.MoveComp || e.Type == vg.LineComp {
			last = here
		}
	}
	return d.String()
}

// arc writes an arc as pieces of at most a quarter turn: SVG cannot draw a full
// turn as one.
func (c *svgCanvas) arc(d *bytes.Buffer, e vg.PathComp, first bool) {
	on := func(angle float64) vg.Point {
		sin, cos := math.Sincos(angle)
		return vg.Point{X: e.Pos.X + e.Radius*vg.Length(cos), Y: e.Pos.Y + e.Radius*vg.Length(sin)}
	}
	if first {
		d.WriteString("M" + c.at(on(e.Start)))
	} else {
		d.WriteString("L" + c.at(on(e.Start)))
	}
	m := c.state.m
	r := decimal(e.Radius.Points() * math.Sqrt(math.Abs(m[0]*m[4]-m[1]*m[3])))
	sweep := 0 // y is flipped: a positive angle runs against SVG's clock
	if (e.Angle < 0) != (m[0]*m[4]-m[1]*m[3] < 0) {
		sweep = 1
	}
	pieces := int(math.Ceil(math.Abs(e.Angle) / (math.Pi / 2)))
	for k := 1; k <= pieces; k++ {
		end := on(e.Start + e.Angle*float64(k)/float64(pieces))
		fmt.Fprintf(d, "A%s %s 0 0 %d %s", r, r, sweep, c.at(end))
	}
}

func (c *svgCanvas) FillString(f font.Face, p vg.Point, s string) {
	if f.Font.Size == 0 || s == "" {
		return
	}
	x, y := c.place(p)
	c.body.WriteString("<text")
	if m := c.state.m; m[1] != 0 || m[0] != m[4] || m[0] != 1 {
		fmt.Fprintf(&c.body, ` transform="matrix(%s %s %s %s %s %s)"`,
			decimal(m[0]), decimal(-m[3]), decimal(-m[1]), decimal(m[4]), decimal(x), decimal(y))
	} else {
		fmt.Fprintf(&c.body, ` x="%s" y="%s"`, decimal(x), decimal(y))
	}
	family, weight := string(f.Font.Typeface), 400
	if f.Font.Weight == xfont.WeightSemiBold {
		weight = 600
	}
	c.used[fmt.Sprint(family, weight)] = true
	if family != TextFamily {
		fmt.Fprintf(&c.body, ` font-family="%s"`, stack(family))
	}
	if weight != 400 {
		fmt.Fprintf(&c.body, ` font-weight="%d"`, weight)
	}
	fmt.Fprintf(&c.body, ` font-size="%s"%s>%s</text>`+"\n", decimal(f.Font.Size.Points()), c.paint("fill"), escape(s))
}

// DrawImage draws nothing: pictures are made of shapes and text.
func (c *svgCanvas) DrawImage(vg.Rectangle, image.Image) {}

func stack(family string) string { return "'" + family + "', sans-serif" }

func escape(s string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(s)) // a bytes.Buffer does not fail
	return b.String()
}
