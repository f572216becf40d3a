package emission

import (
	"math"
	"slices"
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
	// deviation in units of their spread.
	blendShift = 0.4
	// strongest is how many of an emitter's features are put to the test.
	strongest = 16
)

// search is the state of the identification: which peaks are still
// unexplained, and how far the wavelength axis is off.
type search struct {
	t        *trace
	peaks    []peak
	features [][]feature
	reversed bool // the sodium D pair is self-reversed
	// shift is what the axis reads too high, shiftU its standard deviation.
	shift, shiftU float64
	// crook is what remains of the axis error when the common shift is gone.
	crook float64
	// limits is the height a line would need to be seen as a peak of its own, by
	// sample.
	limits []float64
	// chance is the density per nm of unexplained peaks about as strong, by
	// peak.
	chance []float64

	tested  [strongest]feature // scratch of judge
	buffers [2][strongest]match
}

// verdict is how well one emitter explains the peaks.
type verdict struct {
	emitter       int
	logOdds       float64
	shift, shiftU float64
	scale         float64 // height of the emitter's strongest feature in the range
	matches       []match // of the features put to the test
	fresh         int     // matches on peaks not explained before
	rivals        []rival
}

// rival is another emitter that would explain one of the same peaks.
type rival struct {
	emitter int
	logOdds float64
}

type match struct {
	feature *feature
	weight  float64 // relative to the strongest in range
	peak    int     // index, −1 missing
	limit   float64 // height that would have been seen
	place   float64 // standard deviation of the distance from the peak, nm
	// Natural logarithms, for every scale that is tried.
	lnWeight, lnLimit float64
	lnHeight          float64 // of the peak
	lnChance          float64 // of place·√2π·chance: what the place of the peak is worth
}

// explain finds the emitters. It is greedy: the emitter with the best odds
// takes its peaks, the axis is corrected by what they say, and the others are
// judged again on what is left.
func (s *search) explain() []verdict {
	var accepted, round []verdict
	open := make([]int, 0, len(s.features))
	s.countChances()
	mercury := s.judge(slices.IndexFunc(catalogue(), func(e emitter) bool { return e.spectrum == "Hg I" })).logOdds > 0
	for e, em := range catalogue() {
		switch {
		case em.spectrum == sodiumArc.spectrum && em.arc != s.reversed:
		case em.ion && !s.pumped(&em, mercury):
		default:
			open = append(open, e)
		}
	}
	for len(open) > 0 && len(accepted) < 12 {
		s.countChances()
		best := verdict{logOdds: 0, emitter: -1}
		kept, round := open[:0], round[:0]
		for _, e := range open {
			v := s.judge(e)
			if v.logOdds > rivalOdds {
				round = append(round, v)
			}
			// What is hopeless now does not recover: claims only take away.
			if v.logOdds > -12 {
				kept = append(kept, e)
			}
			if v.logOdds > best.logOdds {
				best = v
			}
		}
		open = kept
		if best.emitter < 0 {
			break
		}
		for _, v := range round {
			if v.emitter != best.emitter && v.shares(&best) {
				best.rivals = append(best.rivals, rival{v.emitter, v.logOdds})
			}
		}
		s.claim(&best)
		accepted = append(accepted, best)
		open = slices.DeleteFunc(open, func(e int) bool { return e == best.emitter })
	}
	return accepted
}

// rivalOdds is the logarithm of the odds, 1 : 10, from which another emitter is
// worth naming.
const rivalOdds = -2.3

// shares reports whether two verdicts build on a common peak.
func (v *verdict) shares(o *verdict) bool {
	for _, m := range v.matches {
		if m.peak >= 0 && slices.ContainsFunc(o.matches, func(n match) bool { return n.peak == m.peak }) {
			return true
		}
	}
	return false
}

// pumped reports whether there is anything to excite a phosphor: mercury for
// those of discharge lamps, a blue or violet band for the fluoride of LEDs,
// which ultraviolet would destroy.
func (s *search) pumped(em *emitter, mercury bool) bool {
	if em.spectrum != "Mn⁴⁺ (fluoride)" {
		return mercury
	}
	i := s.t.highest(395, 480)
	if mercury || i < 0 || s.t.y[i] < 0.03*s.t.top || s.t.y[i] < 6*s.t.sigma[i] {
		return false
	}
	// A band, not a line.
	return s.t.mean(s.t.x[i]-6, s.t.x[i]+6) > 0.6*s.t.y[i]
}

// countChances works out how likely a peak of some height stands anywhere by
// chance: the density, within 75 nm, of other unexplained peaks at least 0.6
// times as high, and a share for lines that no catalogue has, of which there are
// the more the fainter they are.
func (s *search) countChances() {
	const reach = 75.0
	top := 0.0
	for _, p := range s.peaks {
		top = max(top, p.height)
	}
	s.chance = slices.Grow(s.chance[:0], len(s.peaks))[:len(s.peaks)]
	for i, p := range s.peaks {
		count := 0.5 + 0.3*math.Sqrt(top/p.height)
		for j := i - 1; j >= 0 && p.nm-s.peaks[j].nm < reach; j-- {
			if q := &s.peaks[j]; q.claim < 0 && q.height >= 0.6*p.height {
				count++
			}
		}
		for j := i + 1; j < len(s.peaks) && s.peaks[j].nm-p.nm < reach; j++ {
			if q := &s.peaks[j]; q.claim < 0 && q.height >= 0.6*p.height {
				count++
			}
		}
		s.chance[i] = count / (2 * reach)
	}
}

// judge returns the best case that can be made for an emitter.
func (s *search) judge(e int) verdict {
	em := &catalogue()[e]
	worst := verdict{emitter: e, logOdds: math.Inf(-1)}
	tested := &s.tested
	n := 0
	edge := 0.5 * s.t.bandwidth
	top := 0.0
	for i := range s.features[e] {
		f := &s.features[e][i]
		if !s.t.covers(f.nm-edge, f.nm+edge) {
			continue
		}
		if n == 0 {
			top = f.weight
		}
		if n == strongest || f.weight < 0.02*top {
			break
		}
		tested[n] = *f
		tested[n].weight /= top
		n++
	}
	if n == 0 {
		return worst
	}
	features := tested[:n]
	// Every shift that puts one of the strongest features on a fresh peak is
	// tried.
	var tried [24]float64
	shifts := append(tried[:0], s.shift)
	if !em.ion {
		for i := 0; i < min(5, n); i++ {
			reach := 3 * math.Hypot(s.shiftU, blendShift*features[i].spread)
			lo, hi := s.between(features[i].nm+s.shift-reach, features[i].nm+s.shift+reach)
			for j := lo; j < hi && len(shifts) < cap(shifts); j++ {
				if s.peaks[j].claim >= 0 {
					continue
				}
				d := s.peaks[j].nm - features[i].nm
				if !slices.ContainsFunc(shifts, func(o float64) bool { return math.Abs(o-d) < 0.25*s.crook }) {
					shifts = append(shifts, d)
				}
			}
		}
	}
	best := worst
	into := 0
	for _, d := range shifts {
		v := s.score(em, features, d, s.buffers[into][:0])
		if v.logOdds > best.logOdds {
			v.emitter = e
			best = v
			into = 1 - into
		}
	}
	if best.logOdds < rivalOdds {
		best.matches = nil // no one will ask
		return best
	}
	best.matches = slices.Clone(best.matches)
	for i := range best.matches { // the list of tested features is used again
		m := &best.matches[i]
		at := slices.IndexFunc(s.features[e], func(f feature) bool { return f.nm == m.feature.nm })
		m.feature = &s.features[e][at]
	}
	return best
}

// between returns the index range of the peaks within [a, b].
func (s *search) between(a, b float64) (lo, hi int) {
	lo, hi = 0, len(s.peaks)
	for lo < hi {
		if mid := (lo + hi) / 2; s.peaks[mid].nm < a {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	for hi = lo; hi < len(s.peaks) && s.peaks[hi].nm <= b; hi++ {
	}
	return lo, hi
}

// place returns the standard deviation of the distance between a peak and the
// feature it may be.
func (s *search) place(em *emitter, f *feature, p *peak) float64 {
	v := p.nmU*p.nmU + blendShift*blendShift*f.spread*f.spread
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
		margin := 3*math.Hypot(s.crook, blendShift*f.spread) + 0.3*s.t.bandwidth
		if em.ion {
			margin = 3
		}
		lo, hi := s.between(at-margin, at+margin)
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
		m.limit = s.limits[s.t.at(at)]
		m.lnWeight, m.lnLimit = math.Log(m.weight), math.Log(m.limit)
		if m.peak >= 0 {
			p := &s.peaks[m.peak]
			m.place = s.place(em, f, p)
			m.lnHeight = math.Log(p.height)
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
	tries := 0
	for _, m := range matches {
		if m.peak < 0 || s.peaks[m.peak].claim >= 0 || tries == 4 {
			continue
		}
		tries++
		lnScale := m.lnHeight - m.lnWeight
		if l := s.likelihood(em, matches, v.shift, lnScale); l > v.logOdds {
			v.logOdds, v.scale = l, math.Exp(lnScale)
		}
	}
	v.logOdds += position + math.Log(em.odds)
	return v
}

// stands reports whether at least one of the fresh matches would be a line by
// itself; clearly so, of a line's width and without an equal missing where it is
// the only one: weak maxima support an element,
// they do not make one. A phosphor's ion has several strong groups or is not there.
func (s *search) stands(matches []match, ion bool) bool {
	fresh, strong, best, scale, odd := 0, 0, 0.0, 0.0, false
	for _, m := range matches {
		if m.weight > 0.3 {
			strong++
		}
		if m.peak >= 0 && s.peaks[m.peak].claim < 0 && m.weight > 0.05 {
			fresh++
			best = max(best, s.peaks[m.peak].snr())
			w := s.peaks[m.peak].width / s.t.bandwidth
			odd = w > 2.2+2*m.feature.spread/s.t.bandwidth || w < 0.4
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
		worst = -2
	case nm > 900:
		worst = -2.5
	case m.weight > 0.5:
		worst = -6
	case m.weight < 0.1: // from high levels: hot or cold, they come and go
		worst = -0.4
	case m.weight < 0.25:
		worst = -2
	}
	if r < -3.5 { // ln Φ(−3.5) = −8.4
		return worst
	}
	return max(math.Log(0.5*math.Erfc(-r/math.Sqrt2)), worst)
}

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
}

// claim gives an emitter its peaks: those put to the test, and weaker ones
// where its remaining lines are. An atom's peaks then say how far the axis is
// off.
func (s *search) claim(v *verdict) {
	em := &catalogue()[v.emitter]
	top := 0.0
	for _, m := range v.matches {
		top = max(top, m.feature.weight)
	}
	for i := range s.features[v.emitter] {
		f := &s.features[v.emitter][i]
		at := f.nm + v.shift
		lo, hi := s.between(at-3, at+3)
		for j := lo; j < hi; j++ {
			p := &s.peaks[j]
			if p.claim >= 0 || math.Abs(p.nm-at) > 2.5*s.place(em, f, p) {
				continue
			}
			// Far too strong for this emitter: something else's.
			if p.height < 40*v.scale*f.weight/top {
				p.claim = v.emitter
			}
		}
	}
	if !em.ion {
		s.shift, s.shiftU = v.shift, max(v.shiftU, 0.6*s.crook)
	}
}
