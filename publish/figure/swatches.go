package figure

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// Swatches shows samples in pairs, under the lamp and under the reference, as a
// screen can show them.
type Swatches struct {
	Pairs []SwatchPair

	Title string // empty for what is shown
	Note  string
}

// SwatchPair is one sample of [Swatches].
type SwatchPair struct {
	Name            string // e.g. "R9 strong red"
	Value           string // e.g. "−31"; may be empty
	Lamp, Reference color.NRGBA
}

// Picture checks the pairs and returns the picture.
func (s Swatches) Picture() (*Picture, error) {
	if len(s.Pairs) == 0 {
		return nil, fmt.Errorf("figure: swatches: no pair given")
	}
	p := &Picture{
		Name:    "swatches",
		Title:   s.Title,
		Note:    joinNotes(s.Note, "Screen simulation: colours depend on the screen and on its surroundings; compare the halves, do not judge the colours."),
		Alt:     "Samples as they look under the lamp, left half, and under the reference, right half; screen simulation: ",
		Columns: []string{"sample", "value", "under this lamp, sRGB", "under the reference, sRGB"},
		drawing: s,
	}
	if p.Title == "" {
		p.Title = "Colours under this lamp and under its reference"
	}
	for i, q := range s.Pairs {
		p.Rows = append(p.Rows, []string{q.Name, q.Value, hex(q.Lamp), hex(q.Reference)})
		if i > 0 {
			p.Alt += ", "
		}
		p.Alt += q.Name
		if q.Value != "" {
			p.Alt += " " + q.Value
		}
	}
	p.Alt += "."
	return p, nil
}

const (
	swatchColumn = 92 // least width of a pair
	swatchGap    = 12
	swatchHeight = 48
	swatchRow    = swatchHeight + 2*14 + 14 + 14 // two lines of name, the value, space
	swatchKey    = 26
)

func (s Swatches) columns(width vg.Length) int {
	n := int((width + swatchGap) / (swatchColumn + swatchGap))
	return min(max(n, 1), len(s.Pairs))
}

func (s Swatches) rows(width vg.Length) int {
	n := s.columns(width)
	return (len(s.Pairs) + n - 1) / n
}

func (s Swatches) height(width vg.Length) vg.Length {
	return swatchKey + vg.Length(s.rows(width))*swatchRow - 10
}

func (s Swatches) draw(p *pen, box vg.Rectangle) {
	width := box.Max.X - box.Min.X
	n := s.columns(width)
	w := (width - vg.Length(n-1)*swatchGap) / vg.Length(n)
	w = min(w, 150)
	p.text(small, inkMuted, box.Min.X, box.Max.Y-small.size, left, "left half: this lamp · right half: reference · screen simulation")
	for i, q := range s.Pairs {
		x := box.Min.X + vg.Length(i%n)*(w+swatchGap)
		y := box.Max.Y - swatchKey - vg.Length(i/n)*swatchRow
		patch := snap(rectangle(x, y-swatchHeight, x+w, y))
		half := patch
		half.Min.X = vg.Length(math.Round(float64(x + w/2)))
		p.rect(q.Lamp, patch)
		p.rect(q.Reference, half)
		p.frameRect(ink{roleMuted, 0.4}, 1, patch)

		base := y - swatchHeight - 14
		for k, line := range small.wrap(q.Name, w) {
			if k == 2 {
				break
			}
			p.text(small, inkFull, x, base, left, small.fit(line, w))
			base -= 14
		}
		if q.Value != "" {
			p.text(number, inkMuted, x, base, left, q.Value)
		}
	}
}
