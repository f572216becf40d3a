package limits

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"lampassay/light/photometry"
	"lampassay/light/spectrum"
)

// Solve returns the light of the largest efficacy under the conditions. Where
// none meets them the error is an [*Unreachable].
func Solve(ctx context.Context, c Conditions) (Optimum, error) { return new(Solver).Solve(ctx, c) }

// Cache keeps answers by the [Conditions.Key] of their questions. Its methods
// may be called from several goroutines.
type Cache interface {
	Load(key string) (Answer, bool)
	Save(key string, a Answer)
}

// Solver answers one question after another, and prepares the tables of what
// light may be made of only once. The zero value is ready; it may be shared by
// goroutines.
type Solver struct {
	Cache Cache // may be nil

	mu       sync.Mutex
	prepared map[string]*stock
}

// stock is all that light may be made of, and the coarse choice from it that a
// search begins with.
type stock struct {
	all, coarse *palette
	index       []int // of the coarse columns
	bands       []Band
}

func (s *Solver) stock(c *Conditions) (*stock, error) {
	key := Conditions{Bands: c.Bands, Emitters: c.Emitters}.Key()
	s.mu.Lock()
	defer s.mu.Unlock()
	if have, ok := s.prepared[key]; ok {
		return have, nil
	}
	columns, coarse, err := c.columns()
	if err != nil {
		return nil, err
	}
	all := newPalette(columns)
	if s.prepared == nil {
		s.prepared = make(map[string]*stock)
	}
	s.prepared[key] = &stock{all, all.pick(coarse), coarse, c.Bands}
	return s.prepared[key], nil
}

// Solve is [Solve] with the solver's tables and cache.
func (s *Solver) Solve(ctx context.Context, c Conditions) (Optimum, error) {
	c, err := c.normalised()
	if err != nil {
		return Optimum{}, err
	}
	key := c.Key()
	if s.Cache != nil {
		if a, ok := s.Cache.Load(key); ok {
			if curve, err := a.Draw(c.Emitters); err == nil { // else it is damaged, and no answer
				return Optimum{a, curve}, nil
			}
		}
	}
	k, err := s.stock(&c)
	if err != nil {
		return Optimum{}, err
	}
	o, err := k.answer(ctx, c)
	if err == nil && s.Cache != nil {
		s.Cache.Save(key, o.Answer)
	}
	return o, err
}

// answer settles the temperature, solves and describes.
func (k *stock) answer(ctx context.Context, c Conditions) (Optimum, error) {
	if c.Colour.CCT.From < c.Colour.CCT.To {
		t, err := k.temperature(ctx, c)
		if err != nil {
			return Optimum{}, err
		}
		c.Colour.CCT = Span{t, t}
	}
	if d := k.all.colourDistance(c.Colour); d > 0 {
		return Optimum{}, &Unreachable{Distance: d}
	}
	solve := k.starts
	if c.Lines > 0 {
		solve = k.few
	}
	best, evidence, err := solve(ctx, &c)
	if err != nil {
		return Optimum{}, err
	}
	o := best.optimum(&c)
	o.Evidence = evidence
	slices.SortFunc(o.Mixture, func(a, b Part) int { return cmp.Or(cmp.Compare(a.Centre, b.Centre), cmp.Compare(a.Emitter, b.Emitter)) })
	return o, o.describe(&c)
}

// found is a solution with the palette and the program it belongs to.
type found struct {
	*solution
	palette *palette
	program *program
	bound   float64 // of the efficacy, lm/W
}

func (f *found) efficacy() float64 { return photometry.Km / f.cost }

// even is the light that a first start goes out from, 3 W in n columns.
func even(n int) []float64 {
	a := make([]float64, n)
	for j := range a {
		a[j] = 3 / float64(n)
	}
	return a
}

// starts solves from the even light and from random ones, and keeps the best.
func (k *stock) starts(ctx context.Context, c *Conditions) (best *found, ev Evidence, err error) {
	r := rand.New(rand.NewPCG(2, uint64(len(k.index))))
	var reached []float64
	for start := range c.Restarts + 1 {
		light := even
		if start > 0 {
			light = func(n int) []float64 {
				a := even(n)
				for j := range a {
					a[j] *= math.Exp(2 * r.NormFloat64())
				}
				return a
			}
		}
		f, err := k.search(ctx, c, light)
		if err != nil {
			return nil, ev, err
		}
		ev.Starts++
		ev.Steps += f.steps
		reached = append(reached, f.efficacy())
		if best == nil || f.cost < best.cost {
			best = f
		}
	}
	ev.count(reached)
	ev.Bound = best.bound
	ev.Exact = len(best.program.sets) == 0
	return best, ev, nil
}

// search solves over the coarse columns, then over those of all columns that
// its prices find worth their watts, until there is none left out. Each time it
// goes out from a light that start makes.
func (k *stock) search(ctx context.Context, c *Conditions, start func(n int) []float64) (*found, error) {
	full, err := newProgram(k.all, c)
	if err != nil {
		return nil, err
	}
	at := full.newPoint()
	palette, index := k.coarse, k.index
	steps := 0
	var last *found
	for range 8 {
		p, err := newProgram(palette, c)
		if err != nil {
			return nil, err
		}
		s, err := p.solve(ctx, start(p.n))
		if err != nil {
			return nil, err
		}
		steps += s.steps
		s.steps = steps
		if len(p.misses(s, c.Demands)) > 0 {
			return nil, p.nearest(ctx, c.Demands)
		}
		f := &found{solution: s, palette: palette, program: p}
		if math.IsInf(s.within, 1) {
			return nil, f.unsettled(c)
		}
		last = f
		var worth []int
		if f.bound, worth = full.price(s, index, at); worth == nil {
			return f, nil
		}
		palette, index = k.all.pick(worth), worth
	}
	return nil, last.unsettled(c)
}

// price puts a solution over some columns to all of them. It returns the bound
// of the efficacy that the prices prove, and the columns to go on with: all that
// come near to paying for themselves, or none where no column left out does.
func (p *program) price(s *solution, index []int, at *point) (bound float64, worth []int) {
	a := make([]float64, p.n)
	for i, j := range index {
		a[j] = s.a[i]
	}
	for i, d := range p.sets {
		copy(d.pull, s.pulls[i])
	}
	p.value(a, at)
	p.slope(at)
	reduced := append([]float64(nil), p.cost...)
	dual := 0.0
	for i, row := range p.rows {
		axpy(-s.y[i], row, reduced)
		dual += s.y[i] * p.rhs[i]
	}
	for k := range p.limits {
		axpy(-s.z[k], at.pulled[k], reduced)
		dual += s.z[k] * (p.limits[k].bound - at.g[k] + spectrum.Dot(at.pulled[k], a))
	}
	const near = 2e-3
	worst := 0.0
	for j, r := range reduced {
		worst = min(worst, r/p.cost[j])
		if r < near*p.cost[j] {
			worth = append(worth, j)
		}
	}
	// Prices lower by the worst column's gain leave none that gains.
	bound = photometry.Km / (dual / (1 - worst))
	if worst > -2*s.within {
		return bound, nil
	}
	return bound, worth
}

// nearest finds out how near the demands can be met when efficacy hardly counts.
func (p *program) nearest(ctx context.Context, demands []Demand) error {
	q := *p
	q.cost, q.elasticity = scaled(p.cost, 1e-3), 1
	s, err := q.solve(ctx, even(q.n))
	if err != nil {
		return err
	}
	missed := q.misses(s, demands)
	if len(missed) == 0 {
		return ErrUnsettled
	}
	return &Unreachable{Missed: missed}
}

// temperature finds the best of a span of temperatures: a look at nine, evenly
// spaced in the reciprocal, then golden sections about the best of them.
func (k *stock) temperature(ctx context.Context, c Conditions) (float64, error) {
	var last error
	cost := func(mired float64) float64 {
		c.Colour.CCT = Span{1e6 / mired, 1e6 / mired}
		if d := k.all.colourDistance(c.Colour); d > 0 {
			last = &Unreachable{Distance: d}
			return math.Inf(1)
		}
		p, err := newProgram(k.coarse, &c)
		if err == nil {
			var s *solution
			if s, err = p.solve(ctx, even(p.n)); err == nil {
				if missed := p.misses(s, c.Demands); len(missed) == 0 && !math.IsInf(s.within, 1) {
					return s.cost
				}
				err = p.nearest(ctx, c.Demands)
			}
		}
		last = err
		return math.Inf(1)
	}
	const looks = 9
	lo, hi := 1e6/c.Colour.CCT.To, 1e6/c.Colour.CCT.From
	step := (hi - lo) / (looks - 1)
	best, at := math.Inf(1), lo
	for i := range looks {
		if v := cost(lo + float64(i)*step); v < best {
			best, at = v, lo+float64(i)*step
		}
	}
	if math.IsInf(best, 1) {
		return 0, last
	}
	const golden = 0.6180339887498949
	a, b := max(lo, at-step), min(hi, at+step)
	x, y := b-golden*(b-a), a+golden*(b-a)
	fx, fy := cost(x), cost(y)
	for b-a > 1e-3*step {
		if fx <= fy {
			b, y, fy = y, x, fx
			x = b - golden*(b-a)
			fx = cost(x)
		} else {
			a, x, fx = x, y, fy
			y = a + golden*(b-a)
			fy = cost(y)
		}
		if err := ctx.Err(); err != nil {
			return 0, err
		}
	}
	for mired, v := range map[float64]float64{x: fx, y: fy, lo: cost(lo), hi: cost(hi)} {
		if v < best || (v == best && mired < at) {
			best, at = v, mired
		}
	}
	return 1e6 / at, nil
}

// optimum reads the mixture, the prices and the efficacy from a solution.
func (f *found) optimum(c *Conditions) Optimum {
	const trace = 1e-7 // of the power: what the method leaves of columns not used
	var o Optimum
	var all, light float64
	for j, a := range f.a {
		all += a
		light += a * f.palette.xyz[1][j]
	}
	for j, a := range f.a {
		if a < trace*all {
			continue
		}
		col := f.palette.columns[j]
		o.Mixture = append(o.Mixture, Part{col.centre, col.fwhm, col.emitter, a / all, a * f.palette.xyz[1][j] / light})
	}
	o.Efficacy = f.efficacy()
	o.LER = photometry.Km * light / all
	for k, l := range f.program.limits {
		price := photometry.Km / (f.cost * f.cost) * f.z[k] / math.Abs(l.perUnit)
		if f.z[k] < 1e-6 {
			continue
		}
		d := Demand{Duv, l.perUnit < 0, c.Colour.Duv.From}
		if d.Most {
			d.Value = c.Colour.Duv.To
		}
		if l.demand >= 0 {
			d = c.Demands[l.demand]
		}
		o.Binding = append(o.Binding, Binding{d, price})
	}
	return o
}
