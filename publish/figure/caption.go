package figure

import (
	"fmt"
	"image"
	"image/draw"

	"gonum.org/v1/plot/vg"
)

// Caption returns a picture with a band of text beneath it, set for its width,
// so that what a picture is goes with it wherever it is shown.
func Caption(picture image.Image, text string) (*image.NRGBA, error) {
	b := picture.Bounds()
	if b.Dx() < 1 || b.Dy() < 1 {
		return nil, fmt.Errorf("figure: a picture of %d by %d pixels has no room for a caption", b.Dx(), b.Dy())
	}
	// Letters as on a page that wide, and no smaller on a narrow one.
	scale := max(1, float64(b.Dx())/Wide)
	const margin, leading = 10, 16
	width := vg.Length(float64(b.Dx()) / scale)
	lines := small.wrap(text, max(width-2*margin, 1))
	height := vg.Length(len(lines)*leading + 2*margin - 4)
	band := newRaster(b.Dx(), int(float64(height)*scale+0.5), scale, Light)
	p := &pen{band}
	p.rect(inkPanel, rectangle(0, 0, width+1, height+1))
	y := height - margin + 2
	for _, line := range lines {
		y -= leading
		p.text(small, inkFull, margin, y+4, left, small.fit(line, max(width-2*margin, 1)))
	}
	below := band.Image()
	out := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()+below.Bounds().Dy()))
	draw.Draw(out, image.Rect(0, 0, b.Dx(), b.Dy()), picture, b.Min, draw.Src)
	draw.Draw(out, image.Rect(0, b.Dy(), b.Dx(), out.Rect.Max.Y), below, below.Bounds().Min, draw.Src)
	return out, nil
}
