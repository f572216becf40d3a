package calibration

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Limits of the gates on the curve.
const (
	pedestalLimit = 0.001 // of the peak, where there can be no light
	ghostLimit    = 0.002 // of the line it would be a ghost of
	coverageNote  = 1e-4  // share of V(λ) outside the range
	coverageLimit = 0.01
)

// curve returns what a gate on shape looks at: the frames' light where there is
// one on the axis, else the spectrum.
func (e *Evidence) curve() (axis, values []float64) {
	if counts, ok := e.light(); ok && len(counts) == len(e.Axis) {
		return e.Axis, counts
	}
	if e.Spectrum != nil {
		return e.Spectrum.Axis(), e.Spectrum.Values()
	}
	return nil, nil
}

func strayGate(e *Evidence) []Finding {
	axis, values := e.curve()
	if axis == nil || e.BlindBelowNm <= 0 {
		return nil
	}
	level, u, ok := Pedestal(axis, values, e.BlindBelowNm)
	top := slices.Max(values)
	if !ok || level < pedestalLimit*top || level < 4*u {
		return nil
	}
	f := Finding{
		Gate: GateStray, Severity: Caution, Figure: 100 * level / top, Limit: 100 * pedestalLimit, Unit: "% of the peak",
		Text:   fmt.Sprintf("below %.0f nm, where no light can be, the mean is %.2f %% of the peak: a pedestal of stray light or dark lies under everything", e.BlindBelowNm, 100*level/top),
		Remedy: "subtract a dark of the same exposure; then measure the stray light with a long-pass filter and correct it",
	}
	share := level / top
	if share > 0.03 {
		f.Severity = Refusal
	}
	f.Otherwise = e.changed(func(v []float64) {
		pedestal, _, ok := Pedestal(e.Spectrum.Axis(), v, e.BlindBelowNm)
		if !ok {
			pedestal = share * slices.Max(v)
		}
		for i := range v {
			v[i] -= pedestal
		}
	})
	return []Finding{f}
}

// secondOrderGate looks for lines at twice the wavelength of taller ones. Of raw
// counts it also notes from where second order can lie at all; of a finished
// curve that would say something about every file and nothing about this one.
func secondOrderGate(e *Evidence) []Finding {
	axis, values := e.curve()
	if axis == nil || e.OrderSorted || axis[len(axis)-1] < 2*axis[0] || len(axis) < 16 {
		return nil
	}
	peaks := FindPeaks(values, nil)
	noise := localNoise(values)
	nmOf := func(p Peak) (nm, width float64) {
		i := min(max(int(math.Round(p.Pixel)), 1), len(axis)-2)
		slope := (axis[i+1] - axis[i-1]) / 2
		return axis[i] + (p.Pixel-float64(i))*slope, p.FWHM * slope
	}
	var ghosts []string
	worst := 0.0
	for _, p := range peaks {
		nm, width := nmOf(p)
		if p.Broad || 2*nm > axis[len(axis)-1]-width {
			continue
		}
		for _, q := range peaks {
			there, w := nmOf(q)
			ratio := q.Area / p.Area
			i := min(max(int(q.Pixel), 0), len(noise)-1)
			// A ghost is as far off as the axis is wrong, twice over.
			if math.Abs(there-2*nm) > max(0.6*w, 0.004*nm) || ratio > 0.3 || ratio < ghostLimit || q.Height() < 8*noise[i] || w > 4*width+1 {
				continue
			}
			ghosts = append(ghosts, fmt.Sprintf("%.1f nm (of %.1f nm)", there, nm))
			worst = max(worst, ratio)
		}
	}
	raw := len(e.Frames) > 0 || e.Spectrum.Quantity() == spectrum.Counts
	switch {
	case len(ghosts) == 0 && !raw:
		return nil
	case len(ghosts) == 0:
		return []Finding{{
			Gate: GateSecondOrder, Severity: Note, Figure: 2 * axis[0], Limit: axis[len(axis)-1], Unit: "nm",
			Text:   fmt.Sprintf("from %.0f nm on, light of half the wavelength could show as a second order; no such line is seen", 2*axis[0]),
			Remedy: "look once through a long-pass filter: what disappears above its edge was a ghost",
		}}
	}
	f := Finding{
		Gate: GateSecondOrder, Severity: Caution, Figure: 100 * worst, Limit: 100 * ghostLimit, Unit: "% of the line",
		Text:   "lines stand at twice the wavelength of taller ones: " + strings.Join(ghosts[:min(3, len(ghosts))], ", "),
		Remedy: "look through a long-pass filter: ghosts go, lines of the lamp's own stay; then use an order-sorting filter, or calibrate the second order with a line lamp and remove it",
	}
	f.Otherwise = e.changed(func(v []float64) {
		s := SecondOrder{Nm: []float64{axis[0]}, Ratio: []float64{worst}}
		copy(v, s.Correct(e.Spectrum.Axis(), v))
	})
	return []Finding{f}
}

func samplingGate(e *Evidence) []Finding {
	if e.Spectrum == nil {
		return nil
	}
	axis, values := e.Spectrum.Axis(), e.Spectrum.Values()
	lines := pickedLines(axis, values, e.BandwidthNm)
	if len(lines) == 0 {
		return nil
	}
	worst := 0
	for i, l := range lines {
		if l.share*(l.greatest-l.least) > lines[worst].share*(lines[worst].greatest-lines[worst].least) {
			worst = i
		}
	}
	l := lines[worst]
	f := Finding{
		Gate: GateSampling, Severity: Caution, Figure: l.width / l.step, Limit: samplingLimit, Unit: "width over step",
		Text: fmt.Sprintf("the line at %.0f nm is %.1f nm wide at most but sampled every %.3g nm: its area can be off by %+.0f %% to %+.0f %%, depending on where the samples fell",
			l.nm, l.width, l.step, 100*l.least, 100*l.greatest),
		Remedy: "use the instrument's own samples, or a table whose values are means over the step and not single points",
	}
	if l.share*max(l.greatest, -l.least) > 0.05 {
		f.Severity = Refusal
	}
	// Too much was counted by up to greatest: then the truth is less, and the
	// other way round. What was all but missed cannot be more than guessed at,
	// so the second possibility is held to twice what is seen.
	scale := func(k float64) {
		f.Otherwise = append(f.Otherwise, e.changed(func(v []float64) {
			for _, l := range lines {
				base := under(axis, values, l.index)
				for j, b := range base {
					i := l.index - 1 + j
					v[i] += (k - 1) * (values[i] - b)
				}
			}
		})...)
	}
	scale(1 / (1 + l.greatest))
	scale(min(2, 1/(1+l.least)))
	return []Finding{f}
}

func coverageGate(e *Evidence) []Finding {
	if e.Spectrum == nil {
		return nil
	}
	from, to := e.Spectrum.Range()
	missing := standards.V().Missing(from, to)
	if missing < coverageNote && from <= 380 && to >= 780 {
		return nil
	}
	f := Finding{
		Gate: GateCoverage, Severity: Note, Figure: 100 * missing, Limit: 100 * coverageLimit, Unit: "% of V(λ)",
		Text:   fmt.Sprintf("the spectrum covers %.0f–%.0f nm of the visible 380–780 nm; %.2f %% of V(λ) lies outside", from, to, 100*missing),
		Remedy: "state the range with the figures; radiant power and the deep-red indices suffer first",
	}
	switch {
	case missing > coverageLimit:
		f.Severity = Refusal
	case from > 400 || to < 700:
		f.Severity = Caution
	}
	return []Finding{f}
}

func responseGate(e *Evidence) []Finding {
	if e.Spectrum == nil || e.Spectrum.Quantity() != spectrum.Counts {
		return nil
	}
	return []Finding{{
		Gate: GateResponse, Severity: Refusal, Figure: 0, Limit: 1, Unit: "responses applied",
		Text:   "these are counts: the instrument's own response is still in them, and no colour follows from them",
		Remedy: "calibrate the response with a filament lamp of known colour temperature",
	}}
}

// trimPackage takes the package's name off an error for use in a sentence.
func trimPackage(err error) string {
	return strings.TrimPrefix(err.Error(), "calibration: ")
}
