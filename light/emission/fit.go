package emission

import "math"

// Lines are as wide as the instrument unless the samples say otherwise:
// standard deviation of the logarithm of the ratio.
const widthPrior = 0.2

// profile is a fitted line: Gaussian of area height·width·areaFactor.
type profile struct {
	nm, height, width  float64
	nmU, areaU, widthU float64
	base               float64
	ok                 bool
}

// areaFactor is the area of a Gaussian of unit height and unit full width at
// half maximum.
var areaFactor = math.Sqrt(math.Pi / (4 * math.Ln2))

func (p *profile) area() float64 { return p.height * p.width * areaFactor }

func (p *profile) at(nm float64) float64 {
	u := (nm - p.nm) / p.width
	return p.height * gaussians().at(u)
}

// fitGroup fits up to fitLinesMost lines that overlap on a straight base, each
// with its own place, height and width, starting from their peaks; others are
// neighbouring lines outside the group, already known, that are taken off first.
// It takes so many rounds at most.
func (t *trace) fitGroup(group, others []profile, rounds int) {
	n := len(group)
	from, to := math.Inf(1), math.Inf(-1)
	for _, g := range group {
		from = min(from, g.nm-1.7*g.width)
		to = max(to, g.nm+1.7*g.width)
	}
	lo, hi := t.span(from, to)
	lo, hi = max(0, min(lo, t.at(group[0].nm)-3)), min(len(t.x), max(hi, t.at(group[n-1].nm)+4))
	x := t.x[lo:hi]
	mid := 0.5 * (x[0] + x[len(x)-1])

	f := &t.fit
	f.prepare(n, len(x), true)
	copy(f.y, t.y[lo:hi])
	for j := range others {
		o := &others[j]
		from, to := t.span(o.nm-2*o.width, o.nm+2*o.width)
		for i := max(lo, from); i < min(hi, to); i++ {
			f.y[i-lo] -= o.at(t.x[i])
		}
	}
	floor := min(f.y[0], f.y[len(x)-1])
	sigma := t.sigma[lo:hi]
	for i, v := range f.y {
		// What stands above the base is lines, and known no better than their
		// shape is.
		shape := shapeError * max(0, v-floor)
		f.weight[i] = 1 / (sigma[i]*sigma[i] + shape*shape)
		f.z[i] = x[i] - mid
	}

	var p [fitRow]float64 // base, slope, then nm, height, ln width of each
	p[0] = floor
	for k, g := range group {
		p[2+3*k], p[3+3*k], p[4+3*k] = g.nm, g.height, math.Log(g.width)
	}
	prior := math.Log(t.bandwidth)
	chi2 := f.trial(x, &p, prior)
	f.equateGroup(&p, prior)
	lambda := 1e-3
	for range rounds {
		gain, ok := f.improve(lambda, 1e-300)
		if !ok {
			return
		}
		if gain < 0.1+5e-3*chi2 { // a small part of the uncertainty
			break
		}
		next := p
		for a := range f.size {
			next[a] += f.step[a]
		}
		for k := range n { // stay where the peaks were found
			w := group[k].width
			next[2+3*k] = min(max(next[2+3*k], group[k].nm-0.7*w), group[k].nm+0.7*w)
			next[4+3*k] = min(max(next[4+3*k], prior-0.7), prior+2.3)
		}
		c := f.trial(x, &next, prior)
		if c > chi2 {
			lambda *= 10
			if lambda > 1e4 {
				break
			}
			continue
		}
		p, chi2 = next, c
		f.equateGroup(&p, prior)
		lambda = max(lambda/10, 1e-6)
	}
	// Covariance, widened where the lines do not have the assumed shape.
	inflate := math.Sqrt(max(1, chi2/float64(max(1, len(x)-2-2*n))))
	if !factor(&f.normal, f.size) {
		return
	}
	var of [fitRow]float64 // a gradient, of which only a line's own parameters are not 0
	for k := range n {
		g := &group[k]
		held := 0.7 * g.width / math.Sqrt(3) // as far as it may have moved, evenly likely
		x, h, w := 2+3*k, 3+3*k, 4+3*k
		g.nm, g.height, g.width = p[x], p[h], math.Exp(p[w])
		g.base = p[0] + p[1]*(g.nm-mid)
		of[x] = 1
		g.nmU = min(inflate*math.Sqrt(variance(&f.normal, &of, x, f.size)), held)
		of[x], of[w] = 0, 1
		g.widthU = inflate * g.width * math.Sqrt(variance(&f.normal, &of, w, f.size))
		of[h], of[w] = g.width*areaFactor, g.area() // d area / d height, d ln width
		g.areaU = inflate * math.Sqrt(variance(&f.normal, &of, h, f.size))
		of[h], of[w] = 0, 0
		g.ok = g.height > 0
	}
}

// trial returns χ² of lines on a base for parameters p, with what the prior of
// their widths adds, and leaves residuals and derivatives.
func (f *leastSquares) trial(x []float64, p *[fitRow]float64, prior float64) float64 {
	model := f.model[:len(x)]
	for i, z := range f.z[:len(x)] {
		model[i] = p[0] + p[1]*z
	}
	shape := gaussians()
	for k := range f.lines {
		l := &f.lines[k]
		nm, height, width := p[2+3*k], p[3+3*k], math.Exp(p[4+3*k])
		reach := 1.7 * width // beyond, below half a thousandth
		for l.lo = 0; l.lo < len(x) && x[l.lo]-nm < -reach; l.lo++ {
		}
		byNm, byHeight, byWidth := l.by[0][:len(x)], l.by[1][:len(x)], l.by[2][:len(x)]
		i := l.lo
		for ; i < len(x) && x[i]-nm <= reach; i++ {
			u := (x[i] - nm) / width
			g := shape.at(u)
			h := height * g
			slope := 8 * math.Ln2 * u * h
			byNm[i], byHeight[i], byWidth[i] = slope/width, g, slope*u
			model[i] += h
		}
		l.hi = i
	}
	chi2 := f.misfit()
	for k := range f.lines {
		r := (prior - p[4+3*k]) / widthPrior
		chi2 += r * r
	}
	return chi2
}

// equateGroup fills the equations of what was last tried, which was p.
func (f *leastSquares) equateGroup(p *[fitRow]float64, prior float64) {
	f.equate()
	for k := range f.lines {
		w := 4 + 3*k
		f.gradient[w] += (prior - p[w]) / widthPrior / widthPrior
		f.normal[w][w] += 1 / (widthPrior * widthPrior)
	}
}

// fitLines fits the chosen peaks. Overlapping ones go together, in groups of at
// most fitLinesMost. Where a crowd had to be parted, a first rough round tells
// each group what its neighbours take, and a second one settles it.
func (t *trace) fitLines(peaks []peak) []profile {
	all := t.profiles.take(len(peaks))
	for i, p := range peaks {
		w := min(max(p.width, t.bandwidth), 6*t.bandwidth)
		all[i] = profile{nm: p.nm, height: max(p.height, 0), width: w}
	}
	touches := func(i int) bool { // line i and the one before it
		return i > 0 && i < len(all) && all[i].nm-all[i-1].nm < 2.4*max(peaks[i].width, peaks[i-1].width, t.bandwidth)
	}
	type group struct {
		lo, hi  int
		crowded bool
	}
	var groups []group
	for lo := 0; lo < len(all); {
		hi := lo + 1
		for hi-lo < fitLinesMost && touches(hi) {
			hi++
		}
		groups = append(groups, group{lo, hi, touches(lo) || touches(hi)})
		lo = hi
	}
	fit := func(g group, rounds int) {
		var near [4]profile
		others := near[:0]
		for _, j := range [...]int{g.lo - 2, g.lo - 1, g.hi, g.hi + 1} {
			if j >= 0 && j < len(all) {
				others = append(others, all[j])
			}
		}
		t.fitGroup(all[g.lo:g.hi], others, rounds)
	}
	for _, g := range groups {
		if g.crowded {
			fit(g, 2)
		}
	}
	for _, g := range groups {
		fit(g, 10)
	}
	return all
}
