package course

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"lampassay/bench/notebook"
	"lampassay/light/temporal"
)

// Course is what a sitting's readings say over time.
type Course struct {
	Start time.Time // of the time axis; zero where nothing was read
	Lines []Line
	Marks []Mark
	// Spectrum is the number of the latest spectrum, 0 for none.
	Spectrum int64
	Last     int64 // the latest reading seen
	// SwitchedOn is when the lamp was, last, as marked, in seconds; nil where nobody
	// marked it.
	SwitchedOn *float64
}

// Line is one number of one channel over time, in the order of time.
type Line struct {
	Channel, Key, Unit string
	temporal.Trace
	// Other are readings in units that are not this line's and cannot be brought to
	// it; they are left out.
	Other []Other
}

// Other is how many readings of a line came in another unit.
type Other struct {
	Unit     string
	Readings int
}

// Mark is an event on the time axis.
type Mark struct {
	Seconds float64
	Text    string
}

// Course returns the numbers so far, without what was set aside.
func (r *Record) Course(sit *notebook.Sitting) *Course {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.above(sit, 0)
}

// Since is [Record.Course] of the readings above a number. Its seconds are from the
// start of the whole course.
func (r *Record) Since(sit *notebook.Sitting, n int64) *Course {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.above(sit, n)
}

func (r *Record) above(sit *notebook.Sitting, after int64) *Course {
	c := &Course{Start: r.start(sit), Last: r.after}
	zero := c.Start.UnixMicro()
	counts := func(m moment) bool { return m.n > after && (len(sit.Struck) == 0 || sit.StruckOut(m.n) == "") }
	seconds := func(m moment) float64 { return float64(m.at-zero) / 1e6 }
	for _, s := range r.series {
		l := Line{Channel: s.channel, Key: s.key, Unit: s.unit}
		for _, p := range s.samples[s.from(after):] {
			if counts(p.moment) {
				l.Seconds, l.Values = append(l.Seconds, seconds(p.moment)), append(l.Values, p.v)
			}
		}
		for _, unit := range slices.Sorted(maps.Keys(s.other)) {
			l.Other = append(l.Other, Other{unit, s.other[unit]})
		}
		if len(l.Seconds) > 0 {
			l.Trace = inOrder(l.Trace)
			c.Lines = append(c.Lines, l)
		}
	}
	for _, e := range r.marks {
		if counts(e.moment) {
			c.Marks = append(c.Marks, Mark{seconds(e.moment), e.text})
		}
	}
	for _, m := range r.on {
		if counts(m) {
			at := seconds(m)
			c.SwitchedOn = &at
		}
	}
	for _, one := range r.spectra {
		if counts(one.moment) {
			c.Spectrum = one.n
		}
	}
	return c
}

// from finds the first sample above a reading. Spectra are looked at after the
// numbers that came with them, so the order is only nearly that of the readings.
func (s *series) from(after int64) int {
	if after == 0 {
		return 0
	}
	i := len(s.samples)
	for i > 0 && s.samples[i-1].n > after {
		i--
	}
	return i
}

// inOrder puts a line in the order of time and keeps the first of two readings at one
// moment.
func inOrder(t temporal.Trace) temporal.Trace {
	rising := true
	for i := 1; i < len(t.Seconds) && rising; i++ {
		rising = t.Seconds[i] > t.Seconds[i-1]
	}
	if rising {
		return t
	}
	order := make([]int, len(t.Seconds))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(t.Seconds[a], t.Seconds[b]) })
	var out temporal.Trace
	for _, i := range order {
		if n := len(out.Seconds); n == 0 || t.Seconds[i] > out.Seconds[n-1] {
			out.Seconds, out.Values = append(out.Seconds, t.Seconds[i]), append(out.Values, t.Values[i])
		}
	}
	return out
}

// Find returns the line with most readings of the keys, the first key with any
// before the others; nil for none.
func (c *Course) Find(keys ...string) *Line {
	for _, key := range keys {
		var best *Line
		for i := range c.Lines {
			if l := &c.Lines[i]; l.Key == key && (best == nil || l.Len() > best.Len()) {
				best = l
			}
		}
		if best != nil {
			return best
		}
	}
	return nil
}
