package emission

import "math"

// A few neighbouring lines are fitted together on a straight base, each with
// its own place, height and width.
const (
	fitLinesMost  = 4
	fitParameters = 2 + 3*fitLinesMost
	// fitRow holds fitParameters; for a power of two no index needs a check.
	fitRow = 16
	// Lines are as wide as the instrument unless the samples say otherwise:
	// standard deviation of the logarithm of the ratio.
	widthPrior = 0.2
)

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

// fitGroup fits up to fitLinesMost lines that overlap, starting from their
// peaks; others are neighbouring lines outside the group, already known, that
// are taken off first. It takes so many rounds at most.
func (t *trace) fitGroup(group, others []profile, rounds int) {
	n := len(group)
	size := 2 + 3*n
	from, to := math.Inf(1), math.Inf(-1)
	for _, g := range group {
		from = min(from, g.nm-1.7*g.width)
		to = max(to, g.nm+1.7*g.width)
	}
	lo, hi := t.span(from, to)
	lo, hi = max(0, min(lo, t.at(group[0].nm)-3)), min(len(t.x), max(hi, t.at(group[n-1].nm)+4))
	mid := 0.5 * (t.x[lo] + t.x[hi-1])

	prior := math.Log(t.bandwidth)
	t.scratch = append(t.scratch[:0], t.y[lo:hi]...)
	y := t.scratch
	for j := range others {
		o := &others[j]
		from, to := t.span(o.nm-2*o.width, o.nm+2*o.width)
		for i := max(lo, from); i < min(hi, to); i++ {
			y[i-lo] -= o.at(t.x[i])
		}
	}
	t.weight = t.weight[:0]
	floor := min(y[0], y[len(y)-1])
	for i, v := range y {
		// What stands above the base is lines, and known no better than their
		// shape is.
		shape := shapeError * max(0, v-floor)
		t.weight = append(t.weight, 1/(t.sigma[lo+i]*t.sigma[lo+i]+shape*shape))
	}

	var p [fitRow]float64 // base, slope, then nm, height, ln width of each
	p[0] = floor
	for k, g := range group {
		p[2+3*k], p[3+3*k], p[4+3*k] = g.nm, g.height, math.Log(g.width)
	}
	var normal, damped [fitRow][fitRow]float64
	var gradient, step [fitRow]float64

	shape := gaussians()
	// evaluate returns χ² and fills normal, its lower triangle, and gradient.
	evaluate := func(p *[fitRow]float64) float64 {
		gradient, normal = [fitRow]float64{}, [fitRow][fitRow]float64{}
		var width [fitLinesMost]float64
		for k := range n {
			width[k] = math.Exp(p[4+3*k])
		}
		// Only the lines that reach a sample count there: the derivatives by their
		// three parameters, the first of which is the at-th.
		var reaching [fitLinesMost]struct {
			at      uint
			x, h, w float64
		}
		chi2 := 0.0
		for i := lo; i < hi; i++ {
			z := t.x[i] - mid
			model := p[0] + p[1]*z
			lines := reaching[:0]
			for k := range n {
				u := (t.x[i] - p[2+3*k]) / width[k]
				if u > 1.7 || u < -1.7 { // below half a thousandth
					continue
				}
				g := shape.at(u)
				h := p[3+3*k] * g
				slope := 8 * math.Ln2 * u * h
				lines = lines[:len(lines)+1]
				l := &lines[len(lines)-1]
				l.at, l.x, l.h, l.w = uint(2+3*k), slope/width[k], g, slope*u
				model += h
			}
			iv := t.weight[i-lo]
			r := y[i-lo] - model
			chi2 += r * r * iv
			normal[0][0] += iv
			normal[1][0] += iv * z
			normal[1][1] += iv * z * z
			gradient[0] += iv * r
			gradient[1] += iv * r * z
			for a := range lines {
				l := &lines[a]
				x, h, w := iv*l.x, iv*l.h, iv*l.w
				gradient[l.at%fitRow] += x * r
				gradient[(l.at+1)%fitRow] += h * r
				gradient[(l.at+2)%fitRow] += w * r
				rowX, rowH, rowW := &normal[l.at%fitRow], &normal[(l.at+1)%fitRow], &normal[(l.at+2)%fitRow]
				rowX[0] += x
				rowX[1] += x * z
				rowH[0] += h
				rowH[1] += h * z
				rowW[0] += w
				rowW[1] += w * z
				for b := 0; b <= a; b++ {
					m := &lines[b]
					i, j, k := m.at%fitRow, (m.at+1)%fitRow, (m.at+2)%fitRow
					rowX[i] += x * m.x
					rowX[j] += x * m.h
					rowX[k] += x * m.w
					rowH[i] += h * m.x
					rowH[j] += h * m.h
					rowH[k] += h * m.w
					rowW[i] += w * m.x
					rowW[j] += w * m.h
					rowW[k] += w * m.w
				}
			}
		}
		for k := range n {
			r := (prior - p[4+3*k]) / widthPrior
			chi2 += r * r
			gradient[4+3*k] += r / widthPrior
			normal[4+3*k][4+3*k] += 1 / (widthPrior * widthPrior)
		}
		return chi2
	}

	chi2 := evaluate(&p)
	lambda := 1e-3
	for range rounds {
		savedNormal, savedGradient := normal, gradient
		damped = normal
		for a := range size {
			damped[a][a] *= 1 + lambda
			damped[a][a] += 1e-300
		}
		if !factor(&damped, size) {
			return
		}
		solve(&damped, &gradient, &step, size)
		next, gain := p, 0.0
		for a := range size {
			next[a] += step[a]
			gain += step[a] * gradient[a]
		}
		if gain < 0.1+5e-3*chi2 { // a small part of the uncertainty
			break
		}
		for k := range n { // stay where the peaks were found
			w := group[k].width
			next[2+3*k] = min(max(next[2+3*k], group[k].nm-0.7*w), group[k].nm+0.7*w)
			next[4+3*k] = min(max(next[4+3*k], prior-0.7), prior+2.3)
		}
		c := evaluate(&next)
		if c > chi2 {
			normal, gradient = savedNormal, savedGradient
			lambda *= 10
			if lambda > 1e4 {
				break
			}
			continue
		}
		p, chi2 = next, c
		lambda = max(lambda/10, 1e-6)
	}
	// Covariance, widened where the lines do not have the assumed shape.
	inflate := math.Sqrt(max(1, chi2/float64(max(1, hi-lo-2-2*n))))
	covariance := normal
	if !factor(&covariance, size) {
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
		g.nmU = min(inflate*math.Sqrt(variance(&covariance, &of, x, size)), held)
		of[x], of[w] = 0, 1
		g.widthU = inflate * g.width * math.Sqrt(variance(&covariance, &of, w, size))
		of[h], of[w] = g.width*areaFactor, g.area() // d area / d height, d ln width
		g.areaU = inflate * math.Sqrt(variance(&covariance, &of, h, size))
		of[h], of[w] = 0, 0
		g.ok = g.height > 0
	}
}

// variance returns gᵀ (L Lᵀ)⁻¹ g for a Cholesky factor L and a gradient g whose
// first entries up to from are 0: the square of the length of L⁻¹ g.
func variance(l *[fitRow][fitRow]float64, g *[fitRow]float64, from, n int) (sum float64) {
	var z [fitRow]float64
	for i := from; i < n; i++ {
		v := g[i]
		for k := from; k < i; k++ {
			v -= l[i][k] * z[k]
		}
		z[i] = v / l[i][i]
		sum += z[i] * z[i]
	}
	return sum
}

// factor replaces the lower triangle of a by its Cholesky factor; false where a
// is not positive definite.
func factor(a *[fitRow][fitRow]float64, n int) bool {
	for i := range n {
		for j := 0; j <= i; j++ {
			sum := a[i][j]
			for k := range j {
				sum -= a[i][k] * a[j][k]
			}
			if i != j {
				a[i][j] = sum / a[j][j]
				continue
			}
			if !(sum > 0) {
				return false
			}
			a[i][i] = math.Sqrt(sum)
		}
	}
	return true
}

// solve finds x with L Lᵀ x = b for a Cholesky factor L.
func solve(l *[fitRow][fitRow]float64, b, x *[fitRow]float64, n int) {
	for i := range n {
		sum := b[i]
		for k := range i {
			sum -= l[i][k] * x[k]
		}
		x[i] = sum / l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		sum := x[i]
		for k := i + 1; k < n; k++ {
			sum -= l[k][i] * x[k]
		}
		x[i] = sum / l[i][i]
	}
}

// fitLines fits the chosen peaks. Overlapping ones go together, in groups of at
// most fitLinesMost. Where a crowd had to be parted, a first rough round tells
// each group what its neighbours take, and a second one settles it.
func (t *trace) fitLines(peaks []peak) []profile {
	all := make([]profile, len(peaks))
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
