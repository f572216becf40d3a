package appearance

import "math"

// The lattice on which reflectances live: straight between its wavelengths.
const (
	latticeFirst = 360 // nm
	latticeStep  = 5
	latticeLen   = 95 // to 830 nm
)

type lattice [latticeLen]float64

// onLattice turns weights at each nanometre, beginning at first, into weights
// for functions that are straight between lattice points: exact for those.
func onLattice(first int, w []float64) (out lattice) {
	for i, v := range w {
		x := float64(first+i-latticeFirst) / latticeStep
		k := int(math.Floor(x))
		if k < 0 || k >= latticeLen-1 {
			k = max(0, min(k, latticeLen-2)) // the ends stay as they are beyond
			x = max(0, min(x, latticeLen-1))
		}
		f := x - float64(k)
		out[k] += v * (1 - f)
		out[k+1] += v * f
	}
	return out
}

func (w *lattice) of(rho *lattice) (sum float64) {
	for i := range w {
		sum += w[i] * rho[i]
	}
	return sum
}

// sigmoid is the function space: coefficients of U over the lattice, whose ends
// are −1 and 1.
type sigmoid [3]float64

// abscissa holds t and t² of the lattice.
var abscissa = func() (t [latticeLen][2]float64) {
	for i := range t {
		x := 2*float64(i)/(latticeLen-1) - 1
		t[i] = [2]float64{x, x * x}
	}
	return t
}()

// reflectance fills in ρ and, where asked, dρ/dU.
func (c *sigmoid) reflectance(rho, slope *lattice) {
	for i := range rho {
		u := c[0] + c[1]*abscissa[i][0] + c[2]*abscissa[i][1]
		r := 1 / math.Sqrt(1+u*u)
		rho[i] = 0.5 + 0.5*u*r
		if slope != nil {
			slope[i] = 0.5 * r * r * r
		}
	}
}

// solve finds the coefficients whose reflectance has the three sums wanted, by
// damped least squares (Levenberg, Quart. Appl. Math. 2 (1944) 164), going step by
// step from the grey, where all is smooth. It returns them with what is left of
// the sums, the largest of the three.
func solve(weights *[3]lattice, want [3]float64) (c sigmoid, residual float64) {
	for _, part := range [...]float64{0.6, 0.9, 1} {
		var goal [3]float64
		for k := range goal {
			goal[k] = 0.5 + part*(want[k]-0.5)
		}
		residual = c.refine(weights, goal)
	}
	return c, residual
}

const (
	iterations = 60
	closeness  = 1e-6
)

// refine improves the coefficients towards the goal.
func (c *sigmoid) refine(weights *[3]lattice, goal [3]float64) float64 {
	var rho, slope lattice
	damping := 1e-3
	missed, size := c.missed(weights, goal, &rho, &slope)
	for range iterations {
		if largest(missed) < closeness {
			break
		}
		var normal [3][3]float64
		var down [3]float64
		for k := range weights {
			var row [3]float64
			for i, w := range weights[k] {
				s := w * slope[i]
				row[0] += s
				row[1] += s * abscissa[i][0]
				row[2] += s * abscissa[i][1]
			}
			for a := range row {
				down[a] += row[a] * missed[k]
				for b := range row {
					normal[a][b] += row[a] * row[b]
				}
			}
		}
		for improved := false; !improved && damping < 1e12; {
			damped := normal
			for a := range damped {
				damped[a][a] *= 1 + damping
				damped[a][a] += 1e-14
			}
			step := solve3(damped, down)
			trial := sigmoid{c[0] + step[0], c[1] + step[1], c[2] + step[2]}
			left, less := trial.missed(weights, goal, &rho, &slope)
			if improved = less < size; improved {
				*c, missed, size = trial, left, less
				damping /= 5
			} else {
				damping *= 4
			}
		}
		if damping >= 1e12 {
			break
		}
	}
	return largest(missed)
}

// missed returns goal less sums, and the sum of squares.
func (c *sigmoid) missed(weights *[3]lattice, goal [3]float64, rho, slope *lattice) (left [3]float64, size float64) {
	c.reflectance(rho, slope)
	for k := range weights {
		left[k] = goal[k] - weights[k].of(rho)
		size += left[k] * left[k]
	}
	return left, size
}

func largest(v [3]float64) float64 {
	return max(math.Abs(v[0]), math.Abs(v[1]), math.Abs(v[2]))
}

// solve3 solves three equations by Cramer's rule.
func solve3(m [3][3]float64, v [3]float64) (x [3]float64) {
	det := func(m *[3][3]float64) float64 {
		return m[0][0]*(m[1][1]*m[2][2]-m[1][2]*m[2][1]) - m[0][1]*(m[1][0]*m[2][2]-m[1][2]*m[2][0]) + m[0][2]*(m[1][0]*m[2][1]-m[1][1]*m[2][0])
	}
	d := det(&m)
	if d == 0 {
		return x
	}
	for k := range x {
		col := m
		for i := range col {
			col[i][k] = v[i]
		}
		x[k] = det(&col) / d
	}
	return x
}
