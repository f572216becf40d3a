package temporal

import (
	"fmt"
	"math"
	"slices"
	"sort"
)

// Trace is one reading in time. Seconds increase strictly, Values are finite
// and in whatever unit was read; between readings the trace is straight.
type Trace struct {
	Seconds []float64
	Values  []float64
}

// NewTrace checks readings and keeps them, not a copy. It fails on columns of
// unequal length, on anything not finite and on a clock that does not advance,
// and names the reading (counted from 1).
func NewTrace(seconds, values []float64) (Trace, error) {
	if len(seconds) != len(values) {
		return Trace{}, fmt.Errorf("temporal: %d times for %d values", len(seconds), len(values))
	}
	for i, s := range seconds {
		if bad(s) || bad(values[i]) {
			return Trace{}, fmt.Errorf("temporal: reading %d is %g at %g s, where a finite number is wanted", i+1, values[i], s)
		}
		if i > 0 && !(s > seconds[i-1]) {
			return Trace{}, fmt.Errorf("temporal: the clock does not advance: reading %d is at %g s, the one before it at %g s", i+1, s, seconds[i-1])
		}
	}
	return Trace{seconds, values}, nil
}

func bad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

// Len is the number of readings.
func (t Trace) Len() int { return len(t.Seconds) }

// Span returns the first and last second, NaN for an empty trace.
func (t Trace) Span() (from, to float64) {
	if t.Len() == 0 {
		return math.NaN(), math.NaN()
	}
	return t.Seconds[0], t.Seconds[t.Len()-1]
}

// At returns the value at a time, on the straight line between readings, and
// NaN outside the record.
func (t Trace) At(s float64) float64 {
	i, exact := slices.BinarySearch(t.Seconds, s)
	switch {
	case exact:
		return t.Values[i]
	case i == 0 || i == t.Len():
		return math.NaN()
	}
	f := (s - t.Seconds[i-1]) / (t.Seconds[i] - t.Seconds[i-1])
	return (1-f)*t.Values[i-1] + f*t.Values[i]
}

// Within returns the readings of the closed interval [from, to]; it shares the
// trace's memory.
func (t Trace) Within(from, to float64) Trace {
	lo := sort.SearchFloat64s(t.Seconds, from)
	hi := lo + sort.Search(t.Len()-lo, func(i int) bool { return t.Seconds[lo+i] > to })
	return Trace{t.Seconds[lo:hi], t.Values[lo:hi]}
}

// MeanOver is the mean over [from, to], each straight piece with its length; NaN
// where the record does not cover it.
func (t Trace) MeanOver(from, to float64) float64 {
	at, v := from, t.At(from)
	area := 0.0
	inside := t.Within(from, to)
	for i, s := range inside.Seconds {
		area += (s - at) * (inside.Values[i] + v) / 2
		at, v = s, inside.Values[i]
	}
	area += (to - at) * (t.At(to) + v) / 2
	return area / (to - from)
}

// rises returns the first time at or after from at which the trace, coming
// from below, is at a level; NaN where it never is.
func (t Trace) rises(level, from float64) float64 {
	rest := t.Within(from, math.Inf(1))
	for i, v := range rest.Values {
		if v < level {
			continue
		}
		if i == 0 || rest.Values[i-1] >= level {
			return rest.Seconds[i]
		}
		a, b := rest.Values[i-1], v
		return rest.Seconds[i-1] + (rest.Seconds[i]-rest.Seconds[i-1])*(level-a)/(b-a)
	}
	return math.NaN()
}
