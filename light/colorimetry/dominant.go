package colorimetry

import (
	"math"
	"sync"

	"lampassay/light/standards"
)

// The spectrum locus runs from 360 nm to 699 nm: from there to 830 nm the
// chromaticity changes only by the rounding of the colour-matching functions.
const (
	spectralFirst = 360
	spectralLast  = 699
)

// endTolerance is the share of the purple line, from either end, that still
// counts as that end of the spectrum locus: rounding alone puts a far-red light
// on either side.
const endTolerance = 1e-6

type chromaticity struct{ x, y float64 }

// spectral is the spectrum locus at every nanometre, closed by its first point.
var spectral = sync.OnceValue(func() []chromaticity {
	o := standards.CIE1931()
	locus := make([]chromaticity, spectralLast-spectralFirst+1)
	for i := range locus {
		k := spectralFirst - o.Y.First + i
		x, y := XYZ{o.X.W[k], o.Y.W[k], o.Z.W[k]}.XY()
		locus[i] = chromaticity{x, y}
	}
	return append(locus, locus[0])
})

// Dominant returns the dominant wavelength in nm and the excitation purity of a
// 2° chromaticity x, y against an achromatic stimulus xw, yw (terms of CIE S 017):
// where the line from the latter through the former meets the spectrum locus,
// and how far along it the stimulus lies. For purples, whose line meets no
// spectral colour, lambda is the complementary wavelength with a minus sign and
// the purity is against the purple line.
//
// The locus is that of the 1 nm tables with straight edges, closed by the
// purple line. A stimulus outside it, which only negative samples can make, has
// a purity above 1. ok is false where the stimulus is the achromatic one, and
// where that one does not lie within the locus.
func Dominant(x, y, xw, yw float64) (lambda, purity float64, ok bool) {
	dx, dy := x-xw, y-yw
	length := math.Hypot(dx, dy)
	if !(length > 1e-9) {
		return 0, 0, false
	}
	dx, dy = dx/length, dy/length
	locus := spectral()
	purple := len(locus) - 2 // the edge that closes the curve

	// aside is the distance of a point from the line, positive to the left as
	// seen from the achromatic stimulus.
	aside := func(p chromaticity) float64 { return dx*(p.y-yw) - dy*(p.x-xw) }

	// The curve runs clockwise. It crosses the line from left to right ahead of
	// the achromatic stimulus and from right to left behind it.
	const none = -1
	ahead, behind := none, none
	a := aside(locus[0])
	for i, p := range locus[1:] {
		b := aside(p)
		switch {
		case ahead == none && a > 0 && b <= 0:
			ahead = i
		case behind == none && a <= 0 && b > 0:
			behind = i
		}
		a = b
	}
	if ahead == none || behind == none {
		return 0, 0, false
	}
	// cross returns where an edge crosses the line: the share of the edge, and
	// the distance from the achromatic stimulus.
	cross := func(i int) (share, distance float64) {
		p, q := locus[i], locus[i+1]
		a, b := aside(p), aside(q)
		share = a / (a - b)
		return share, dx*(p.x+share*(q.x-p.x)-xw) + dy*(p.y+share*(q.y-p.y)-yw)
	}
	share, boundary := cross(ahead)
	backShare, back := cross(behind)
	if !(boundary > 0 && back < 0) {
		return 0, 0, false
	}
	purity = length / boundary
	switch {
	case ahead != purple:
		return spectralFirst + float64(ahead) + share, purity, true
	case share < endTolerance:
		return spectralLast, purity, true
	case 1-share < endTolerance:
		return spectralFirst, purity, true
	}
	return -(spectralFirst + float64(behind) + backShare), purity, true
}
