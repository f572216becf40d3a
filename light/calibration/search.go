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
				if n := s.refine(bent, 2*s.fineTolerance(&bent)); n.score > h.score+0.01 && n.plausible(s.expected) {
					h, better = n, true
				}
			}
		}
	}
	return h
}

// solve returns the best hypothesis and by how much it beats the best that puts
// some part of the detector elsewhere.
func (s *search) solve() (best hypothesis, margin float64, ok bool) {
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
	if len(list.all) == 0 {
		return hypothesis{}, 0, false
	}
	best = list.all[0]
	margin = best.score // against nothing at all
	apart := 1.5 * s.bandwidth(&best)
	from, to := s.span(&best)
	for i := range list.all[1:] {
		o := &list.all[i+1]
		if differ(&best, o, from, to, apart) {
			margin = min(margin, best.score-o.score)
			break
		}
	}
	return best, margin, true
}

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

// differ reports whether two hypotheses are further apart than given (nm)
// anywhere between two places.
func differ(a, b *hypothesis, from, to, apart float64) bool {
	for k := range 21 {
		x := from + (to-from)*float64(k)/20
		if math.Abs(a.at(x)-b.at(x)) > apart {
			return true
		}
	}
	return false
}
