package spectrum

// The grid of the published tables: whole nanometres. It reaches from the
// shortest wavelength at which a lamp-safety weighting is published (200 nm,
// IEC 62471) to the longest (1400 nm).
const (
	GridFirst = 200
	GridLast  = 1400
	GridLen   = GridLast - GridFirst + 1
)

// Weighting is a published function of wavelength on whole nanometres, a
// straight line between them and zero outside. First is the wavelength of W[0];
// the entries must lie on the grid.
type Weighting struct {
	Name  string
	First int
	W     []float64
}

// Last returns the wavelength of the last entry, in nm.
func (w *Weighting) Last() int { return w.First + len(w.W) - 1 }

// At returns the weighting at a wavelength in nm.
func (w *Weighting) At(lambda float64) float64 {
	x := lambda - float64(w.First)
	if !(x >= 0 && x <= float64(len(w.W)-1)) {
		return 0
	}
	i := int(x)
	if i == len(w.W)-1 {
		return w.W[i]
	}
	f := x - float64(i)
	return w.W[i]*(1-f) + w.W[i+1]*f
}

// Of returns ∫ S(λ) W(λ) dλ for a projected spectrum, in the unit of S times
// nm. It does not allocate.
//
// The first and the last entry are triangles like the others, so that a curve
// that goes on beyond the table meets a weighting that falls to zero within one
// more nanometre, not at once. A table that was carried on until it hardly
// counts (V(λ) ends at 5e-7) does not feel it.
func (w *Weighting) Of(p *Projected) float64 {
	return Dot(w.W, p.B[w.First-GridFirst:])
}

// Integral returns ∫ W dλ from a to b in nm, exactly for the straight lines
// between the entries.
func (w *Weighting) Integral(a, b float64) float64 {
	a, b = max(a, float64(w.First)), min(b, float64(w.Last()))
	if b <= a {
		return 0
	}
	sum, x := 0.0, a
	for x < b {
		next := min(float64(int(x)+1), b)
		sum += (next - x) * (w.At(x) + w.At(next)) / 2
		x = next
	}
	return sum
}

// Missing returns the share of the weighting's own area, 0 to 1, that lies
// outside the covered range: what a spectrum known only from "from" to "to"
// cannot have said about it.
func (w *Weighting) Missing(from, to float64) float64 {
	return 1 - w.Integral(from, to)/w.Integral(float64(w.First), float64(w.Last()))
}

// Dot returns Σ aᵢ bᵢ over the length of a; b may be longer. Four running sums
// keep the processor's adders busy.
func Dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	for len(a) >= 4 && len(b) >= 4 {
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
		a, b = a[4:], b[4:]
	}
	for i, v := range a {
		s0 += v * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}
