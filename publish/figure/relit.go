package figure

import (
	"fmt"
	"image/color"
	"strings"

	"gonum.org/v1/plot/vg"
)

// Relit shows the same samples in rows, each under another light or to another
// eye, as a screen can show them.
type Relit struct {
	Samples []string // their names, a column each
	Rows    []RelitRow

	Title string // empty for what is shown
	Note  string
}

// RelitRow is one light.
type RelitRow struct {
	Name    string
	Colours []color.NRGBA // one a sample
}

// Picture checks the rows and returns the picture.
func (r Relit) Picture() (*Picture, error) {
	if len(r.Samples) == 0 || len(r.Rows) == 0 {
		return nil, fmt.Errorf("figure: relit: no samples or no rows given")
	}
	p := &Picture{
		Name:    "relit",
		Title:   r.Title,
		Note:    joinNotes(r.Note, "Screen simulation: colours depend on the screen and on its surroundings; compare the rows, do not judge the colours."),
		Columns: []string{"sample"},
		Alt:     "The same samples in rows: ",
		drawing: r,
	}
	if p.Title == "" {
		p.Title = "The same samples in daylight and under this lamp"
	}
	var names []string
	for _, row := range r.Rows {
		if len(row.Colours) != len(r.Samples) {
			return nil, fmt.Errorf("figure: relit: %s has %d colours for %d samples", row.Name, len(row.Colours), len(r.Samples))
		}
		names = append(names, row.Name)
		p.Columns = append(p.Columns, row.Name+", sRGB")
	}
	for i, name := range r.Samples {
		line := []string{name}
		for _, row := range r.Rows {
			line = append(line, hex(row.Colours[i]))
		}
		p.Rows = append(p.Rows, line)
	}
	p.Alt += strings.Join(names, "; ") + ". Screen simulation."
	return p, nil
}

const (
	relitPatch = 44 // height of a patch
	relitLine  = 18 // a row's name above it
	relitGap   = 10
	relitHead  = 20 // the samples' names, where there is room
)

// lettered reports whether the columns are wide enough for the samples' names.
func (r Relit) lettered(width vg.Length) bool {
	column := width / vg.Length(len(r.Samples))
	for _, name := range r.Samples {
		if small.width(name)+4 > column {
			return false
		}
	}
	return true
}

func (r Relit) height(width vg.Length) vg.Length {
	h := vg.Length(len(r.Rows))*(relitLine+relitPatch+relitGap) - relitGap
	if r.lettered(width) {
		h += relitHead
	}
	return h
}

func (r Relit) draw(p *pen, box vg.Rectangle) {
	width, y := box.Max.X-box.Min.X, box.Max.Y
	column := func(i int) vg.Length { return box.Min.X + width*vg.Length(i)/vg.Length(len(r.Samples)) }
	for _, row := range r.Rows {
		y -= relitLine
		p.text(label, inkFull, box.Min.X, y+5, left, label.fit(row.Name, width))
		for i, c := range row.Colours {
			p.rect(c, snap(rectangle(column(i), y-relitPatch, column(i+1), y)))
		}
		p.frameRect(ink{roleMuted, 0.4}, 1, snap(rectangle(box.Min.X, y-relitPatch, box.Max.X, y)))
		y -= relitPatch + relitGap
	}
	if r.lettered(width) {
		for i, name := range r.Samples {
			p.text(small, inkMuted, (column(i)+column(i+1))/2, y+relitGap-14, centre, name)
		}
	}
}
