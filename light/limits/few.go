package limits

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"lampassay/light/spectrum"
)

// A limit on the number of lines makes the question one of many valleys: the
// amounts of given lines are a convex program, their places are not. Each start
// is polished by a sequence of programs in which a line may also move: a column
// for its amount, a free one for amount times the derivative of its profile. The
// moves are held the tighter the worse the last program foresaw what came.

// few answers a question with a limit on the number of lines.
func (k *stock) few(ctx context.Context, c *Conditions) (*found, Evidence, error) {
	unlimited, ev, err := k.starts(ctx, c)
	if err != nil {
		return nil, ev, err
	}
	o := unlimited.optimum(c)
	parts := o.Lines()
	if len(parts) <= c.Lines {
		return unlimited, ev, nil
	}
	if len(c.Emitters) > 0 {
		return k.fewEmitters(ctx, c)
	}
	const starts = 12
	r := rand.New(rand.NewPCG(3, uint64(c.Lines)))
	ev = Evidence{Bound: math.NaN()}
	var best *polished
	var reached []float64
	for start := range starts + c.Restarts {
		lines := make([]column, c.Lines)
		if start == 0 {
			slices.SortFunc(parts, func(a, b Part) int { return int(math.Copysign(1, b.Power-a.Power)) })
			for i := range lines {
				lines[i] = lineColumn(parts[i].Centre, parts[i].FWHM)
			}
		} else {
			k.draw(r, c.Colour, lines)
		}
		p, err := k.polish(ctx, c, lines)
		if err != nil {
			if ctx.Err() != nil {
				return nil, ev, ctx.Err()
			}
			continue // a start that led nowhere
		}
		ev.Starts++
		ev.Steps += p.steps
		if best == nil || p.merit() < best.merit() {
			best = p
		}
		if p.met() {
			reached = append(reached, p.efficacy())
		}
	}
	switch {
	case best == nil:
		return nil, ev, ErrUnsettled
	case !best.met():
		return nil, ev, best.unreachable(c)
	}
	ev.count(reached)
	return &best.found, ev, nil
}

// draw fills in lines at random that can mix the colour, or nearly.
func (k *stock) draw(r *rand.Rand, colour Colour, lines []column) {
	const tries = 300
	nearest := math.Inf(1)
	index := make([]int, len(lines))
	for range tries {
		for i := range index {
			index[i] = r.IntN(len(k.coarse.columns))
		}
		q := palette{columns: make([]column, len(index))}
		for i, j := range index {
			q.columns[i] = k.coarse.columns[j]
			for c := range q.xyz {
				q.xyz[c] = append(q.xyz[c], k.coarse.xyz[c][j])
			}
		}
		if d := q.colourDistance(colour); d < nearest {
			nearest = d
			copy(lines, q.columns)
		}
		if nearest == 0 {
			return
		}
	}
}

// polished is what a start came to.
type polished struct {
	found
	off    float64 // Σ of what the equalities are missed by
	beyond float64 // Σ of what the limits are missed by
}

func (p *polished) merit() float64 { return p.cost + elasticity*(1e3*p.off+p.beyond) }
func (p *polished) met() bool      { return p.off < 1e-5 && p.beyond < 1e-4 }

func (p *polished) unreachable(c *Conditions) error {
	e := &Unreachable{Missed: p.program.misses(p.solution, c.Demands), Lines: c.Lines}
	if p.beyond < 1e-4 || p.off > 2e-3 {
		e.Missed, e.Distance = nil, p.off // the row of the isotherm is in u, v
	}
	return e
}

// rounds is the largest number of programs in a polish, faded the least amount
// that a line is moved with.
const (
	rounds = 50
	faded  = 0.05
)

// polish moves lines to where they do best.
func (k *stock) polish(ctx context.Context, c *Conditions, lines []column) (*polished, error) {
	amounts := even(len(lines))
	var best *polished
	steps := 0
	hold := 1e-3
	for range rounds {
		p, err := moving(lines, amounts, hold, c)
		if err != nil {
			return nil, err
		}
		start := append(slices.Clone(amounts), make([]float64, len(lines))...)
		for j := range amounts {
			start[j] = max(start[j], 1e-3)
		}
		s, err := p.solve(ctx, start)
		if err != nil {
			return nil, err
		}
		steps += s.steps
		moved, far := make([]column, len(lines)), 0.0
		for j, l := range lines {
			step := s.a[len(lines)+j]
			if most := 10.0; math.Abs(step) > most {
				step = math.Copysign(most, step)
			}
			far = max(far, math.Abs(step))
			moved[j] = lineColumn(k.within(l.centre+step, l.fwhm), l.fwhm)
		}
		next, err := assess(moved, s, c)
		if err != nil {
			return nil, err
		}
		if best == nil || next.merit() < best.merit() {
			gain := math.Inf(1)
			if best != nil {
				gain = best.merit() - next.merit()
			}
			best, lines, amounts = next, moved, slices.Clone(next.a)
			hold = max(hold/4, 1e-6)
			if far < 1e-3 || gain < 1e-9*best.cost {
				break
			}
			continue
		}
		if far < 1e-5 {
			break
		}
		hold *= 5
	}
	best.steps = steps
	return best, nil
}

// within puts a line back into a band of its width.
func (k *stock) within(centre, fwhm float64) float64 {
	nearest, off := centre, math.Inf(1)
	for _, b := range k.bands {
		if b.FWHM != fwhm {
			continue
		}
		at := min(max(centre, b.From), b.To)
		if d := math.Abs(at - centre); d < off {
			nearest, off = at, d
		}
	}
	return nearest
}

// moving is the program of lines that may move.
func moving(lines []column, amounts []float64, hold float64, c *Conditions) (*program, error) {
	columns := slices.Clone(lines)
	for j, l := range lines {
		columns = append(columns, column{emitter: -1, p: slope(l, max(amounts[j], faded))})
	}
	p, err := newProgram(newPalette(columns), c)
	if err != nil {
		return nil, err
	}
	p.free, p.hold, p.give = len(lines), hold, 1e-8
	return p, nil
}

// slope is the derivative of a line's projection by its place, times its amount.
func slope(l column, amount float64) *projection {
	h := 0.01
	if l.fwhm == 0 {
		h = 0.5 // between the corners of the tables
	}
	more, less := lineProjection(l.centre+h, l.fwhm), lineProjection(l.centre-h, l.fwhm)
	first := min(more.first, less.first)
	out := &projection{first, make([]float64, max(more.first+len(more.b), less.first+len(less.b))-first)}
	for i, v := range more.b {
		out.b[more.first-first+i] += amount / (2 * h) * v
	}
	for i, v := range less.b {
		out.b[less.first-first+i] -= amount / (2 * h) * v
	}
	return out
}

// assess looks at lines where they have come to stand.
func assess(lines []column, s *solution, c *Conditions) (*polished, error) {
	q := newPalette(lines)
	p, err := newProgram(q, c)
	if err != nil {
		return nil, err
	}
	a := slices.Clone(s.a[:len(lines)])
	t := p.newPoint()
	p.value(a, t)
	out := &polished{found: found{
		solution: &solution{a: a, y: s.y, z: s.z, missed: make([]float64, len(p.limits)), cost: spectrum.Dot(p.cost, a)},
		palette:  q, program: p, bound: math.NaN(),
	}}
	for i, row := range p.rows {
		out.off += math.Abs(spectrum.Dot(row, a) - p.rhs[i])
	}
	for i := range p.limits {
		out.missed[i] = max(p.limits[i].bound-t.g[i], 0)
		out.beyond += out.missed[i]
	}
	return out, nil
}

// fewEmitters tries every choice of so many emitters.
func (k *stock) fewEmitters(ctx context.Context, c *Conditions) (*found, Evidence, error) {
	ev := Evidence{Bound: math.NaN()}
	const most = 5000
	if choose(len(c.Emitters), c.Lines) > most {
		return nil, ev, fmt.Errorf("limits: there are more than %d ways to choose %d of %d emitters: give fewer", most, c.Lines, len(c.Emitters))
	}
	var best *found
	var nearest error
	index := make([]int, c.Lines)
	for i := range index {
		index[i] = i
	}
	for more := true; more; more = nextChoice(index, len(c.Emitters)) {
		part := k.choice(index)
		if d := part.all.colourDistance(c.Colour); d > 0 {
			if nearest == nil {
				nearest = &Unreachable{Distance: d, Lines: c.Lines}
			}
			continue
		}
		f, err := part.search(ctx, c, even)
		if err != nil {
			var u *Unreachable
			if !errors.As(err, &u) {
				return nil, ev, err
			}
			u.Lines, nearest = c.Lines, u
			continue
		}
		ev.Starts++
		ev.Steps += f.steps
		if best == nil || f.cost < best.cost {
			best = f
		}
	}
	if best == nil {
		return nil, ev, nearest
	}
	ev.count([]float64{best.efficacy()}) // all choices were tried
	return best, ev, nil
}

// choice is the stock of some of the columns only.
func (k *stock) choice(index []int) *stock {
	q := k.all.pick(index)
	whole := make([]int, len(index))
	for i := range whole {
		whole[i] = i
	}
	return &stock{all: q, coarse: q, index: whole, bands: k.bands}
}

// choose returns n over k, or a number beyond counting.
func choose(n, k int) float64 {
	ways := 1.0
	for i := range min(k, n-k) {
		ways *= float64(n-i) / float64(i+1)
	}
	return ways
}

// nextChoice steps to the next combination of indices below n in order.
func nextChoice(index []int, n int) bool {
	for i := len(index) - 1; i >= 0; i-- {
		if index[i] < n-len(index)+i {
			index[i]++
			for j := i + 1; j < len(index); j++ {
				index[j] = index[j-1] + 1
			}
			return true
		}
	}
	return false
}
