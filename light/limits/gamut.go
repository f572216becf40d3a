package limits

import "lampassay/light/rendition"

// gamut is Rg of ANSI/IES TM-30-20 as a limit: the area of the polygon of the
// hue bins' mean a′, b′, against that of the reference, times a factor. The bins
// are those of the samples under the reference and so fixed.
type gamut struct {
	bins   []uint8
	size   [rendition.HueBins]float64
	factor float64 // times 100 over the reference's area
	corner [rendition.HueBins][2]float64
}

func newGamut(reference []vector, bins []uint8, factor float64) *gamut {
	g := &gamut{bins: bins, factor: 1}
	for _, b := range bins {
		g.size[b]++
	}
	g.factor = factor * 100 / g.area(reference)
	return g
}

// area of the polygon through the bins that hold a sample.
func (g *gamut) area(places []vector) float64 {
	g.corner = [rendition.HueBins][2]float64{}
	for j, p := range places {
		b := g.bins[j]
		g.corner[b][0] += p[1] / g.size[b]
		g.corner[b][1] += p[2] / g.size[b]
	}
	sum := 0.0
	last := g.before(0)
	for b := range g.corner {
		if g.size[b] == 0 {
			continue
		}
		p, q := g.corner[last], g.corner[b]
		sum += (p[0]*q[1] - q[0]*p[1]) / 2
		last = b
	}
	return sum
}

// before and after return the neighbouring bin that is not empty.
func (g *gamut) before(b int) int { return g.next(b, rendition.HueBins-1) }
func (g *gamut) after(b int) int  { return g.next(b, 1) }

func (g *gamut) next(b, step int) int {
	for range g.size {
		b = (b + step) % rendition.HueBins
		if g.size[b] > 0 {
			break
		}
	}
	return b
}

func (g *gamut) of(d *differences) float64 { return g.factor * g.area(d.place) }

// coefficients adds the derivative of the area: a corner pulls along the chord
// of its neighbours turned by a right angle.
func (g *gamut) coefficients(d *differences, out []float64) {
	g.area(d.place)
	for j := range d.place {
		b := int(g.bins[j])
		p, q := g.corner[g.before(b)], g.corner[g.after(b)]
		k := g.factor / 2 / g.size[b]
		d.along(j, vector{0, k * (q[1] - p[1]), k * (p[0] - q[0])}, out)
	}
}
