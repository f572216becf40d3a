package figure

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"image/png"
	"io"
	"math"

	"gonum.org/v1/plot/vg"
)

// Design widths in CSS pixels.
const (
	Wide   = 760
	Narrow = 360
)

// Picture is a figure ready to be written, with what must stand beside it.
type Picture struct {
	Name  string // file stem, e.g. "spectral-power"
	Title string // what is to be seen, in a sentence
	Alt   string // the finding in words, for those who cannot see the picture
	Note  string // scale, normalisation, source: one line, may be empty

	// The table of what is drawn, formatted for reading.
	Columns []string
	Rows    [][]string

	// Width is the design width in CSS pixels; zero is Wide.
	Width int

	drawing drawing
}

// drawing is a figure that can be laid out at any width. Lengths are CSS
// pixels.
type drawing interface {
	height(width vg.Length) vg.Length
	draw(p *pen, box vg.Rectangle)
}

// At returns the same picture for another design width.
func (p *Picture) At(width int) *Picture {
	q := *p
	q.Width = width
	return &q
}

// SVG writes the picture. For [Page] it is one svg element to be set inline;
// otherwise a document of its own with fonts embedded.
func (p *Picture) SVG(w io.Writer, theme Theme) error {
	l := p.layout(theme)
	c := newSVGCanvas(l.height, theme)
	l.draw(&pen{c})

	var out bytes.Buffer
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" width="%[1]s" height="%[2]s" viewBox="0 0 %[1]s %[2]s" role="img" font-family="%[3]s"`,
		decimal(l.width.Points()), decimal(l.height.Points()), stack(TextFamily))
	if theme == Page {
		fmt.Fprintf(&out, " class=\"figure-%s\" aria-label=\"%s\">\n", p.Name, escape(p.Alt))
	} else {
		fmt.Fprintf(&out, ">\n<title>%s</title>\n<desc>%s</desc>\n<style>", escape(p.Title), escape(p.Alt))
		for _, f := range Faces() {
			if c.used[fmt.Sprint(f.Family, f.Weight)] {
				out.WriteString(f.CSS("data:font/woff2;base64," + base64.StdEncoding.EncodeToString(f.WOFF2)))
			}
		}
		fmt.Fprintf(&out, "</style>\n<rect width=\"100%%\" height=\"100%%\" fill=\"%s\"/>\n", hex(inkPanel.in(theme)))
	}
	out.Write(c.body.Bytes())
	out.WriteString("</svg>\n")
	if _, err := w.Write(out.Bytes()); err != nil {
		return fmt.Errorf("figure: writing %s: %w", p.Name, err)
	}
	return nil
}

// PNG writes the picture pxWidth pixels wide, on its ground, with title and
// note. The layout stays that of [Picture.Width].
func (p *Picture) PNG(w io.Writer, theme Theme, pxWidth int) error {
	if theme == Page {
		theme = Light
	}
	if pxWidth < 1 || pxWidth > 16384 {
		return fmt.Errorf("figure: a PNG %d pixels wide cannot be drawn: use 1 to 16384", pxWidth)
	}
	l := p.layout(theme)
	scale := float64(pxWidth) / l.width.Points()
	c := newRaster(pxWidth, int(math.Ceil(l.height.Points()*scale)), scale, theme)
	l.draw(&pen{c})
	if err := png.Encode(w, c.Image()); err != nil {
		return fmt.Errorf("figure: writing %s: %w", p.Name, err)
	}
	return nil
}

// layout is a picture at a width: the drawing and, standing alone, the title
// above it and the note below.
type layout struct {
	width, height vg.Length
	draw          func(*pen)
}

func (p *Picture) layout(theme Theme) layout {
	width := vg.Length(p.Width)
	if width == 0 {
		width = Wide
	}
	if theme == Page {
		h := vg.Length(math.Ceil(float64(p.drawing.height(width))))
		return layout{width, h, func(pen *pen) { p.drawing.draw(pen, rectangle(0, 0, width, h)) }}
	}
	const margin = 16
	leading := func(h hand) vg.Length { return vg.Length(math.Round(1.35 * float64(h.size))) }
	lines := func(n int, h hand) vg.Length { return vg.Length(n) * leading(h) }
	inner := width - 2*margin
	heading, note := title.wrap(p.Title, inner), small.wrap(p.Note, inner)
	body := vg.Length(math.Ceil(float64(p.drawing.height(inner))))
	height := body + 2*margin
	if len(heading) > 0 {
		height += lines(len(heading), title) + 8
	}
	if len(note) > 0 {
		height += lines(len(note), small) + 8
	}
	return layout{width, height, func(pen *pen) {
		y := height - margin
		for _, line := range heading {
			y -= leading(title)
			pen.text(title, inkFull, margin, y+4, left, line)
		}
		if len(heading) > 0 {
			y -= 8
		}
		p.drawing.draw(pen, rectangle(margin, y-body, margin+inner, y))
		y -= body + 8
		for _, line := range note {
			y -= leading(small)
			pen.text(small, inkMuted, margin, y+3, left, line)
		}
	}}
}

func rectangle(x0, y0, x1, y1 vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: x0, Y: y0}, Max: vg.Point{X: x1, Y: y1}}
}
