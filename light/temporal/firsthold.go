package temporal

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// When a rule will first hold. Each drawn way is followed beyond the record, read
// with the record's own noise, and judged as the rule judges readings; the windows
// begin with the readings there are. So the noise adds to the spread, as it does
// when the rule is judged, and where only a few readings are compared it lets the
// rule hold by luck before the drift alone would.

const (
	drawn      = 256 // ways of one prediction
	mostPlaces = 60  // at which a window is looked at, or the time between two compared readings
	// noises is how many readings' noise is drawn, a power of 2; each way begins
	// elsewhere in them.
	noises = 1 << 13
)

// places are where ways are looked at: evenly after the record's end, and before it
// as far as a window reaches. Each is a whole number of readings from the next
// where it can be.
type places struct {
	step  float64 // s
	count int     // in a window
	every int     // from one compared reading to the next; 0 where all are compared
	tries int     // readings from one place to the next that may end a window
	group float64 // readings from one place to the next that are compared
	last  int     // where to stop looking
}

// places divides the rule's window for readings so many s apart.
func (c Criterion) places(between, horizon float64) places {
	length := c.Window
	if c.Every > 0 {
		length = c.Every
	}
	readings := max(int(math.Round(min(length/between, 1e6))), 4)
	n := min(readings, mostPlaces)
	for k := n; k >= mostPlaces/3; k-- {
		if readings%k == 0 {
			n = k
			break
		}
	}
	p := places{step: length / float64(n), count: n, tries: 1, group: 1}
	if c.Every > 0 {
		p.every, p.count, p.tries = n, n*(c.compared()-1), max(readings/n, 1)
	} else {
		p.group = max(float64(readings)/float64(n), 1)
	}
	p.last = int(horizon / p.step)
	return p
}

// compared is how many readings a rule with a step compares.
func (c Criterion) compared() int { return int(math.Floor(c.Window/c.Every*(1+1e-9))) + 1 }

// reading is what is seen at one place: the reading there, and the extremes since
// the place before.
type reading struct{ at, least, most float64 }

// course is all that is known of one trace's further way, in units of its last
// fitted reading.
type course struct {
	r      *relaxation
	p      places
	trace  Trace
	end    float64 // s, on the trace's clock
	passed float64 // s of the fitted record at the end
	past   []reading
	ways   []way
	noise  float64   // standard deviation of one reading
	noises []reading // of standard deviation 1
	row    [][]float64
}

// newCourse prepares a trace whose fitted part begins at begins.
func newCourse(t Trace, r *relaxation, begins, end, noise float64, p places, rng *rand.Rand) course {
	c := course{r: r, p: p, trace: t, end: end, passed: end - begins, noise: noise}
	for i := -p.count; i <= 0; i++ {
		c.past = append(c.past, c.read(end+float64(i)*p.step))
	}
	c.ways = r.draw(rng, drawn)
	c.noises = make([]reading, noises)
	for i := range c.noises {
		v := rng.NormFloat64()
		c.noises[i] = reading{v, v, v}
		if p.group > 1 {
			// The largest of g normal readings is below x with Φ(x)^g.
			extreme := func() float64 { return distuv.UnitNormal.Quantile(math.Pow(rng.Float64(), 1/p.group)) }
			most, least := extreme(), -extreme()
			c.noises[i] = reading{min(max(v, least), most), least, most}
		}
	}
	return c
}

// read is what the record has at a time; before its beginning, its beginning.
func (c *course) read(at float64) reading {
	v := c.trace.At(at)
	if math.IsNaN(v) {
		v = c.trace.Values[0]
	}
	one := reading{v, v, v}
	for _, v := range c.trace.Within(math.Nextafter(at-c.p.step, at), at).Values {
		one.least, one.most = min(one.least, v), max(one.most, v)
	}
	return reading{one.at / c.r.level, one.least / c.r.level, one.most / c.r.level}
}

// walk follows one way of a course.
type walk struct {
	*course
	way
	offset int       // into the noises
	seen   []float64 // the way at the places after the end, NaN where not asked for
}

// before is the record at place i, 0 or earlier.
func (w *walk) before(i int) reading { return w.past[max(len(w.past)-1+i, 0)] }

// curve is the way at place i, 0 or later.
func (w *walk) curve(i int) float64 {
	for len(w.seen) <= i {
		w.seen = append(w.seen, math.NaN())
	}
	if !math.IsNaN(w.seen[i]) {
		return w.seen[i]
	}
	s := w.passed + float64(i)*w.p.step
	y := w.f + w.amount[0]*math.Exp(-s/w.tau)
	if !w.plain {
		for len(w.row) <= i {
			w.row = append(w.row, nil)
		}
		if w.row[i] == nil {
			w.row[i] = make([]float64, rowLength)
			for k := range w.row[i] {
				w.row[i][k] = math.Exp(-s / w.r.curves[k].tau)
			}
		}
		y += dot(w.amount[1:], w.row[i])
	}
	w.seen[i] = y
	return y
}

// place is what is read at place i.
func (w *walk) place(i int) reading {
	if i <= 0 {
		return w.before(i)
	}
	y, n := w.curve(i), w.noises[(i+w.offset)%noises]
	return reading{y + w.noise*n.at, y + w.noise*n.least, y + w.noise*n.most}
}

// single is the reading so many readings before place i.
func (w *walk) single(i, back int) float64 {
	part := float64(back) / float64(w.p.tries)
	if i <= 0 {
		v := w.trace.At(w.end + (float64(i)-part)*w.p.step)
		if math.IsNaN(v) {
			return w.before(i).at
		}
		return v / w.r.level
	}
	y := w.curve(i)
	if back > 0 {
		y += part * (w.curve(i-1) - y)
	}
	return y + w.noise*w.noises[(i*w.p.tries-back+w.offset)%noises].at
}

// far tells whether the way itself goes too far for the rule over the window that
// ends at place i, whatever the noise.
func (w *walk) far(i int, c Criterion) bool {
	a, b := w.curve(i), 0.0
	if j := i - w.p.count; j > 0 {
		b = w.curve(j)
	} else {
		b = w.before(j).at
	}
	return !(math.Abs(a-b) < max(1.5*c.Spread, c.Spread+4*w.noise)*min(a, b))
}

// spread is the rule's (max − min)/min over the window that ends so many readings
// before place i. Above enough it is not looked for further.
func (w *walk) spread(i, back int, enough float64) float64 {
	least, most := math.Inf(1), math.Inf(-1)
	see := func(lo, hi float64) bool {
		least, most = min(least, lo), max(most, hi)
		return least > 0 && most-least <= enough*least
	}
	if w.p.every > 0 {
		for j := i; j >= i-w.p.count; j -= w.p.every {
			if v := w.single(j, back); !see(v, v) {
				break
			}
		}
	} else if v := w.place(i - w.p.count).at; see(v, v) {
		for j := i; j > i-w.p.count; j-- {
			if r := w.place(j); !see(r.least, r.most) {
				break
			}
		}
	}
	if !(least > 0) {
		return math.Inf(1)
	}
	return (most - least) / least
}

// firstHolds draws when the rule first holds for all courses, in s from the end, not
// before wait; +Inf where not at all the places. late counts for each course how
// often it came last.
func firstHolds(c Criterion, courses []course, wait float64, rng *rand.Rand) (at []float64, late []int) {
	late = make([]int, len(courses))
	walks := make([]walk, len(courses))
	for d := range drawn {
		for k := range courses {
			// The ways are in the order of their constants; light's and power's are
			// to meet by chance. 63 is odd, so that all of them are met.
			way := courses[k].ways[d*(1+62*k)%drawn]
			walks[k] = walk{&courses[k], way, rng.IntN(noises), walks[k].seen[:0]}
		}
		when, by := firstHold(c, walks, wait)
		at = append(at, when)
		if by >= 0 {
			late[by]++
		}
	}
	return at, late
}

// firstHold is the time of one draw, and which course was the last to hold it up, −1
// where none did.
func firstHold(c Criterion, walks []walk, wait float64) (when float64, by int) {
	p := walks[0].p
	far := func(i int) int {
		for k := range walks {
			if walks[k].far(i, c) {
				return k
			}
		}
		return -1
	}
	by = -1
	first := int(wait / p.step)
	if wait == 0 {
		first = 1 // at the end itself the rule was judged
	}
	stride := max(p.count/8, 1)
	for i := first; i <= p.last; i++ {
		// While it is far and still will be a stride on, by strides.
		for k := far(i); k >= 0 && i <= p.last; k = far(i) {
			by = k
			if far(i+stride) >= 0 {
				i += stride
			} else {
				i++
			}
		}
		for back := p.tries - 1; back >= 0; back-- {
			k := 0
			for k < len(walks) && walks[k].spread(i, back, c.Spread) <= c.Spread {
				k++
			}
			if k < len(walks) {
				by = k
				continue
			}
			if i == first && wait > 0 {
				return wait, -1
			}
			at := float64(i) - float64(back)/float64(p.tries)
			if p.group > 1 {
				at = float64(i-1) + crossing(c, walks, i)
			}
			return max(at*p.step, wait), by
		}
	}
	return math.Inf(1), by
}

// crossing is which part of the way from place i − 1 to place i was gone when the
// last of the spreads came down to the rule's.
func crossing(c Criterion, walks []walk, i int) float64 {
	part := 0.0
	for k := range walks {
		now, before := walks[k].spread(i, 0, math.Inf(1)), walks[k].spread(i-1, 0, math.Inf(1))
		if before > c.Spread && !math.IsInf(before, 1) {
			part = max(part, (before-c.Spread)/(before-now))
		}
	}
	return part
}
