package emission

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

const (
	// patternless caps the score of an emitter without a clear pattern.
	patternless = 0.9
	// clearSNR is the signal-to-noise ratio that one line must reach for more.
	clearSNR = 10
)

// element describes an accepted emitter.
func (r *Result) element(s *search, v *verdict, isReversed bool) Element {
	em := &catalogue()[v.emitter]
	e := Element{Symbol: em.symbol, Spectrum: em.spectrum, Score: min(0.99, 1/(1+math.Exp(-v.logOdds)))}
	var found, missing, masked []string
	clearest, second, gap := 0.0, 0.0, false
	for i := range v.matches {
		m := &v.matches[i]
		at := func() string { return strconv.FormatFloat(m.feature.nm, 'f', 1, 64) }
		switch {
		case m.peak < 0 && v.scale*m.weight < m.limit:
			// too weak to be expected
		case m.peak < 0:
			missing = append(missing, at())
			gap = gap || m.weight > 0.4 && m.feature.nm > 395 && v.scale*m.weight > 3*m.limit
			e.Missing = append(e.Missing, m.feature.nm)
		case s.peaks[m.peak].claim == v.emitter:
			found = append(found, at())
			e.Found = append(e.Found, m.feature.nm)
		default:
			masked = append(masked, at())
		}
	}
	for i, l := range r.Lines {
		if l.Emitter == em.spectrum {
			e.Lines = append(e.Lines, i)
			second = max(second, min(clearest, l.SNR))
			clearest = max(clearest, l.SNR)
		}
	}
	reversed := isReversed && em.spectrum == sodiumArc.spectrum
	if reversed {
		e.Reasons = append(e.Reasons, "the D pair at 589 nm is that of an arc: broadened, its middle absorbed by its own vapour")
	}
	r.doubt(&e, clearest, second, gap && !reversed)
	if !s.t.measured && !s.t.coarse() {
		e.Score = min(e.Score, patternless)
		e.Reasons = append(e.Reasons, "no line of this spectrum is clear enough to show the instrument's bandwidth")
	}
	if n := r.standing(&e, s.t); n < 2 && len(e.Lines) > 1 || 2*n < len(e.Lines) {
		e.Score = min(e.Score, patternless)
		e.Reasons = append(e.Reasons, fmt.Sprintf("only %d of its %d lines rise by more than %.0f %% of what they stand on: an instrument's ripple or faulty pixels can do as much",
			n, len(e.Lines), 100*instrumental))
	}
	e.Reasons = append(e.Reasons, fmt.Sprintf("%d of the %d strong features expected in range are there: %s nm",
		len(found), len(found)+len(missing), strings.Join(found, ", ")))
	if len(missing) > 0 {
		e.Reasons = append(e.Reasons, "not seen though expected at the tabulated ratios: "+strings.Join(missing, ", ")+" nm")
	}
	if len(masked) > 0 {
		e.Reasons = append(e.Reasons, "hidden under lines of other emitters: "+strings.Join(masked, ", ")+" nm")
	}
	if !em.ion {
		e.Reasons = append(e.Reasons, fmt.Sprintf("its lines read %s nm off, with a standard uncertainty of %.2f nm", signed(v.shift), v.shiftU))
	}
	for _, o := range v.rivals {
		e.Alternatives = append(e.Alternatives, fmt.Sprintf("%s would explain part of these features (odds alone %s)",
			catalogue()[o.emitter].spectrum, odds(math.Exp(o.logOdds))))
	}
	return e
}

// instrumental is what an instrument by itself may put on a continuum, as a share
// of it: interference in a window, pixels that differ (judgement).
const instrumental = 0.04

// standing counts the lines of an emitter that rise by more than that.
func (r *Result) standing(e *Element, t *trace) (n int) {
	for _, i := range e.Lines {
		l := &r.Lines[i]
		if l.Area/(l.Width*areaFactor) > instrumental*r.Continuum[r.first+t.at(l.Centre)] {
			n++
		}
	}
	return n
}

// doubt caps the score of an emitter for which there is less than a clear
// pattern, and says why. clearest and second are the signal-to-noise ratios of
// its two clearest lines; gap tells that one of its strongest features is missing
// although it should be far above the limit.
func (r *Result) doubt(e *Element, clearest, second float64, gap bool) {
	cap := func(format string, a ...any) {
		e.Score = min(e.Score, patternless)
		e.Reasons = append(e.Reasons, fmt.Sprintf(format, a...))
	}
	if len(e.Lines) < 2 || len(e.Found) < 2 && len(e.Lines) < 3 {
		cap("one feature alone speaks for it")
	}
	switch {
	case len(e.Lines) == 0:
		cap("none of its lines could be fitted")
	case clearest < clearSNR:
		cap("its clearest line stands only %.0f standard deviations above the noise", clearest)
	case len(e.Lines) > 1 && second < significant:
		cap("beside its clearest line, none stands more than %.1f standard deviations above the noise", second)
	}
	if 3*len(e.Lines) < 2*len(e.Found) {
		cap("of its %d features only %d stand clearly enough to be fitted", len(e.Found), len(e.Lines))
	}
	if gap {
		cap("one of its strongest features is missing")
	}
	unexplained, strongest := 0, 0.0
	for _, l := range r.Lines {
		if l.Emitter == "" {
			unexplained++
			strongest = max(strongest, l.SNR)
		}
	}
	if len(e.Found) < 3 && unexplained > 3 {
		cap("two of its features are there: among %d lines that nothing explains that may be chance", unexplained)
	}
	if unexplained > max(4, len(e.Found)) && clearest < 2*strongest {
		cap("among %d lines that nothing explains a coincidence is easy", unexplained)
	}
}

// signed formats nanometres with their sign.
func signed(nm float64) string { return strings.Replace(fmt.Sprintf("%+.2f", nm), "-", "−", 1) }

// odds formats odds in favour; beyond a thousand they say more than the method
// knows.
func odds(x float64) string {
	switch {
	case x > 1000:
		return "over 1000"
	case x >= 10:
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.2g", x)
}
