package emission

import (
	"cmp"
	"math"
	"slices"
)

// peak is one maximum of the line filter: where something as narrow as the
// instrument stands out.
type peak struct {
	nm       float64
	height   float64 // of a line of the instrument's width, above its surroundings
	sigma    float64 // standard deviation of height
	nmU      float64 // standard deviation of nm from noise and sampling alone
	width    float64 // full width at half prominence, nm, read off the samples
	index    int     // nearest sample
	lnHeight float64
	// clarity is the signal-to-noise ratio in the filter that suits the hill: of
	// twice the width for a blend.
	clarity float64
	claim   int // which emitter explains it: index into the catalogue, −1 none
}

func (p *peak) snr() float64 { return p.height / p.sigma }

const (
	// weakest is the signal-to-noise ratio from which a maximum is looked at
	// where an emitter already calls for a line; significant is the one from
	// which a line is reported on its own. At 5.5 σ a spectrum of a thousand
	// independent places has a false line about once in fifty thousand; the
	// rest of the margin covers the error of the noise estimate itself.
	weakest     = 3.3
	significant = 5.5
	// A line must also exceed this share of what it stands on: ripple of that
	// size is left by any response correction.
	ripple = 0.006
	// In a coarse table every kink of a curve looks like a line.
	coarseRipple = 0.04
	// shapeError is how far the wings of a real instrument's line depart from
	// the assumed shape, as a share of its height. Nothing weaker is believed
	// beside a strong line.
	shapeError = 0.02
	// blendError is the same for a hill that is wider than one line.
	blendError = 0.12
)

// peaks returns the maxima of the line filter above the weakest threshold, by
// wavelength, and the noise of the filter by sample.
func (t *trace) peaks() (all []peak, sigma []float64) {
	height, sigma := t.filter()
	table := leaks()
	t.leaking = &table[min(max(int(math.Round(t.bandwidth/t.medianPitch())), 1), leakWidths)]
	n := len(height)
	all = t.found[:0]
	for i := range height {
		h := height[i]
		if h < weakest*sigma[i] || (i > 0 && height[i-1] >= h) || (i+1 < n && height[i+1] > h) {
			continue
		}
		if i < 2 || i+3 > n {
			continue // no flank to see
		}
		p := peak{nm: t.x[i], height: h, sigma: sigma[i], index: i, claim: -1}
		p.nm, p.height = vertex(t.x[i-1:i+2], height[i-1:i+2])
		// The floor of a sixth of a sample is what sampling itself leaves of
		// a line hardly wider than a sample.
		samples := t.bandwidth / t.pitch[i]
		p.nmU = math.Hypot(0.6*t.bandwidth*p.sigma/p.height, t.pitch[i]*max(0.02, 0.3-0.1*samples))
		if t.flat(i, p.height) {
			continue
		}
		p.width, _, _ = t.prominence(i)
		if t.coarse() && p.width == 0 {
			continue // the foot of something broad bends like a line
		}
		if t.isBand(&p, sigma[i]) {
			continue
		}
		p.clarity = p.snr()
		if p.width > 1.4*t.bandwidth && p.clarity < alone {
			k := newKernel(min(p.width/t.bandwidth, 2) * t.samples(i))
			p.clarity = max(p.clarity, k.response(t.y, i)/(k.norm*t.sigma[i]))
		}
		all = append(all, p)
	}
	t.found = all[:0]
	return t.believable(all), sigma
}

// flat reports whether the curve itself does not rise near sample i as a line
// of the given height would: the filter then only answers to what stands
// further off.
func (t *trace) flat(i int, height float64) bool {
	lo, hi := t.span(t.x[i]-1.5*t.bandwidth, t.x[i]+1.5*t.bandwidth)
	low := slices.Min(t.y[min(lo, i):max(hi, i+1)])
	high := max(t.y[max(i-1, 0)], t.y[i], t.y[min(i+1, len(t.y)-1)])
	return high-low < 0.4*height
}

// isBand reports whether a maximum belongs to something much wider than the
// instrument. The filter of twice the width sees four to sixteen times as much
// of that; and it is a hill too wide for a line, or no hill at all but the bend
// of one.
func (t *trace) isBand(p *peak, sigma float64) bool {
	if p.width > 0.5*t.bandwidth && p.width < t.widestLine() {
		return false
	}
	k := newKernel(2 * t.samples(p.index))
	wide := k.response(t.y, p.index)
	ratio := 1.6
	if p.width <= 0.5*t.bandwidth { // could be one half of a close pair
		ratio = 3
	}
	return wide-ratio*p.height > 2*sigma
}

// believable takes off what stronger neighbours leave in the filter, and drops
// maxima that the imperfect shape of a neighbour, or ripple on a continuum, can
// account for.
//
// The filter answers to a line not only where it is: beside it the answer is
// negative, and further out, where the line pulls at the parabola's ends,
// positive again. The strongest peaks are settled first.
func (t *trace) believable(all []peak) []peak {
	reach := 3 * t.bandwidth
	least := ripple
	if t.coarse() {
		least = coarseRipple
	}
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(all[b].height, all[a].height) })
	settled := make([]bool, len(all))
	keep := make([]bool, len(all))
	for _, i := range order {
		p := &all[i]
		excuse, ghost := 0.0, 0.0
		consider := func(q *peak) {
			share := shapeError
			if q.width > 1.2*t.bandwidth && !t.coarse() { // a blend, or broadened: its shape is not the filter's
				share = blendError
			}
			excuse = max(excuse, share*q.height)
			ghost += q.height * t.leak((p.nm-q.nm)/t.bandwidth)
		}
		for j := i - 1; j >= 0 && p.nm-all[j].nm < reach; j-- {
			if settled[j] {
				consider(&all[j])
			}
		}
		for j := i + 1; j < len(all) && all[j].nm-p.nm < reach; j++ {
			if settled[j] {
				consider(&all[j])
			}
		}
		p.height -= ghost
		if excuse > 0 {
			p.sigma = math.Hypot(p.sigma, excuse/2+0.1*math.Abs(ghost))
			p.clarity = min(p.clarity, p.height/(excuse/2))
		}
		under := max(0, t.y[p.index]-p.height)
		if p.height > excuse && p.height > least*under && p.snr() >= weakest {
			keep[i], settled[i] = true, true
		}
	}
	kept := all[:0]
	for i, p := range all {
		if keep[i] {
			kept = append(kept, p)
		}
	}
	return kept
}

// vertex returns the top of the parabola through three points around a maximum.
func vertex(x, y []float64) (at, height float64) {
	a, b := y[1]-y[0], y[1]-y[2]
	if a+b <= 0 {
		return x[1], y[1]
	}
	f := 0.5 * (a - b) / (a + b)
	if f < 0 {
		at = x[1] + f*(x[1]-x[0])
	} else {
		at = x[1] + f*(x[2]-x[1])
	}
	return at, y[1] + 0.25*f*(a-b)
}

// prominence returns the width of the hill around sample i, in nm, at half its
// rise over the line that joins the feet on its two sides, and the rise. A foot
// is the lowest sample before the curve clearly rises again, at most widest
// away. Both are 0 where there is no hill. even reports that the feet are about
// level: half of a pair has one foot in the valley between, and its width is not
// that of a line.
func (t *trace) prominence(i int) (width, rise float64, even bool) {
	const widest = 60 // nm
	// The filter's maximum may be a sample beside the curve's own.
	for range 3 {
		switch {
		case i > 0 && t.y[i-1] > t.y[i]:
			i--
		case i+1 < len(t.y) && t.y[i+1] > t.y[i]:
			i++
		}
	}
	x, y, sigma := t.x, t.y[:len(t.x)], t.sigma[:len(t.x)]
	xi, top := x[i], y[i]
	left, right := i, i
	low := top
	for j := i - 1; j >= 0 && y[j] <= top && xi-x[j] < widest; j-- {
		if y[j] < low {
			left, low = j, y[j]
		} else if y[j] > low+0.25*(top-low) && y[j]-low > 4*sigma[j] {
			break // up again: another hill
		}
	}
	low = top
	for j := i + 1; j < len(x) && y[j] <= top && x[j]-xi < widest; j++ {
		if y[j] < low {
			right, low = j, y[j]
		} else if y[j] > low+0.25*(top-low) && y[j]-low > 4*sigma[j] {
			break
		}
	}
	if left == right {
		return 0, 0, false
	}
	base := func(j int) float64 {
		f := (t.x[j] - t.x[left]) / (t.x[right] - t.x[left])
		return t.y[left]*(1-f) + t.y[right]*f
	}
	rise = t.y[i] - base(i)
	half := rise / 2
	crossing := func(step int) float64 {
		for j := i; j != left && j != right; j += step {
			a, b := t.y[j]-base(j)-half, t.y[j+step]-base(j+step)-half
			if b <= 0 && a > b {
				return t.x[j] + (t.x[j+step]-t.x[j])*a/(a-b)
			}
		}
		return t.x[i]
	}
	return crossing(1) - crossing(-1), rise, rise > 0.8*(t.y[i]-min(t.y[left], t.y[right]))
}

// estimateBandwidth sets the instrument's width: the given one, or what the
// narrow hills of this spectrum agree on. Blends and phosphor groups are wider
// than the instrument and a hot pixel is narrower, so it is a low quantile
// that counts, not the least.
func (t *trace) estimateBandwidth(given float64) {
	pitch := t.medianPitch()
	if given > 0 {
		t.bandwidth, t.measured = max(given, pitch), true
		return
	}
	if t.coarse() {
		// The triangle that linear reading makes of a line at one sample.
		t.bandwidth = 1.15 * pitch
		return
	}
	t.bandwidth = max(1, 2.5*pitch)
	const widestInstrument = 8.5 // nm
	var widths, blended []float64
	for i := 2; i+2 < len(t.y); i++ {
		v := t.y[i]
		if v <= t.y[i-1] || v < t.y[i+1] || v < 0.02*t.top || v < 15*t.sigma[i] {
			continue
		}
		if !t.fallsBothWays(i, max(3*t.sigma[i], 0.02*v), widestInstrument) {
			continue
		}
		w, rise, even := t.prominence(i)
		if rise < max(12*t.sigma[i], 0.1*v) || w < 0.8*pitch || w > widestInstrument {
			continue
		}
		if even {
			widths = append(widths, w)
		} else {
			blended = append(blended, w)
		}
	}
	if len(widths) == 0 {
		widths = blended
	}
	if len(widths) == 0 {
		return
	}
	t.bandwidth, t.measured = max(quantile(widths, 0.3), 1.1*pitch), true
}

// fallsBothWays reports whether the curve sinks by so much on both sides of
// sample i, at most reach away in nm, before it rises above it. It is a quick
// look before a closer one.
func (t *trace) fallsBothWays(i int, much, reach float64) bool {
	for _, step := range [...]int{-1, 1} {
		j := i
		for ; ; j += step {
			if j < 0 || j >= len(t.y) || t.y[j] > t.y[i] || math.Abs(t.x[j]-t.x[i]) > reach {
				return false
			}
			if t.y[j] < t.y[i]-much {
				break
			}
		}
	}
	return true
}
