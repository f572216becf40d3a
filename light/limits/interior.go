package limits

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"

	"lampassay/light/spectrum"
)

// elasticity is the usual [program.elasticity]: what a unit of a missed limit
// costs, against about 1.5 for the light itself. No answer pays as much: at
// 300 lm/W it is 3000 lm/W for a point of Ra.
const elasticity = 100

// solution is a point with its multipliers.
type solution struct {
	a      []float64  // mixture
	y      []float64  // multipliers of the equalities
	z      []float64  // of the limits, 0 to elasticity
	pulls  [][]vector // of the differences, set by set
	missed []float64  // by how much each limit is missed, 0 or more
	cost   float64
	// within is what the columns' prices settled to, as a share of a watt's;
	// infinite where they did not settle.
	within float64
	steps  int
}

// interior is the workspace of the method of doc.go: the primal-dual
// interior-point method with slacks s on the limits and e for missing them,
//
//	min c·a + ρ Σe,  A a = b,  g(a) + e − s = bound,  a, e, s ≥ 0.
//
// The multipliers are y for A, z for g and s, w for a; of e it is ρ − z. With D =
// w/a and the rows B = (A, ∇g, U) of equalities, gradients and curvature a Newton
// step solves
//
//	(B D⁻¹ Bᵀ + R) t = r,   Δa = D⁻¹(r₁ + Bᵀ t).
type interior struct {
	*program
	*point
	a, w, da, dw []float64
	y, dy        []float64
	z, s, e      []float64
	dz, ds, de   []float64
	d, r1        []float64  // D⁻¹ and r₁
	b            *mat.Dense // B D^(−1/2)
}

// solve runs the method from a strictly positive mixture, which need not meet
// anything.
func (p *program) solve(ctx context.Context, start []float64) (*solution, error) {
	n, k := p.n, len(p.limits)
	it := &interior{
		program: p, point: p.newPoint(),
		a: append([]float64(nil), start...), w: make([]float64, n), da: make([]float64, n), dw: make([]float64, n),
		y: make([]float64, len(p.rows)), dy: make([]float64, len(p.rows)),
		z: make([]float64, k), s: make([]float64, k), e: make([]float64, k),
		ds: make([]float64, k), de: make([]float64, k), dz: make([]float64, k),
		d: make([]float64, n), r1: make([]float64, n),
	}
	differences := 0
	for _, s := range p.sets {
		differences += s.table.count
	}
	it.b = mat.NewDense(len(p.rows)+k+3*differences, n, nil)
	for j := range it.w {
		it.w[j] = 1
	}
	for i := range it.z {
		it.z[i], it.s[i], it.e[i] = it.elasticity/100, 1, 1
	}
	for _, s := range p.sets {
		clear(s.pull)
	}
	const most = 200
	var path barrier
	for step := range most {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		mu := it.complementarity()
		it.round(path.rounding(mu), it.z)
		it.value(it.a, it.point)
		it.slope(it.point)
		off := it.unsettled()
		slack := 1.0
		if step > patience {
			slack = 30
		}
		if it.converged(mu, off, slack) {
			return it.solution(step, slack*settledWithin), nil
		}
		primal, dual, err := it.step(path.next(step, mu, off, spectrum.Dot(it.cost, it.a)/float64(n)))
		if err != nil {
			return nil, err
		}
		if step > patience/2 {
			// Steps that rock to and fro about the answer come to rest on it.
			primal, dual = 0.7*primal, 0.7*dual
		}
		path.went(primal, dual)
		it.advance(primal, dual)
	}
	// What has come near is given with how near it came.
	if mu, off := it.complementarity(), it.unsettled(); it.converged(mu, off, 3e3) {
		return it.solution(most, off), nil
	}
	return it.solution(most, math.Inf(1)), nil
}

// barrier chooses the complementarity to aim at.
type barrier struct {
	sigma  float64 // of the complementarity, the share to aim at next
	target float64 // once held, the complementarity itself
}

// rounding is the complementarity that kinks are rounded by.
func (b *barrier) rounding(mu float64) float64 {
	if b.target > 0 {
		return b.target
	}
	return mu
}

// next returns the aim of a step. At first it follows what is reached, as long as
// the prices keep up: else the steps stop at the bounds. Where an answer is slow to
// settle, as where a colour difference vanishes, the aim is held until the prices
// agree with it, and then lowered. watts is the mean column's cost.
func (b *barrier) next(step int, mu, off, watts float64) float64 {
	const agreed = 100 // times the aim
	switch {
	case step == 0:
		b.sigma = 0.3
	case step >= patience/2 && b.target == 0 && mu < 1e-4:
		b.target = mu
	}
	if b.target == 0 {
		return max(b.sigma*mu, smallest, 0.01*off*watts)
	}
	if off < agreed*b.target && mu < 2*b.target {
		b.target = max(b.target/5, 100*smallest)
	}
	return b.target
}

// went takes note of how far a step went.
func (b *barrier) went(primal, dual float64) {
	b.sigma = 0.1
	if min(primal, dual) < 0.5 {
		b.sigma = 0.5
	}
}

// complementarity is the mean product of what should vanish in pairs.
func (it *interior) complementarity() float64 {
	bounded := it.n - it.free
	sum := spectrum.Dot(it.a[:bounded], it.w)
	for i := range it.z {
		sum += it.s[i]*it.z[i] + it.e[i]*(it.elasticity-it.z[i])
	}
	return sum / float64(bounded+2*len(it.z))
}

// The method has settled when the products are as small as smallest, the
// conditions hold to 1e-8 and the columns' prices to settledWithin of a watt's.
// Products are not made smaller than that: the system would lose its digits. As
// the curvature is that of the lengths alone, prices settle by a factor a step,
// not quadratically; after patience steps 30 times as much will do. The efficacy
// depends on the prices to second order.
const (
	smallest      = 1e-12
	metWithin     = 1e-8
	settledWithin = 3e-6
	patience      = 60
)

// converged reports whether the method has settled, a factor slack more loosely.
func (it *interior) converged(mu, off, slack float64) bool {
	if mu > 10*slack*smallest {
		return false
	}
	for i, row := range it.rows {
		if math.Abs(spectrum.Dot(row, it.a)+it.give*it.y[i]-it.rhs[i]) > metWithin {
			return false
		}
	}
	for i := range it.limits {
		if math.Abs(it.g[i]+it.e[i]-it.s[i]-it.limits[i].bound) > metWithin {
			return false
		}
	}
	return off <= slack*settledWithin*slices.Max(append(it.z, 1))
}

// unsettled is how far the columns' prices are from consistent.
func (it *interior) unsettled() float64 {
	it.reduced(it.r1)
	worst := 0.0
	bounded := it.n - it.free
	for j, r := range it.r1[:bounded] {
		worst = max(worst, math.Abs(r-it.w[j])/it.cost[j])
	}
	for j, r := range it.r1[bounded:] {
		worst = max(worst, math.Abs(r+it.hold*it.a[bounded+j]))
	}
	return worst
}

// reduced fills out with c − Aᵀy − ∇gᵀz: what a watt of each column would cost
// at the present prices.
func (it *interior) reduced(out []float64) {
	copy(out, it.cost)
	for i, row := range it.rows {
		axpy(-it.y[i], row, out)
	}
	for i := range it.z {
		axpy(-it.z[i], it.pulled[i], out)
	}
}

func axpy(k float64, x, y []float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] += k * v
	}
}

// step works out the Newton step towards complementarity mu and returns how far
// it may go.
func (it *interior) step(mu float64) (primal, dual float64, err error) {
	it.bend(it.z, it.point)
	equal, k := len(it.rows), len(it.z)
	rows := make([][]float64, 0, equal+k+len(it.curvature))
	rows = append(append(append(rows, it.rows...), it.gradient...), it.curvature...)

	it.columns(mu)
	system, r := it.normal(rows)
	add := func(i int, diagonal, right float64) {
		system.SetSym(i, i, system.At(i, i)+diagonal)
		r.SetVec(i, r.AtVec(i)+right)
	}
	for i, row := range it.rows {
		add(i, it.give, it.rhs[i]-spectrum.Dot(row, it.a)-it.give*it.y[i])
	}
	for i := range it.z {
		v := it.elasticity - it.z[i]
		residual := it.limits[i].bound - it.g[i] - it.e[i] + it.s[i]
		add(equal+i, it.e[i]/v+it.s[i]/it.z[i], residual-(mu/v-it.e[i])+(mu/it.z[i]-it.s[i]))
	}
	for i := range it.curvature {
		add(equal+k+i, 1, 0)
	}
	t, err := solveDefinite(system, r)
	if err != nil {
		return 0, 0, err
	}
	copy(it.da, it.r1)
	for i, row := range rows {
		axpy(t.AtVec(i), row, it.da)
	}
	for i := range it.dy {
		it.dy[i] = t.AtVec(i)
	}
	for i := range it.dz {
		it.dz[i] = t.AtVec(equal + i)
	}
	primal, dual = it.follow(mu)
	return primal, dual, nil
}

// columns fills in D⁻¹ and r₁. A free column has its hold in place of w/a. The
// step goes out from the gradients themselves, not from the pulls.
func (it *interior) columns(mu float64) {
	copy(it.r1, it.cost)
	for i, row := range it.rows {
		axpy(-it.y[i], row, it.r1)
	}
	for i := range it.z {
		axpy(-it.z[i], it.gradient[i], it.r1)
	}
	bounded := it.n - it.free
	for j := range it.d {
		if j < bounded {
			it.d[j] = it.a[j] / it.w[j]
			it.r1[j] = mu/it.a[j] - it.r1[j]
		} else {
			it.d[j] = 1 / it.hold
			it.r1[j] = -it.hold*it.a[j] - it.r1[j]
		}
	}
}

// normal returns B D⁻¹ Bᵀ and −B D⁻¹ r₁.
func (it *interior) normal(rows [][]float64) (*mat.SymDense, *mat.VecDense) {
	m := len(rows)
	r := mat.NewVecDense(m, nil)
	b := it.b.Slice(0, m, 0, it.n).(*mat.Dense)
	for i, row := range rows {
		scaled := b.RawRowView(i)
		sum := 0.0
		for j, v := range row {
			sum += v * it.d[j] * it.r1[j]
			scaled[j] = v * math.Sqrt(it.d[j])
		}
		r.SetVec(i, -sum)
	}
	system := mat.NewSymDense(m, nil)
	blas64.Syrk(blas.NoTrans, 1, b.RawMatrix(), 0, system.RawSymmetric())
	return system, r
}

// follow works out what the other unknowns do where Δa, before D⁻¹, and Δz are
// known, and how far all may go along.
func (it *interior) follow(mu float64) (primal, dual float64) {
	primal, dual = 1, 1
	const keep = 0.995 // of the way to the nearest bound
	within := func(x, dx float64, far *float64) {
		if dx < 0 {
			*far = min(*far, -keep*x/dx)
		}
	}
	bounded := it.n - it.free
	for j := range it.da {
		it.da[j] *= it.d[j]
		if j < bounded {
			it.dw[j] = mu/it.a[j] - it.w[j] - it.da[j]/it.d[j]
			within(it.a[j], it.da[j], &primal)
			within(it.w[j], it.dw[j], &dual)
		}
	}
	for i := range it.z {
		v := it.elasticity - it.z[i]
		it.ds[i] = mu/it.z[i] - it.s[i] - it.s[i]/it.z[i]*it.dz[i]
		it.de[i] = mu/v - it.e[i] + it.e[i]/v*it.dz[i]
		within(it.s[i], it.ds[i], &primal)
		within(it.e[i], it.de[i], &primal)
		within(it.z[i], it.dz[i], &dual)
		within(v, -it.dz[i], &dual)
	}
	return primal, dual
}

// solveDefinite solves a system whose smallest eigenvalues may have drowned in
// rounding, with the least addition to the diagonal that makes it definite. A
// step that is a little off is put right by the next.
func solveDefinite(system *mat.SymDense, r *mat.VecDense) (*mat.VecDense, error) {
	n := r.Len()
	t := mat.NewVecDense(n, nil)
	for ridge := 1e-15; ridge < 1e-4; ridge *= 100 {
		for i := range n {
			system.SetSym(i, i, system.At(i, i)*(1+ridge))
		}
		var factor mat.Cholesky
		if !factor.Factorize(system) {
			continue
		}
		err := factor.SolveVecTo(t, r)
		if _, ill := err.(mat.Condition); err == nil || ill {
			return t, nil
		}
	}
	return nil, fmt.Errorf("limits: the system of a Newton step is singular")
}

// advance takes the step.
func (it *interior) advance(primal, dual float64) {
	axpy(primal, it.da, it.a)
	axpy(primal, it.ds, it.s)
	axpy(primal, it.de, it.e)
	axpy(dual, it.dw, it.w)
	axpy(dual, it.dz, it.z)
	axpy(dual, it.dy, it.y)
	for _, s := range it.sets {
		s.follow(it.da, dual)
	}
}

func (it *interior) solution(steps int, within float64) *solution {
	pulls := make([][]vector, len(it.sets))
	for i, s := range it.sets {
		pulls[i] = append([]vector(nil), s.pull...)
	}
	return &solution{
		pulls: pulls, within: within,
		a: it.a, y: it.y, z: it.z, missed: it.e,
		cost: spectrum.Dot(it.cost, it.a), steps: steps,
	}
}
