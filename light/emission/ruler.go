package emission

import "slices"

// ruler finds places on an increasing axis within the searched range: a mark at
// every whole nanometre, and a search between two marks.
type ruler struct {
	x     []float64
	marks [searchLast - searchFirst + 2]int32 // index of the first x at or beyond the mark
}

// reset puts the ruler on another axis.
func (r *ruler) reset(x []float64) {
	r.x = x
	i := 0
	for k := range r.marks {
		for i < len(x) && x[i] < float64(searchFirst+k) {
			i++
		}
		r.marks[k] = int32(i)
	}
	r.marks[len(r.marks)-1] = int32(len(x))
}

// from returns the index of the first x at or beyond nm, len(x) where there is
// none.
func (r *ruler) from(nm float64) int {
	if !(nm > searchFirst) {
		return 0
	}
	if nm > searchLast {
		return len(r.x)
	}
	k := int(nm) - searchFirst
	lo, hi := int(r.marks[k]), int(r.marks[k+1])
	if hi-lo > 16 {
		i, _ := slices.BinarySearch(r.x[lo:hi], nm)
		return lo + i
	}
	for lo < hi && r.x[lo] < nm {
		lo++
	}
	return lo
}

// between returns the half-open index range of the x within [a, b].
func (r *ruler) between(a, b float64) (lo, hi int) {
	lo = r.from(a)
	hi = max(lo, r.from(b))
	if hi < len(r.x) && r.x[hi] == b {
		hi++
	}
	return lo, hi
}
