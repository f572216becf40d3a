package calibration

import "math"

// How a search goes from proposals to an answer and its margin; what a hypothesis
// is and how it is scored is in pairing.go.

// polish climbs from a refined hypothesis: one end or the other of the axis, where
// few lines hold it, is bent by up to two bandwidths, and what scores better once
// refined again is the next start.
func (s *search) polish(h hypothesis) hypothesis {
	bandwidth := s.bandwidth(&h)
	for better := true; better; {
		better = false
		start := h
		for _, end := range []float64{-1, 1} {
			for _, by := range []float64{-2, -1, -0.5, 0.5, 1, 2} {
				bent := start
				bent.c[1] += by * bandwidth / 2 * end
				bent.c[2] += by * bandwidth / 2
				if n := s.refine(bent, 2*s.fineTolerance(&bent)); n.score > h.score+0.01 && s.plausible(&n) {
					h, better = n, true
				}
			}
		}
	}
	return h
}

// solution is what a search comes to.
type solution struct {
	best   hypothesis
	margin float64 // by which it beats the best that puts some part of the detector elsewhere
	// unaided is the best of the search that is not told any pairs; the same where
	// none were given.
	unaided hypothesis
}

// solve returns the best hypothesis; false where none survives. What the search
// finds unaided takes part as far as it can hold the given pairs, so that a pair
// that settles nothing leaves no rival out.
func (s *search) solve() (found solution, ok bool) {
	list := s.shortlisted()
	if len(s.given) > 0 {
		free := s.withoutGiven().shortlisted()
		found.unaided.score = math.Inf(-1)
		for i, h := range free.all {
			if i == 0 {
				found.unaided = h
			}
			list.offer(s.refine(h, 2*s.fineTolerance(&h)))
		}
	}
	if len(list.all) == 0 {
		return found, false
	}
	best := list.all[0]
	if len(s.given) == 0 {
		found.unaided = best
	}
	found.best, found.margin = best, best.score // against nothing at all
	from, to := s.span(&best)
	for i := range list.all[1:] {
		o := &list.all[i+1]
		if differ(&best, o, from, to, apart*s.bandwidth(&best)) {
			found.margin = min(found.margin, best.score-o.score)
			break
		}
	}
	return found, true
}

// shortlisted returns the hypotheses that are left when all have been refined, the
// best first.
func (s *search) shortlisted() *shortlist {
	const (
		proposals = 150
		polished  = 5
		kept      = 12
	)
	refined, list := newShortlist(kept), newShortlist(kept)
	for _, h := range s.propose(proposals) {
		refined.offer(s.refine(h, s.coarseTolerance(&h)))
	}
	for i, h := range refined.all {
		if i < polished {
			h = s.polish(h)
		}
		list.offer(h)
	}
	return list
}

// apart is by how much two hypotheses have to differ somewhere to be two, in
// bandwidths.
const apart = 1.5

// span returns the x of the outermost peaks that have a line.
func (s *search) span(h *hypothesis) (from, to float64) {
	from, to = 1, -1
	at := func(p float64) float64 { return h.at(s.x(p)) }
	for _, p := range s.pairs(at, h.c[1]/(float64(s.pixels-1)/2), s.fineTolerance(h), 3) {
		x := s.x(s.sights[p.sight].peaks[p.peak].Pixel)
		from, to = min(from, x), max(to, x)
	}
	return from, to
}

// differ reports whether two hypotheses are further apart than so many nm
// anywhere between two places.
func differ(a, b *hypothesis, from, to, nm float64) bool {
	for k := range 21 {
		x := from + (to-from)*float64(k)/20
		if math.Abs(a.at(x)-b.at(x)) > nm {
			return true
		}
	}
	return false
}
