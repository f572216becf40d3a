package emission

import (
	"math"

	"lampassay/light/standards"
)

// portrait is what the naming of the family looks at: figures of the whole
// spectrum that a person can check against the curve.
type portrait struct {
	r         *Result
	t         *trace
	bins      []bin   // of the curve with its lines, about 4 nm
	under     []bin   // of the curve without its lines
	underTop  float64 // largest of under
	glows     bool    // there is a continuum in the red
	hills     []hill
	reversed  reversal
	reversedD bool

	total, visible float64 // what of 200–1000 and 380–780 nm rises above floor and noise
	floor          float64 // a pedestal of stray light or dark signal
	hot            hotBody
	isHot          bool
	mirror         bool               // the curve is a hot body's but for the deep red
	mirrored       *hotBody           // behind a cold-light mirror, once it has been fitted
	daylight       float64            // misfit of CIE daylight, +Inf where it cannot be fitted
	share          map[string]float64 // lines of an emitter as a share of total
	atoms          float64            // all atoms' lines
	visibleLines   float64            // atoms' and unexplained lines within 380–780 nm, the spectrum's unit times nm
	clear          int                // lines of no ion that rise to 5 % of the largest sample
	bandLike       int                // unexplained lines as wide as a diode's emission
	unexplained    float64
	unexplainedN   int
}

// hill is a maximum of the curve seen at a resolution of about 4 nm.
type hill struct {
	nm, height, width float64 // width at half prominence, nm
	prominence        float64
	left, right       float64 // nm, the valleys
}

// hills finds the maxima that rise by at least 4 % of the highest bin above the
// higher of their two valleys.
func (t *trace) hills(bins []bin) []hill {
	top := 0.0
	for _, b := range bins {
		if b.value > 6*b.sd {
			top = max(top, b.value)
		}
	}
	var all []hill
	for i, b := range bins {
		if b.value < 0.04*top || b.value < 6*b.sd || (i > 0 && bins[i-1].value > b.value) || (i+1 < len(bins) && bins[i+1].value >= b.value) {
			continue
		}
		left, right := i, i
		for j := i - 1; j >= 0 && bins[j].value <= b.value; j-- {
			if bins[j].value < bins[left].value {
				left = j
			}
		}
		for j := i + 1; j < len(bins) && bins[j].value <= b.value; j++ {
			if bins[j].value < bins[right].value {
				right = j
			}
		}
		h := hill{nm: b.nm, height: b.value, left: bins[left].nm, right: bins[right].nm}
		h.prominence = b.value - max(bins[left].value, bins[right].value)
		if h.prominence < max(0.04*top, 6*b.sd) {
			continue
		}
		level := b.value - h.prominence/2
		lo, hi := i, i
		for lo > left && bins[lo].value > level {
			lo--
		}
		for hi < right && bins[hi].value > level {
			hi++
		}
		cross := func(a, b int) float64 { // bins[a] at or below the level, bins[b] above
			va, vb := bins[a].value, bins[b].value
			if va >= level || a == b {
				return bins[a].nm
			}
			return bins[a].nm + (bins[b].nm-bins[a].nm)*(level-va)/(vb-va)
		}
		h.width = cross(hi, max(hi-1, i)) - cross(lo, min(lo+1, i))
		all = append(all, h)
	}
	return all
}

// newPortrait gathers the figures.
func newPortrait(r *Result, t *trace, continuum []float64, reversed reversal, isReversed bool) *portrait {
	p := &portrait{r: r, t: t, reversed: reversed, reversedD: isReversed, share: map[string]float64{}, daylight: math.Inf(1)}
	p.bins, p.under = t.bins(t.y), t.bins(continuum)
	for _, b := range p.under {
		p.underTop = max(p.underTop, b.value)
	}
	p.floor = t.pedestal(p.bins)
	for k, b := range p.bins {
		if v := b.value - p.floor; v > 3*b.sd {
			p.total += v * t.width(p.bins, k)
			if b.nm > 380 && b.nm < 780 {
				p.visible += v * t.width(p.bins, k)
			}
		}
	}
	if p.total <= 0 {
		return p
	}
	p.hills = t.hills(p.bins)
	for _, l := range r.Lines {
		a := l.Area / p.total
		if e := r.Element(l.Emitter); l.Centre > 380 && l.Centre < 780 && (e == nil || !e.Phosphor()) {
			p.visibleLines += l.Area
		}
		if e := r.Element(l.Emitter); (e == nil || !e.Phosphor()) && l.Area > 0.05*t.top*l.Width && l.Width < 0.7*thermalWidth(l.Centre) {
			p.clear++
		}
		switch e := r.Element(l.Emitter); {
		case l.Emitter == "":
			p.unexplained += a
			p.unexplainedN++
			if l.Width > 0.7*thermalWidth(l.Centre) {
				p.bandLike++
			}
		case e != nil && !e.Phosphor():
			p.atoms += a
			p.share[l.Emitter] += a
		default:
			p.share[l.Emitter] += a
		}
	}
	from, to := 420.0, 720.0
	// Only a continuum is fitted, not the pedestal of something else.
	seen := 0.0
	for _, b := range p.under {
		if b.nm > 380 && b.nm < 780 {
			seen = max(seen, b.value)
		}
	}
	if red := t.mean(600, 720) - p.floor; red > 0.05*seen && red > 0.005*p.underTop {
		p.glows = true
		p.hot, p.isHot = p.fitHot(p.bins, from, to, nil)
		p.mirror = (!p.isHot || p.hot.misfit > 0.05) && p.atoms < 0.3
		if p.mirror {
			_, p.mirror = p.fitMirror()
		}
	}
	if t.covers(from, 700) && t.mean(405, 685) > 0.1*t.top {
		p.daylight = daylightMisfit(p.bins)
	}
	return p
}

// pedestal returns the level that the dark parts of a spectrum share, at most 2 %
// of the largest sample: where there is a continuum it is small against it.
func (t *trace) pedestal(bins []bin) float64 {
	level := t.floats.take(len(bins))
	for i, b := range bins {
		level[i] = b.value
	}
	return min(max(quantile(level, 0.15), 0), 0.02*t.top)
}

// width returns how many nanometres bin k stands for.
func (t *trace) width(bins []bin, k int) float64 {
	lo, hi := max(k-1, 0), min(k+1, len(bins)-1)
	return (bins[hi].nm - bins[lo].nm) / float64(hi-lo)
}

// integral is that of the trace with the floor taken off.
func (p *portrait) integral(a, b float64) float64 {
	return p.t.integral(a, b) - p.floor*max(0, min(b, p.t.x[len(p.t.x)-1])-max(a, p.t.x[0]))
}

// fitHot fits a hot body to the bins as they are and with the floor taken off,
// and returns the better.
func (p *portrait) fitHot(bins []bin, from, to float64, use func(nm float64) bool) (hotBody, bool) {
	h, ok := fitHotBody(bins, from, to, use)
	if p.floor > 0 && (!ok || h.misfit > 0.02) {
		off := p.t.binRoom.take(len(bins))
		copy(off, bins)
		for i := range off {
			off[i].value -= p.floor
		}
		if g, good := fitHotBody(off, from, to, use); good && (!ok || g.misfit < h.misfit) {
			return g, true
		}
	}
	return h, ok
}

// area returns the summed area of the lines within [a, b].
func (p *portrait) area(a, b float64) float64 {
	sum := 0.0
	for _, l := range p.r.Lines {
		if l.Centre >= a && l.Centre <= b {
			sum += l.Area
		}
	}
	return sum
}

// has returns the score of an emitter, 0 where it was not found.
func (p *portrait) has(spectrum string) float64 {
	if e := p.r.Element(spectrum); e != nil {
		return e.Score
	}
	return 0
}

// dip returns how far the curve at a sinks below the straight line between b
// and c, as a share of that line; each figure is a mean over ±half nm. NaN where
// one of them is not covered.
func (p *portrait) dip(a, b, c, half float64) float64 {
	at := func(x float64) float64 { return p.t.mean(x-half, x+half) }
	f := (a - b) / (c - b)
	line := at(b)*(1-f) + at(c)*f
	return 1 - at(a)/line
}

// daylightMisfit returns the root mean square relative misfit of the best sum
// of the components of CIE daylight (CIE 15:2018 clause 4.1.2) within 400–700
// nm, +Inf where its weights are not near those of any daylight. The water and oxygen bands beyond
// 685 nm are left out.
func daylightMisfit(bins []bin) float64 {
	d := standards.Daylight()
	var normal [fitRow][fitRow]float64
	var c [fitRow]float64
	var rows [bandBins][4]float64
	n := 0
	for _, b := range bins {
		if b.nm < 405 || b.nm > 685 || n == len(rows) {
			continue
		}
		if b.value <= 0 {
			return math.Inf(1)
		}
		i := int(math.Round(b.nm)) - d.S0.First
		rows[n] = [4]float64{d.S0.W[i] / b.value, d.S1.W[i] / b.value, d.S2.W[i] / b.value, 1}
		for a := range 3 {
			for k := range 3 {
				normal[a][k] += rows[n][a] * rows[n][k]
			}
			normal[3][a] += rows[n][a] // right-hand side
		}
		n++
	}
	if n < 12 || !factor(&normal, 3) {
		return math.Inf(1)
	}
	solve(&normal, &c, 3)
	if c[0] <= 0 {
		return math.Inf(1)
	}
	off := math.Inf(1)
	for mired := 40.0; mired <= 250; mired += 5 {
		m1, m2 := standards.DaylightWeightsAt(1e6 / mired)
		off = min(off, math.Hypot(c[1]/c[0]-m1, c[2]/c[0]-m2))
	}
	if off > 1 {
		return math.Inf(1)
	}
	sum := 0.0
	for _, r := range rows[:n] {
		e := c[0]*r[0] + c[1]*r[1] + c[2]*r[2] - 1
		sum += e * e
	}
	return math.Sqrt(sum / float64(n))
}

// ramp is 0 at a, 1 at b and straight between; a may be above b.
func ramp(x, a, b float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return min(max((x-a)/(b-a), 0), 1)
}
