package calibration

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Limits of confidence, found by trying simulated instruments, those of the tests
// among them; docs/method/instrument.md says how they do with others.
const (
	leastMargin   = 5.0 // nats
	leastLines    = 4
	leastPeaks    = 0.45 // weighted share of the peaks that have a line
	leastFeatures = 0.40 // weighted share of the lamp's lines in range that are seen
	leastSpan     = 0.3  // share of the range between the outermost lines
	mostAside     = 0.25 // share of lines that contradict the rest
	lonelyGap     = 0.2  // of the span, between an outermost line and the next
	// In bandwidths: the held-out error, and by how much any one line holds the
	// axis.
	heldOutLimit     = 0.12
	unconfirmedLimit = 0.5
)

// accounted returns which part of the peaks, weighted by height, has a line and
// which part of the lamps' lines in range, weighted by strength, has a peak, and
// notes the tall peaks at no line.
func (s *search) accounted(w *Wavelength, pairs []pair) (peaks, lines float64) {
	d := &w.Dispersion
	from, to := d.At(0), d.At(float64(s.pixels-1))
	const tall = 0.6 // weight of a peak of an eighth of the tallest's height
	var peakAll, lineAll float64
	for v, sg := range s.sights {
		paired := map[int]bool{}
		seen := map[float64]bool{}
		for _, p := range pairs {
			if p.sight == v {
				paired[p.peak], seen[p.feature.nm] = true, true
			}
		}
		for i, weight := range sg.weight {
			peakAll += weight
			switch {
			case paired[i]:
				peaks += weight
			case weight > tall:
				w.Unexplained = append(w.Unexplained, d.At(sg.peaks[i].Pixel))
			}
		}
		for _, f := range within(sg.features(sg.width*d.Slope(float64(s.pixels)/2)), from, to) {
			weight := math.Sqrt(f.strength)
			lineAll += weight
			if seen[f.nm] || s.hasGiven(v, &f) {
				lines += weight
			}
		}
	}
	return peaks / peakAll, lines / lineAll
}

// judge decides on confidence.
func (s *search) judge(w *Wavelength, pairs []pair, found *solution) {
	d := &w.Dispersion
	peaks, lines := s.accounted(w, pairs)
	w.PeaksExplained, w.LinesExplained = peaks, lines
	used, aside := 0, 0
	unconfirmed, most := AnchorLine{}, 0.0 // the line that holds the axis most
	for _, l := range w.Lines {
		switch {
		case l.Used:
			used++
			if moved := math.Abs(l.HeldOutNm - l.ResidualNm); moved > most && !l.Given {
				unconfirmed, most = l, moved
			}
		case l.Why != saturatedLine:
			aside++
		}
	}
	doubt := func(format string, a ...any) { w.Doubts = append(w.Doubts, fmt.Sprintf(format, a...)) }
	against, overruled := s.againstGiven(w, found)
	w.Doubts = append(w.Doubts, against...)
	if used < leastLines {
		doubt("only %d lines could be used, and at least %d are needed to tell a right pairing from a wrong one", used, leastLines)
	}
	if w.Margin < leastMargin && !overruled {
		doubt("another pairing of peaks and lines fits almost as well (log-likelihood %.1f below)", w.Margin)
	}
	if peaks < leastPeaks {
		doubt("only %.0f %% of the peaks, weighted by height, have a line of the lamp", 100*peaks)
	}
	if lines < leastFeatures {
		doubt("only %.0f %% of the lamp's lines in range, weighted by strength, have a peak", 100*lines)
	}
	if float64(aside) > mostAside*float64(used+aside) {
		doubt("%d of %d lines contradict the rest", aside, used+aside)
	}
	width := s.bandwidthNm(d.Slope(float64(s.pixels) / 2))
	if w.HeldOutNm > heldOutLimit*width {
		doubt("a line left out of the fit is missed by %.2f nm, against a bandwidth of %.2f nm", w.HeldOutNm, width)
	}
	if most > unconfirmedLimit*width {
		doubt("without %s the axis there would be %.2f nm elsewhere, against a bandwidth of %.2f nm", unconfirmed.Line, most, width)
	}
	if from, to := d.At(0), d.At(float64(s.pixels-1)); (w.ToNm-w.FromNm)/(to-from) < leastSpan {
		doubt("the lines used span only %.0f–%.0f nm of %.0f–%.0f nm", w.FromNm, w.ToNm, from, to)
	}
	for _, end := range w.lonelyEnds() {
		doubt("the axis near %.0f nm rests on %s alone: record a lamp with more lines there", end.Nm, end.Line)
	}
	w.Confident = len(w.Doubts) == 0
}

// lonelyEnds returns the outermost lines that stand far from the rest: the axis
// out there is as right as one pairing is, and no other line would notice. One
// that was given has somebody's word.
func (w *Wavelength) lonelyEnds() []AnchorLine {
	var used []AnchorLine
	for _, l := range w.Lines {
		if l.Used {
			used = append(used, l)
		}
	}
	n := len(used)
	if n < 3 {
		return nil
	}
	far := lonelyGap * (w.ToNm - w.FromNm)
	var lonely []AnchorLine
	if used[1].Nm-used[0].Nm > far && !used[0].Given {
		lonely = append(lonely, used[0])
	}
	if used[n-1].Nm-used[n-2].Nm > far && !used[n-1].Given {
		lonely = append(lonely, used[n-1])
	}
	return lonely
}

func (s *search) bandwidthNm(slope float64) float64 {
	width := math.Inf(1)
	for _, v := range s.sights {
		width = min(width, v.width)
	}
	return width * slope
}

// convinces reports whether a calibration explains its recordings, or most of
// them, so that nothing else need be tried.
func (w *Wavelength) convinces() bool {
	return w != nil && (w.Confident || min(w.PeaksExplained, w.LinesExplained) > wellExplained)
}

// wellExplained is the share of peaks and lines with a partner from which the
// recordings are taken to be what they are said to be.
const wellExplained = 0.6

// clearlyBetter is by how much, in nats, another reading of the recordings must
// beat the given one before the given one is called a mistake.
const clearlyBetter = 10

// ErrBackwards says that a detector's first pixel has the longest wavelength.
var ErrBackwards = errors.New("the sensor is read backwards")

// diagnose asks, for a pairing that did not convince, whether the recordings
// make sense backwards, exchanged, or as another lamp's.
func (s *search) diagnose(recordings []Recording, given *Wavelength) error {
	beats := func(w *Wavelength) bool {
		return w != nil && w.Confident && (given == nil || w.Score > given.Score+clearlyBetter)
	}
	mirrored := make([]Recording, len(recordings))
	for i, r := range recordings {
		m := r
		m.Counts, m.Clipped = slices.Clone(r.Counts), slices.Clone(r.Clipped)
		slices.Reverse(m.Counts)
		slices.Reverse(m.Clipped)
		mirrored[i] = m
	}
	if back, err := newSearch(mirrored, s.expected); err == nil {
		if w := back.calibrate(mirrored); beats(w) {
			return fmt.Errorf("calibration: %w: reversed, %d lines fall into place from %.0f nm to %.0f nm; reverse the pixels of every recording of this instrument", ErrBackwards, len(w.Lines), w.FromNm, w.ToNm)
		}
	}
	for i := range recordings {
		for j := range i {
			if recordings[i].Lamp.Name == recordings[j].Lamp.Name {
				continue
			}
			exchanged := *s
			exchanged.sights = slices.Clone(s.sights)
			exchanged.sights[i] = newSight(&recordings[j].Lamp, s.sights[i].peaks)
			exchanged.sights[j] = newSight(&recordings[i].Lamp, s.sights[j].peaks)
			if w := exchanged.calibrate(recordings); beats(w) {
				return fmt.Errorf("calibration: %s and %s are swapped: the first shows %s, the second %s", recordings[j].Name, recordings[i].Name, recordings[i].Lamp.Name, recordings[j].Lamp.Name)
			}
		}
	}
	for i := range recordings {
		for _, l := range lampElements {
			other := newLamp(l.name, l.emitters)
			if other.shares(&recordings[i].Lamp) {
				continue
			}
			swapped := *s
			swapped.sights = slices.Clone(s.sights)
			swapped.sights[i] = newSight(&other, s.sights[i].peaks)
			if w := swapped.calibrate(recordings); beats(w) {
				return fmt.Errorf("calibration: %s does not show %s but fits %s: name the lamp that was recorded", recordings[i].Name, recordings[i].Lamp.Name, other.Name)
			}
		}
	}
	return nil
}

// shares reports whether two lamps have a line in common.
func (l *Lamp) shares(o *Lamp) bool {
	return slices.ContainsFunc(l.Lines, func(a Line) bool { return slices.Contains(o.Lines, a) })
}
