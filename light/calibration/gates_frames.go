package calibration

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"lampassay/light/spectrum"
)

// Limits of the gates on raw frames. Those marked "practice" are what bench
// guides commonly ask for, without a source to cite.
const (
	fullEnough     = 0.15  // practice: least part of full scale at the peak
	mainsLimit     = 0.01  // of the modulation depth left in a frame
	ambientLimit   = 0.002 // share of the light
	noiseLimit     = 200.0 // peak over noise in one pixel
	driftLimit     = 0.01  // between the frames of one series
	clippedGuess   = 0.25  // by how much a clipped pixel may have been higher
	darkStructured = 12.0  // standard deviations of a line in the dark
)

func saturationGate(e *Evidence) []Finding {
	if e.FullScale <= 0 || len(e.Frames) == 0 {
		return nil
	}
	mask := make([]bool, len(e.Frames[0].Counts))
	frames := 0
	for _, f := range e.Frames {
		hit := false
		for i, c := range ClipMask(f.Counts, e.FullScale) {
			if c && i < len(mask) {
				mask[i], hit = true, true
			}
		}
		if hit {
			frames++
		}
	}
	n := count(mask)
	if n == 0 {
		return nil
	}
	return []Finding{{
		Gate: GateSaturation, Severity: Refusal, Figure: float64(n), Limit: 0, Unit: "pixels",
		Text:      fmt.Sprintf("%d pixels (%s) are at full scale in %d of %d frames: what lay above is lost", n, e.places(mask), frames, len(e.Frames)),
		Remedy:    "shorten the exposure until the tallest feature stands at 60–85 % of full scale, or add a short exposure to the bracket",
		Otherwise: e.raised(mask),
	}}
}

// raised lifts marked pixels by clippedGuess, where the spectrum has the
// frames' pixels.
func (e *Evidence) raised(mask []bool) []*spectrum.Spectrum {
	if e.Spectrum == nil || e.Spectrum.Len() != len(mask) {
		return nil
	}
	return e.changed(func(v []float64) {
		for i := range v {
			if mask[i] {
				v[i] *= 1 + clippedGuess
			}
		}
	})
}

func hiddenSaturationGate(e *Evidence) []Finding {
	counts, ok := e.light()
	if ok {
		for _, f := range e.Frames {
			if e.FullScale > 0 && count(ClipMask(f.Counts, e.FullScale)) > 0 {
				return nil // open saturation says it already
			}
		}
	} else if e.Spectrum != nil {
		counts = e.Spectrum.Values()
	} else {
		return nil
	}
	level, mask, found := HiddenClipping(counts)
	if !found {
		return nil
	}
	return []Finding{{
		Gate: GateHiddenSaturation, Severity: Refusal, Figure: float64(count(mask)), Limit: 2, Unit: "pixels",
		Text:      fmt.Sprintf("the curve is cut off flat at %.4g over %d neighbouring samples (%s): it was clipped before it was averaged or scaled", level, count(mask), e.places(mask)),
		Remedy:    "look at single raw frames, and record again with a shorter exposure",
		Otherwise: e.raised(mask),
	}}
}

func underexposureGate(e *Evidence) []Finding {
	if e.FullScale <= 0 || len(e.Frames) == 0 {
		return nil
	}
	top := 0.0
	for _, f := range e.Frames {
		top = max(top, slices.Max(f.Counts)/e.FullScale)
	}
	if top >= fullEnough {
		return nil
	}
	f := Finding{
		Gate: GateUnderexposure, Severity: Caution, Figure: 100 * top, Limit: 100 * fullEnough, Unit: "% of full scale",
		Text:   fmt.Sprintf("the tallest count is %.1f %% of full scale: steps of the converter and non-linearity weigh on weak parts", 100*top),
		Remedy: "lengthen the exposure until the tallest feature stands at 60–85 % of full scale",
	}
	return []Finding{f}
}

// MainsResidue returns the part of the modulation depth of light that pulses at
// twice the mains frequency which one exposure still shows, |sin πft / πft|: 0
// for whole periods, 1 for an instant.
func MainsResidue(exposureMs, mainsHz float64) float64 {
	x := math.Pi * 2 * mainsHz * exposureMs / 1000
	if x == 0 {
		return 1
	}
	return math.Abs(math.Sin(x) / x)
}

func mainsGate(e *Evidence) []Finding {
	if e.MainsHz <= 0 || len(e.Frames) == 0 {
		return nil
	}
	t := e.Frames[0].ExposureMs
	if t <= 0 {
		return nil
	}
	residue := MainsResidue(t, e.MainsHz) / math.Sqrt(float64(len(e.Frames)))
	if residue <= mainsLimit {
		return nil
	}
	half := 500 / e.MainsHz
	f := Finding{
		Gate: GateMains, Severity: Note, Figure: 100 * residue, Limit: 100 * mainsLimit, Unit: "% of the modulation depth",
		Text:   fmt.Sprintf("an exposure of %g ms is not a multiple of the half mains period of %.4g ms: it can be off by %.0f %% of the depth of any flicker", t, half, 100*residue),
		Remedy: fmt.Sprintf("expose for %.4g ms or another multiple of %.4g ms, or average many frames", math.Max(1, math.Round(t/half))*half, half),
	}
	if residue > 0.1 {
		f.Severity = Caution
	}
	f.Otherwise = e.changed(func(v []float64) {
		for i := range v {
			v[i] *= 1 + residue
		}
	})
	return []Finding{f}
}

func ambientGate(e *Evidence) []Finding {
	counts, ok := e.light()
	if !ok || e.Ambient == nil || len(e.Ambient.Counts) != len(counts) {
		return nil
	}
	left := slices.Clone(e.Ambient.Counts)
	var sum, all float64
	for i := range left {
		if e.Dark != nil && len(e.Dark.Counts) == len(left) {
			left[i] -= e.Dark.Counts[i]
		}
		sum += left[i]
		all += counts[i]
	}
	share := sum / all
	if !(share > ambientLimit) {
		return nil
	}
	f := Finding{
		Gate: GateAmbient, Severity: Caution, Figure: 100 * share, Limit: 100 * ambientLimit, Unit: "% of the light",
		Text:   fmt.Sprintf("%.1f %% of what was counted is there with the lamp off", 100*share),
		Remedy: "darken the room, or subtract the reading with the beam blocked",
	}
	f.Otherwise = e.changed(func(v []float64) {
		if len(v) != len(left) {
			return
		}
		for i := range v {
			if counts[i] > 0 {
				v[i] *= 1 - left[i]/counts[i]
			}
		}
	})
	return []Finding{f}
}

func darkGate(e *Evidence) []Finding {
	if len(e.Frames) == 0 {
		return nil
	}
	if e.Dark == nil {
		return []Finding{{
			Gate: GateDark, Severity: Caution, Figure: 0, Limit: 1, Unit: "dark frames",
			Text:   "no dark frame belongs to these exposures: the detector's offset counts as light",
			Remedy: "cover the entrance and record a dark at the same exposure within minutes",
		}}
	}
	var out []Finding
	if _, err := SubtractDark(e.Frames[0], *e.Dark); err != nil {
		out = append(out, Finding{
			Gate: GateDark, Severity: Refusal, Figure: e.Dark.ExposureMs, Limit: e.Frames[0].ExposureMs, Unit: "ms",
			Text: trimPackage(err), Remedy: "record light and dark at one exposure, and check which file is which",
		})
	}
	noise := localNoise(e.Dark.Counts)
	for _, p := range FindPeaks(e.Dark.Counts, nil) {
		i := min(max(int(p.Pixel), 0), len(noise)-1)
		// What is narrower is a hot pixel, what is wider the detector's pattern.
		if p.FWHM >= 1.5 && p.FWHM < float64(len(noise))/20 && p.Height() > darkStructured*noise[i] {
			out = append(out, Finding{
				Gate: GateDark, Severity: Caution, Figure: p.Height() / noise[i], Limit: darkStructured, Unit: "standard deviations",
				Text:   fmt.Sprintf("the dark frame shows a line at %s: light reached the detector", e.place(p.Pixel, 1)),
				Remedy: "cover the entrance completely and record the dark again",
			})
			break
		}
	}
	return out
}

func noiseGate(e *Evidence) []Finding {
	counts, ok := e.light()
	if !ok {
		if e.Spectrum == nil {
			return nil
		}
		counts = e.Spectrum.Values()
	}
	top := slices.Max(counts)
	floor := quantile(localNoise(counts), 0.5)
	if floor == 0 || top/floor >= noiseLimit {
		return nil
	}
	f := Finding{
		Gate: GateNoise, Severity: Note, Figure: top / floor, Limit: noiseLimit, Unit: "peak over noise",
		Text:   fmt.Sprintf("the peak stands %.0f times above the noise of one sample", top/floor),
		Remedy: "average more frames or let in more light; do not smooth",
	}
	if top/floor < noiseLimit/5 {
		f.Severity = Caution
	}
	// One more draw of the same noise shows what it can do.
	if e.Spectrum != nil {
		noise := localNoise(e.Spectrum.Values())
		r := rand.New(rand.NewPCG(1, 1))
		f.Otherwise = e.changed(func(v []float64) {
			for i := range v {
				v[i] += noise[i] * r.NormFloat64()
			}
		})
	}
	return []Finding{f}
}

// Drift asks whether the light of the evidence's frames held still: the gate for
// series that are no raw counts.
func Drift(e *Evidence) []Finding {
	if len(e.Frames) < 2 {
		return nil
	}
	var least, most float64 = math.Inf(1), math.Inf(-1)
	for _, f := range e.Frames {
		sum := 0.0
		for i, c := range f.Counts {
			if e.Dark != nil && i < len(e.Dark.Counts) && e.Dark.ExposureMs == f.ExposureMs {
				c -= e.Dark.Counts[i]
			}
			sum += c
		}
		rate := sum / max(f.ExposureMs, 1e-9)
		least, most = min(least, rate), max(most, rate)
	}
	drift := 2 * (most - least) / (most + least)
	if !(drift > driftLimit) {
		return nil
	}
	f := Finding{
		Gate: GateDrift, Severity: Caution, Figure: 100 * drift, Limit: 100 * driftLimit, Unit: "%",
		Text:   fmt.Sprintf("the light changed by %.1f %% between the frames of the series", 100*drift),
		Remedy: "wait until the lamp is stable in light and in power, or keep the frames apart as a series in time",
	}
	f.Otherwise = e.changed(func(v []float64) {
		for i := range v {
			v[i] *= 1 + drift/2
		}
	})
	return []Finding{f}
}

func count(mask []bool) int {
	n := 0
	for _, m := range mask {
		if m {
			n++
		}
	}
	return n
}

// place names a pixel by its wavelength, or by its number where no axis is known.
func (e *Evidence) place(pixel float64, decimals int) string {
	axis := e.Axis
	if len(axis) == 0 && e.Spectrum != nil {
		axis = e.Spectrum.Axis()
	}
	i := int(math.Round(pixel))
	if i < 0 || i >= len(axis) {
		return fmt.Sprintf("pixel %.0f", pixel)
	}
	return fmt.Sprintf("%.*f nm", decimals, axis[i])
}

// places names the runs of a mask by wavelength, the first three.
func (e *Evidence) places(mask []bool) string {
	text, runs := "", 0
	for i := 0; i < len(mask); i++ {
		if !mask[i] || (i > 0 && mask[i-1]) {
			continue
		}
		runs++
		if runs > 3 {
			return text + ", …"
		}
		if text != "" {
			text += ", "
		}
		text += e.place(float64(i), 0)
	}
	return text
}
