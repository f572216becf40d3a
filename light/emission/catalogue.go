package emission

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"sync"

	"lampassay/light/standards"
)

// emitter is something that makes lines: the atoms of one spectrum, or a
// luminescent ion in a phosphor.
type emitter struct {
	spectrum string // "Na I", "Eu³⁺ (oxide)"
	symbol   string // "Na", "Eu³⁺"
	ion      bool   // a phosphor's: place and width depend on the host
	arc      bool   // stands in for the atom of the same spectrum in a self-reversed arc
	odds     float64
	lines    []catalogueLine
}

type catalogueLine struct {
	nm        float64
	intensity float64 // relative within the emitter
	blur      float64 // natural width in nm (a phosphor's Stark group)
}

// priorOdds is how often an emitter is met in lamps, as odds, before anything
// is seen. Judgement, not measurement: it only decides between explanations
// that the spectrum leaves equally good.
var priorOdds = map[string]float64{
	"Hg I": 0.5, "Na I": 0.5, "Ar I": 0.15, "Ne I": 0.15, "Xe I": 0.1, "Kr I": 0.08,
	"Tl I": 0.1, "In I": 0.1, "Li I": 0.1, "K I": 0.2, "H I": 0.06, "He I": 0.06,
	"Sc I": 0.02, "Sc II": 0.03, "Zn I": 0.08, "Cd I": 0.08, "Cs I": 0.02, "Rb I": 0.015,
	"Ca I": 0.015, "Ca II": 0.01, "Sr I": 0.01, "Sr II": 0.01, "Ba I": 0.01, "Ba II": 0.01, "Ga I": 0.01,
}

// furtherLines completes the table of package standards.
var furtherLines = []standards.Line{
	// Sansonetti, Salit and Reader, Appl. Opt. 35 (1996) 74: wavelengths of a
	// low-pressure mercury lamp. Intensities from memory, in order of size only.
	{Nm: 253.6521, Spectrum: "Hg I", Intensity: 60000},
	{Nm: 296.7283, Spectrum: "Hg I", Intensity: 2500},
	{Nm: 302.1504, Spectrum: "Hg I", Intensity: 900},
	{Nm: 312.5674, Spectrum: "Hg I", Intensity: 3000},
	{Nm: 313.1695, Spectrum: "Hg I", Intensity: 5000},
	{Nm: 334.1484, Spectrum: "Hg I", Intensity: 500},
	// Blue xenon lines, from memory.
	{Nm: 450.098, Spectrum: "Xe I", Intensity: 50},
	{Nm: 462.428, Spectrum: "Xe I", Intensity: 100},
	{Nm: 467.123, Spectrum: "Xe I", Intensity: 200},
}

// lampIntensities replaces relative intensities of the table that belong to
// another kind of discharge: in a lamp the far-red lines of mercury are a
// hundredth of the green one or less, and the blue-green one comes to as much. From
// memory, in order of size only.
var lampIntensities = map[float64]float64{491.6068: 80, 607.2640: 40, 671.6340: 60, 690.7460: 120, 708.1901: 60, 709.1860: 60}

// neonScale brings the lines of neon to one scale: the table joins several
// sources, and as it stands the blue lines would be as strong as the red. From
// memory of glow lamps: 640.2 nm is about as high as 703.2 nm, 585.2 nm half as
// high, and nothing below 580 nm comes to a tenth.
func neonScale(nm float64) float64 {
	switch {
	case nm < 580:
		return 0.15
	case nm < 690:
		return 4
	}
	return 1
}

// sodiumArc is sodium at high pressure. The D pair is so absorbed by its own
// vapour that the lines from higher levels, which are not, come to the same
// order. Relative heights from memory of published spectra of such lamps.
var sodiumArc = emitter{spectrum: "Na I", symbol: "Na", arc: true, odds: 30, lines: []catalogueLine{
	{nm: 449.60, intensity: 2}, {nm: 466.74, intensity: 6}, {nm: 475.07, intensity: 2}, {nm: 498.14, intensity: 25},
	{nm: 515.22, intensity: 8}, {nm: 568.52, intensity: 50}, {nm: 589.194, intensity: 100}, {nm: 615.87, intensity: 20},
	{nm: 818.33, intensity: 35}, {nm: 819.48, intensity: 65}}}

// The luminescent ions of lamp phosphors: centres of their groups as a small
// spectrometer sees them, relative areas, and widths, nm. From memory of
// published emission spectra, ±1.5 nm from host to host.
var ions = []emitter{
	{spectrum: "Eu³⁺ (oxide)", symbol: "Eu³⁺", ion: true, odds: 0.5, lines: []catalogueLine{
		{587.4, 0.08, 1.5}, {593.3, 0.09, 2}, {599.6, 0.09, 2}, {611.4, 1, 1.5}, {626.8, 0.05, 2}, {630.8, 0.12, 2.5}, {650, 0.03, 2}, {662.5, 0.03, 2}, {687.5, 0.03, 2}, {693.5, 0.04, 2.5}, {708.5, 0.12, 3}}},
	{spectrum: "Eu³⁺ (vanadate)", symbol: "Eu³⁺", ion: true, odds: 0.1, lines: []catalogueLine{
		{594.5, 0.15, 3}, {615.3, 0.55, 2}, {619.3, 1, 2.5}, {650, 0.07, 4}, {698.5, 0.25, 3}, {704.5, 0.2, 3}}},
	{spectrum: "Tb³⁺", symbol: "Tb³⁺", ion: true, odds: 0.5, lines: []catalogueLine{
		{488.5, 0.3, 5}, {542.8, 1, 2.5}, {548.7, 0.12, 4}, {584.3, 0.15, 4}, {588.5, 0.06, 4}, {621, 0.07, 4}, {625.7, 0.04, 4}}},
	{spectrum: "Mn⁴⁺ (fluoride)", symbol: "Mn⁴⁺", ion: true, odds: 0.2, lines: []catalogueLine{
		{608.8, 0.12, 2.5}, {613.4, 0.4, 2.5}, {621.5, 0.06, 2.5}, {631, 1, 2.5}, {634.8, 0.5, 2.5}, {647.3, 0.14, 2.5}}},
}

// catalogue returns every emitter, lines in order of wavelength.
var catalogue = sync.OnceValue(func() []emitter {
	bySpectrum := map[string]*emitter{}
	for _, l := range append(slices.Clone(standards.Lines()), furtherLines...) {
		e := bySpectrum[l.Spectrum]
		if e == nil {
			symbol, _, _ := strings.Cut(l.Spectrum, " ")
			e = &emitter{spectrum: l.Spectrum, symbol: symbol, odds: priorOdds[l.Spectrum]}
			bySpectrum[l.Spectrum] = e
		}
		intensity := l.Intensity
		if i, ok := lampIntensities[l.Nm]; ok && l.Spectrum == "Hg I" {
			intensity = i
		}
		if l.Spectrum == "Ne I" {
			intensity *= neonScale(l.Nm)
		}
		e.lines = append(e.lines, catalogueLine{nm: l.Nm, intensity: intensity})
	}
	var all []emitter
	for _, e := range bySpectrum {
		if e.odds > 0 {
			all = append(all, *e)
		}
	}
	all = append(all, sodiumArc)
	all = append(all, ions...)
	for _, e := range all {
		slices.SortFunc(e.lines, func(a, b catalogueLine) int { return cmp.Compare(a.nm, b.nm) })
	}
	slices.SortFunc(all, func(a, b emitter) int {
		return cmp.Or(cmp.Compare(a.spectrum, b.spectrum), cmp.Compare(len(a.lines), len(b.lines)))
	})
	return all
})

// feature is a maximum that an emitter would show in an instrument of a given
// bandwidth: one line, or several in one.
type feature struct {
	nm     float64
	weight float64 // height relative to the emitter's highest
	// lnWeight is its natural logarithm, once the highest in range is known, and
	// worst what its absence costs at most.
	lnWeight, worst float64
	// spread is the root mean square distance of the lines around from nm: their
	// ratios decide where the maximum lies, and the filter pushes two close
	// maxima apart.
	spread float64
	// wander is how far the ratios move the maximum, as a standard deviation, nm.
	wander float64
	// margin is how far from nm its peak is looked for, nm, in the instrument at
	// hand.
	margin float64
	// strongest is the weight that weight is relative to, where it is not the
	// emitter's highest.
	strongest float64
	members   []catalogueLine
}

// Bandwidths are told apart in steps of 6 %: much finer than they are known.
const (
	bandwidthLeast = 0.05
	bandwidthStep  = 0.06
	bandwidthCount = 110 // up to 34 nm
)

var seen [bandwidthCount]struct {
	once     sync.Once
	features [][]feature // by emitter
}

// seenThrough returns the features of every emitter as an instrument of a
// bandwidth in nm shows them, the strongest first. The same filter that looks
// for peaks in a measured spectrum looks for them here, so that a blend is
// expected where a blend will be found.
func seenThrough(bandwidth float64) [][]feature {
	b := int(math.Round(math.Log(bandwidth/bandwidthLeast) / bandwidthStep))
	s := &seen[min(max(b, 0), bandwidthCount-1)]
	s.once.Do(func() {
		f := bandwidthLeast * math.Exp(float64(b)*bandwidthStep)
		for _, e := range catalogue() {
			s.features = append(s.features, featuresOf(e, f))
		}
	})
	return s.features
}

func featuresOf(e emitter, bandwidth float64) []feature {
	const perWidth = 6 // samples
	step := bandwidth / perWidth
	var all []feature
	for lo := 0; lo < len(e.lines); {
		hi := lo + 1
		for hi < len(e.lines) && e.lines[hi].nm-e.lines[hi-1].nm < 4*bandwidth+6*e.lines[hi].blur {
			hi++
		}
		group := e.lines[lo:hi]
		lo = hi
		margin := 4*bandwidth + 6*group[0].blur
		from := group[0].nm - margin
		y := make([]float64, int((group[len(group)-1].nm+margin-from)/step)+1)
		for _, l := range group {
			width := math.Hypot(bandwidth, l.blur)
			for i := max(0, int((l.nm-2*width-from)/step)); i < len(y) && from+float64(i)*step < l.nm+2*width; i++ {
				y[i] += l.intensity * bandwidth / width * gauss((from+float64(i)*step-l.nm)/width)
			}
		}
		k := newKernel(perWidth)
		r := make([]float64, len(y))
		for i := range y {
			r[i] = k.response(y, i)
		}
		for i := 1; i+1 < len(r); i++ {
			if r[i] <= 0 || r[i] < r[i-1] || r[i] <= r[i+1] {
				continue
			}
			x := from + float64(i)*step
			f := feature{weight: r[i]}
			f.nm, f.weight = vertex([]float64{x - step, x, x + step}, r[i-1:i+2])
			var sum, sum2 float64
			for _, l := range group {
				d := l.nm - f.nm
				if math.Abs(d) < 0.75*math.Hypot(bandwidth, l.blur) {
					f.members = append(f.members, l)
				}
				if math.Abs(d) < 1.4*math.Hypot(bandwidth, l.blur) {
					sum += l.intensity
					sum2 += l.intensity * d * d
				}
			}
			if len(f.members) > 0 {
				f.spread = math.Sqrt(sum2 / sum)
				f.wander = blendShift * f.spread * (1 + ramp(f.spread/bandwidth, 0.3, 0.45))
				all = append(all, f)
			}
		}
	}
	slices.SortFunc(all, func(a, b feature) int { return cmp.Or(cmp.Compare(b.weight, a.weight), cmp.Compare(a.nm, b.nm)) })
	top := all[0].weight
	for i := range all {
		all[i].weight /= top
		if all[i].weight < 0.0005 {
			return all[:i]
		}
	}
	return all
}
