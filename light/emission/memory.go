package emission

import "sync"

// arena hands out zeroed slices of one block of memory, all of which go back
// together.
type arena[T any] struct {
	block []T
	used  int
}

// take returns a zeroed slice of length and capacity n.
func (a *arena[T]) take(n int) []T {
	from := a.used
	a.used += n
	if a.used > len(a.block) {
		return make([]T, n) // the next analysis will find enough
	}
	v := a.block[from:a.used:a.used]
	clear(v)
	return v
}

// giveBack ends the use of everything that was taken.
func (a *arena[T]) giveBack() {
	if a.used > len(a.block) {
		a.block = make([]T, a.used)
	}
	a.used = 0
}

// traces keeps the memory of analyses that are done. Nothing in a [Result] lies in
// it.
var traces = sync.Pool{New: func() any { return new(trace) }}

// release makes the memory of a trace ready for another one. The trace, its peaks
// and its bins must not be used any more.
func (t *trace) release() {
	t.x, t.y, t.ruler.x = nil, nil, nil
	t.floats.giveBack()
	t.binRoom.giveBack()
	t.peakRoom.giveBack()
	t.profiles.giveBack()
	t.matches.giveBack()
	t.features.giveBack()
	traces.Put(t)
}
