package emission

// continuum returns what lies under the lines, at every sample: a straight line
// fitted locally to the samples with the lines taken off, each weighted by how
// well it is known. Under a strong line little is known, so the neighbourhood
// on both sides decides; a local straight line cannot ring.
func (t *trace) continuum(lines []profile) []float64 {
	n := len(t.x)
	clean := t.floats.take(3 * n)
	weight, out := clean[n:2*n], clean[2*n:]
	copy(clean, t.y)
	// out serves as the sum of the lines first.
	for k := range lines {
		l := &lines[k]
		lo, hi := t.span(l.nm-2.2*l.width, l.nm+2.2*l.width)
		for i := lo; i < hi; i++ {
			out[i] += l.at(t.x[i])
		}
	}
	for i := range weight {
		clean[i] -= out[i]
		d := 4 * shapeError * out[i]
		weight[i] = 1 / (t.sigma[i]*t.sigma[i] + d*d)
	}
	reach := 1.6 * t.bandwidth
	lo, hi := 0, 0
	level := func(i int) float64 { // for i in order
		x, h := t.x[i], max(reach, 2.5*t.pitch[i])
		for t.x[lo] < x-h {
			lo++
		}
		for hi < n && t.x[hi] <= x+h {
			hi++
		}
		near := t.x[lo:hi]
		weight, clean := weight[lo:hi][:len(near)], clean[lo:hi][:len(near)]
		perH2 := 1 / (h * h)
		var s0, s1, s2, y0, y1 float64
		for j, xj := range near {
			d := xj - x
			w := weight[j] * (1 - d*d*perH2)
			wd := w * d
			s0 += w
			s1 += wd
			s2 += wd * d
			y0 += w * clean[j]
			y1 += wd * clean[j]
		}
		if det := s0*s2 - s1*s1; det > 1e-9*s0*s2 {
			return (s2*y0 - s1*y1) / det
		}
		return y0 / s0
	}
	// Where a dozen samples or more are within reach, every other one will do.
	step := 1
	if t.bandwidth > 4*t.medianPitch() {
		step = 2
	}
	out[0] = level(0)
	for i := step; i < n; i += step {
		out[i] = level(i)
		if step == 2 {
			f := (t.x[i-1] - t.x[i-2]) / (t.x[i] - t.x[i-2])
			out[i-1] = out[i-2]*(1-f) + out[i]*f
		}
	}
	if step == 2 && n%2 == 0 {
		out[n-1] = level(n - 1)
	}
	return out
}
