package calibration

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// What somebody at the bench knows: this peak is that line. A pair that is given
// is a fact to the search. Hypotheses that do not hold it are not looked at, it is
// never set aside and never paired otherwise, and where it contradicts the rest
// the result says so instead.

// GivenPair is a peak that somebody says is a certain line.
type GivenPair struct {
	Recording int     // which of the recordings, counted from 0
	Pixel     float64 // of the peak, to within its width
	Nm        float64 // of a line of the lamp, to within half a nanometre; any one of several unresolved lines stands for all of them
}

const (
	// lineSlip is by how much a given wavelength may miss the line it means, nm.
	lineSlip = 0.5
	// leastPeakSlip is by how much a given pixel may miss the peak it means where
	// peaks are narrower.
	leastPeakSlip = 2.0 // pixels
	// enoughGiven pairs make an axis by themselves, so that it need not be one
	// that the search would think of.
	enoughGiven = 3
	// givenReach is by how many coarse tolerances a hypothesis may miss a given
	// pair: what a found pair is allowed as well.
	givenReach = 2.5
)

// given is a pair made out: a peak of a sight and a line of its lamp.
type given struct {
	sight, peak int
	x           float64 // of the peak, see search.x
	line        Line
}

// describe names a pair as messages do.
func (s *search) describe(g *given) string {
	return fmt.Sprintf("pixel %.1f with %s %.3f", s.sights[g.sight].peaks[g.peak].Pixel, g.line.Emitter, g.line.Nm)
}

// take makes out the pairs that were given, or says what is wrong with one.
func (s *search) take(recordings []Recording, pairs []GivenPair) error {
	for _, p := range pairs {
		if p.Recording < 0 || p.Recording >= len(recordings) {
			return fmt.Errorf("calibration: a pair was given for recording %d, and there are %d, counted from 0", p.Recording, len(recordings))
		}
		r := &recordings[p.Recording]
		peak, err := s.peakNear(r, s.sights[p.Recording].peaks, p.Pixel)
		if err != nil {
			return err
		}
		line, err := lineNear(&r.Lamp, p.Nm)
		if err != nil {
			return err
		}
		s.given = append(s.given, given{p.Recording, peak, s.x(s.sights[p.Recording].peaks[peak].Pixel), line})
	}
	slices.SortStableFunc(s.given, func(a, b given) int { return cmp.Compare(a.x, b.x) })
	return s.contradiction()
}

func (s *search) peakNear(r *Recording, peaks []Peak, pixel float64) (int, error) {
	if !(pixel >= 0 && pixel <= float64(s.pixels-1)) {
		return 0, fmt.Errorf("calibration: a pair was given for pixel %g, and the detector has the pixels 0 to %d", pixel, s.pixels-1)
	}
	nearest := 0
	for i := range peaks {
		if math.Abs(peaks[i].Pixel-pixel) < math.Abs(peaks[nearest].Pixel-pixel) {
			nearest = i
		}
	}
	switch p := &peaks[nearest]; {
	case math.Abs(p.Pixel-pixel) > max(leastPeakSlip, p.FWHM):
		return 0, fmt.Errorf("calibration: %s has no peak near pixel %g: the nearest is at pixel %.1f", r.Name, pixel, p.Pixel)
	case p.Saturated:
		return 0, fmt.Errorf("calibration: the peak of %s at pixel %.1f is saturated, and the centre of a clipped line is unknown: pair another, or shorten the exposure", r.Name, p.Pixel)
	}
	return nearest, nil
}

func lineNear(lamp *Lamp, nm float64) (Line, error) {
	nearest := lamp.Lines[0]
	for _, l := range lamp.Lines {
		if math.Abs(l.Nm-nm) < math.Abs(nearest.Nm-nm) {
			nearest = l
		}
	}
	if !(math.Abs(nearest.Nm-nm) <= lineSlip) {
		return Line{}, fmt.Errorf("calibration: %s has no known line within %g nm of %g nm: the nearest is %s %.3f", lamp.Name, lineSlip, nm, nearest.Emitter, nearest.Nm)
	}
	return nearest, nil
}

// contradiction finds given pairs, in order of pixels, that cannot both be true.
func (s *search) contradiction() error {
	for i := range s.given {
		for j := i + 1; j < len(s.given); j++ {
			a, b := &s.given[i], &s.given[j]
			pa, pb := &s.sights[a.sight].peaks[a.peak], &s.sights[b.sight].peaks[b.peak]
			switch together := a.sight == b.sight; {
			case together && a.peak == b.peak && a.line == b.line:
				return fmt.Errorf("calibration: the pair of %s was given twice", s.describe(a))
			case together && a.peak == b.peak:
				return fmt.Errorf("calibration: the peak at pixel %.1f was given two lines, %s %.3f and %s %.3f: take one back", pa.Pixel, a.line.Emitter, a.line.Nm, b.line.Emitter, b.line.Nm)
			case together && a.line == b.line:
				return fmt.Errorf("calibration: %s %.3f was given two peaks, at pixels %.1f and %.1f: take one back", a.line.Emitter, a.line.Nm, pa.Pixel, pb.Pixel)
			case pb.Pixel-pa.Pixel > max(pa.FWHM, pb.FWHM) && b.line.Nm <= a.line.Nm:
				return fmt.Errorf("calibration: the pairs %s and %s contradict each other, since wavelengths rise from pixel to pixel: take one back, or is the sensor read backwards?", s.describe(a), s.describe(b))
			}
		}
	}
	return nil
}

// plausible reports whether the instrument could have this dispersion. Where the
// axis is given by pairs it need not be a usual one.
func (s *search) plausible(h *hypothesis) bool {
	if len(s.given) < enoughGiven {
		return h.plausible(s.expected)
	}
	from, to := h.at(-1), h.at(1)
	return min(h.slope(-1), h.slope(0), h.slope(1)) > 0 && from > 0 && s.expected.allows(from, to)
}

// holds reports whether a hypothesis puts every given peak near its line.
func (s *search) holds(h *hypothesis) bool {
	for i := range s.given {
		if g := &s.given[i]; math.Abs(h.at(g.x)-g.line.Nm) > givenReach*s.coarseTolerance(h) {
			return false
		}
	}
	return true
}

// isGiven reports whether a peak belongs to a pair that was given, hasGiven whether
// a feature does.
func (s *search) isGiven(sight, peak int) bool {
	return slices.ContainsFunc(s.given, func(g given) bool { return g.sight == sight && g.peak == peak })
}

func (s *search) hasGiven(sight int, f *feature) bool {
	return slices.ContainsFunc(s.given, func(g given) bool { return g.sight == sight && slices.Contains(f.lines, g.line) })
}

// givenPairs returns the given pairs with the features that their lines belong to
// at a dispersion (nm per pixel).
func (s *search) givenPairs(slope float64) (all []pair) {
	for i := range s.given {
		g := &s.given[i]
		all = append(all, pair{g.sight, g.peak, s.featureOf(g, s.sights[g.sight].width*slope), true})
	}
	return all
}

// featureOf returns what an instrument of a bandwidth (nm) shows of a given line:
// the group it is in; of a group that is wide, or of which another line was given
// a peak of its own, the nearby lines only.
func (s *search) featureOf(g *given, fwhm float64) feature {
	features := s.sights[g.sight].features(fwhm)
	at := slices.IndexFunc(features, func(f feature) bool { return slices.Contains(f.lines, g.line) })
	group := features[at]
	nearest := func(l Line) bool {
		for _, o := range s.given {
			if o.sight == g.sight && math.Abs(l.Nm-o.line.Nm) < math.Abs(l.Nm-g.line.Nm) {
				return false
			}
		}
		return !group.wide || math.Abs(l.Nm-g.line.Nm) <= fwhm/2
	}
	var own []Line
	for _, l := range group.lines {
		if nearest(l) {
			own = append(own, l)
		}
	}
	if len(own) == len(group.lines) {
		return group
	}
	return merge(own)
}

// through returns the hypothesis through three or more given pairs: a cubic with
// the usual curvature as far as the pairs leave it open. Which lines are one peak
// depends on the dispersion, which is that of the cubic before.
func (s *search) through() (h hypothesis, ok bool) {
	if len(s.given) < enoughGiven {
		return h, false
	}
	a, b := &s.given[0], &s.given[len(s.given)-1]
	if h.c[1] = (b.line.Nm - a.line.Nm) / (b.x - a.x); !(h.c[1] > 0) || math.IsInf(h.c[1], 0) {
		return h, false
	}
	for range 3 {
		fit := s.usualCurvature(&h)
		finest := s.fineTolerance(&h)
		for _, p := range s.givenPairs(h.c[1] / (float64(s.pixels-1) / 2)) {
			fit.add(s.x(s.sights[p.sight].peaks[p.peak].Pixel), p.feature.nm, 1/(finest*finest+p.feature.u*p.feature.u))
		}
		if h, ok = fit.solve(); !ok || !(h.c[1] > 0) {
			return h, false
		}
	}
	return h, s.plausible(&h)
}

// missedMost returns the given pair that an axis misses by most, and by how many nm.
func (s *search) missedMost(at func(*given) float64) (worst *given, miss float64) {
	for i := range s.given {
		g := &s.given[i]
		if d := math.Abs(g.line.Nm - at(g)); worst == nil || d > miss {
			worst, miss = g, d
		}
	}
	return worst, miss
}

// withoutGiven is the same search as if nothing had been given.
func (s *search) withoutGiven() *search {
	free := *s
	free.given = nil
	return &free
}

// againstGiven says where given pairs contradict the rest: the search would go
// elsewhere without them and overrules them, or the axis of the others misses one.
func (s *search) againstGiven(w *Wavelength, found *solution) (doubts []string, overruled bool) {
	if len(s.given) == 0 {
		return nil, false
	}
	held, free := &found.best, &found.unaided
	from, to := s.span(held)
	if free.score > held.score+leastMargin && differ(held, free, from, to, apart*s.bandwidth(held)) {
		worst, miss := s.missedMost(func(g *given) float64 { return free.at(g.x) })
		return []string{fmt.Sprintf("without the pairs that were given another pairing fits better (log-likelihood %.1f above), and %s misses that by %.1f nm",
			free.score-held.score, s.describe(worst), miss)}, true
	}
	for _, l := range w.Lines {
		if l.contradicts {
			doubts = append(doubts, fmt.Sprintf("the pair that was given, pixel %.1f with %s, misses the axis of the others by %.2f nm", l.Pixel, l.Line, math.Abs(l.HeldOutNm)))
		}
	}
	return doubts, false
}

// explainGiven answers for recordings that the given pairs leave unexplained: by
// the axis they make, with its doubts, or by an error where there is none.
func (s *search) explainGiven(recordings []Recording, w *Wavelength) (*Wavelength, error) {
	free := s.withoutGiven()
	f := free.calibrate(recordings)
	switch {
	case f.convinces() && w != nil:
		return w, nil
	case f.convinces():
		worst, miss := s.missedMost(func(g *given) float64 { return f.Dispersion.At(s.sights[g.sight].peaks[g.peak].Pixel) })
		return nil, fmt.Errorf("calibration: no axis holds %s and the rest: without it the peaks fall into place from %.0f nm to %.0f nm, and it misses that by %.1f nm", s.describe(worst), f.FromNm, f.ToNm, miss)
	}
	if f == nil || w != nil && w.Score > f.Score {
		f = w
	}
	if err := free.diagnose(recordings, f); err != nil {
		return nil, err
	}
	if w == nil {
		return nil, fmt.Errorf("calibration: no arrangement of the lamp's lines holds the pairs given: take one back, or give another")
	}
	return w, nil
}
