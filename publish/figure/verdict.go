package figure

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
)

// Verdicts shows claims against measurements, all on one scale of per cent of
// the declared value: a hollow mark where the declared value is, a pale band
// where the tolerance lets the lamp be, and the measured value as a dot with its
// interval.
type Verdicts struct {
	Lamp string
	Rows []VerdictRow
	Note string
}

// VerdictRow is one claim, its numbers in the claim's unit.
type VerdictRow struct {
	Name                        string
	Declared                    float64
	Value, Low, High            float64
	ToleranceLow, ToleranceHigh float64 // infinite on an open side
	// DeclaredText and ValueText are the numbers as they are read, with units;
	// Words is the verdict.
	DeclaredText, ValueText, Words string
}

// Picture checks the rows and returns the picture.
func (v Verdicts) Picture() (*Picture, error) {
	if len(v.Rows) == 0 {
		return nil, fmt.Errorf("figure: verdicts: no claim given")
	}
	p := &Picture{
		Name:    "claims",
		Note:    joinNotes("Scale: per cent of the declared value, the hollow mark.", v.Note),
		Columns: []string{"claim", "declared", "measured", "verdict"},
		drawing: v,
	}
	var said []string
	for _, r := range v.Rows {
		if !finite(r.Declared, r.Value, r.Low, r.High) || r.Declared == 0 || r.Low > r.High || math.IsNaN(r.ToleranceLow+r.ToleranceHigh) {
			return nil, fmt.Errorf("figure: verdicts: %s: a declared value other than zero, a value and its interval are needed", r.Name)
		}
		p.Rows = append(p.Rows, []string{r.Name, r.DeclaredText, r.ValueText, r.Words})
		said = append(said, fmt.Sprintf("%s: declared %s, measured %s, %s", r.Name, r.DeclaredText, r.ValueText, r.Words))
	}
	p.Title = v.count()
	if v.Lamp != "" {
		p.Title = v.Lamp + ": " + p.Title
	}
	p.Alt = strings.Join(said, "; ") + "."
	return p, nil
}

// count counts the verdicts, in the order in which they first occur.
func (v Verdicts) count() string {
	var verdicts []string
	number := map[string]int{}
	for _, r := range v.Rows {
		verdict, _, _ := strings.Cut(r.Words, ":")
		if number[verdict]++; number[verdict] == 1 {
			verdicts = append(verdicts, verdict)
		}
	}
	var parts []string
	for i, verdict := range verdicts {
		what := ""
		if i == 0 {
			what = plural(number[verdict], " claim", " claims")
		}
		parts = append(parts, fmt.Sprintf("%d%s %s", number[verdict], what, verdict))
	}
	return strings.Join(parts, ", ")
}

// verdictRow is the height of a row: name and verdict over the band, the
// numbers under it. Where the picture is narrow the verdict has its own line.
func verdictRow(width vg.Length) vg.Length {
	if width < efficacyNarrow {
		return 84
	}
	return 66
}

func (v Verdicts) height(width vg.Length) vg.Length {
	return vg.Length(len(v.Rows))*verdictRow(width) + letterHeight
}

// percent returns a value in per cent of what a row declares.
func (r *VerdictRow) percent(v float64) float64 { return 100 * v / r.Declared }

// span returns the range of the scale: every interval and every limit with
// some room, in steps of 5 %.
func (v Verdicts) span() (lo, hi float64) {
	lo, hi = 95, 105
	for i := range v.Rows {
		r := &v.Rows[i]
		for _, x := range []float64{r.Low, r.High, r.ToleranceLow, r.ToleranceHigh} {
			if !math.IsInf(x, 0) {
				lo, hi = math.Min(lo, r.percent(x)), math.Max(hi, r.percent(x))
			}
		}
	}
	room := 0.06 * (hi - lo)
	return 5 * math.Floor((lo-room)/5), 5 * math.Ceil((hi+room)/5)
}

func (v Verdicts) draw(p *pen, box vg.Rectangle) {
	lo, hi := v.span()
	f := frame{box: box, x0: lo, x1: hi, y1: 1}
	f.box.Min.X += 10
	f.box.Max.X -= 24
	f.box.Min.Y += letterHeight
	scale := ticks(lo, hi, int(f.box.Max.X-f.box.Min.X)/62+1)
	p.letterX(f, scale, f.box.Min.Y, box.Max.X, "%")
	for i := range v.Rows {
		row := verdictRow(box.Max.X - box.Min.X)
		v.Rows[i].draw(p, f, box.Max.Y-vg.Length(i)*row, row, box)
	}
}

// draw draws one row below top: its name and verdict, then the band.
func (r *VerdictRow) draw(p *pen, f frame, top, height vg.Length, box vg.Rectangle) {
	base, y := top-14, top-height+33
	width := box.Max.X - box.Min.X
	if width < efficacyNarrow {
		p.text(label, inkFull, box.Min.X, base, left, label.fit(r.Name, width))
		p.text(strong, inkFull, box.Min.X, base-18, left, strong.fit(r.Words, width))
	} else {
		p.text(strong, inkFull, box.Max.X, base, right, r.Words)
		p.text(label, inkFull, box.Min.X, base, left, label.fit(r.Name, width-strong.width(r.Words)-12))
	}

	at := func(v float64) vg.Length {
		if math.IsInf(v, 0) {
			if v*r.Declared < 0 {
				return f.box.Min.X
			}
			return f.box.Max.X
		}
		return min(max(f.x(r.percent(v)), f.box.Min.X), f.box.Max.X)
	}
	const half = 9
	a, b := at(r.ToleranceLow), at(r.ToleranceHigh)
	a, b = min(a, b), max(a, b) // a negative declared value turns the scale round
	p.rect(ink{roleMuted, 0.16}, rectangle(a, y-half, b, y+half))
	p.line(inkGrid, 1, vg.Point{X: f.box.Min.X, Y: y}, vg.Point{X: f.box.Max.X, Y: y})
	for _, limit := range []float64{r.ToleranceLow, r.ToleranceHigh} {
		if !math.IsInf(limit, 0) {
			p.line(inkMuted, 1.5, vg.Point{X: at(limit), Y: y - half}, vg.Point{X: at(limit), Y: y + half})
		}
	}
	p.dotAndBar(at(r.Low), at(r.High), at(r.Value), y)
	declared := vg.Point{X: at(r.Declared), Y: y}
	p.disc(inkPanel, declared, 5.5)
	p.ring(inkFull, 1.5, declared, 5)
	// The dot over the mark where they meet: the mark's ring still shows.
	p.disc(inkTint, vg.Point{X: at(r.Value), Y: y}, 3.5)
	p.values(r, f, at, y-half-3-0.73*small.size)
}

// values letters what was declared and measured under a band, out of each
// other's way.
func (p *pen) values(r *VerdictRow, f frame, at func(float64) vg.Length, base vg.Length) {
	measured, declared := r.ValueText, r.DeclaredText
	wm, wd := small.width(measured), small.width(declared)
	clamp := func(x, w vg.Length) vg.Length { return min(max(x-w/2, f.box.Min.X), f.box.Max.X-w) }
	xm, xd := clamp(at(r.Value), wm), clamp(at(r.Declared), wd)
	// The one that is less goes left, and both give way until they are apart.
	const apart = 12
	first, width, second := &xd, wd, &xm
	if r.Value/r.Declared < 1 {
		first, width, second = &xm, wm, &xd
	}
	if over := *first + width + apart - *second; over > 0 {
		*first, *second = *first-over/2, *second+over/2
	}
	// Keep the pair inside.
	move := max(0, f.box.Min.X-min(xm, xd)) - max(0, max(xm+wm, xd+wd)-f.box.Max.X)
	xm, xd = xm+move, xd+move
	p.text(small, inkMuted, xd, base, left, declared)
	p.text(small, inkFull, xm, base, left, measured)
}

// dotAndBar draws a dot with its interval.
func (p *pen) dotAndBar(a, b, x, y vg.Length) {
	a, b = min(a, b), max(a, b)
	p.line(inkTint, 2, vg.Point{X: a, Y: y}, vg.Point{X: b, Y: y})
	for _, end := range []vg.Length{a, b} {
		p.line(inkTint, 1.5, vg.Point{X: end, Y: y - 5}, vg.Point{X: end, Y: y + 5})
	}
	p.disc(inkTint, vg.Point{X: x, Y: y}, 4.5)
}
