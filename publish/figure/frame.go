package figure

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
)

// frame maps data onto a box. Its box lies inside whatever letters its axes.
type frame struct {
	box            vg.Rectangle
	x0, x1, y0, y1 float64
}

func (f frame) x(v float64) vg.Length {
	return f.box.Min.X + vg.Length((v-f.x0)/(f.x1-f.x0))*(f.box.Max.X-f.box.Min.X)
}

func (f frame) y(v float64) vg.Length {
	return f.box.Min.Y + vg.Length((v-f.y0)/(f.y1-f.y0))*(f.box.Max.Y-f.box.Min.Y)
}

func (f frame) at(x, y float64) vg.Point { return vg.Point{X: f.x(x), Y: f.y(y)} }

// tick is a lettered value of an axis.
type tick struct {
	value float64
	text  string
}

// ticks returns at most n round values (1, 2 or 5 times a power of ten apart)
// from lo to hi, n at least 2.
func ticks(lo, hi float64, n int) []tick {
	return every(roundStep((hi-lo)/float64(max(n-1, 1))), lo, hi)
}

// every returns the multiples of step from lo to hi.
func every(step, lo, hi float64) []tick {
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	var list []tick
	first, last := math.Ceil(lo/step-1e-9), math.Floor(hi/step+1e-9)
	for k := first; k <= last; k++ {
		text := fixed(k*step, decimals)
		if k == 0 {
			text = "0"
		}
		list = append(list, tick{k * step, text})
	}
	return list
}

// roundStep returns the smallest 1, 2 or 5 times a power of ten that is not
// below v.
func roundStep(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= v*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// powerTicks returns ticks for an axis of any magnitude: very small and very
// large values are lettered in a power of a thousand, which goes before the
// axis's unit.
func powerTicks(lo, hi float64, n int) (list []tick, prefix string) {
	top := math.Max(math.Abs(lo), math.Abs(hi))
	if top >= 0.01 && top < 1e5 {
		return ticks(lo, hi, n), ""
	}
	e := 3 * int(math.Floor(math.Log10(top)/3))
	scale := math.Pow(10, float64(e))
	list = ticks(lo/scale, hi/scale, n)
	for i := range list {
		list[i].value *= scale
	}
	return list, "10" + superscript(e) + " "
}

// fixed writes a number with a true minus sign and no minus before a zero.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// signed is fixed with a plus sign before what is positive.
func signed(v float64, decimals int) string {
	s := fixed(v, decimals)
	if strings.HasPrefix(s, "−") || strings.Trim(s, "0.") == "" {
		return s
	}
	return "+" + s
}

// significant writes a number with n significant figures, for tables.
func significant(v float64, n int) string {
	if v == 0 {
		return "0"
	}
	e := int(math.Floor(math.Log10(math.Abs(v))))
	if e >= 6 || e < -4 {
		s := strconv.FormatFloat(v/math.Pow(10, float64(e)), 'f', n-1, 64)
		return strings.Replace(s, "-", "−", 1) + "×10" + superscript(e)
	}
	return fixed(v, max(0, n-1-e))
}

func superscript(n int) string {
	return strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴",
		"5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹").Replace(strconv.Itoa(n))
}

// widest returns the width of the widest tick's text.
func widest(list []tick) vg.Length {
	var w vg.Length
	for _, t := range list {
		w = max(w, number.width(t.text))
	}
	return w
}

// gridY draws a horizontal line at each tick and letters it left of the box.
func (p *pen) gridY(f frame, list []tick) {
	for _, t := range list {
		y := f.y(t.value)
		p.line(inkGrid, 1, vg.Point{X: f.box.Min.X, Y: y}, vg.Point{X: f.box.Max.X, Y: y})
		p.text(number, inkMuted, f.box.Min.X-6, y-number.middle(), right, t.text)
	}
}

// gridX draws a vertical line at each tick.
func (p *pen) gridX(f frame, list []tick) {
	for _, t := range list {
		x := f.x(t.value)
		p.line(inkGrid, 1, vg.Point{X: x, Y: f.box.Min.Y}, vg.Point{X: x, Y: f.box.Max.Y})
	}
}

// letterX letters ticks under y, each with a short mark. The unit stands behind
// the last number, or behind the first where it would reach beyond edge.
func (p *pen) letterX(f frame, list []tick, y, edge vg.Length, unit string) {
	if len(list) == 0 {
		return
	}
	after, w := list[len(list)-1], small.width(unit)+4
	if f.x(after.value)+number.width(after.text)/2+w > edge {
		after = list[0]
	}
	for _, t := range list {
		x := f.x(t.value)
		p.line(inkMuted, 1, vg.Point{X: x, Y: y}, vg.Point{X: x, Y: y - 4})
		base := y - 6 - number.size*0.73
		w := number.width(t.text)
		p.text(number, inkMuted, min(x-w/2, edge-w), base, left, t.text)
		if t == after && unit != "" {
			p.text(small, inkMuted, x+number.width(t.text)/2+4, base, left, unit)
		}
	}
}

// letterHeight is what letterX needs under y.
const letterHeight = 20
