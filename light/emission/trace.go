package emission

import (
	"math"
	"slices"

	"lampassay/light/spectrum"
)

// Lines are looked for between these wavelengths, nm. The catalogue ends at
// 992 nm.
const searchFirst, searchLast = 200, 1000

// trace is a spectrum made ready for the search: its samples within the
// searched range, the local distance of the samples and the local noise.
type trace struct {
	x, y  []float64
	ruler ruler     // of x
	pitch []float64 // nm from sample to sample, locally
	sigma []float64 // standard deviation of one sample
	top   float64   // largest sample
	// bandwidth is the instrument's full width at half maximum, nm, and
	// measured tells whether lines of this spectrum gave it.
	bandwidth float64
	measured  bool
	leaking   *[leakReach + 2]float64 // answer of the line filter beside a line

	// What follows keeps its memory for the next trace.
	fit      leastSquares // of lines, then of bands
	found    []peak
	floats   arena[float64]
	binRoom  arena[bin]
	peakRoom arena[peak]
	profiles arena[profile]
	matches  arena[match]
	features arena[feature]
}

// coarse reports whether the samples are too far apart for the shape of a line:
// a table at 5 nm.
func (t *trace) coarse() bool { return t.medianPitch() >= 2.5 }

func (t *trace) medianPitch() float64 {
	n := len(t.x)
	return (t.x[n-1] - t.x[0]) / float64(n-1)
}

// newTrace cuts the searched range out of a spectrum; ok is false where fewer
// than minSamples remain.
func newTrace(s *spectrum.Spectrum) (t *trace, first int, ok bool) {
	x, y := s.Axis(), s.Values()
	lo, _ := slices.BinarySearch(x, searchFirst)
	hi, _ := slices.BinarySearch(x, searchLast)
	if hi-lo < minSamples {
		return nil, lo, false
	}
	t = traces.Get().(*trace)
	t.x, t.y, t.top, t.measured = x[lo:hi], y[lo:hi], 0, false
	t.ruler.reset(t.x)
	n := len(t.x)
	t.pitch = t.floats.take(n)
	for i := 1; i < n-1; i++ {
		t.pitch[i] = (t.x[i+1] - t.x[i-1]) / 2
	}
	t.pitch[0], t.pitch[n-1] = t.x[1]-t.x[0], t.x[n-1]-t.x[n-2]
	for _, v := range t.y {
		if v = math.Abs(v); v > t.top {
			t.top = v
		}
	}
	return t, lo, true
}

// at returns the index of the sample nearest to a wavelength.
func (t *trace) at(nm float64) int {
	i := t.ruler.from(nm)
	if i == len(t.x) || (i > 0 && nm-t.x[i-1] < t.x[i]-nm) {
		i--
	}
	return i
}

// span returns the half-open index range of the samples within [a, b].
func (t *trace) span(a, b float64) (lo, hi int) { return t.ruler.between(a, b) }

// covers reports whether [a, b] lies within the samples.
func (t *trace) covers(a, b float64) bool { return t.x[0] <= a && b <= t.x[len(t.x)-1] }

// integral returns ∫ y dλ from a to b by the trapezoid of the samples within;
// for a coarse table a sample stands for its own step.
func (t *trace) integral(a, b float64) float64 { return integrate(t, t.y, a, b) }

func integrate(t *trace, y []float64, a, b float64) float64 {
	lo, hi := t.span(a, b)
	sum := 0.0
	for i := lo; i < hi; i++ {
		sum += y[i] * t.pitch[i]
	}
	return sum
}

// mean returns the mean of the samples within [a, b], NaN where there is none.
func (t *trace) mean(a, b float64) float64 {
	lo, hi := t.span(a, b)
	if lo >= hi {
		return math.NaN()
	}
	sum := 0.0
	for _, v := range t.y[lo:hi] {
		sum += v
	}
	return sum / float64(hi-lo)
}

// highest returns the index of the largest sample within [a, b], −1 where there
// is no sample.
func (t *trace) highest(a, b float64) int {
	lo, hi := t.span(a, b)
	best := -1
	for i := lo; i < hi; i++ {
		if best < 0 || t.y[i] > t.y[best] {
			best = i
		}
	}
	return best
}
