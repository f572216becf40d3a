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
// against chance.
func (s *search) score(em *emitter, features []feature, shift float64, matches []match) verdict {
	v := verdict{shift: shift}
	// Where are its features, and what of it is seen?
	for i := range features {
		f := &features[i]
		at := f.nm + shift
		m := match{feature: f, weight: f.weight, peak: -1}
		lo, hi := s.ruler.between(at-f.margin, at+f.margin)
		bestFit := -4.6 // 3 σ
		for j := lo; j < hi; j++ {
			p := &s.peaks[j]
			u := s.place(em, f, p)
			d := (p.nm - at) / u
			fit := -0.5 * d * d
			if p.claim >= 0 {
				fit -= 1
			}
			if fit > bestFit {
				bestFit, m.peak = fit, j
			}
		}
		k := s.t.at(at)
		if s.lnLimits[k] == 0 {
			s.lnLimits[k] = math.Log(s.limits[k])
		}
		m.limit, m.lnLimit = s.limits[k], s.lnLimits[k]
		m.lnWeight = f.lnWeight
		if m.peak >= 0 {
			p := &s.peaks[m.peak]
			m.place = s.place(em, f, p)
			m.lnHeight = p.lnHeight
			m.lnChance = math.Log(m.place * math.Sqrt(2*math.Pi) * s.chance[m.peak])
		}
		matches = append(matches, m)
	}
	v.matches = matches
	// The shift these peaks agree on, and what it costs to have chosen it.
	w0 := 1 / (s.shiftU * s.shiftU)
	sum, weight := 0.0, w0
	for _, m := range matches {
		if m.peak < 0 || s.peaks[m.peak].claim >= 0 {
			continue
		}
		w := 1 / (m.place * m.place)
		sum += (s.peaks[m.peak].nm - m.feature.nm - s.shift) * w
		weight += w
		v.fresh++
	}
	if v.fresh == 0 || !s.stands(matches, em.ion) {
		v.logOdds = math.Inf(-1)
		return v
	}
	position := 0.0
	if !em.ion {
		v.shift = s.shift + sum/weight
		v.shiftU = 1 / math.Sqrt(weight)
		d := (v.shift - s.shift) / s.shiftU
		position = -0.5*d*d + math.Log(v.shiftU/s.shiftU)
	}
	// The amount: each of the strongest that are seen may set it.
	v.logOdds = math.Inf(-1)
	tries, tried := 0, 0.0
	for i := range matches {
		m := &matches[i]
		if m.peak < 0 || s.peaks[m.peak].claim >= 0 || tries == 4 {
			continue
		}
		lnScale := m.lnHeight - m.lnWeight
		if tries > 0 && math.Abs(lnScale-tried) < 0.1 {
			continue // much the same
		}
		tries++
		tried = lnScale
		if l := s.likelihood(em, matches, v.shift, lnScale); l > v.logOdds {
			v.logOdds, v.scale = l, math.Exp(lnScale)
		}
	}
	v.logOdds += position + math.Log(em.odds)
	return v
}

// stands reports whether at least one of the fresh matches would be a line by
// itself; clearly so, of a line's width and without an equal missing where it is
// the only one. Weak maxima support an element, they do not make one. An ion of a
// phosphor shows all its strong groups or is not there.
func (s *search) stands(matches []match, ion bool) bool {
	fresh, strong, best, scale, odd := 0, 0, 0.0, 0.0, false
	for _, m := range matches {
		if m.weight > 0.3 {
			strong++
		}
		if m.peak >= 0 && s.peaks[m.peak].claim < 0 && m.weight > 0.05 {
			fresh++
			best = max(best, s.peaks[m.peak].clarity)
			w := s.peaks[m.peak].width / s.t.bandwidth
			// Where a blend is about to split, each of its tops is narrow.
			odd = w > 2.2+2*m.feature.spread/s.t.bandwidth || w < 0.4 && m.feature.spread < 0.2*s.t.bandwidth
			scale = max(scale, s.peaks[m.peak].height/m.weight)
		}
	}
	switch {
	case ion:
		return best >= 2*significant && fresh >= min(strong, 2)
	case fresh > 1:
		return best >= together
	}
	for _, m := range matches {
		if m.peak < 0 && m.weight > 0.7 && m.feature.nm > 395 && m.limit < 0.3*scale*m.weight {
			return false
		}
	}
	return best >= alone && !odd
}

// likelihood sums what each feature says when the strongest has the height
// whose logarithm is lnScale.
func (s *search) likelihood(em *emitter, matches []match, shift, lnScale float64) float64 {
	sum := 0.0
	for i := range matches {
		m := &matches[i]
		lnExpected := lnScale + m.lnWeight
		if m.peak < 0 {
			sum += m.absence(lnExpected)
			continue
		}
		p := &s.peaks[m.peak]
		r := (m.lnHeight - lnExpected) / ratioSpread
		if p.claim >= 0 { // something else is there: it only must not be too weak
			if r < 0 {
				sum -= min(0.5*r*r, worstRatio)
			}
			continue
		}
		d := (p.nm - m.feature.nm - shift) / m.place
		l := -0.5*d*d - m.lnChance - min(0.5*r*r, worstRatio)
		if em.ion {
			// A Stark group is not as narrow as an atomic line.
			if w := math.Log(p.width/math.Hypot(s.t.bandwidth, m.feature.members[0].blur)) / 0.25; w < 0 {
				l -= min(0.5*w*w, 5)
			}
		}
		sum += max(min(l, bestMatch), m.absence(lnExpected))
	}
	return sum
}

// absence returns the logarithm of the probability that a feature stays below
// its limit of detection, bounded by how far that can be trusted: glass stops
// the ultraviolet, silicon and fibres fade at the other end, lines absorb
// themselves.
func (m *match) absence(lnExpected float64) float64 {
	r := (m.lnLimit - lnExpected) / ratioSpread
	if r > 2 {
		return 0
	}
	worst := -4.0
	switch nm := m.feature.nm; {
	case nm < 330:
		worst = -0.7
	case nm < 395:
		worst = -1
	case nm > 860:
		worst = -2.5
	case m.weight > 0.5:
		worst = -6
	case m.weight < 0.1: // from high levels: hot or cold, they come and go
		worst = -0.4
	case m.weight < 0.25:
		worst = -2
	}
	return max(lnPhi(r), worst)
}

// lnPhi returns ln Φ(r), the logarithm of the normal distribution function, for r
// up to 2 by a table in steps of 1/32, right to 10⁻³; below −6 the value at −6,
// which is −20.7.
func lnPhi(r float64) float64 {
	t := lnPhis()
	x := max(0, (r+6)*32)
	i := min(int(x), len(t)-2)
	return t[i] + (t[i+1]-t[i])*(x-float64(i))
}

var lnPhis = sync.OnceValue(func() *[8*32 + 2]float64 {
	t := new([8*32 + 2]float64)
	for i := range t {
		t[i] = math.Log(0.5 * math.Erfc(-(float64(i)/32-6)/math.Sqrt2))
	}
	return t
})

// findLimits works out the limits from the noise of the filter and from what
// stands beside or on top.
func (s *search) findLimits(sigma []float64) {
	s.limits = make([]float64, len(sigma))
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
	s.lnLimits = make([]float64, len(s.limits))
	places := make([]float64, len(s.peaks))
	for i := range s.peaks {
		places[i] = s.peaks[i].nm
		s.peaks[i].lnHeight = math.Log(s.peaks[i].height)
	}
	s.ruler = newRuler(places)
}
