package webapp

import (
	"cmp"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"lampassay/light/calibration"
)

// pairingPicture is a recording drawn for pairing by hand: counts over pixels,
// the peaks on the curve, and above it the lamp's lines where the axis puts them.
// It works as a picture; wavelength.js makes its peaks and lines handles.
type pairingPicture struct {
	Width, Height, Rem float64 // in units of the drawing, and how wide the page shows it
	Top, Foot          float64 // of the curve
	Curve              string  // points
	Lines              []lineMark
	Peaks              []peakMark
	Nm, Pixels         []tickMark
	Zoom               int
	Closer, Wider      string // addresses; "" where there is none
}

// lineMark is a line of the lamp.
type lineMark struct {
	X           float64
	Value, Name string // what a pair calls it, and its name
	Label       string // "" where a stronger one stands too near
}

// peakMark is a peak, and the link to its line.
type peakMark struct {
	X, Y      float64
	Key, Said string
	Kind      string // "found", "given", "free", "clipped"
	Line      string // the value of its line, "" for none
	LineX     float64
}

type tickMark struct {
	X    float64
	Text string
}

// Sizes of the drawing, in units of which sixteen are one rem.
const (
	pairingWidth  = 1120.0
	pairingHeight = 340.0
	pairingTop    = 74.0
	pairingFoot   = 290.0
	pairingEdge   = 18.0 // left and right of the detector, so that a handle there is whole
	labelRoom     = 46.0 // that the label of a line takes
	mostZoom      = 8
)

// zoomOf reads how many times wider than the page the picture is: 1, 2, 4 or 8.
func zoomOf(ask url.Values) int {
	z, err := strconv.Atoi(ask.Get("zoom"))
	if err != nil || z < 1 || z > mostZoom || z&(z-1) != 0 {
		return 1
	}
	return z
}

// address gives the picture the ways to be drawn closer and wider.
func (p *pairingPicture) address(path string, ask url.Values) {
	at := func(zoom int) string {
		next := url.Values{}
		for key, all := range ask {
			next[key] = all
		}
		next.Set("zoom", strconv.Itoa(zoom))
		return path + "?" + next.Encode()
	}
	if p.Zoom < mostZoom {
		p.Closer = at(2 * p.Zoom)
	}
	if p.Zoom > 1 {
		p.Wider = at(p.Zoom / 2)
	}
}

func drawPairing(counts []float64, seen *calibration.Sighting, axis *calibration.Dispersion, rows []peakRow, zoom int) pairingPicture {
	p := pairingPicture{Width: pairingWidth * float64(zoom), Height: pairingHeight, Top: pairingTop, Foot: pairingFoot, Zoom: zoom}
	p.Rem = p.Width / 16
	last := float64(len(counts) - 1)
	x := func(pixel float64) float64 { return pairingEdge + (p.Width-2*pairingEdge)*pixel/last }
	// The root of the counts leaves the small peaks to be seen beside the tall.
	top := max(slices.Max(counts), 1)
	y := func(count float64) float64 {
		return pairingFoot - (pairingFoot-pairingTop)*math.Sqrt(max(count, 0)/top)
	}
	p.Curve = curve(counts, x, y)
	p.lines(seen.Lines, last, x)
	for i := range rows {
		p.peak(&rows[i], counts, axis, x, y)
	}
	p.Nm = p.ticks(axis.At(0), axis.At(last), func(nm float64) float64 { return x(axis.PixelAt(nm)) })
	p.Pixels = p.ticks(0, last, x)
	return p
}

// ticks marks round numbers about every hundred units of the drawing, none where
// the unit stands.
func (p *pairingPicture) ticks(from, to float64, x func(float64) float64) (all []tickMark) {
	rough := (to - from) / (p.Width / 100)
	step := math.Pow(10, math.Floor(math.Log10(rough)))
	for _, times := range []float64{5, 2} {
		if times*step <= rough {
			step *= times
			break
		}
	}
	for k := math.Ceil(from / step); k*step <= to; k++ {
		if at := x(k * step); at < p.Width-labelRoom {
			all = append(all, tickMark{at, written(k * step)})
		}
	}
	return all
}

// curve returns the points of counts. Where more than one pixel falls on a unit
// of the drawing, the least and the greatest of them are drawn.
func curve(counts []float64, x, y func(float64) float64) string {
	var b strings.Builder
	point := func(pixel int) { fmt.Fprintf(&b, "%.1f,%.1f ", x(float64(pixel)), y(counts[pixel])) }
	each := max(1, int(1/(x(1)-x(0))))
	for from := 0; from < len(counts); from += each {
		least, greatest := from, from
		for i := from; i < min(from+each, len(counts)); i++ {
			if counts[i] < counts[least] {
				least = i
			}
			if counts[i] > counts[greatest] {
				greatest = i
			}
		}
		point(min(least, greatest))
		if least != greatest {
			point(max(least, greatest))
		}
	}
	return strings.TrimSpace(b.String())
}

// lines marks the lines of the lamp that fall on the detector, and labels them
// from the strongest on as long as there is room.
func (p *pairingPicture) lines(lines []calibration.Sighted, last float64, x func(float64) float64) {
	var strengths []float64
	for _, l := range lines {
		if l.Pixel >= 0 && l.Pixel <= last {
			p.Lines = append(p.Lines, lineMark{X: x(l.Pixel), Value: plain(l.LineNm), Name: l.Name})
			strengths = append(strengths, l.Strength)
		}
	}
	order := make([]int, len(p.Lines))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(strengths[b], strengths[a]) })
	for _, i := range order {
		l := &p.Lines[i]
		crowded := slices.ContainsFunc(p.Lines, func(o lineMark) bool { return o.Label != "" && math.Abs(o.X-l.X) < labelRoom })
		if nm, err := strconv.ParseFloat(l.Value, 64); err == nil && !crowded && l.X > labelRoom/2 && l.X < p.Width-labelRoom/2 {
			l.Label = strconv.FormatFloat(nm, 'f', 1, 64)
		}
	}
}

// peak marks a peak.
func (p *pairingPicture) peak(row *peakRow, counts []float64, axis *calibration.Dispersion, x, y func(float64) float64) {
	m := peakMark{X: x(row.peak.Pixel), Y: y(counts[min(row.At, len(counts)-1)]), Key: row.Key, Said: row.Said(), Kind: "free"}
	switch {
	case row.peak.Saturated:
		m.Kind = "clipped"
	case row.Line == nil:
	case row.Line.Given:
		m.Kind = "given"
	default:
		m.Kind = "found"
	}
	if row.Line != nil && len(p.Lines) > 0 {
		at := x(axis.PixelAt(row.Line.Nm))
		nearest := slices.MinFunc(p.Lines, func(a, b lineMark) int { return cmp.Compare(math.Abs(a.X-at), math.Abs(b.X-at)) })
		m.Line, m.LineX = nearest.Value, nearest.X
	}
	p.Peaks = append(p.Peaks, m)
}
