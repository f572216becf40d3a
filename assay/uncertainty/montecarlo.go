package uncertainty

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// Options steer a Monte Carlo run. The zero value is a good one.
type Options struct {
	Seed uint64
	// Coverage is the probability of the coverage intervals, 0.95 where 0.
	Coverage float64
	// Digits is how many significant digits of the standard uncertainty are to
	// be stable, 1 or 2 (n_dig of JCGM 101:2008 7.9.2); 2 where 0.
	Digits int
	// MaxDraws ends a run that has not become stable, 100 000 where 0; one
	// sequence is made in any case. A run keeps all it drew: 8 bytes for each
	// output of each draw.
	MaxDraws int
	// Draws, where set, is how many draws are made, stable or not.
	Draws int
	// Watch lists the outputs that must become stable; all of them where nil.
	Watch []int
	// Workers is how many share the work, all processors where 0. The result
	// does not depend on it.
	Workers int
	// Progress, where set, hears every few milliseconds of work how many draws
	// were made, from one goroutine at a time.
	Progress func(draws int)
}

func (o *Options) defaults(outputs int) error {
	o.Coverage = o.coverage()
	if o.Digits == 0 {
		o.Digits = 2
	}
	if o.MaxDraws == 0 {
		o.MaxDraws = 100_000
	}
	if o.Workers == 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	if o.Watch == nil {
		for i := range outputs {
			o.Watch = append(o.Watch, i)
		}
	}
	switch {
	case slices.ContainsFunc(o.Watch, func(i int) bool { return i < 0 || i >= outputs }):
		return fmt.Errorf("uncertainty: asked to watch an output that the model does not have")
	case !(o.Coverage > 0 && o.Coverage < 1):
		return fmt.Errorf("uncertainty: a coverage probability lies between 0 and 1, not at %g", o.Coverage)
	case o.Digits < 1 || o.Digits > 2:
		return fmt.Errorf("uncertainty: %d stable digits: JCGM 101 knows 1 and 2", o.Digits)
	case o.MaxDraws < 0 || o.Draws < 0 || o.Workers < 0:
		return fmt.Errorf("uncertainty: a number of draws or workers is negative")
	case o.Draws > 0 && o.Draws < o.fewest():
		return fmt.Errorf("uncertainty: %d draws cannot bound an interval of %g %%: take at least %d", o.Draws, 100*o.Coverage, o.fewest())
	}
	return nil
}

func (o *Options) coverage() float64 {
	if o.Coverage == 0 {
		return 0.95
	}
	return o.Coverage
}

// fewest is the number of draws of which one at least lies beyond either end of
// the interval.
func (o *Options) fewest() int { return int(math.Ceil(2 / (1 - o.Coverage))) }

// block is the size of one sequence, M of JCGM 101:2008 7.9.4 b).
func (o *Options) block() int {
	if o.Draws > 0 {
		return o.Draws
	}
	return max(int(math.Ceil(100/(1-o.Coverage))), 10_000)
}

// Simulation is the outcome of a Monte Carlo run.
type Simulation struct {
	Draws int
	// Stable tells whether every watched output met its numerical tolerance.
	// A run of a fixed number of draws does not ask.
	Stable  bool
	Outputs []Estimate
	values  [][]float64
}

// Values returns an output in the order of the draws, NaN where one left it
// undefined: for covariances, ratios and the probability of conformity. The
// slice must not be changed.
func (s *Simulation) Values(output int) []float64 { return s.values[output] }

// Covariance returns the covariance of two outputs over the draws in which both
// have a value, NaN where those are fewer than two: the ellipse of a
// chromaticity, or what two figures have in common.
func (s *Simulation) Covariance(a, b int) float64 {
	var n, meanA, meanB, sum float64
	for k, va := range s.values[a] {
		vb := s.values[b][k]
		if math.IsNaN(va) || math.IsNaN(vb) {
			continue
		}
		n++
		da := va - meanA
		meanA += da / n
		meanB += (vb - meanB) / n
		sum += da * (vb - meanB)
	}
	if n < 2 {
		return math.NaN()
	}
	return sum / (n - 1)
}

// chunk is how many draws come from one random stream.
const chunk = 50

// worker is one goroutine's share of a run.
type worker struct {
	*prepared
	f      Function
	source *rand.ChaCha8
	rng    *rand.Rand
	x, y   []float64
	z      []float64 // independent normal values behind the joint inputs
}

func (p *prepared) worker() *worker {
	source := rand.NewChaCha8([32]byte{})
	return &worker{
		prepared: p, f: p.New(), source: source, rng: rand.New(source),
		x: make([]float64, p.size), y: make([]float64, p.Outputs), z: make([]float64, len(p.joint)),
	}
}

// stream turns to the random numbers that belong to a chunk.
func (w *worker) stream(seed uint64, number int) {
	key := [32]byte{}
	binary.LittleEndian.PutUint64(key[:], seed)
	binary.LittleEndian.PutUint64(key[8:], uint64(number))
	w.source.Seed(key)
}

// draw fills x with one draw of every input.
func (w *worker) draw() {
	for i := range w.Inputs {
		d := &w.Inputs[i].Distribution
		x := w.x[w.first[i]:][:w.Inputs[i].count()]
		for k := range x {
			x[k] = d.draw(w.rng)
		}
	}
	for a := range w.z {
		w.z[a] = w.rng.NormFloat64()
	}
	for a, i := range w.joint {
		sum := 0.0
		for b := range a + 1 {
			sum += w.lower.At(a, b) * w.z[b]
		}
		d := &w.Inputs[i].Distribution
		w.x[w.first[i]] = d.centre + d.width*sum
	}
}

// MonteCarlo draws until the outputs are stable by the adaptive procedure of
// JCGM 101:2008 7.9.4: sequences of at least 10 000 draws, until twice the
// standard deviation of the averages of estimate, standard uncertainty and both
// ends of the coverage interval is within the numerical tolerance for every
// watched output, or until MaxDraws. A cancelled context ends it with the
// context's error.
func (m *Model) MonteCarlo(ctx context.Context, o Options) (*Simulation, error) {
	p, err := m.prepare()
	if err != nil {
		return nil, err
	}
	if err := o.defaults(m.Outputs); err != nil {
		return nil, err
	}
	workers := make([]*worker, o.Workers)
	for i := range workers {
		workers[i] = p.worker()
	}
	s := &Simulation{values: make([][]float64, m.Outputs), Outputs: make([]Estimate, m.Outputs)}
	size := o.block()
	var history [][]Estimate // of each sequence, each output
	for {
		if err := s.extend(ctx, workers, &o, size); err != nil {
			return nil, err
		}
		if o.Draws > 0 {
			s.estimate(s.Outputs, 0, o.Coverage, o.Workers)
			return s, nil
		}
		latest := make([]Estimate, m.Outputs)
		s.estimate(latest, s.Draws-size, o.Coverage, o.Workers)
		history = append(history, latest)
		s.Stable = len(history) > 1 && s.stable(history, &o)
		if s.Stable || s.Draws+size > o.MaxDraws {
			s.estimate(s.Outputs, 0, o.Coverage, o.Workers)
			s.tolerances(history, &o)
			return s, nil
		}
	}
}

// extend makes n more draws.
func (s *Simulation) extend(ctx context.Context, workers []*worker, o *Options, n int) error {
	from, to := s.Draws, s.Draws+n
	for i := range s.values {
		s.values[i] = append(s.values[i], make([]float64, n)...)
	}
	// Chunks are counted over the whole run; a sequence begins with a new one.
	chunks := (n + chunk - 1) / chunk
	firstChunk := from / n * chunks
	var next atomic.Int64
	var group sync.WaitGroup
	var reporting sync.Mutex
	made := from
	report := func(more int) {
		reporting.Lock()
		defer reporting.Unlock()
		made += more
		o.Progress(made)
	}
	for _, w := range workers {
		group.Go(func() {
			for ctx.Err() == nil {
				c := int(next.Add(1)) - 1
				if c >= chunks {
					return
				}
				w.stream(o.Seed, firstChunk+c)
				first, end := from+c*chunk, min(from+(c+1)*chunk, to)
				for k := first; k < end; k++ {
					w.draw()
					w.f(w.x, w.y)
					for i, y := range w.y {
						s.values[i][k] = y
					}
				}
				if o.Progress != nil {
					report(end - first)
				}
			}
		})
	}
	group.Wait()
	s.Draws = to
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("uncertainty: stopped: %w", err)
	}
	return nil
}

// estimate evaluates every output over the draws from the given one on.
func (s *Simulation) estimate(out []Estimate, from int, coverage float64, workers int) {
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(workers, len(out)) {
		group.Go(func() {
			var sorted []float64
			for {
				i := int(next.Add(1)) - 1
				if i >= len(out) {
					return
				}
				sorted = append(sorted[:0], s.values[i][from:]...)
				out[i] = estimate(sorted, coverage)
			}
		})
	}
	group.Wait()
}
