package calibration

import (
	"cmp"
	"math"
	"slices"
)

// anchorPeak is a tall peak for the first laying-on.
type anchorPeak struct {
	x     float64
	sight int
	rank  int
	line  *Line // that it was given, nil for none
}

// triple is three tall peaks in order of pixels.
type triple struct {
	a, b, c anchorPeak
	cost    float64
}

// tallTriples returns the triples of tall peaks to lay on, the tallest and
// furthest apart first.
func (s *search) tallTriples() []triple {
	const (
		mostPeaks   = 12 // over all recordings, and no fewer than leastOfOne of each
		leastOfOne  = 7
		mostTriples = 70
	)
	var tall []anchorPeak
	for i, v := range s.sights {
		n := min(len(v.tallest), max(leastOfOne, mostPeaks/len(s.sights)))
		for rank, k := range v.tallest[:n] {
			if !s.isGiven(i, k) {
				tall = append(tall, anchorPeak{s.x(v.peaks[k].Pixel), i, rank, nil})
			}
		}
	}
	for i := range s.given { // known, so before all others
		g := &s.given[i]
		tall = append(tall, anchorPeak{g.x, g.sight, 0, &g.line})
	}
	slices.SortFunc(tall, func(a, b anchorPeak) int { return cmp.Compare(a.x, b.x) })
	var all []triple
	for i, a := range tall {
		for j, b := range tall[i+1:] {
			for _, c := range tall[i+j+2:] {
				left, right := b.x-a.x, c.x-b.x
				if min(left, right) < 0.1 || left+right < 0.4 {
					continue
				}
				cost := float64(a.rank+b.rank+c.rank) - 4*(left+right) - 4*min(left, right)
				all = append(all, triple{a, b, c, cost})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b triple) int { return cmp.Compare(a.cost, b.cost) })
	return all[:min(len(all), mostTriples)]
}

// propose returns the best coarse hypotheses: every triple of tall peaks laid on
// every triple of lines, a given peak on its line only.
func (s *search) propose(keep int) []hypothesis {
	// What a middling dispersion leaves apart; the score looks more closely.
	middlingSpan := 600.0 // nm
	through, ofGiven := s.through()
	if ofGiven {
		middlingSpan = 2 * through.c[1]
	}
	lines := make([][]feature, len(s.sights))
	for i, v := range s.sights {
		lines[i] = v.features(v.width / float64(s.pixels) * middlingSpan)
	}
	best := newShortlist(keep)
	if ofGiven {
		through.score = s.score(&through, s.coarseTolerance(&through), math.Inf(-1))
		best.offer(through)
	}
	choices := func(p anchorPeak) []feature {
		if p.line != nil {
			return []feature{{nm: p.line.Nm}}
		}
		return lines[p.sight]
	}
	for _, t := range s.tallTriples() {
		a, b, c := t.a, t.b, t.c
		for _, la := range choices(a) {
			for _, lb := range choices(b) {
				if lb.nm <= la.nm || (lb.nm-la.nm)/(b.x-a.x) > (longest-shortest)/2 {
					continue
				}
				for _, lc := range choices(c) {
					if lc.nm <= lb.nm {
						continue
					}
					h, ok := parabola(a.x, b.x, c.x, la.nm, lb.nm, lc.nm)
					if ok && s.plausible(&h) && s.holds(&h) {
						h.score = s.score(&h, s.coarseTolerance(&h), best.floor())
						best.offer(h)
					}
				}
			}
		}
	}
	return best.all
}

// coarseTolerance allows for what a parabola through three lines misses of a
// cubic dispersion.
func (s *search) coarseTolerance(h *hypothesis) float64 {
	return max(0.3*s.bandwidth(h), 0.003*(h.at(1)-h.at(-1)))
}

func (s *search) bandwidth(h *hypothesis) float64 {
	width := math.Inf(1)
	for _, v := range s.sights {
		width = min(width, v.width)
	}
	return width * h.c[1] / (float64(s.pixels-1) / 2)
}

// parabola returns the hypothesis through three points.
func parabola(xa, xb, xc, a, b, c float64) (hypothesis, bool) {
	ab, bc := (b-a)/(xb-xa), (c-b)/(xc-xb)
	q := (bc - ab) / (xc - xa)
	h := hypothesis{c: [4]float64{a - ab*xa + q*xa*xb, ab - q*(xa+xb), q, 0}}
	return h, math.Abs(q) < 0.3*math.Abs(h.c[1])
}

// shortlist keeps the best hypotheses that differ from one another.
type shortlist struct {
	all  []hypothesis // by falling score
	keep int
}

func newShortlist(keep int) *shortlist { return &shortlist{keep: keep} }

// floor is the score that a hypothesis must exceed to be kept.
func (l *shortlist) floor() float64 {
	if len(l.all) < l.keep {
		return math.Inf(-1)
	}
	return l.all[len(l.all)-1].score
}

// alike reports whether two hypotheses put both ends and the middle within a
// four-hundredth of the span.
func alike(a, b *hypothesis) bool {
	near := (a.at(1) - a.at(-1)) / 400
	return math.Abs(a.c[0]-b.c[0]) < near && math.Abs(a.at(-1)-b.at(-1)) < near && math.Abs(a.at(1)-b.at(1)) < near
}

func (l *shortlist) offer(h hypothesis) {
	if !(h.score > l.floor()) {
		return
	}
	at := len(l.all)
	for i := range l.all {
		if h.score > l.all[i].score && at == len(l.all) {
			at = i
		}
		if alike(&h, &l.all[i]) {
			if l.all[i].score >= h.score {
				return
			}
			l.all = slices.Delete(l.all, i, i+1)
			break
		}
	}
	l.all = slices.Insert(l.all, min(at, len(l.all)), h)
	l.all = l.all[:min(len(l.all), l.keep)]
}
