package emission

import "math"

// A few lines or bands are fitted together, on a straight base or on none: the
// base has two parameters, which come first, and each line three.
const (
	fitLinesMost = 4
	// fitRow holds 2 + 3·fitLinesMost parameters and a right-hand side.
	fitRow = 16
)

// leastSquares holds a model's misfit and the normal equations for improving it.
// They are summed line by line over the samples that a line reaches, each entry
// in a register of its own.
type leastSquares struct {
	y, weight []float64 // by sample: the value and the reciprocal of its variance
	one, z    []float64 // 1 and abscissa of the base, by sample; z is empty where there is none
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
		for len(f.one) < samples {
			f.one = append(f.one, 1)
		}
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
	first, n := uint(0), len(f.weight)
	if len(f.z) > 0 {
		first = 2
		one, z := f.one[:n], f.z
		f.normal[0][0], f.normal[1][0], _ = products(f.weight, one, one, z, z)
		_, f.normal[1][1], _ = products(f.weight, z, one, z, z)
		f.gradient[0], f.gradient[1], _ = products(f.weight, f.model, one, z, z)
	}
	for k := range f.lines {
		l := &f.lines[k]
		lo, hi := l.lo, l.hi
		weight, r := f.weight[lo:hi], f.model[lo:hi]
		for d := range l.by {
			at := (first + 3*uint(k) + uint(d)) % fitRow
			row, by := &f.normal[at], l.by[d][lo:hi]
			if first > 0 {
				row[0], row[1], f.gradient[at] = products(weight, by, f.one[lo:hi], f.z[lo:hi], r)
			} else {
				f.gradient[at], _, _ = products(weight, by, r, r, r)
			}
			for j := range f.lines[:k+1] {
				o := &f.lines[j]
				from, to := max(lo, o.lo), max(lo, o.lo, min(hi, o.hi))
				at := first + 3*uint(j)
				row[at%fitRow], row[(at+1)%fitRow], row[(at+2)%fitRow] =
					products(f.weight[from:to], l.by[d][from:to], o.by[0][from:to], o.by[1][from:to], o.by[2][from:to])
			}
		}
	}
}

// products returns the weighted scalar products of v with a, b and c.
func products(weight, v, a, b, c []float64) (va, vb, vc float64) {
	v, a, b, c = v[:len(weight)], a[:len(weight)], b[:len(weight)], c[:len(weight)]
	for i, w := range weight {
		w *= v[i]
		va += w * a[i]
		vb += w * b[i]
		vc += w * c[i]
	}
	return va, vb, vc
}

// improve puts into step what the equations, damped by lambda and kept from being
// singular by least, call for. gain is how much χ² would fall in a linear model.
// ok is false where there is no solution.
func (f *leastSquares) improve(lambda, least float64) (gain float64, ok bool) {
	for a := range f.size {
		f.lower[a] = f.normal[a]
		f.lower[a][a] = f.normal[a][a]*(1+lambda) + least
	}
	f.lower[f.size] = f.gradient
	if !factor(&f.lower, f.size) {
		return 0, false
	}
	solve(&f.lower, &f.step, f.size)
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

// factor replaces the lower triangle of the first n rows of a by its Cholesky
// factor L and row n, a right-hand side b, by L⁻¹ b; false where a is not positive
// definite. Each column, once known, is taken off what remains to its right.
func factor(a *[fitRow][fitRow]float64, n int) bool {
	var column [fitRow]float64
	for k := range n {
		if !(a[k][k] > 0) {
			return false
		}
		pivot := math.Sqrt(a[k][k])
		a[k][k] = pivot
		for i := k + 1; i <= n; i++ {
			row := &a[i]
			v := row[k] / pivot
			row[k], column[i] = v, v
			rest := row[k+1 : min(i+1, n)]
			for j, c := range column[k+1:][:len(rest)] {
				rest[j] -= v * c
			}
		}
	}
	return true
}

// solve finds x with L Lᵀ x = b for what factor has left of a matrix and b.
func solve(l *[fitRow][fitRow]float64, x *[fitRow]float64, n int) {
	for i := n - 1; i >= 0; i-- {
		sum := l[n][i]
		for k := i + 1; k < n; k++ {
			sum -= l[k][i] * x[k]
		}
		x[i] = sum / l[i][i]
	}
}
