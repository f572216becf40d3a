package calibration

import (
	"cmp"
	"math"
	"slices"
)

// Which peak is which line is searched, not guessed. Every triple of tall peaks
// is laid on every triple of lines of the lamps they came from; each makes a
// parabola of wavelength over pixel, and all that an instrument could have are
// scored by how well they explain the rest: a peak at a line speaks for the
// parabola by the logarithm of how unlikely that is by chance, a peak at no line
// and a strong line without a peak speak against it. The best are refined with
// the pairs they imply, the tolerance narrowing, and scored again. The distance
// in score to the best one that disagrees is what confidence rests on.

// sight is one recording as the search sees it.
type sight struct {
	lamp  *Lamp
	peaks []Peak
	// weight is how much a peak's having no line speaks against, logHeight the
	// logarithm of its height over the tallest's.
	weight, logHeight []float64
	width             float64 // of a line, pixels
	byWidth           map[int][]feature
	tallest           []int // peaks, tallest first, broad ones left out

	// What the hypothesis being scored makes of the sight.
	inView                      []feature
	logStrongest, density, best float64
}

// Beyond these no small instrument reaches.
const (
	shortest, longest = 170.0, 1250.0 // nm
	narrowestSpan     = 120.0         // nm
	steepestRatio     = 2.2           // of the dispersions at the two ends
	// usualQuadratic and usualCubic are the standard deviations of the second
	// and third coefficient over the first. The grating equation gives up to
	// about 0.2 and 0.04 for cameras of a quarter radian to either side.
	usualQuadratic, usualCubic = 0.12, 0.025
	// strayChance is the chance that a peak belongs to no listed line.
	strayChance = 0.25
	// heightSpread is by how much heights depart from listed strengths, as a
	// standard deviation of the logarithm: lists, discharges and detectors
	// differ. Beyond a point it counts no more.
	heightSpread = 1.5
	// unseen is what a strong line without a peak costs, log of about 0.4.
	unseen = 0.9
)

// hypothesis is a cubic of wavelength over x from −1 to 1.
type hypothesis struct {
	c     [4]float64
	score float64
}

func (h *hypothesis) at(x float64) float64 { return ((h.c[3]*x+h.c[2])*x+h.c[1])*x + h.c[0] }
func (h *hypothesis) slope(x float64) float64 {
	return (3*h.c[3]*x+2*h.c[2])*x + h.c[1]
}

// plausible reports whether an instrument could have this dispersion.
func (h *hypothesis) plausible(e Expected) bool {
	a, m, b := h.slope(-1), h.c[1], h.slope(1)
	if a <= 0 || m <= 0 || b <= 0 || max(a, b) > steepestRatio*min(a, b) || max(a, b) > 1.8*m || m > 1.8*min(a, b) {
		return false
	}
	from, to := h.at(-1), h.at(1)
	return from >= shortest && to <= longest && to-from >= narrowestSpan && e.allows(from, to)
}

// Expected is what is known of an instrument beforehand: its nominal range. The
// zero value expects nothing.
type Expected struct {
	FromNm, ToNm float64
	// Law is the law of dispersion to be used, one of [Laws]; empty for the one
	// that foresees lines best.
	Law string
	// Given are pairs of peak and line that somebody is sure of. They are kept as
	// they are, and the search is for the rest.
	Given []GivenPair
}

// allows grants each end an eighth of the span.
func (e Expected) allows(from, to float64) bool {
	if e.ToNm <= e.FromNm {
		return true
	}
	room := (e.ToNm - e.FromNm) / 8
	return math.Abs(from-e.FromNm) <= room && math.Abs(to-e.ToNm) <= room
}

func newSight(lamp *Lamp, peaks []Peak) *sight {
	s := &sight{lamp: lamp, peaks: peaks, byWidth: map[int][]feature{}}
	var widths []float64
	tallest := 0.0
	for i, p := range peaks {
		if !p.Broad {
			widths = append(widths, p.FWHM)
			s.tallest = append(s.tallest, i)
		}
		tallest = max(tallest, p.Height())
	}
	s.width = max(1, quantile(widths, 0.3))
	s.weight, s.logHeight = make([]float64, len(peaks)), make([]float64, len(peaks))
	for i, p := range peaks {
		s.logHeight[i] = math.Log(p.Height() / tallest)
		if !p.Broad {
			s.weight[i] = math.Pow(p.Height()/tallest, 0.25)
		}
	}
	slices.SortFunc(s.tallest, func(a, b int) int { return cmp.Compare(peaks[b].Height(), peaks[a].Height()) })
	return s
}

// features returns the lamp's features at a bandwidth in nm, in steps of a
// fifth.
func (s *sight) features(fwhm float64) []feature {
	class := int(math.Round(math.Log(fwhm) / math.Log(1.2)))
	f, ok := s.byWidth[class]
	if !ok {
		f = s.lamp.features(math.Pow(1.2, float64(class)))
		s.byWidth[class] = f
	}
	return f
}

// search holds one pairing problem.
type search struct {
	sights   []*sight
	pixels   int
	expected Expected
	given    []given // by pixel
}

func (s *search) x(pixel float64) float64 {
	m := float64(s.pixels-1) / 2
	return (pixel - m) / m
}

// score returns the log-likelihood ratio of a hypothesis against chance. A peak
// and its line may differ by tol (nm, one standard deviation). Scoring ends, with
// minus infinity, once not even a line for every remaining peak would lift the
// score above the floor.
func (s *search) score(h *hypothesis, tol, floor float64) float64 {
	bend, twist := h.c[2]/h.c[1]/usualQuadratic, h.c[3]/h.c[1]/usualCubic
	total := -(bend*bend + twist*twist) / 2
	hope := 0.0
	for _, v := range s.sights {
		hope += v.prepare(h, tol, float64(s.pixels-1)/2)
	}
	for _, v := range s.sights {
		if total, hope = v.explain(s, h, tol, total, hope, floor); math.IsInf(total, -1) {
			break
		}
	}
	return total
}

var logStray = math.Log(strayChance)

// prepare selects the features a hypothesis puts on the detector and returns the
// most that the sight could add to the score.
func (v *sight) prepare(h *hypothesis, tol, middle float64) (hope float64) {
	from, to := h.at(-1), h.at(1)
	v.inView = within(v.features(v.width*h.c[1]/middle), from, to)
	v.logStrongest, v.density, v.best = math.Inf(-1), 0, 0
	if len(v.inView) > 0 {
		v.density = (1 - strayChance) * (to - from) / float64(len(v.inView)) / math.Sqrt(2*math.Pi)
		v.best = max(0, math.Log(strayChance+v.density/tol))
	}
	for i := range v.inView {
		v.logStrongest = max(v.logStrongest, v.inView[i].logStrength)
	}
	for _, w := range v.weight {
		hope += w * v.best
	}
	return hope
}

// explain adds one sight's part to the score. Peaks and features both run up the
// axis, so one pass finds every peak's nearest feature.
func (v *sight) explain(s *search, h *hypothesis, tol, total, hope, floor float64) (float64, float64) {
	next, taken, gain := 0, -1, 0.0
	var seen uint64 // no lamp has more than 64 lines
	for i, weight := range v.weight {
		if weight == 0 {
			continue
		}
		if total+hope <= floor {
			return math.Inf(-1), hope
		}
		hope -= weight * v.best
		here := logStray * weight
		if len(v.inView) > 0 {
			nm := h.at(s.x(v.peaks[i].Pixel))
			for next+1 < len(v.inView) && math.Abs(v.inView[next+1].nm-nm) <= math.Abs(v.inView[next].nm-nm) {
				next++
			}
			f := &v.inView[next]
			variance := tol*tol + f.u*f.u
			if z := (nm - f.nm) * (nm - f.nm) / variance; z < 25 {
				unlike := v.logHeight[i] - f.logStrength + v.logStrongest
				unlike = min(unlike*unlike/(2*heightSpread*heightSpread), 1.5)
				here = weight * math.Log(strayChance+v.density/math.Sqrt(variance)*math.Exp(-z/2-unlike))
			}
		}
		switch {
		case here <= 0:
			total += here
		case taken != next:
			total += here
			taken, gain = next, here
			seen |= 1 << next
		default: // two peaks on one line: the better counts, the other is stray
			total += max(here, gain) - gain + weight*logStray
			gain = max(here, gain)
		}
	}
	for i := range v.inView {
		if seen&(1<<i) == 0 {
			total -= unseen * math.Exp((v.inView[i].logStrength-v.logStrongest)/2)
		}
	}
	return total, hope
}

// within returns the features between two wavelengths.
func within(f []feature, from, to float64) []feature {
	lo, _ := slices.BinarySearchFunc(f, from, func(f feature, nm float64) int { return cmp.Compare(f.nm, nm) })
	hi := lo
	for hi < len(f) && f[hi].nm <= to {
		hi++
	}
	return f[lo:hi]
}

// pair is a peak with the line it is taken for.
type pair struct {
	sight, peak int
	feature     feature
	given       bool
}

// pairs returns the peaks and features that are each other's nearest within
// reach times the tolerance, and all that were given.
func (s *search) pairs(at func(pixel float64) float64, slope float64, tol, reach float64) []pair {
	var all []pair
	for v, sg := range s.sights {
		features := sg.features(sg.width * slope)
		nearest := make([]int, len(features))
		distance := make([]float64, len(features))
		for j := range nearest {
			nearest[j], distance[j] = -1, math.Inf(1)
			if s.hasGiven(v, &features[j]) {
				distance[j] = 0 // nothing is nearer
			}
		}
		for i, p := range sg.peaks {
			if p.Broad || len(features) == 0 || s.isGiven(v, i) {
				continue
			}
			nm := at(p.Pixel)
			j := nearestFeature(features, nm)
			d := math.Abs(nm-features[j].nm) / math.Hypot(tol, features[j].u)
			if d <= reach && d < distance[j] && !features[j].wide {
				nearest[j], distance[j] = i, d
			}
		}
		for j, i := range nearest {
			if i >= 0 {
				all = append(all, pair{v, i, features[j], false})
			}
		}
	}
	return append(all, s.givenPairs(slope)...)
}

func nearestFeature(f []feature, nm float64) int {
	j, _ := slices.BinarySearchFunc(f, nm, func(f feature, nm float64) int { return cmp.Compare(f.nm, nm) })
	if j == len(f) || (j > 0 && nm-f[j-1].nm < f[j].nm-nm) {
		j--
	}
	return j
}

// refine lets a hypothesis follow the pairs it implies while the tolerance
// narrows, and scores it at the last tolerance. What is known of curvature
// beforehand takes part as two more observations, so that few pairs do not bend
// the axis and many can.
func (s *search) refine(h hypothesis, tol float64) hypothesis {
	middle := float64(s.pixels-1) / 2
	for range 7 {
		finest := s.fineTolerance(&h)
		pairs := s.pairs(func(p float64) float64 { return h.at(s.x(p)) }, h.c[1]/middle, tol, 2.5)
		if len(pairs) < 3 {
			break
		}
		fit := s.usualCurvature(&h)
		for _, p := range pairs {
			x := s.x(s.sights[p.sight].peaks[p.peak].Pixel)
			d := (p.feature.nm - h.at(x)) / tol
			if p.given { // however far off, it is no outlier
				d = 0
			}
			weight := 1 / (finest*finest + p.feature.u*p.feature.u) / (1 + d*d)
			fit.add(x, p.feature.nm, weight)
		}
		n, ok := fit.solve()
		if !ok || !s.plausible(&n) {
			break
		}
		h = n
		tol = max(0.6*tol, s.fineTolerance(&h))
	}
	h.score = math.Inf(-1)
	if s.holds(&h) {
		h.score = s.score(&h, s.fineTolerance(&h), math.Inf(-1))
	}
	return h
}

// cubicFit gathers what a hypothesis is fitted to.
type cubicFit struct {
	basis     [][]float64
	y, weight []float64
}

// usualCurvature begins a fit with what is known of curvature beforehand.
func (s *search) usualCurvature(h *hypothesis) *cubicFit {
	return &cubicFit{
		basis:  [][]float64{{0, 0, 1, 0}, {0, 0, 0, 1}},
		y:      []float64{0, 0},
		weight: []float64{math.Pow(usualQuadratic*h.c[1], -2), math.Pow(usualCubic*h.c[1], -2)},
	}
}

func (f *cubicFit) add(x, nm, weight float64) {
	f.basis = append(f.basis, []float64{1, x, x * x, x * x * x})
	f.y = append(f.y, nm)
	f.weight = append(f.weight, weight)
}

func (f *cubicFit) solve() (h hypothesis, ok bool) {
	fit, ok := solveLinear(f.basis, f.y, f.weight)
	if ok {
		copy(h.c[:], fit.coef)
	}
	return h, ok
}

// fineTolerance is how well a peak should sit on its line in the end, nm.
func (s *search) fineTolerance(h *hypothesis) float64 {
	return max(0.06*s.bandwidth(h), 0.12*h.c[1]/(float64(s.pixels-1)/2))
}
