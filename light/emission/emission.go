package emission

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampassay/light/spectrum"
)

// Options tell what is known of the instrument. The zero value asks for
// everything to be estimated.
type Options struct {
	// Bandwidth is the instrument's full width at half maximum, nm; 0 takes it
	// from the narrowest lines.
	Bandwidth float64
	// WavelengthU is the standard uncertainty of the wavelength axis, nm; 0
	// means [DefaultWavelengthU]. A shift common to all lines is looked for
	// within three times as much.
	WavelengthU float64
	// Noise is the standard deviation of one sample, in the spectrum's unit; 0
	// takes it from the samples.
	Noise float64
}

// DefaultWavelengthU is the standard uncertainty, in nm, of an axis that nobody
// has checked lately (judgement).
const DefaultWavelengthU = 0.4

// minSamples is the least number of samples within 200–1000 nm that can be
// analysed.
const minSamples = 16

// ErrTooFew is returned for a spectrum with fewer than 16 samples between 200
// and 1000 nm.
var ErrTooFew = errors.New("emission: fewer than 16 samples between 200 and 1000 nm")

// ErrScale is returned for values so large or so small that their squares cannot
// be reckoned with: beyond 10^±120.
var ErrScale = errors.New("emission: the values are too large or too small to calculate with: scale them")

// Result is what a spectrum says about its source.
type Result struct {
	// Continuum is what lies under the lines, at every sample of the spectrum,
	// in its unit. Outside 200–1000 nm it is the curve itself.
	Continuum []float64
	// Noise is the standard deviation of each sample; outside 200–1000 nm that
	// of the nearest sample within.
	Noise []float64
	// Bandwidth is the full width at half maximum, nm, of a line that is
	// narrower than the instrument can show, and BandwidthMeasured whether the
	// lines of this spectrum gave it (else it is an assumption from the step).
	Bandwidth         float64
	BandwidthMeasured bool
	// Shift is how much the axis reads too high, nm, by the identified atomic
	// lines, and ShiftU its standard uncertainty. NaN where no atom was found.
	Shift, ShiftU float64

	Lines    []Line    // by wavelength
	Bands    []Band    // by wavelength
	Elements []Element // most certain first
	Family   Family
	Warnings []string

	first int // index of the first sample within the searched range
}

// Line is a feature as narrow as the instrument, or nearly.
type Line struct {
	Centre, CentreU float64 // nm, as the axis reads
	Area, AreaU     float64 // integral, the spectrum's unit times nm
	Width, WidthU   float64 // full width at half maximum, nm
	SNR             float64 // height over the noise of its own estimate
	// Emitter is the spectrum that explains it ("Hg I", "Eu³⁺ (oxide)"), empty
	// where none does, and Laboratory the known lines in it.
	Emitter    string
	Laboratory []LaboratoryLine
	// Unresolved names a blend for what it is, with the resolving power λ/Δλ
	// that would split it; empty for a single line.
	Unresolved     string
	ResolvingPower float64 // 0 for a single line
	// Broad reports a line clearly wider than the instrument: pressure, or a
	// phosphor.
	Broad bool
}

// LaboratoryLine is a known line, in standard air.
type LaboratoryLine struct {
	Spectrum string
	Nm       float64
}

// Element is an emitter that the spectrum calls for, and why.
type Element struct {
	Symbol   string  // "Na"; "Eu³⁺" for an ion in a phosphor
	Spectrum string  // "Na I"
	Role     string  // what it does in a lamp of this family: "buffer or starting gas"
	Score    float64 // probability, given the assumptions of the method
	// Lines are indices into Result.Lines; Found and Missing laboratory
	// wavelengths (of a blend, its middle) of the strong lines put to the test.
	Lines          []int
	Found, Missing []float64
	Reasons        []string
	Alternatives   []string
}

// Phosphor reports whether the emitter is an ion in a phosphor, not an atom.
func (e *Element) Phosphor() bool { return strings.Contains(e.Symbol, "⁺") }

// Unexplained returns the lines that no emitter accounts for.
func (r *Result) Unexplained() []Line {
	var all []Line
	for _, l := range r.Lines {
		if l.Emitter == "" {
			all = append(all, l)
		}
	}
	return all
}

// Element returns the emitter of a spectrum ("Na I"), nil where it was not
// found.
func (r *Result) Element(spectrum string) *Element {
	for i := range r.Elements {
		if r.Elements[i].Spectrum == spectrum {
			return &r.Elements[i]
		}
	}
	return nil
}

// Analyse finds what a spectrum is made of. It depends on the spectrum and the
// options alone and may be called from many goroutines.
func Analyse(s *spectrum.Spectrum, o Options) (*Result, error) {
	for _, v := range [...]float64{o.Bandwidth, o.WavelengthU, o.Noise} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("emission: bandwidth, wavelength uncertainty and noise must be numbers of zero or more")
		}
	}
	if o.WavelengthU == 0 {
		o.WavelengthU = DefaultWavelengthU
	}
	t, first, ok := newTrace(s)
	if !ok {
		return nil, ErrTooFew
	}
	defer t.release()
	if t.top != 0 && (t.top < 1e-120 || t.top > 1e120) {
		return nil, ErrScale
	}
	t.estimateNoise(o.Noise)
	spikes := t.dropSpikes()
	t.estimateBandwidth(o.Bandwidth)
	peaks, sigma := t.peaks()
	reversed, isReversed := t.findReversal(peaks, o.WavelengthU)
	if isReversed {
		peaks = reversed.replacePeaks(t, peaks)
	}
	search := &search{t: t, peaks: peaks, features: seenThrough(t.bandwidth), reversed: isReversed,
		shiftU: o.WavelengthU, crook: 0.08 + 0.3*o.WavelengthU + 0.02*t.bandwidth}
	search.findLimits(sigma)
	verdicts := search.explain()

	// A line is what stands out by itself, and what is weaker but called for.
	linePeaks := t.peakRoom.take(len(search.peaks))[:0]
	for _, p := range search.peaks {
		if isReversed && p.nm == sodiumD {
			continue
		}
		if p.snr() >= significant || (p.claim >= 0 && p.snr() >= 4) {
			linePeaks = append(linePeaks, p)
		}
	}
	profiles := t.fitLines(linePeaks)
	r := &Result{first: first, Bandwidth: t.bandwidth, BandwidthMeasured: t.measured, Shift: math.NaN(), ShiftU: math.NaN()}
	kept := profiles[:0]
	r.Lines = make([]Line, 0, len(profiles))
	for i, p := range profiles {
		if !p.ok || p.width > t.widestLine() || p.nmU > p.width { // a hill that has no place is no line
			continue
		}
		kept = append(kept, p)
		r.Lines = append(r.Lines, t.line(&p, &linePeaks[i], search.shift))
	}
	inside := t.continuum(kept)
	x, y := s.Axis(), s.Values()
	r.Continuum, r.Noise = slices.Clone(y), make([]float64, len(x))
	copy(r.Continuum[first:], inside)
	last := first + copy(r.Noise[first:], t.sigma) - 1
	for i := range first {
		r.Noise[i] = r.Noise[first]
	}
	for i := last + 1; i < len(r.Noise); i++ {
		r.Noise[i] = r.Noise[last]
	}
	for _, v := range verdicts {
		if !catalogue()[v.emitter].ion {
			r.Shift, r.ShiftU = search.shift, search.shiftU
		}
		r.Elements = append(r.Elements, r.element(search, &v, isReversed))
	}
	r.describe(t, inside, reversed, isReversed)
	r.warnOfSpikes(spikes)
	return r, nil
}

// widestLine is the width from which a hill is a band, not a line, nm. The
// groups of a phosphor's ion reach 7 nm.
func (t *trace) widestLine() float64 {
	if t.coarse() {
		return 2.2 * t.bandwidth
	}
	return max(3.5*t.bandwidth, 7)
}

// line describes a fitted line and what it is known to be.
func (t *trace) line(p *profile, from *peak, shift float64) Line {
	l := Line{Centre: p.nm, CentreU: p.nmU, Area: p.area(), AreaU: p.areaU, Width: p.width, WidthU: p.widthU, SNR: from.snr()}
	l.Broad = p.width-2*p.widthU > 1.4*t.bandwidth
	if from.claim < 0 {
		return l
	}
	em := &catalogue()[from.claim]
	l.Emitter = em.spectrum
	at := p.nm - shift
	if em.ion {
		at = p.nm
	}
	// What lies further off than half a bandwidth is no part of this line, however
	// badly the fit knows its place.
	reach := max(0.55*t.bandwidth, 0.3)
	if em.ion {
		reach = 3
	}
	top := 0.0
	for _, c := range em.lines {
		if math.Abs(c.nm-at) < reach {
			top = max(top, c.intensity)
		}
	}
	for _, c := range em.lines {
		if math.Abs(c.nm-at) < reach && c.intensity >= 0.05*top {
			l.Laboratory = append(l.Laboratory, LaboratoryLine{em.spectrum, c.nm})
		}
	}
	if len(l.Laboratory) == 0 {
		nearest := slices.MinFunc(em.lines, func(a, b catalogueLine) int { return cmp.Compare(math.Abs(a.nm-at), math.Abs(b.nm-at)) })
		l.Laboratory = []LaboratoryLine{{em.spectrum, nearest.nm}}
	}
	if !em.ion {
		l.nameBlend(em.symbol, p.nm/t.bandwidth)
	}
	return l
}

// nameBlend says which laboratory lines an instrument of resolving power has
// seen as one, and the resolving power that would split the closest two. Lines
// less than 0.005 nm apart are one for any instrument of this kind.
func (l *Line) nameBlend(symbol string, has float64) {
	gap := math.Inf(1)
	for i := 1; i < len(l.Laboratory); i++ {
		gap = min(gap, l.Laboratory[i].Nm-l.Laboratory[i-1].Nm)
	}
	needed := l.Centre / gap
	if gap < 0.005 || needed <= has {
		return
	}
	var names []string
	for _, c := range l.Laboratory {
		names = append(names, strconv.FormatFloat(c.Nm, 'f', 2, 64))
	}
	l.ResolvingPower = needed
	l.Unresolved = fmt.Sprintf("%d %s lines seen as one (%s nm): a resolving power of about %.0f would split them, this instrument has %.0f here",
		len(names), symbol, strings.Join(names, ", "), needed, has)
}
