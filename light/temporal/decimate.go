package temporal

// Decimate returns readings enough to draw a trace in so many columns: of every
// column the first, the lowest, the highest and the last, in order of time. A
// line drawn through them covers the same pixels as one through all. Traces of
// at most four readings a column come back as they are. Nothing is averaged,
// so a spike of one reading stays.
func (t Trace) Decimate(columns int) Trace {
	if columns < 1 || t.Len() <= 4*columns {
		return t
	}
	from, to := t.Span()
	out := Trace{make([]float64, 0, 4*columns), make([]float64, 0, 4*columns)}
	for lo := 0; lo < t.Len(); {
		column := t.column(lo, from, to, columns)
		least, most, hi := lo, lo, lo+1
		for ; hi < t.Len() && t.column(hi, from, to, columns) == column; hi++ {
			if t.Values[hi] < t.Values[least] {
				least = hi
			}
			if t.Values[hi] > t.Values[most] {
				most = hi
			}
		}
		last := -1
		for _, i := range [...]int{lo, min(least, most), max(least, most), hi - 1} {
			if i > last {
				out.Seconds = append(out.Seconds, t.Seconds[i])
				out.Values = append(out.Values, t.Values[i])
				last = i
			}
		}
		lo = hi
	}
	return out
}

func (t Trace) column(i int, from, to float64, columns int) int {
	return min(int(float64(columns)*(t.Seconds[i]-from)/(to-from)), columns-1)
}

// averaged returns means of so many neighbouring readings each that at most a
// number of them remain.
func (t Trace) averaged(most int) (means Trace, each float64) {
	n := (t.Len() + most - 1) / most
	if n < 2 {
		return t, 1
	}
	for lo := 0; lo < t.Len(); lo += n {
		hi := min(lo+n, t.Len())
		s, v := 0.0, 0.0
		for i := lo; i < hi; i++ {
			s += t.Seconds[i] / float64(hi-lo)
			v += t.Values[i] / float64(hi-lo)
		}
		means.Seconds, means.Values = append(means.Seconds, s), append(means.Values, v)
	}
	return means, float64(n)
}
