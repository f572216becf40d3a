package comparison

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"lampassay/assay/uncertainty"
)

// Figure is one quantity of one lamp with what makes it uncertain.
type Figure struct {
	Lamp  string
	Value float64
	Unit  string
	// Causes make up the standard uncertainty.
	Causes []Cause
	// Draws, where every figure compared has them, stand for the distribution
	// instead of the causes: draw k of each comes from the same draw of the shared
	// inputs. NaN marks a draw that leaves the quantity undefined.
	Draws []float64
	// Unranked says in a few words why the figure has no rank: not defined, or
	// outside its method's scope. Empty for one that has.
	Unranked string
}

// Cause is one source of uncertainty in a figure.
type Cause struct {
	Name string
	// U is what one standard uncertainty of the cause adds to the figure, in the
	// figure's unit, with its sign: two figures that a cause moves in opposite
	// directions have opposite signs.
	U float64
	// Own marks a cause that differs from lamp to lamp though its name does
	// not: spectral mismatch, self-absorption, refitting, noise.
	Own bool
}

// Stated names the only cause of a figure whose uncertainty was stated as a
// whole.
const Stated = "stated as a whole"

// U returns the standard uncertainty from the causes, without correlations
// between different causes; from the draws where there are any.
func (f *Figure) U() float64 {
	if f.Draws != nil {
		_, u := moments(f.Draws)
		return u
	}
	sum := 0.0
	for _, c := range f.Causes {
		sum += c.U * c.U
	}
	return math.Sqrt(sum)
}

// Times returns the figure multiplied by k.
func (f Figure) Times(k float64) Figure {
	f.Value *= k
	f.Causes, f.Draws = slices.Clone(f.Causes), slices.Clone(f.Draws)
	for i := range f.Causes {
		f.Causes[i].U *= k
	}
	for i := range f.Draws {
		f.Draws[i] *= k
	}
	return f
}

// check says what is wrong with a figure.
func (f *Figure) check() error {
	if math.IsNaN(f.Value) || math.IsInf(f.Value, 0) {
		return fmt.Errorf("comparison: %s: the value is not a finite number", f.Lamp)
	}
	for i, c := range f.Causes {
		if math.IsNaN(c.U) || math.IsInf(c.U*c.U, 0) {
			return fmt.Errorf("comparison: %s: the uncertainty by %q is not a finite number", f.Lamp, c.Name)
		}
		if slices.ContainsFunc(f.Causes[:i], func(o Cause) bool { return o.Name == c.Name }) {
			return fmt.Errorf("comparison: %s: the cause %q stands twice", f.Lamp, c.Name)
		}
	}
	return nil
}

// Covariance returns the covariance matrix of figures. Causes of one name are
// one cause, except where either figure has it as its own; the given
// correlations join different causes by name, within a lamp, and between
// lamps where both causes are shared.
func Covariance(figures []Figure, correlations []uncertainty.Correlation) (*mat.SymDense, error) {
	if len(figures) == 0 {
		return nil, fmt.Errorf("comparison: no figure was given")
	}
	rho, err := newCorrelations(figures, correlations)
	if err != nil {
		return nil, err
	}
	v := mat.NewSymDense(len(figures), nil)
	for i := range figures {
		if err := figures[i].check(); err != nil {
			return nil, err
		}
		for k := range i + 1 {
			sum := 0.0
			for _, a := range figures[i].Causes {
				for _, b := range figures[k].Causes {
					if i == k || !a.Own && !b.Own {
						sum += rho.between(a.Name, b.Name) * a.U * b.U
					}
				}
			}
			v.SetSym(i, k, sum)
		}
	}
	return v, nil
}

// Among returns those of the correlations that join causes of these figures: a
// list that holds for all quantities of a lamp names causes that some of them
// do not have.
func Among(figures []Figure, list []uncertainty.Correlation) []uncertainty.Correlation {
	known := func(name string) bool {
		return slices.ContainsFunc(figures, func(f Figure) bool {
			return slices.ContainsFunc(f.Causes, func(c Cause) bool { return c.Name == name })
		})
	}
	return slices.DeleteFunc(slices.Clone(list), func(c uncertainty.Correlation) bool { return !known(c.A) || !known(c.B) })
}

// correlations between different causes, by name.
type correlations struct {
	index map[string]int
	r     *mat.SymDense
}

// newCorrelations checks that every name is a cause of some figure and that
// the matrix could belong to anything.
func newCorrelations(figures []Figure, list []uncertainty.Correlation) (*correlations, error) {
	c := &correlations{index: map[string]int{}}
	place := func(name string) (int, error) {
		if i, ok := c.index[name]; ok {
			return i, nil
		}
		known := slices.ContainsFunc(figures, func(f Figure) bool {
			return slices.ContainsFunc(f.Causes, func(c Cause) bool { return c.Name == name })
		})
		if !known {
			return 0, fmt.Errorf("comparison: a correlation names %q, which is no cause of any figure", name)
		}
		c.index[name] = len(c.index)
		return c.index[name], nil
	}
	type entry struct {
		a, b int
		r    float64
	}
	var entries []entry
	for _, l := range list {
		a, err := place(l.A)
		if err != nil {
			return nil, err
		}
		b, err := place(l.B)
		if err != nil {
			return nil, err
		}
		if a == b || !(math.Abs(l.R) <= 1) {
			return nil, fmt.Errorf("comparison: the correlation of %q with %q cannot be %g", l.A, l.B, l.R)
		}
		entries = append(entries, entry{a, b, l.R})
	}
	if len(entries) == 0 {
		return c, nil
	}
	c.r = mat.NewSymDense(len(c.index), nil)
	for i := range len(c.index) {
		c.r.SetSym(i, i, 1)
	}
	for _, e := range entries {
		c.r.SetSym(e.a, e.b, e.r)
	}
	var chol mat.Cholesky
	if !chol.Factorize(c.r) {
		return nil, fmt.Errorf("comparison: the correlations of %q and others contradict one another: their matrix is not positive definite", list[0].A)
	}
	return c, nil
}

func (c *correlations) between(a, b string) float64 {
	if a == b {
		return 1
	}
	i, known := c.index[a]
	k, both := c.index[b]
	if !known || !both {
		return 0
	}
	return c.r.At(i, k)
}

// moments returns mean and standard deviation of the values that are numbers.
func moments(draws []float64) (mean, u float64) {
	n, squares := 0.0, 0.0
	for _, v := range draws {
		if math.IsNaN(v) {
			continue
		}
		n++
		d := v - mean
		mean += d / n
		squares += d * (v - mean)
	}
	if n < 2 {
		return math.NaN(), math.NaN()
	}
	return mean, math.Sqrt(squares / (n - 1))
}

// Mean is the mean of several specimens.
type Mean struct {
	Value, U float64
	Draws    []float64 // nil where there are none
	// Widest names the cause that adds most to U, "" where no causes are known.
	Widest string
}

// MeanOf returns the mean of several specimens of a lamp: what they share keeps
// its size, what each has for itself shrinks with their number. The correlations
// join causes of different names.
func MeanOf(figures []Figure, correlations []uncertainty.Correlation) (Mean, error) {
	f, err := newField(figures, Options{Scale: ByDifference, Correlations: correlations})
	if err != nil {
		return Mean{}, err
	}
	n := float64(len(figures))
	var m Mean
	for _, g := range figures {
		m.Value += g.Value / n
	}
	// Of each cause alone: linear where shared, in quadrature where own.
	linear, squares := map[string]float64{}, map[string]float64{}
	most := 0.0
	for _, g := range figures {
		for _, c := range g.Causes {
			if c.Own {
				squares[c.Name] += c.U * c.U
			} else {
				linear[c.Name] += c.U
			}
			if v := squares[c.Name] + linear[c.Name]*linear[c.Name]; v > most {
				most, m.Widest = v, c.Name
			}
		}
	}
	if f.v != nil {
		m.U = math.Sqrt(max(0, mat.Sum(f.v))) / n
		return m, nil
	}
	m.Draws = make([]float64, len(figures[0].Draws))
	for _, g := range figures {
		for k, v := range g.Draws {
			m.Draws[k] += v / n
		}
	}
	_, m.U = moments(m.Draws)
	return m, nil
}
