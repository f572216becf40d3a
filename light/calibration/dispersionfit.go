package calibration

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// tie says that a place on the detector has a wavelength.
type tie struct {
	pixel, nm float64
	u         float64 // standard uncertainty of the two together, nm
	given     bool    // by somebody, see GivenPair
}

// fitted is a dispersion with what the ties say about it.
type fitted struct {
	dispersion Dispersion
	name       string    // "polynomial of order 3"
	residual   []float64 // tie minus fit, nm
	heldOut    []float64 // the same for the fit that leaves the tie out
	heldRMS    float64   // weighted root mean square of heldOut, nm
	against    []bool    // ties that were given and contradict the rest
	freedom    int
	constants  int
	laws       []LawError // of all laws that were tried
	linear     linearFit
	row        func(pixel float64) []float64 // of the linear fit, for any place
	scale      float64                       // root of the reduced chi-square, at least 1
}

// u returns the standard uncertainty of the fitted axis at a place, nm, as the
// scatter of the ties leaves it. A grating's κ is taken as known.
func (f *fitted) u(pixel float64) float64 {
	row := mat.NewVecDense(len(f.linear.coef), f.row(pixel))
	return f.scale * math.Sqrt(mat.Inner(row, f.linear.cov, row))
}

// LawError is how well a law of dispersion foresees lines it has not seen.
type LawError struct {
	Law       string  `json:"law"` // in words, see [Laws]
	Constants int     `json:"constants"`
	HeldOutNm float64 `json:"held_out_nm"` // weighted root mean square over the lines
}

// GratingEquation is the law of a flat detector behind a grating, in words.
const GratingEquation = "grating equation"

// Laws returns the laws of dispersion in words, as [Expected] takes them: the
// polynomials of order 1 to 4 and the grating equation.
func Laws() []string { return append(slices.Clone(polynomialNames[1:]), GratingEquation) }

// chooseDispersion fits every model that the ties can carry and returns the
// simplest whose error at held-out ties is within tenPercent of the best, in
// order of the number of constants, or the one law asked for. Fewer than three
// ties carry nothing.
func chooseDispersion(pixels int, ties []tie, law string) (fitted, bool) {
	const tenPercent = 1.10
	var all []fitted
	best := math.Inf(1)
	for order := 1; order <= 4; order++ {
		if len(ties) < order+2 {
			break
		}
		if f, ok := fitPolynomial(pixels, ties, order); ok {
			all = append(all, f)
			best = min(best, f.heldRMS)
		}
		if order == 3 && len(ties) >= 6 {
			if f, ok := fitGrating(pixels, ties); ok {
				all = append(all, f)
				best = min(best, f.heldRMS)
			}
		}
	}
	for _, f := range all {
		f.laws = lawErrors(all)
		if law != "" {
			if f.name == law {
				return f, true
			}
			continue
		}
		// No line is known to less than a hundredth of a pixel.
		floor := 0.01 * f.dispersion.Slope(float64(pixels)/2)
		if f.heldRMS <= max(best*tenPercent, floor) {
			return f, true
		}
	}
	return fitted{}, false
}

func lawErrors(all []fitted) (list []LawError) {
	for _, f := range all {
		list = append(list, LawError{f.name, f.constants, f.heldRMS})
	}
	return list
}

var polynomialNames = [...]string{1: "straight line", 2: "polynomial of order 2", 3: "polynomial of order 3", 4: "polynomial of order 4"}

func fitPolynomial(pixels int, ties []tie, order int) (fitted, bool) {
	f := fitted{dispersion: Dispersion{Model: Polynomial, Pixels: pixels}, name: polynomialNames[order]}
	empty := f.dispersion
	f.row = func(pixel float64) []float64 {
		x, _ := empty.x(pixel)
		row, power := make([]float64, order+1), 1.0
		for k := range row {
			row[k] = power
			power *= x
		}
		return row
	}
	basis := make([][]float64, len(ties))
	for i, t := range ties {
		basis[i] = f.row(t.pixel)
	}
	y, w := targets(ties)
	lin, ok := solveLinear(basis, y, w)
	if !ok {
		return f, false
	}
	f.dispersion.Coefficients = lin.coef
	f.linear = lin
	held := make([]float64, len(ties))
	for i, t := range ties {
		e := t.nm - f.dispersion.At(t.pixel)
		held[i] = e / max(1-lin.leverage(i), 1e-9)
	}
	f.judge(ties, held, order+1)
	return f, true
}

func fitGrating(pixels int, ties []tie) (fitted, bool) {
	d, lin, ok := gratingThrough(pixels, ties)
	if !ok {
		return fitted{}, false
	}
	f := fitted{dispersion: d, name: GratingEquation, linear: lin, row: func(pixel float64) []float64 {
		row := make([]float64, 3)
		gratingRow(&d, pixel, row)
		return row
	}}
	held := make([]float64, len(ties))
	rest := make([]tie, 0, len(ties)-1)
	for i, t := range ties {
		rest = append(append(rest[:0], ties[:i]...), ties[i+1:]...)
		without, _, ok := gratingThrough(pixels, rest)
		if !ok {
			return fitted{}, false
		}
		held[i] = t.nm - without.At(t.pixel)
	}
	f.judge(ties, held, 4)
	return f, true
}

// gratingThrough fits the grating equation: linear in all but κ, which a
// golden-section search finds between a narrow and a very wide camera.
func gratingThrough(pixels int, ties []tie) (Dispersion, linearFit, bool) {
	y, w := targets(ties)
	basis := make([][]float64, len(ties))
	flat := make([]float64, 3*len(ties))
	for i := range basis {
		basis[i] = flat[3*i : 3*i+3]
	}
	d := Dispersion{Model: Grating, Pixels: pixels}
	var lin linearFit
	solve := func(logKappa float64) float64 {
		d.Kappa = math.Exp(logKappa)
		for i, t := range ties {
			gratingRow(&d, t.pixel, basis[i])
		}
		var ok bool
		if lin, ok = solveLinear(basis, y, w); !ok {
			return math.Inf(1)
		}
		sum := 0.0
		for i := range ties {
			e := y[i]
			for j, c := range lin.coef {
				e -= c * basis[i][j]
			}
			sum += w[i] * e * e
		}
		return sum
	}
	best := golden(solve, math.Log(0.03), math.Log(0.7))
	if math.IsInf(solve(best), 1) {
		return d, lin, false
	}
	a, b, c := lin.coef[0], lin.coef[1], lin.coef[2]
	k2 := d.Kappa * d.Kappa
	d.Coefficients = []float64{a + b/k2, -b / k2, c / d.Kappa}
	return d, lin, true
}

// gratingRow writes the three functions of the pixel in which the grating
// equation is linear. 1 and the cosine of the angle from the middle differ by the
// curvature only; their difference is the better-conditioned partner.
func gratingRow(d *Dispersion, pixel float64, row []float64) {
	x, _ := d.x(pixel)
	u := d.Kappa * x
	cos := 1 / math.Sqrt(1+u*u)
	row[0], row[1], row[2] = 1, (1-cos)/(d.Kappa*d.Kappa), u*cos/d.Kappa
}

// golden returns where f is least between lo and hi, to a thousandth of the
// interval, for an f with one minimum.
func golden(f func(float64) float64, lo, hi float64) float64 {
	const ratio = 0.6180339887498949
	a, b := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
	fa, fb := f(a), f(b)
	for range 15 {
		if fa <= fb {
			hi, b, fb = b, a, fa
			a = hi - ratio*(hi-lo)
			fa = f(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + ratio*(hi-lo)
			fb = f(b)
		}
	}
	return (lo + hi) / 2
}

func targets(ties []tie) (y, weight []float64) {
	for _, t := range ties {
		y = append(y, t.nm)
		weight = append(weight, 1/(t.u*t.u))
	}
	return y, weight
}

func (f *fitted) judge(ties []tie, held []float64, constants int) {
	var chi, sum, weights float64
	f.heldOut = held
	for i, t := range ties {
		e := t.nm - f.dispersion.At(t.pixel)
		f.residual = append(f.residual, e)
		chi += (e / t.u) * (e / t.u)
		sum += (held[i] / t.u) * (held[i] / t.u)
		weights += 1 / (t.u * t.u)
	}
	f.heldRMS = math.Sqrt(sum / weights)
	f.constants = constants
	f.freedom = len(ties) - constants
	f.scale = 1
	if f.freedom > 0 {
		f.scale = max(1, math.Sqrt(chi/float64(f.freedom)))
	}
}
