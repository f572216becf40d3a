package figure

import (
	"image"
	"image/color"
	"testing"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// recorder is a canvas that keeps what is lettered on it, and where.
type recorder struct{ texts []lettered }

type lettered struct {
	text string
	box  vg.Rectangle // from the baseline to the height of capitals
	size vg.Length
	face font.Face
}

func (r *recorder) FillString(f font.Face, p vg.Point, s string) {
	r.texts = append(r.texts, lettered{s, rectangle(p.X, p.Y, p.X+f.Width(s), p.Y+0.727*f.Font.Size), f.Font.Size, f})
}

func (r *recorder) SetLineWidth(vg.Length)                     {}
func (r *recorder) SetLineDash([]vg.Length, vg.Length)         {}
func (r *recorder) SetColor(color.Color)                       {}
func (r *recorder) Rotate(float64)                             {}
func (r *recorder) Translate(vg.Point)                         {}
func (r *recorder) Scale(float64, float64)                     {}
func (r *recorder) Push()                                      {}
func (r *recorder) Pop()                                       {}
func (r *recorder) Stroke(vg.Path)                             {}
func (r *recorder) Fill(vg.Path)                               {}
func (r *recorder) DrawImage(rect vg.Rectangle, _ image.Image) {}

// record lays a picture out and returns its lettering and its size.
func record(p *Picture, theme Theme) ([]lettered, vg.Point) {
	l := p.layout(theme)
	var r recorder
	l.draw(&pen{&r})
	return r.texts, vg.Point{X: l.width, Y: l.height}
}

func TestLetteringIsInsideApartAndLargeEnough(t *testing.T) {
	for name, p := range pictures(t) {
		for _, width := range []int{Narrow, 480, Wide, 1100} {
			for _, theme := range []Theme{Page, Light} {
				texts, size := record(p.At(width), theme)
				for i, a := range texts {
					if a.size < 11 {
						t.Errorf("%s at %d px: %q is lettered at %g px", name, width, a.text, a.size.Points())
					}
					if a.box.Min.X < -0.5 || a.box.Min.Y < 0 || a.box.Max.X > size.X+0.5 || a.box.Max.Y > size.Y {
						t.Errorf("%s at %d px: %q reaches out of the picture", name, width, a.text)
					}
					for _, b := range texts[:i] {
						if overlaps(a.box, []vg.Rectangle{b.box}) {
							t.Errorf("%s at %d px: %q lies over %q", name, width, a.text, b.text)
						}
					}
				}
			}
		}
	}
}
