package figure

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// RenderingIndices shows the colour rendering indices of CIE 13.3-1995 as bars
// from zero. An index may lie below zero; the scale then reaches as far.
type RenderingIndices struct {
	General  float64       // Ra
	Special  []float64     // R1, R2, … : 14, or 15 with the sample of JIS Z 8726
	Swatches []color.NRGBA // the samples' colours under the reference; may be nil

	// Scope says why the indices are outside the method's scope; empty within.
	Scope string

	Title string // empty for Ra and the index that is worst
	Note  string
}

// The test-colour samples as CIE 13.3 describes them in daylight.
var sampleNames = [...]string{
	"light greyish red", "dark greyish yellow", "strong yellow green", "moderate yellowish green",
	"light bluish green", "light blue", "light violet", "light reddish purple",
	"strong red", "strong yellow", "strong green", "strong blue",
	"light yellowish pink", "moderate olive green", "East Asian complexion",
}

// Picture checks the indices and returns the picture.
func (r RenderingIndices) Picture() (*Picture, error) {
	if n := len(r.Special); n == 0 || n > len(sampleNames) {
		return nil, fmt.Errorf("figure: rendering indices: %d special indices given, 1 to %d can be drawn", n, len(sampleNames))
	}
	if len(r.Swatches) != 0 && len(r.Swatches) != len(r.Special) {
		return nil, fmt.Errorf("figure: rendering indices: %d swatches for %d indices", len(r.Swatches), len(r.Special))
	}
	if !finite(r.General) || !finite(r.Special...) {
		return nil, fmt.Errorf("figure: rendering indices: an index is not a finite number")
	}
	worst, below := 0, 0
	for i, v := range r.Special {
		if v < r.Special[worst] {
			worst = i
		}
		if v < 0 {
			below++
		}
	}
	p := &Picture{
		Name:    "rendering-indices",
		Title:   r.Title,
		Note:    joinNotes(r.Note, "CIE 13.3-1995; Ra is the mean of R1 to R8."),
		Columns: []string{"index", "sample", "value"},
		Rows:    [][]string{{"Ra", "mean of R1 to R8", fixed(r.General, 0)}},
		drawing: r,
	}
	for i, v := range r.Special {
		p.Rows = append(p.Rows, []string{fmt.Sprintf("R%d", i+1), sampleNames[i], fixed(v, 0)})
	}
	says := fmt.Sprintf("Ra %s; worst is R%d, %s, with %s", fixed(r.General, 0), worst+1, sampleNames[worst], fixed(r.Special[worst], 0))
	if p.Title == "" {
		p.Title = says
	}
	p.Alt = "Colour rendering indices as bars: " + says + "."
	if below > 0 {
		p.Alt += fmt.Sprintf(" %d of %d %s below zero.", below, len(r.Special), plural(below, "lies", "lie"))
	}
	if r.Scope != "" {
		p.Note = joinNotes("Outside the method's scope: "+r.Scope+".", p.Note)
		p.Alt += " Outside the method's scope: " + r.Scope + "."
	}
	return p, nil
}

func (r RenderingIndices) bars(wide bool) []bar {
	list := []bar{{name: "Ra", value: r.General, text: fixed(r.General, 0), head: true}}
	if wide {
		list[0].name = "Ra general"
	}
	for i, v := range r.Special {
		b := bar{name: fmt.Sprintf("R%d %s", i+1, sampleNames[i]), value: v, text: fixed(v, 0)}
		if !wide {
			b.name = fmt.Sprintf("R%d", i+1)
		}
		if len(r.Swatches) > 0 {
			b.chip = r.Swatches[i]
		}
		list = append(list, b)
	}
	return list
}

func (r RenderingIndices) height(vg.Length) vg.Length { return barsHeight(r.bars(true)) }

func (r RenderingIndices) draw(p *pen, box vg.Rectangle) {
	lo := math.Min(0, r.General)
	for _, v := range r.Special {
		lo = math.Min(lo, v)
	}
	if lo < 0 {
		lo = -roundUp(-lo, 20)
	}
	step := 50.0 // so that 0 and 100 are always lettered
	if lo < -100 {
		step = 100
	}
	p.bars(box, r.bars(box.Max.X-box.Min.X > 440), lo, 100, step, "")
}

// roundUp returns the smallest multiple of step that is not below v.
func roundUp(v, step float64) float64 { return math.Ceil(v/step-1e-9) * step }
