package emission

import "math"

// A few lines or bands are fitted together, on a straight base or on none: the
// base has two parameters, which come first, and each line three.
const (
	fitLinesMost = 4
	// fitRow holds 2 + 3·fitLinesMost parameters.
	fitRow = 16
)

// leastSquares holds a model's misfit and the normal equations for improving it.
// They are summed line by line over the samples that a line reaches, each entry
// in a register of its own.
type leastSquares struct {
	y, weight []float64 // by sample: the value and the reciprocal of its variance
	z         []float64 // abscissa of the base, by sample; empty where there is none
	model     []float64 // by sample; misfit leaves y − model here
	lines     []reached
	size      int // number of parameters

	normal, lower  [fitRow][fitRow]float64 // lower triangles; lower is a Cholesky factor
	gradient, step [fitRow]float64
	room           [fitLinesMost]reached
}

// reached holds the derivatives of a model by the three parameters of a line, at
// the samples lo ≤ i < hi that the line reaches.
type reached struct {
	lo, hi int
	by     [3][]float64
}

// prepare makes room for so many lines over so many samples.
func (f *leastSquares) prepare(lines, samples int, base bool) {
	f.size = 3 * lines
	f.z = f.z[:0]
	if base {
		f.size += 2
		f.z = resized(f.z, samples)
	}
	f.y, f.weight, f.model = resized(f.y, samples), resized(f.weight, samples), resized(f.model, samples)
	f.lines = f.room[:lines]
	for k := range f.lines {
		for j := range f.lines[k].by {
			f.lines[k].by[j] = resized(f.lines[k].by[j], samples)
		}
	}
}

// resized returns a slice of length n, of v's memory where that suffices. Its
// contents are undefined.
func resized[T any](v []T, n int) []T {
	if cap(v) < n {
		return make([]T, n, n+n/4)
	}
	return v[:n]
}

// misfit returns χ² of the model and leaves the residuals in its place.
func (f *leastSquares) misfit() float64 {
	chi2 := 0.0
	y, weight := f.y[:len(f.model)], f.weight[:len(f.model)]
	for i, m := range f.model {
		r := y[i] - m
		f.model[i] = r
		chi2 += r * r * weight[i]
	}
	return chi2
}

// equate fills the normal equations from the residuals and the derivatives.
func (f *leastSquares) equate() {
	first := uint(0)
	if len(f.z) > 0 {
		first = 2
		f.equateBase()
	}
	for k := range f.lines {
		at := first + 3*uint(k)
		l := &f.lines[k]
		f.equateLine(l, at)
		if first > 0 {
			f.equateWithBase(l, at)
		}
		for j := range f.lines[:k] {
			f.equatePair(l, &f.lines[j], at, first+3*uint(j))
		}
	}
}

func (f *leastSquares) equateBase() {
	var n00, n10, n11, g0, g1 float64
	z, r := f.z[:len(f.weight)], f.model[:len(f.weight)]
	for i, w := range f.weight {
		n00 += w
		n10 += w * z[i]
		n11 += w * z[i] * z[i]
		g0 += w * r[i]
		g1 += w * r[i] * z[i]
	}
	f.normal[0][0], f.normal[1][0], f.normal[1][1] = n00, n10, n11
	f.gradient[0], f.gradient[1] = g0, g1
}

func (f *leastSquares) equateLine(l *reached, at uint) {
	var ga, gb, gc, aa, ba, bb, ca, cb, cc float64
	weight := f.weight[l.lo:l.hi]
	r := f.model[l.lo:l.hi][:len(weight)]
	as, bs, cs := l.by[0][l.lo:l.hi][:len(weight)], l.by[1][l.lo:l.hi][:len(weight)], l.by[2][l.lo:l.hi][:len(weight)]
	for i, w := range weight {
		a, b, c := w*as[i], w*bs[i], w*cs[i]
		ga += a * r[i]
		gb += b * r[i]
		gc += c * r[i]
		aa += a * as[i]
		ba += b * as[i]
		bb += b * bs[i]
		ca += c * as[i]
		cb += c * bs[i]
		cc += c * cs[i]
	}
	f.gradient[at%fitRow], f.gradient[(at+1)%fitRow], f.gradient[(at+2)%fitRow] = ga, gb, gc
	f.normal[at%fitRow][at%fitRow] = aa
	row := &f.normal[(at+1)%fitRow]
	row[at%fitRow], row[(at+1)%fitRow] = ba, bb
	row = &f.normal[(at+2)%fitRow]
	row[at%fitRow], row[(at+1)%fitRow], row[(at+2)%fitRow] = ca, cb, cc
}

func (f *leastSquares) equateWithBase(l *reached, at uint) {
	var a0, a1, b0, b1, c0, c1 float64
	weight := f.weight[l.lo:l.hi]
	z := f.z[l.lo:l.hi][:len(weight)]
	as, bs, cs := l.by[0][l.lo:l.hi][:len(weight)], l.by[1][l.lo:l.hi][:len(weight)], l.by[2][l.lo:l.hi][:len(weight)]
	for i, w := range weight {
		a, b, c := w*as[i], w*bs[i], w*cs[i]
		a0 += a
		a1 += a * z[i]
		b0 += b
		b1 += b * z[i]
		c0 += c
		c1 += c * z[i]
	}
	for k, v := range [3][2]float64{{a0, a1}, {b0, b1}, {c0, c1}} {
		row := &f.normal[(at+uint(k))%fitRow]
		row[0], row[1] = v[0], v[1]
	}
}

// equatePair is for a line and one before it.
func (f *leastSquares) equatePair(l, before *reached, at, atBefore uint) {
	var aa, ab, ac, ba, bb, bc, ca, cb, cc float64
	if lo, hi := max(l.lo, before.lo), min(l.hi, before.hi); lo < hi {
		weight := f.weight[lo:hi]
		as, bs, cs := l.by[0][lo:hi][:len(weight)], l.by[1][lo:hi][:len(weight)], l.by[2][lo:hi][:len(weight)]
		ds, es, fs := before.by[0][lo:hi][:len(weight)], before.by[1][lo:hi][:len(weight)], before.by[2][lo:hi][:len(weight)]
		for i, w := range weight {
			a, b, c := w*as[i], w*bs[i], w*cs[i]
			aa += a * ds[i]
			ab += a * es[i]
			ac += a * fs[i]
			ba += b * ds[i]
			bb += b * es[i]
			bc += b * fs[i]
			ca += c * ds[i]
			cb += c * es[i]
			cc += c * fs[i]
		}
	}
	for k, v := range [3][3]float64{{aa, ab, ac}, {ba, bb, bc}, {ca, cb, cc}} {
		row := &f.normal[(at+uint(k))%fitRow]
		row[atBefore%fitRow], row[(atBefore+1)%fitRow], row[(atBefore+2)%fitRow] = v[0], v[1], v[2]
	}
}

// improve puts into step what the equations, damped by lambda and kept from being
// singular by least, call for. gain is how much χ² would fall in a linear model.
// ok is false where there is no solution.
func (f *leastSquares) improve(lambda, least float64) (gain float64, ok bool) {
	for a := range f.size {
		f.lower[a] = f.normal[a]
		f.lower[a][a] = f.normal[a][a]*(1+lambda) + least
	}
	if !factor(&f.lower, f.size) {
		return 0, false
	}
	solve(&f.lower, &f.gradient, &f.step, f.size)
	for a := range f.size {
		gain += f.step[a] * f.gradient[a]
	}
	return gain, true
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
// is not positive definite. Each column, once known, is taken off what remains
// to its right.
func factor(a *[fitRow][fitRow]float64, n int) bool {
	var column [fitRow]float64
	for k := range n {
		if !(a[k][k] > 0) {
			return false
		}
		pivot := math.Sqrt(a[k][k])
		a[k][k] = pivot
		for i := k + 1; i < n; i++ {
			row := &a[i]
			v := row[k] / pivot
			row[k], column[i] = v, v
			rest := row[k+1 : i+1]
			for j, c := range column[k+1 : i+1][:len(rest)] {
				rest[j] -= v * c
			}
		}
	}
	return true
}

// solve finds x with L Lᵀ x = b for a Cholesky factor L.
func solve(l *[fitRow][fitRow]float64, b, x *[fitRow]float64, n int) {
	for i := range n {
		sum := b[i]
		for k, v := range l[i][:i] {
			sum -= v * x[k]
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
