package emission

import (
	"math"
	"sync"
)

const (
	// Tabulated relative intensities belong to one particular discharge; in a
	// lamp they are off by this factor, as a standard deviation of its
	// logarithm, and now and then by much more.
	ratioSpread = 1.1
	worstRatio  = 4.0 // cost of any ratio, at most
	// No single coincidence counts for more than this, however rare.
	bestMatch = 4.5
	// alone is the signal-to-noise ratio from which one feature may stand for an
	// element.
	alone = 6.5
	// together is that for the clearest of several, which confirm each other.
	together = 4.8
	// blendShift is how far the ratios of its lines move a blend, as a standard
	// deviation in units of their spread; twice as far where it is about to split
	// and follows whichever line is stronger.
	blendShift = 0.4
	// strongest is how many of an emitter's features are put to the test.
	strongest = 16
)

// place returns the standard deviation of the distance between a peak and the
// feature it may be.
func (s *search) place(em *emitter, f *feature, p *peak) float64 {
	v := p.nmU*p.nmU + f.wander*f.wander
	if em.ion {
		return math.Sqrt(v + 1 + s.shiftU*s.shiftU)
	}
	return math.Sqrt(v + s.crook*s.crook)
}

// score weighs an emitter at one shift of the axis: the logarithm of its odds
// against chance, or −∞ where they cannot be above beat.
func (s *search) score(em *emitter, features []feature, shift, beat float64, matches []match) verdict {
	v := verdict{shift: shift, logOdds: math.Inf(-1)}
	// Where are its features, and what of it is seen?
	matches = matches[:len(features)]
	for i := range features {
		f, m := &features[i], &matches[i]
		at := f.nm + shift
		*m = match{feature: f, weight: f.weight, lnWeight: f.lnWeight, peak: -1}
		bestFit := -4.6 // 3 σ
		for j := s.ruler.from(at - f.margin); j < len(s.peaks) && s.ruler.x[j] <= at+f.margin; j++ {
			p := &s.peaks[j]
			u := s.place(em, f, p)
			d := (p.nm - at) / u
			fit := -0.5 * d * d
			if p.claim >= 0 {
				fit -= 1
			}
			if fit > bestFit {
				bestFit, m.peak, m.place = fit, j, u
			}
		}
		m.sample = s.t.at(at)
		m.limit = s.limits[m.sample]
	}
	v.matches = matches
	// The shift these peaks agree on, and what it costs to have chosen it.
	w0 := 1 / (s.shiftU * s.shiftU)
	sum, weight := 0.0, w0
	for i := range matches {
		m := &matches[i]
		if m.peak < 0 {
			continue
		}
		p := &s.peaks[m.peak]
		m.lnHeight, m.fresh = p.lnHeight, p.claim < 0
		if !m.fresh {
			continue
		}
		w := 1 / (m.place * m.place)
		sum += (p.nm - m.feature.nm - s.shift) * w
		weight += w
		v.fresh++
	}
	if v.fresh == 0 || !s.stands(matches, em.ion) {
		return v
	}
	position := 0.0
	if !em.ion {
		v.shift = s.shift + sum/weight
		v.shiftU = 1 / math.Sqrt(weight)
		d := (v.shift - s.shift) / s.shiftU
		position = -0.5*d*d + math.Log(v.shiftU/s.shiftU)
	}
	prior := math.Log(em.odds)
	// What the places say holds for every amount, and what is absent speaks
	// against it.
	most := position + prior
	for i := range matches {
		m := &matches[i]
		if m.fresh {
			m.weigh(s, em, v.shift)
			most += max(min(m.lnPlace, bestMatch), 0)
		}
	}
	if most < beat-1e-9 { // rounding aside
		return v
	}
	for i := range matches {
		if m := &matches[i]; m.peak < 0 || m.fresh {
			m.lnLimit = s.lnLimit(m.sample)
		}
	}
	// The amount: each of the strongest that are seen may set it.
	tries, tried := 0, 0.0
	for i := range matches {
		m := &matches[i]
		if !m.fresh || tries == 4 {
			continue
		}
		lnScale := m.lnHeight - m.lnWeight
		if tries > 0 && math.Abs(lnScale-tried) < 0.1 {
			continue // much the same
		}
		tries++
		tried = lnScale
		if l := likelihood(matches, lnScale); l > v.logOdds {
			v.logOdds, v.scale = l, math.Exp(lnScale)
		}
	}
	v.logOdds += position + prior
	return v
}

// weigh works out what the place of a fresh match is worth, and what is held
// against the width of an ion's: a Stark group is not as narrow as an atomic line.
func (m *match) weigh(s *search, em *emitter, shift float64) {
	p := &s.peaks[m.peak]
	d := (p.nm - m.feature.nm - shift) / m.place
	m.lnPlace = -0.5*d*d - math.Log(m.place*math.Sqrt(2*math.Pi)*s.chance[m.peak])
	if em.ion {
		if w := math.Log(p.width/math.Hypot(s.t.bandwidth, m.feature.members[0].blur)) / 0.25; w < 0 {
			m.tooNarrow = min(0.5*w*w, 5)
		}
	}
}

// lnLimit returns the logarithm of the limit at a sample.
func (s *search) lnLimit(sample int) float64 {
	if s.lnLimits[sample] == 0 {
		s.lnLimits[sample] = math.Log(s.limits[sample])
	}
	return s.lnLimits[sample]
}

// stands reports whether at least one of the fresh matches would be a line by
// itself; clearly so, of a line's width and without an equal missing where it is
// the only one. Weak maxima support an element, they do not make one. An ion of a
// phosphor shows all its strong groups or is not there.
func (s *search) stands(matches []match, ion bool) bool {
	fresh, strong, best, scale, odd := 0, 0, 0.0, 0.0, false
	for i := range matches {
		m := &matches[i]
		if m.weight > 0.3 {
			strong++
		}
		if m.fresh && m.weight > 0.05 {
			p := &s.peaks[m.peak]
			fresh++
			best = max(best, p.clarity)
			w := p.width / s.t.bandwidth
			// Where a blend is about to split, each of its tops is narrow.
			odd = w > 2.2+2*m.feature.spread/s.t.bandwidth || w < 0.4 && m.feature.spread < 0.2*s.t.bandwidth
			scale = max(scale, p.height/m.weight)
		}
	}
	switch {
	case ion:
		return best >= 2*significant && fresh >= min(strong, 2)
	case fresh > 1:
		return best >= together
	}
	for i := range matches {
		m := &matches[i]
		if m.peak < 0 && m.weight > 0.7 && m.feature.nm > 395 && m.limit < 0.3*scale*m.weight {
			return false
		}
	}
	return best >= alone && !odd
}

// likelihood sums what each feature says when the strongest has the height
// whose logarithm is lnScale.
func likelihood(matches []match, lnScale float64) float64 {
	sum, phis := 0.0, lnPhis()
	for i := range matches {
		m := &matches[i]
		lnExpected := lnScale + m.lnWeight
		if m.peak < 0 {
			sum += m.absence(phis, lnExpected)
			continue
		}
		r := (m.lnHeight - lnExpected) / ratioSpread
		if !m.fresh { // something else is there: it only must not be too weak
			if r < 0 {
				sum -= min(0.5*r*r, worstRatio)
			}
			continue
		}
		l := min(m.lnPlace-min(0.5*r*r, worstRatio)-m.tooNarrow, bestMatch)
		if l < 0 { // no worse than if it were absent
			l = max(l, m.absence(phis, lnExpected))
		}
		sum += l
	}
	return sum
}

// absence returns the logarithm of the probability that a feature stays below
// its limit of detection, bounded by how far that can be trusted.
func (m *match) absence(phis *phiTable, lnExpected float64) float64 {
	r := (m.lnLimit - lnExpected) / ratioSpread
	if r > 2 {
		return 0
	}
	return max(phis.at(r), m.feature.worst)
}

// worstAbsence is how far the absence of a feature of some weight can be trusted,
// as the logarithm of a probability: glass stops the ultraviolet, silicon and
// fibres fade at the other end, lines absorb themselves.
func worstAbsence(nm, weight float64) float64 {
	switch {
	case nm < 330:
		return -0.7
	case nm < 395:
		return -1
	case nm > 860:
		return -2.5
	case weight > 0.5:
		return -6
	case weight < 0.1: // from high levels: hot or cold, they come and go
		return -0.4
	case weight < 0.25:
		return -2
	}
	return -4
}

// phiTable holds the logarithm of the normal distribution function from −6 to 2
// in steps of 1/32.
type phiTable [8*32 + 2]float64

// at returns ln Φ(r) for r up to 2, right to 10⁻³; below −6 the value at −6, which
// is −20.7.
func (t *phiTable) at(r float64) float64 {
	x := max(0, (r+6)*32)
	i := min(uint(int(x)), uint(len(t)-2))
	return t[i] + (t[i+1]-t[i])*(x-float64(int(i)))
}

var lnPhis = sync.OnceValue(func() *phiTable {
	t := new(phiTable)
	for i := range t {
		t[i] = math.Log(0.5 * math.Erfc(-(float64(i)/32-6)/math.Sqrt2))
	}
	return t
})

// findLimits works out the limits from the noise of the filter and from what
// stands beside or on top.
func (s *search) findLimits(sigma []float64) {
	s.limits = s.t.floats.take(len(sigma))
	for i, v := range sigma {
		s.limits[i] = weakest * v
	}
	for _, p := range s.peaks {
		lo, hi := s.t.span(p.nm-2*s.t.bandwidth, p.nm+2*s.t.bandwidth)
		for i := lo; i < hi; i++ {
			h := 0.4 * p.height
			if math.Abs(s.t.x[i]-p.nm) < 0.8*s.t.bandwidth {
				h = p.height
			}
			s.limits[i] = max(s.limits[i], h)
		}
	}
	s.lnLimits = s.t.floats.take(len(s.limits))
	places := s.t.floats.take(len(s.peaks))
	for i := range s.peaks {
		places[i] = s.peaks[i].nm
		s.peaks[i].lnHeight = math.Log(s.peaks[i].height)
	}
	s.ruler.reset(places)
}
