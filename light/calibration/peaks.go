package calibration

import (
	"cmp"
	"math"
	"slices"
)

// Peak is one maximum of a recording, fitted on raw pixels. Pixels are counted
// from 0; a whole number is the middle of a pixel.
type Peak struct {
	Pixel float64 // centre
	U     float64 // standard uncertainty of the centre from the fit, pixels
	FWHM  float64 // full width at half maximum, pixels, as the pixels show it
	Area  float64 // counts times pixels above what the peak stands on
	// Lorentz is the Lorentzian share of the pseudo-Voigt shape, 0 for a
	// Gaussian.
	Lorentz float64
	// Saturated tells that a pixel of the peak was clipped: its centre is not
	// to be trusted.
	Saturated bool
	// Broad tells that the peak is much wider than the instrument makes a line:
	// a phosphor hump, a molecular band or an unresolved group.
	Broad bool
}

// Height returns the counts of the peak at its centre.
func (p *Peak) Height() float64 {
	return p.Area * profilePixel(0, p.FWHM, p.Lorentz)
}

const (
	// detection is the prominence in standard deviations of the noise from
	// which a maximum is looked at. It is counted from the foot, which noise
	// lowers as much as it raises the top.
	detection = 7
	// weakestShare is the prominence as a share of the tallest peak below which
	// the imperfect shape of strong lines makes maxima of its own.
	weakestShare = 1.5e-3
	// broad is the width in instrument widths from which a peak is no line. Two
	// equal lines that just do not separate are about 1.7 widths wide.
	broad = 1.9
)

// FindPeaks returns the peaks of one recording in order of pixels. Counts are
// dark-corrected; clipped marks saturated pixels and may be nil. The slice is
// empty where nothing stands out of the noise.
func FindPeaks(counts []float64, clipped []bool) []Peak {
	if len(counts) < 8 {
		return nil
	}
	noise := localNoise(counts)
	width := typicalWidth(counts, noise)
	smooth, gain := smoothed(counts, 0.6*width)

	var starts []int
	tallest := 0.0
	prominence := make(map[int]float64)
	for i := 1; i+1 < len(smooth); i++ {
		if smooth[i] <= smooth[i-1] || smooth[i] < smooth[i+1] {
			continue
		}
		p := prominenceAt(smooth, i, int(math.Ceil(6*width))+3)
		if p > detection*noise[i]*gain {
			starts = append(starts, i)
			prominence[i] = p
			tallest = max(tallest, p)
		}
	}
	starts = slices.DeleteFunc(starts, func(i int) bool { return prominence[i] < weakestShare*tallest })

	var peaks []Peak
	for k := range starts {
		if p, ok := fitPeak(counts, noise, starts, k, width); ok {
			p.Saturated = anyWithin(clipped, p.Pixel, max(1, 0.75*p.FWHM))
			peaks = append(peaks, p)
		}
	}
	peaks = withoutTwins(peaks)
	markBroad(peaks)
	return peaks
}

// fitPeak fits maximum k with its neighbours as company: a straight line and one
// pixel-integrated Gaussian each, then a pseudo-Voigt where the peak stands
// alone and the pixels suffice to tell.
func fitPeak(counts, noise []float64, starts []int, k int, width float64) (Peak, bool) {
	w, ok := windowAbout(counts, starts, k, width)
	if !ok {
		return Peak{}, false
	}
	p, steps := w.start(width)
	n := len(w.counts)
	sum, cov := descend(w.residual, p, steps, n)
	lorentz := 0.0
	if len(w.lines) == 1 && n >= 9 && w.scale > 50*noise[starts[k]] {
		// The share is sin² of the last parameter, which keeps it in 0 to 1.
		q := append(slices.Clone(p), math.Asin(math.Sqrt(0.1)))
		wider, covWider := descend(w.residual, q, append(steps, 1e-6), n)
		if covWider != nil && wider*float64(n-len(p)) < 0.8*sum*float64(n-len(q)) {
			lorentz = math.Pow(math.Sin(q[len(q)-1]), 2)
			p, sum, cov = q, wider, covWider
		}
	}
	if cov == nil {
		return Peak{}, false
	}
	fit := Peak{
		Area: p[2] * w.scale, Pixel: p[3], FWHM: math.Exp(p[4]), Lorentz: lorentz,
		U: math.Sqrt(cov.At(3, 3) * sum / float64(n-len(p))),
	}
	strayed := math.Abs(fit.Pixel-float64(starts[k])) > max(1, 0.7*width)
	if !(fit.Area > 0) || strayed || fit.FWHM > 6*width || fit.FWHM < 0.05 {
		return Peak{}, false
	}
	return fit, true
}

// window is the stretch of a recording that one fit looks at. Counts are in
// units of scale, the first of lines is the peak that is asked for.
type window struct {
	counts []float64
	from   int // pixel of counts[0]
	lines  []int
	tops   []float64 // of the lines, above the lowest count
	lowest float64
	scale  float64
}

// windowAbout cuts out 1.3 widths to either side of maximum k with the maxima
// that reach into it, as many as the pixels can tell apart.
func windowAbout(counts []float64, starts []int, k int, width float64) (w window, ok bool) {
	at := starts[k]
	half := max(3, int(math.Ceil(1.3*width)))
	from, to := max(0, at-half), min(len(counts), at+half+1)
	w = window{from: from, lines: []int{at}, lowest: slices.Min(counts[from:to])}
	w.scale = counts[at] - w.lowest
	for _, s := range starts {
		if s != at && s >= from-half/2 && s < to+half/2 && len(w.lines) < 5 {
			w.lines = append(w.lines, s)
		}
	}
	if to-from < 3+3*len(w.lines) { // one more than there are parameters
		w.lines = w.lines[:1]
	}
	if to-from < 6 || w.scale <= 0 {
		return w, false
	}
	for _, s := range w.lines {
		w.tops = append(w.tops, (counts[s]-w.lowest)/w.scale)
	}
	w.counts = make([]float64, to-from)
	for i := range w.counts {
		w.counts[i] = counts[from+i] / w.scale
	}
	return w, true
}

// start returns where a fit begins and the steps of its differences: level and
// slope of what the lines stand on, then area, centre and logarithm of the width
// of each line.
func (w *window) start(width float64) (p, steps []float64) {
	p, steps = []float64{w.lowest / w.scale, 0}, []float64{1e-6, 1e-7}
	for j, s := range w.lines {
		p = append(p, max(w.tops[j], 0.05)/gaussPixel(0, width), float64(s), math.Log(width))
		steps = append(steps, 1e-6, 1e-6, 1e-6)
	}
	return p, steps
}

// residual writes model minus counts.
func (w *window) residual(p, r []float64) {
	share := 0.0
	if len(p) == 3*len(w.lines)+3 {
		share = math.Pow(math.Sin(p[len(p)-1]), 2)
	}
	for i := range r {
		x := float64(w.from + i)
		y := p[0] + p[1]*(x-float64(w.lines[0]))
		for j := range w.lines {
			line := p[2+3*j:]
			y += line[0] * profilePixel(x-line[1], math.Exp(min(line[2], 8)), share)
		}
		r[i] = y - w.counts[i]
	}
}

// withoutTwins keeps one of two fits that ran to the same place.
func withoutTwins(peaks []Peak) []Peak {
	slices.SortFunc(peaks, func(a, b Peak) int { return cmp.Compare(a.Pixel, b.Pixel) })
	return slices.CompactFunc(peaks, func(a, b Peak) bool { return math.Abs(b.Pixel-a.Pixel) < 0.3*min(a.FWHM, b.FWHM) })
}

// markBroad compares every width with the lower quartile: lines cannot be
// narrower than the instrument, and blends and bands only widen.
func markBroad(peaks []Peak) {
	var widths []float64
	for _, p := range peaks {
		if !p.Saturated {
			widths = append(widths, p.FWHM)
		}
	}
	if len(widths) == 0 {
		return
	}
	typical := quantile(widths, 0.3)
	for i := range peaks {
		peaks[i].Broad = peaks[i].FWHM > broad*max(typical, 1)
	}
}

// typicalWidth returns the width in pixels that the narrow hills of a recording
// agree on, at least one pixel.
func typicalWidth(counts, noise []float64) float64 {
	lowest, highest := slices.Min(counts), slices.Max(counts)
	const reach = 60
	var widths []float64
	for i := 1; i+1 < len(counts); i++ {
		v := counts[i]
		if v <= counts[i-1] || v < counts[i+1] || v-lowest < 0.03*(highest-lowest) {
			continue
		}
		from, to := max(0, i-reach), min(len(counts), i+reach+1)
		foot := max(slices.Min(counts[from:i+1]), slices.Min(counts[i:to]))
		if v-foot < max(12*noise[i], 0.3*(v-lowest)) {
			continue
		}
		half := foot + (v-foot)/2
		// The steeper flank: the other may be a neighbour's.
		w := 2 * min(halfWidth(counts[from:i+1], half, true), halfWidth(counts[i:to], half, false))
		if !math.IsInf(w, 1) {
			widths = append(widths, w)
		}
	}
	if len(widths) == 0 {
		return 3
	}
	return max(1, quantile(widths, 0.35))
}

// halfWidth returns how far from the top, which is the last or the first of y, a
// flank falls to half; infinity where it does not.
func halfWidth(y []float64, half float64, topIsLast bool) float64 {
	n := len(y)
	at := func(k int) float64 { // k samples from the top
		if topIsLast {
			return y[n-1-k]
		}
		return y[k]
	}
	for k := 1; k < n; k++ {
		if at(k) <= half {
			return float64(k) - (half-at(k))/(at(k-1)-at(k))
		}
	}
	return math.Inf(1)
}

// prominenceAt returns how far maximum i rises above the higher of the two feet
// it has before the curve climbs above it or within reach pixels.
func prominenceAt(y []float64, i, reach int) float64 {
	foot := func(step int) float64 {
		low := y[i]
		for j, n := i+step, 0; j >= 0 && j < len(y) && y[j] <= y[i] && n < reach; j, n = j+step, n+1 {
			low = min(low, y[j])
		}
		return low
	}
	return y[i] - max(foot(-1), foot(1))
}

// smoothed returns the counts folded with a Gaussian of the given FWHM in pixels
// and the factor by which that lessens white noise. It serves to find maxima
// only; every fit is made on the counts themselves.
func smoothed(counts []float64, fwhm float64) (out []float64, gain float64) {
	if fwhm < 1.5 {
		return counts, 1
	}
	half := int(math.Ceil(1.5 * fwhm))
	kernel := make([]float64, 2*half+1)
	sum, square := 0.0, 0.0
	for i := range kernel {
		kernel[i] = gaussPixel(float64(i-half), fwhm)
		sum += kernel[i]
		square += kernel[i] * kernel[i]
	}
	out = make([]float64, len(counts))
	for i := range out {
		for j, c := range kernel {
			out[i] += c / sum * counts[min(max(i+j-half, 0), len(counts)-1)]
		}
	}
	return out, math.Sqrt(square) / sum
}

// localNoise returns the standard deviation of the noise at every pixel from
// third differences, which no parabola disturbs: −y₀ + 3y₁ − 3y₂ + y₃ has the
// variance 20 σ². A low quantile within a window hardly feels the lines in it.
func localNoise(counts []float64) []float64 {
	const (
		window = 96
		share  = 0.30
		// P(|z| < 0.3853) = 0.30 for a normal deviate.
		deviate = 0.3853
	)
	n := len(counts)
	noise := make([]float64, n)
	size := min(window, n)
	for from := 0; from < n; from += size / 2 {
		at := min(from, n-size)
		var d []float64
		for i := at; i+3 < at+size; i++ {
			d = append(d, math.Abs(counts[i+3]-counts[i]+3*(counts[i+1]-counts[i+2])))
		}
		sigma := quantile(d, share) / deviate / math.Sqrt(20)
		for i := from; i < min(n, from+size/2+1); i++ {
			noise[i] = sigma
		}
	}
	return noise
}

// anyWithin reports whether a mark lies within reach of a place; nil has none.
func anyWithin(marks []bool, at, reach float64) bool {
	for i := max(0, int(math.Ceil(at-reach))); i < len(marks) && float64(i) <= at+reach; i++ {
		if marks[i] {
			return true
		}
	}
	return false
}

// normalMedian is the median magnitude of a normal deviate.
const normalMedian = 0.6745

// quantile returns the q-quantile of a copy of v, 0 for none.
func quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return s[int(q*float64(len(s)-1)+0.5)]
}
