package emission

import (
	"math"
	"slices"
)

// search is the state of the identification: which peaks are still
// unexplained, and how far the wavelength axis is off.
type search struct {
	t        *trace
	peaks    []peak
	ruler    ruler // of the peaks
	features [][]feature
	reversed bool // the sodium D pair is self-reversed
	// shift is what the axis reads too high, shiftU its standard deviation.
	shift, shiftU float64
	// crook is what remains of the axis error when the common shift is gone.
	crook float64
	// limits is the height a line would need to be seen as a peak of its own, by
	// sample, and lnLimits its logarithm where it has been asked for, else 0.
	limits, lnLimits []float64
	// chance is the density per nm of unexplained peaks about as strong, by
	// peak, and outdone the height from which another one counts for that.
	chance, outdone []float64

	tested  [][]feature // by emitter, of those judged before
	buffers [2][strongest]match
}

// verdict is how well one emitter explains the peaks.
type verdict struct {
	emitter       int
	logOdds       float64
	shift, shiftU float64
	scale         float64 // height of the emitter's strongest feature in the range
	top           float64 // and that feature's weight
	matches       []match // of the features put to the test
	fresh         int     // matches on peaks not explained before
	rivals        []rival
	claims        int // how many emitters had been accepted when it was judged
}

// rival is another emitter that would explain one of the same peaks.
type rival struct {
	emitter int
	logOdds float64
}

type match struct {
	feature *feature
	weight  float64 // relative to the strongest in range
	sample  int     // where the peak should be
	limit   float64 // height that would have been seen
	peak    int     // index, −1 missing
	fresh   bool    // the peak is not explained before
	place   float64 // standard deviation of the distance from the peak, nm
	// Natural logarithms, for every scale that is tried.
	lnWeight, lnLimit float64
	lnHeight          float64 // of the peak
	// What the place of a fresh peak is worth, and what its width costs.
	lnPlace, tooNarrow float64
}

// explain finds the emitters. It is greedy: the emitter with the best odds
// takes its peaks, the axis is corrected by what they say, and the others are
// judged on what is left. Judging is the dear part: after a claim only those that
// come next by their odds so far are judged again, and all of them before it is
// said that there are no more.
func (s *search) explain() []verdict {
	s.countChances()
	s.tested = make([][]feature, len(s.features))
	open := s.candidates()
	var accepted []verdict
	for len(open) > 0 && len(accepted) < mostEmitters {
		best := 0
		for i := range open {
			if open[i].logOdds > open[best].logOdds {
				best = i
			}
		}
		switch v := open[best]; {
		case v.logOdds > 0 && v.claims == len(accepted):
			open = slices.Delete(open, best, best+1)
			for i := range open {
				if o := &open[i]; o.logOdds > rivalOdds && o.shares(&v) {
					v.rivals = append(v.rivals, rival{o.emitter, o.logOdds})
				}
			}
			s.claim(&v, plausible)
			if !catalogue()[v.emitter].ion {
				s.shift, s.shiftU = v.shift, max(v.shiftU, 0.6*s.crook)
			}
			accepted = append(accepted, v)
		case v.logOdds > 0:
			open[best] = s.judge(v.emitter)
			open[best].claims = len(accepted)
		default:
			fresh := true
			for i := range open {
				if o := &open[i]; o.claims != len(accepted) {
					*o, fresh = s.judge(o.emitter), false
					o.claims = len(accepted)
				}
			}
			if fresh {
				return s.settled(accepted)
			}
			open = slices.DeleteFunc(open, hopeless)
		}
	}
	return s.settled(accepted)
}

// settled gives what is left to those who may have it, and what is contested to
// those who account for it best.
func (s *search) settled(accepted []verdict) []verdict {
	for i := range accepted {
		s.claim(&accepted[i], possible)
	}
	s.settle(accepted)
	return accepted
}

// A peak of so many times the height that an emitter expects is still its own:
// plausibly, while others may have a better claim to it, and possibly, when no one
// else wants it.
const plausible, possible = 5.0, 40.0

// mostEmitters is how many are named at most.
const mostEmitters = 12

// From hopelessOdds on nothing recovers: claims only take away.
const hopelessOdds = -8.0

func hopeless(v verdict) bool { return v.logOdds < hopelessOdds }

// candidates judges every emitter that may be there at all.
func (s *search) candidates() []verdict {
	hg := slices.IndexFunc(catalogue(), func(e emitter) bool { return e.spectrum == "Hg I" })
	mercury := s.judge(hg)
	all := make([]verdict, 0, len(catalogue()))
	for e := range catalogue() {
		em := &catalogue()[e]
		if em.spectrum == sodiumArc.spectrum && em.arc != s.reversed || em.ion && !s.pumped(em, mercury.logOdds > 0) {
			continue
		}
		v := mercury
		if e != hg {
			v = s.judge(e)
		}
		if !hopeless(v) {
			all = append(all, v)
		}
	}
	return all
}

// settle gives a peak that another accepted atom accounts for better, as it
// expects more there, to that atom: the first to be accepted took all that it
// could, and a weak line of neon may be one of the much stronger sodium. An
// emitter keeps at least two of the features it was accepted for.
func (s *search) settle(accepted []verdict) {
	for j := range s.peaks {
		p := &s.peaks[j]
		owner := slices.IndexFunc(accepted, func(v verdict) bool { return v.emitter == p.claim })
		if p.claim < 0 || owner < 0 || catalogue()[p.claim].ion {
			continue
		}
		best, height := s.account(&accepted[owner], p)
		for k := range accepted {
			v := &accepted[k]
			if k == owner || catalogue()[v.emitter].ion || s.kept(&accepted[owner], j) < 2 {
				continue
			}
			if l, h := s.account(v, p); l > best && h > height {
				best, height, p.claim = l, h, v.emitter
			}
		}
	}
}

// account returns how well an accepted atom accounts for the place and height of
// a peak, as a logarithm, and the height it expects there.
func (s *search) account(v *verdict, p *peak) (best, height float64) {
	em, top := &catalogue()[v.emitter], v.top
	best = math.Inf(-1)
	for i := range s.features[v.emitter] {
		f := &s.features[v.emitter][i]
		off := p.nm - f.nm - v.shift
		if math.Abs(off) > 2.5*(p.nmU+f.wander+s.crook) { // more than their root of squares
			continue
		}
		u := s.place(em, f, p)
		d := off / u
		if math.Abs(d) > 2.5 {
			continue
		}
		expected := v.scale * f.weight / top
		r := math.Log(p.height/expected) / ratioSpread
		if l := -0.5*d*d - math.Log(u) - min(0.5*r*r, worstRatio); l > best {
			best, height = l, expected
		}
	}
	return best, height
}

// kept counts the features a verdict was built on that are its own, peak j aside.
func (s *search) kept(v *verdict, j int) int {
	n := 0
	for _, m := range v.matches {
		if m.peak >= 0 && m.peak != j && s.peaks[m.peak].claim == v.emitter {
			n++
		}
	}
	return n
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

// chanceReach is how far around a peak, nm, others are counted that could as well
// stand in its place.
const chanceReach = 75.0

// countChances works out how likely a peak of some height stands anywhere by
// chance: the density, within chanceReach, of other unexplained peaks at least
// 0.6 times as high, and a share for lines that no catalogue has, of which there
// are the more the fainter they are.
func (s *search) countChances() {
	top := 0.0
	for _, p := range s.peaks {
		top = max(top, p.height)
	}
	both := s.t.floats.take(2 * len(s.peaks))
	s.chance, s.outdone = both[:len(s.peaks)], both[len(s.peaks):]
	for i := range s.peaks {
		height := s.peaks[i].height
		s.chance[i] = (0.5 + 0.3*math.Sqrt(top/height)) / (2 * chanceReach)
		s.outdone[i] = 0.6 * height
	}
	for j := range s.peaks {
		s.weighChance(j, 1/(2*chanceReach))
	}
}

// weighChance adds what peak j means for the chances of the others.
func (s *search) weighChance(j int, density float64) {
	at, height := s.peaks[j].nm, s.peaks[j].height
	places := s.ruler.x
	outdone, chance := s.outdone[:len(places)], s.chance[:len(places)]
	for i := j - 1; i >= 0 && at-places[i] < chanceReach; i-- {
		if height >= outdone[i] {
			chance[i] += density
		}
	}
	for i := j + 1; i < len(places) && places[i]-at < chanceReach; i++ {
		if height >= outdone[i] {
			chance[i] += density
		}
	}
}

// judge returns the best case that can be made for an emitter.
func (s *search) judge(e int) verdict {
	em := &catalogue()[e]
	best := verdict{emitter: e, logOdds: math.Inf(-1)}
	features := s.inRange(e)
	n := len(features)
	if n == 0 {
		return best
	}
	// Every shift that puts one of the strongest features on a fresh peak is
	// tried.
	var tried [24]float64
	shifts := append(tried[:0], s.shift)
	if !em.ion {
		for i := 0; i < min(5, n); i++ {
			reach := 3 * math.Hypot(s.shiftU, features[i].wander)
			lo, hi := s.ruler.between(features[i].nm+s.shift-reach, features[i].nm+s.shift+reach)
			for j := lo; j < hi && len(shifts) < cap(shifts); j++ {
				if s.peaks[j].claim >= 0 {
					continue
				}
				d := s.peaks[j].nm - features[i].nm
				if !slices.ContainsFunc(shifts, func(o float64) bool { return math.Abs(o-d) < 0.5*s.crook }) {
					shifts = append(shifts, d)
				}
			}
		}
	}
	into := 0
	for _, d := range shifts {
		v := s.score(em, features, d, max(best.logOdds, hopelessOdds), s.buffers[into][:0])
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
	kept := s.t.matches.take(len(best.matches))
	copy(kept, best.matches)
	best.matches = kept
	best.top = features[0].strongest
	return best
}

// inRange returns an emitter's strongest features within the spectrum, their
// weights relative to the first.
func (s *search) inRange(e int) []feature {
	if s.tested[e] != nil {
		return s.tested[e]
	}
	em := &catalogue()[e]
	edge := 0.5 * s.t.bandwidth
	features := s.t.features.take(strongest)
	top, n := 0.0, 0
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
		t := &features[n]
		*t = *f
		t.strongest = top
		t.weight /= top
		t.lnWeight = math.Log(t.weight)
		t.worst = worstAbsence(t.nm, t.weight)
		t.margin = 3*math.Sqrt(s.crook*s.crook+f.wander*f.wander) + 0.3*s.t.bandwidth
		if em.ion {
			t.margin = 3
		}
		n++
	}
	s.tested[e] = features[:n]
	return features[:n]
}

// claim gives an emitter its peaks: those put to the test, and weaker ones
// where its remaining lines are, unless they are so many times as high as it
// expects.
func (s *search) claim(v *verdict, times float64) {
	em, top := &catalogue()[v.emitter], v.top
	reach := 2.5 // standard deviations
	if times < possible && !em.ion {
		reach = 1.8
	}
	for i := range s.features[v.emitter] {
		f := &s.features[v.emitter][i]
		at := f.nm + v.shift
		lo, hi := s.ruler.between(at-3, at+3)
		for j := lo; j < hi; j++ {
			p := &s.peaks[j]
			if p.claim >= 0 || math.Abs(p.nm-at) > reach*s.place(em, f, p) {
				continue
			}
			if p.height < times*v.scale*f.weight/top {
				p.claim = v.emitter
				s.weighChance(j, -1/(2*chanceReach))
			}
		}
	}
}
