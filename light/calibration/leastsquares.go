package calibration

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// linearFit is a weighted linear least-squares fit: what it found and what it
// needs to say how well.
type linearFit struct {
	coef []float64
	rows *mat.Dense    // design matrix, each row times the root of its weight
	cov  *mat.SymDense // inverse of the normal matrix: the covariance for unit weights
}

// solveLinear minimises Σ wᵢ (yᵢ − Σⱼ basis[i][j] cⱼ)². It reports false where
// the points do not determine the coefficients.
func solveLinear(basis [][]float64, y, weight []float64) (linearFit, bool) {
	n, m := len(y), 0
	if n > 0 {
		m = len(basis[0])
	}
	if n < m || m == 0 {
		return linearFit{}, false
	}
	a, b := mat.NewDense(n, m, nil), mat.NewVecDense(n, nil)
	for i, row := range basis {
		root := math.Sqrt(weight[i])
		for j, v := range row {
			a.Set(i, j, root*v)
		}
		b.SetVec(i, root*y[i])
	}
	var qr mat.QR
	qr.Factorize(a)
	var c mat.VecDense
	if err := qr.SolveVecTo(&c, false, b); err != nil {
		return linearFit{}, false // mat.Condition: singular to working precision
	}
	var normal mat.SymDense
	normal.SymOuterK(1, a.T())
	var chol mat.Cholesky
	cov := new(mat.SymDense)
	if !chol.Factorize(&normal) || chol.InverseTo(cov) != nil {
		return linearFit{}, false
	}
	return linearFit{c.RawVector().Data, a, cov}, true
}

// leverage returns how much point i pulls the fit towards itself, 0 to 1. The
// residual that a fit without the point would leave there is the residual
// divided by 1 − leverage.
func (f *linearFit) leverage(i int) float64 {
	row := f.rows.RowView(i)
	return mat.Inner(row, f.cov, row)
}

// descend minimises Σ residualᵢ(p)² from p by the damped Gauss-Newton method of
// Levenberg and Marquardt with forward differences, and leaves the minimum in p.
// The steps are the differences' widths and the scale on which p is known. It
// returns the sum of squares and the inverse of the normal matrix there, nil
// where the residuals do not determine the parameters.
func descend(residual func(p, r []float64), p, steps []float64, n int) (float64, *mat.SymDense) {
	m := len(p)
	r, moved := make([]float64, n), make([]float64, n)
	trial := make([]float64, m)
	jac := mat.NewDense(n, m, nil)
	var normal mat.SymDense
	damped := mat.NewSymDense(m, nil)
	var chol mat.Cholesky
	gradient, step := mat.NewVecDense(m, nil), mat.NewVecDense(m, nil)

	residual(p, r)
	sum := sumOfSquares(r)
	damping := 1e-3
	for range 60 {
		for j := range p {
			copy(trial, p)
			trial[j] += steps[j]
			residual(trial, moved)
			for i := range r {
				jac.Set(i, j, (moved[i]-r[i])/steps[j])
			}
		}
		normal.Reset()
		normal.SymOuterK(1, jac.T())
		gradient.MulVec(jac.T(), mat.NewVecDense(n, r))

		before, better := sum, false
		for range 12 {
			damped.CopySym(&normal)
			for j := range p {
				damped.SetSym(j, j, normal.At(j, j)*(1+damping)+1e-300)
			}
			if chol.Factorize(damped) && chol.SolveVecTo(step, gradient) == nil {
				for j := range p {
					trial[j] = p[j] - step.AtVec(j)
				}
				residual(trial, moved)
				if s := sumOfSquares(moved); s <= sum {
					copy(p, trial)
					copy(r, moved)
					sum, better = s, true
					damping = max(damping/8, 1e-12)
					break
				}
			}
			damping *= 6
		}
		if !better || before-sum <= 1e-12*before {
			break
		}
	}
	cov := new(mat.SymDense)
	if !chol.Factorize(&normal) || chol.InverseTo(cov) != nil {
		return sum, nil
	}
	return sum, cov
}

func sumOfSquares(r []float64) float64 {
	sum := 0.0
	for _, v := range r {
		sum += v * v
	}
	return sum
}
