package emission

import (
	"fmt"
	"math"
)

// The mean of the sodium D lines, 588.9950 and 589.5924 nm, weighted 2 : 1.
const sodiumD = 589.194

// reversal is the sodium D pair of a high-pressure arc: the cooler vapour at
// the wall absorbs the lines that the hot core emits, and what comes out is a
// dip at 589 nm between two humps, on wings tens of nanometres wide. A search
// for lines finds nothing at 589 nm, where the most sodium is.
type reversal struct {
	dip         float64 // nm
	blue, red   float64 // nm, of the humps
	depth       float64 // 1 − dip / lower hump; 0 where the instrument does not resolve the dip
	from, to    float64 // nm, of the region in which maxima are its humps
	power       float64 // within 560–620 nm
	height      float64
	heightSigma float64
}

// findReversal looks for a self-reversed D pair. A dip alone could be a gap
// between two other things, or neodymium glass; the subordinate lines of
// sodium, which do not reverse, must be there as well.
func (t *trace) findReversal(peaks []peak, axisU float64) (reversal, bool) {
	var r reversal
	if !t.covers(555, 625) {
		return r, false
	}
	reach := 1 + 2*axisU
	support, top := 0, 0.0
	if i := t.highest(sodiumD-20, sodiumD+20); i >= 0 {
		top = t.y[i]
	}
	for _, s := range [...]struct {
		nm     float64
		weight int
	}{{568.63, 2}, {819.1, 2}, {498.1, 1}, {615.9, 1}, {515.2, 1}, {466.7, 1}} {
		for _, p := range peaks {
			if math.Abs(p.nm-s.nm) < reach+0.3*t.bandwidth && p.snr() > significant && p.height > 0.006*top {
				support += s.weight
				break
			}
		}
	}
	if support < 3 {
		return r, false
	}
	// Of all places near the pair, the one that lies deepest between two humps.
	best := 0.0
	var dip, blue, red int
	lo, hi := t.span(sodiumD-2.5-reach, sodiumD+2.5+reach)
	for i := lo; i < hi; i++ {
		b, d := t.climb(i, -1), t.climb(i, 1)
		if depth := min(t.y[b], t.y[d]) - t.y[i]; depth > best {
			best, dip, blue, red = depth, i, b, d
		}
	}
	hump := min(t.y[blue], t.y[red])
	wing := t.mean(t.x[red], t.x[red]+max(6, 2*t.bandwidth))
	if hump < 6*t.sigma[dip] || best < 6*t.sigma[dip] || best < 0.08*hump || hump < 0.25*max(t.y[blue], t.y[red]) || wing < 0.3*t.y[red] {
		return t.findBroadened()
	}
	// Neon has a gap at 590 nm, too, and its lines go on beyond it.
	neon := 0
	for _, nm := range [...]float64{633.44, 640.22, 650.65, 659.90} {
		for _, p := range peaks {
			if math.Abs(p.nm-nm) < reach+0.3*t.bandwidth && p.height > 0.35*best {
				neon++
				break
			}
		}
	}
	if neon > 1 {
		return r, false
	}
	r = reversal{dip: t.x[dip], blue: t.x[blue], red: t.x[red], depth: 1 - t.y[dip]/hump,
		height: hump, heightSigma: t.sigma[dip]}
	r.from, r.to = min(t.x[blue]-2, 583), max(t.x[red]+3, 600)
	r.power = t.integral(560, 620)
	return r, true
}

// findBroadened looks for the same pair without its dip, which a coarse
// instrument fills: one hill at 589 nm much wider than a line.
func (t *trace) findBroadened() (r reversal, ok bool) {
	top := t.highest(sodiumD-5, sodiumD+6)
	if top < 0 || t.y[top] < 8*t.sigma[top] {
		return r, false
	}
	width, rise, _ := t.prominence(top)
	if width < max(1.8*t.bandwidth, 3) || width > 40 || rise < max(0.3*t.y[top], 8*t.sigma[top]) {
		return r, false
	}
	x := t.x[top]
	return reversal{dip: x, blue: x - width/2, red: x + width/2, from: min(x-width/2, 583), to: max(x+width/2, 597),
		power: t.integral(560, 620), height: t.y[top], heightSigma: t.sigma[top]}, true
}

// words describes the D region in a sentence.
func (r *reversal) words() string {
	if r.depth == 0 {
		return fmt.Sprintf("the sodium D lines are broadened to %.0f nm at %.1f nm; the dip of self-reversal is not resolved", r.red-r.blue, r.dip)
	}
	return fmt.Sprintf("the sodium D lines are self-reversed: a dip at %.1f nm, %s deep, between humps at %.0f and %.0f nm",
		r.dip, percent(r.depth), r.blue, r.red)
}

// climb walks from sample i in a direction, at most 40 nm, and returns the
// highest sample before the curve has fallen a tenth below it.
func (t *trace) climb(i, step int) int {
	top := i
	for j := i; j >= 0 && j < len(t.y) && math.Abs(t.x[j]-t.x[i]) < 40; j += step {
		if t.y[j] > t.y[top] {
			top = j
		} else if t.y[j] < 0.9*t.y[top]-4*t.sigma[j] {
			break
		}
	}
	return top
}

// replacePeaks drops the maxima on the humps and puts one peak in the dip: the
// place where the D lines are.
func (r *reversal) replacePeaks(t *trace, peaks []peak) []peak {
	out := t.peakRoom.take(len(peaks) + 1)[:0]
	placed := false
	d := peak{nm: sodiumD, height: r.height, sigma: r.heightSigma, nmU: max(1, t.medianPitch()/2),
		width: r.red - r.blue, index: t.at(r.dip), clarity: r.height / r.heightSigma, claim: -1}
	for _, p := range peaks {
		if p.nm > d.nm && !placed {
			out, placed = append(out, d), true
		}
		if p.nm < r.from || p.nm > r.to {
			out = append(out, p)
		}
	}
	if !placed {
		out = append(out, d)
	}
	return out
}
