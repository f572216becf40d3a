package emission

const (
	// spikeSigma is how many standard deviations a single sample must stand above
	// its neighbours to be looked at.
	spikeSigma = 8
	// spikeFoot is how much of its height, at most, may reach a neighbour: of a
	// line as narrow as 1.2 samples, 0.15 does.
	spikeFoot = 0.12
	// spikeTop is the share of the largest sample that no spike reaches, or the
	// instrument has lines as narrow as that.
	spikeTop = 0.2
)

// dropSpikes puts single samples that stand out by themselves level with their
// neighbours and returns where they were, nm: hot pixels and cosmic rays. The
// optics of an instrument spread any light over more than one sample; where they
// seem not to, as many or as high ones show, nothing is dropped.
func (t *trace) dropSpikes() []float64 {
	if t.coarse() {
		return nil
	}
	y := t.y
	var at []int
	for i := 2; i+2 < len(y); i++ {
		base := 0.5 * (y[i-1] + y[i+1])
		rise := y[i] - base
		if rise < spikeSigma*t.sigma[i] || rise < 2.5*ripple*y[i] {
			continue
		}
		// The neighbours lie as their own outer neighbours let expect.
		foot := max(y[i-1]-y[i-2], y[i+1]-y[i+2])
		if foot > spikeFoot*rise+2*t.sigma[i] {
			continue
		}
		if rise > spikeTop*t.top {
			return nil
		}
		at = append(at, i)
	}
	if len(at) == 0 || len(at) > 3+len(y)/500 {
		return nil
	}
	t.y = t.floats.take(len(y))
	copy(t.y, y)
	places := make([]float64, len(at))
	for k, i := range at {
		t.y[i] = 0.5 * (y[i-1] + y[i+1])
		places[k] = t.x[i]
	}
	return places
}
