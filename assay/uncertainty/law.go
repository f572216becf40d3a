package uncertainty

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Law is what the law of propagation says of one output: the function taken as
// straight over one standard uncertainty on either side of the estimates
// (JCGM 100:2008 5.1.2, 5.2.2, with the differences of 5.1.3 note 2). Where the
// output is not defined that near, all but the value is NaN.
type Law struct {
	Value    float64 // at the estimates of the inputs
	U        float64 // combined standard uncertainty
	DF       float64 // effective degrees of freedom (G.4.1), +Inf where all are
	K        float64 // coverage factor, of the t distribution for DF cut to an integer
	Expanded float64 // K·U

	// Budget has a line for each input that the output responds to, the largest
	// first: the first is the one to improve first.
	Budget []Contribution
}

// Contribution is what one input does to one output.
type Contribution struct {
	Input int // place in the model
	// Sensitivity is the slope ∂y/∂x, NaN for an input of many values.
	Sensitivity float64
	// Linear is the slope times the standard uncertainty, signed; for many
	// values the root of the sum of squares.
	Linear float64
	// U is the standard deviation of the output when this input alone varies,
	// curvature included (JCGM 101:2008 Annex B); Share is U² over the sum of
	// all U².
	U, Share float64
}

// Holds reports whether the interval of the law stands for that of the draws:
// both ends within the numerical tolerance for the given significant digits of
// the standard uncertainty (JCGM 101:2008 8.1).
func (l *Law) Holds(e *Estimate, digits int) bool {
	delta := numericalTolerance(e.StdDev, digits)
	return math.Abs(l.Value-l.Expanded-e.Low) <= delta && math.Abs(l.Value+l.Expanded-e.High) <= delta
}

// An input of more values than this is tried out by drawing all of them at once,
// not value by value.
const (
	manyValues = 64
	manyTrials = 100
)

// rounding is the share of a variance below which a line is arithmetic noise.
const rounding = 1e-18

// Propagate applies the law of propagation and makes the budgets. It evaluates
// the function twice for each input value, and for an input of very many values
// (the noise of every pixel) at 100 random pairs, which give its contribution
// within about 7 %. Only Coverage and Seed of the options count.
func (m *Model) Propagate(ctx context.Context, o Options) ([]Law, error) {
	p, err := m.prepare()
	if err != nil {
		return nil, err
	}
	if err := o.defaults(m.Outputs); err != nil {
		return nil, err
	}
	t := p.trial(o.Seed)
	for i := range p.Inputs {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("uncertainty: stopped: %w", err)
		}
		t.vary(i)
	}
	laws := make([]Law, m.Outputs)
	for y := range laws {
		laws[y] = t.law(y, o.Coverage)
	}
	return laws, nil
}

// trial varies one input after another.
type trial struct {
	*worker
	seed        uint64
	at          []float64 // the estimates
	centre      []float64 // the outputs there
	plus, minus []float64
	lines       [][]Contribution // of each output, in the order of the inputs
}

func (p *prepared) trial(seed uint64) *trial {
	t := &trial{worker: p.worker(), seed: seed, at: make([]float64, p.size), lines: make([][]Contribution, p.Outputs)}
	p.estimates(t.at)
	copy(t.x, t.at)
	t.centre, t.plus, t.minus = make([]float64, p.Outputs), make([]float64, p.Outputs), make([]float64, p.Outputs)
	t.f(t.x, t.centre)
	return t
}

// vary adds a line for input i to every output's budget.
func (t *trial) vary(i int) {
	d := &t.Inputs[i].Distribution
	u, n := d.U(), t.Inputs[i].count()
	if u == 0 {
		return
	}
	x, at := t.x[t.first[i]:][:n], t.at[t.first[i]:][:n]
	linear, curved := make([]float64, t.Outputs), make([]float64, t.Outputs) // sums of squares
	if n > manyValues {
		t.stream(t.seed, -1-i) // the draws' own streams count up from zero
		for range manyTrials {
			for k := range x {
				x[k] = d.draw(t.rng)
			}
			// The curvatures of many small parts add up to a shift that hardly
			// spreads: they do not count.
			t.pair(x, at, linear, curved, 1.0/manyTrials, 1)
		}
	} else {
		for k := range x {
			x[k] = at[k] + u
			t.pair(x, at, linear, curved, 1, d.kurtosis())
			x[k] = at[k]
		}
	}
	copy(x, at)
	for y := range linear {
		c := Contribution{Input: i, Sensitivity: math.NaN(), Linear: math.Sqrt(linear[y]), U: math.Sqrt(linear[y] + curved[y])}
		if n == 1 {
			c.Linear = math.Copysign(c.Linear, t.plus[y]-t.minus[y])
			c.Sensitivity = c.Linear / u
		}
		if c.U != 0 {
			t.lines[y] = append(t.lines[y], c)
		}
	}
}

// pair evaluates the function at x and at its mirror image about the estimates,
// and adds to the sums of squares. For y = y₀ + s·z + ½q·z², z = ±1 being one
// standard uncertainty, Var y = s² + ¼(κ−1)q².
func (t *trial) pair(x, at, linear, curved []float64, weight, kurtosis float64) {
	t.f(t.x, t.plus)
	for k := range x {
		x[k] = 2*at[k] - x[k]
	}
	t.f(t.x, t.minus)
	for y := range linear {
		s := (t.plus[y] - t.minus[y]) / 2
		q := t.plus[y] - 2*t.centre[y] + t.minus[y]
		linear[y] += weight * s * s
		curved[y] += weight * (kurtosis - 1) / 4 * q * q
	}
}

// law combines the lines of one output.
func (t *trial) law(y int, coverage float64) Law {
	lines := t.lines[y]
	var linear, all float64
	for _, c := range lines {
		linear += c.Linear * c.Linear
		all += c.U * c.U
	}
	cross, lowest := t.crossed(lines)
	l := Law{Value: t.centre[y], U: math.Sqrt(max(linear+cross, 0)), DF: math.Inf(1)}

	// Welch–Satterthwaite asks for independent inputs. Correlated ones enter as
	// one, with the fewest degrees of freedom among them.
	sum, jointly := 0.0, cross
	for _, c := range lines {
		if slices.Contains(t.joint, c.Input) {
			jointly += c.Linear * c.Linear
			continue
		}
		df := t.Inputs[c.Input].df() * float64(t.Inputs[c.Input].count())
		sum += c.Linear * c.Linear * c.Linear * c.Linear / df
	}
	sum += jointly * jointly / lowest
	if sum > 0 {
		l.DF = l.U * l.U * l.U * l.U / sum
	}
	l.K = coverageFactor(coverage, l.DF)
	l.Expanded = l.K * l.U

	for i := range lines {
		lines[i].Share = lines[i].U * lines[i].U / all
	}
	lines = slices.DeleteFunc(lines, func(c Contribution) bool { return c.Share < rounding })
	slices.SortStableFunc(lines, func(a, b Contribution) int { return cmp.Compare(b.U, a.U) })
	l.Budget = lines
	return l
}

// crossed returns 2 ΣΣ r·Linear·Linear over the correlated inputs, and the
// fewest degrees of freedom among them.
func (t *trial) crossed(lines []Contribution) (sum, fewest float64) {
	linear := make([]float64, len(t.joint))
	fewest = math.Inf(1)
	for _, c := range lines {
		if a := slices.Index(t.joint, c.Input); a >= 0 {
			linear[a] = c.Linear
			fewest = min(fewest, t.Inputs[c.Input].df())
		}
	}
	for a := range linear {
		for b := range a {
			sum += 2 * t.r.At(a, b) * linear[a] * linear[b]
		}
	}
	return sum, fewest
}

// coverageFactor returns the two-sided quantile of the t distribution, its
// degrees of freedom cut to an integer as JCGM 100:2008 G.4.1 has it.
func coverageFactor(coverage, df float64) float64 {
	upper := (1 + coverage) / 2
	if df > 1e6 {
		return distuv.UnitNormal.Quantile(upper)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(math.Floor(df), 1)}.Quantile(upper)
}
