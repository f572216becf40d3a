package figure

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"
)

// LocalChroma shows the local chroma shifts Rcs,h1 to Rcs,h16 of ANSI/IES
// TM-30-20 as bars around zero and, beside or below them, the local hue shifts.
type LocalChroma struct {
	Chroma [16]float64 // Rcs,h as a fraction; NaN for a bin without samples
	// Hue is Rhs,h as a fraction of the chroma, about radians; nil for none.
	Hue *[16]float64

	Title string // empty for the largest loss and gain
	Note  string
}

// Picture checks the shifts and returns the picture.
func (l LocalChroma) Picture() (*Picture, error) {
	p := &Picture{
		Name:    "local-chroma",
		Title:   l.Title,
		Note:    joinNotes(l.Note, "ANSI/IES TM-30-20. Chips show the bins’ hues, h1 red to h16 purple-red."),
		Columns: []string{"hue bin", "Rcs,h / %"},
		drawing: l,
	}
	if l.Hue != nil {
		p.Columns = append(p.Columns, "Rhs,h")
	}
	for i, v := range l.Chroma {
		row := []string{fmt.Sprintf("h%d", i+1), chromaText(v)}
		if l.Hue != nil {
			switch h := l.Hue[i]; {
			case math.IsInf(h, 0):
				return nil, fmt.Errorf("figure: local chroma: the hue shift of bin %d is not a finite number", i+1)
			case math.IsNaN(h):
				row = append(row, "no sample")
			default:
				row = append(row, signed(h, 2))
			}
		}
		p.Rows = append(p.Rows, row)
	}
	says, err := chromaRange(&l.Chroma)
	if err != nil {
		return nil, err
	}
	if p.Title == "" {
		p.Title = sentence(says)
	}
	p.Alt = "Bars around zero for sixteen hue bins: " + says + "."
	return p, nil
}

// chromaText writes a local chroma shift, a fraction, in per cent.
func chromaText(v float64) string {
	if math.IsNaN(v) {
		return "no sample"
	}
	return signed(100*v, 0)
}

// chromaRange says between what the local chroma shifts lie, and where.
func chromaRange(shift *[16]float64) (string, error) {
	low, high := -1, -1
	for i, v := range shift {
		switch {
		case math.IsInf(v, 0):
			return "", fmt.Errorf("figure: the chroma shift of hue bin %d is not a finite number", i+1)
		case math.IsNaN(v):
			continue
		}
		if low < 0 || v < shift[low] {
			low = i
		}
		if high < 0 || v > shift[high] {
			high = i
		}
	}
	if low < 0 {
		return "", fmt.Errorf("figure: no hue bin holds a sample")
	}
	return fmt.Sprintf("chroma shifts from %s %% in hue bin %d to %s %% in bin %d",
		chromaText(shift[low]), low+1, chromaText(shift[high]), high+1), nil
}

// shiftBars turns values into bars on a scale that is even about zero.
func shiftBars(values *[16]float64, factor float64, decimals int, least, step float64) (list []bar, reach float64) {
	reach = least
	for i, v := range values {
		b := bar{name: fmt.Sprintf("h%d", i+1), chip: hueColour(binHue(i)), value: v * factor}
		if math.IsNaN(v) {
			b.text = "no sample"
		} else {
			b.text = signed(b.value, decimals)
			reach = max(reach, roundUp(math.Abs(b.value), step))
		}
		list = append(list, b)
	}
	return list, reach
}

func (l LocalChroma) panels() (chroma, hue []bar, chromaReach, hueReach float64) {
	chroma, chromaReach = shiftBars(&l.Chroma, 100, 0, 20, 10)
	if l.Hue != nil {
		hue, hueReach = shiftBars(l.Hue, 1, 2, 0.2, 0.1)
	}
	return chroma, hue, chromaReach, hueReach
}

const panelTitle, panelGap = 22, 28

func (l LocalChroma) height(width vg.Length) vg.Length {
	chroma, hue, _, _ := l.panels()
	h := barsHeight(chroma) + panelTitle
	if hue != nil && width < 560 {
		h += barsHeight(hue) + panelTitle + panelGap
	}
	return h
}

func (l LocalChroma) draw(p *pen, box vg.Rectangle) {
	chroma, hue, chromaReach, hueReach := l.panels()
	first, second := box, box
	if hue != nil {
		if box.Max.X-box.Min.X >= 560 {
			half := (box.Max.X - box.Min.X - panelGap) / 2
			first.Max.X, second.Min.X = box.Min.X+half, box.Max.X-half
		} else {
			first.Min.Y = box.Max.Y - panelTitle - barsHeight(chroma)
			second.Max.Y = first.Min.Y - panelGap
		}
	}
	panel := func(box vg.Rectangle, name string, list []bar, reach float64, unit string) {
		p.text(strong, inkFull, box.Min.X, box.Max.Y-strong.size, left, name)
		box.Max.Y -= panelTitle
		p.bars(box, list, -reach, reach, 0, unit)
	}
	panel(first, "Chroma shift Rcs,h", chroma, chromaReach, "%")
	if hue != nil {
		panel(second, "Hue shift Rhs,h", hue, hueReach, "")
	}
}
