package uncertainty

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Input is one thing that is not known exactly.
type Input struct {
	Name         string
	Unit         string // "" for a pure number
	Distribution Distribution
	// DF is the number of degrees of freedom behind the standard uncertainty;
	// 0 stands for so many that they do not matter. A t distribution has its own.
	DF float64
	// Count makes the input stand for that many independent values alike, such
	// as the noise of every pixel. 0 and 1 mean a single one.
	Count int
	// Source says where the figure comes from: a certificate, repeats, or
	// [OwnEstimate].
	Source string
}

func (in *Input) count() int { return max(in.Count, 1) }

func (in *Input) df() float64 {
	switch {
	case in.Distribution.shape == student:
		return in.Distribution.extra
	case in.DF > 0:
		return in.DF
	}
	return math.Inf(1)
}

// Correlation is the correlation coefficient R of two single, normal inputs,
// by name. JCGM 101:2008 6.4.8 gives a joint distribution only for normal ones.
type Correlation struct {
	A string  `json:"a"`
	B string  `json:"b"`
	R float64 `json:"r"`
}

// Function computes the outputs y from the input values x, NaN for an output
// that these inputs leave undefined. It may keep scratch space: one goroutine
// calls it.
type Function func(x, y []float64)

// Model is a measurement model.
type Model struct {
	Inputs       []Input
	Correlations []Correlation
	// Outputs is how many values the function gives.
	Outputs int
	// New makes the function, once for each worker. x holds the inputs in their
	// order, an input with a Count as so many neighbours.
	New func() Function
}

// prepared is a model that was checked.
type prepared struct {
	*Model
	first []int // where input i begins in x
	size  int   // length of x
	joint []int // inputs with a correlation
	r     *mat.SymDense
	lower mat.TriDense // Cholesky factor of r
}

// prepare checks a model.
func (m *Model) prepare() (*prepared, error) {
	p := &prepared{Model: m}
	index := make(map[string]int, len(m.Inputs))
	for i := range m.Inputs {
		in := &m.Inputs[i]
		if what := in.Distribution.problem(); what != "" {
			return nil, fmt.Errorf("uncertainty: input %q: %s", in.Name, what)
		}
		if in.DF < 0 || math.IsNaN(in.DF) {
			return nil, fmt.Errorf("uncertainty: input %q: degrees of freedom cannot be %g", in.Name, in.DF)
		}
		if in.Count < 0 {
			return nil, fmt.Errorf("uncertainty: input %q: a count of %d values", in.Name, in.Count)
		}
		if _, twice := index[in.Name]; twice {
			return nil, fmt.Errorf("uncertainty: two inputs are called %q", in.Name)
		}
		index[in.Name] = i
		p.first = append(p.first, p.size)
		p.size += in.count()
	}
	if m.Outputs < 1 || m.New == nil {
		return nil, fmt.Errorf("uncertainty: the model computes nothing")
	}
	return p, p.correlate(index)
}

// correlate prepares the joint distribution of the correlated inputs.
func (p *prepared) correlate(index map[string]int) error {
	if len(p.Correlations) == 0 {
		return nil
	}
	at := map[int]int{} // place of an input among the joint ones
	place := func(name string) (int, error) {
		i, ok := index[name]
		if !ok {
			return 0, fmt.Errorf("uncertainty: a correlation names %q, which is not an input", name)
		}
		if in := &p.Inputs[i]; in.count() != 1 || in.Distribution.shape != normal {
			return 0, fmt.Errorf("uncertainty: input %q has a correlation, which only a single value with a normal distribution can have", name)
		}
		if _, ok := at[i]; !ok {
			at[i] = len(p.joint)
			p.joint = append(p.joint, i)
		}
		return at[i], nil
	}
	type entry struct {
		a, b int
		r    float64
	}
	var entries []entry
	for _, c := range p.Correlations {
		a, err := place(c.A)
		if err != nil {
			return err
		}
		b, err := place(c.B)
		if err != nil {
			return err
		}
		if a == b || !(math.Abs(c.R) <= 1) {
			return fmt.Errorf("uncertainty: the correlation of %q with %q cannot be %g", c.A, c.B, c.R)
		}
		entries = append(entries, entry{a, b, c.R})
	}
	p.r = mat.NewSymDense(len(p.joint), nil)
	for i := range p.joint {
		p.r.SetSym(i, i, 1)
	}
	for _, e := range entries {
		p.r.SetSym(e.a, e.b, e.r)
	}
	var chol mat.Cholesky
	if !chol.Factorize(p.r) {
		return fmt.Errorf("uncertainty: the correlations of %q and others contradict one another: their matrix is not positive definite",
			p.Inputs[p.joint[0]].Name)
	}
	chol.LTo(&p.lower)
	return nil
}

// estimates fills x with the inputs' estimates.
func (p *prepared) estimates(x []float64) {
	for i := range p.Inputs {
		for k := range p.Inputs[i].count() {
			x[p.first[i]+k] = p.Inputs[i].Distribution.centre
		}
	}
}
