package calibration

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

var lampSets = [][]string{
	{"mercury-argon"}, {"mercury-argon", "neon"}, {"fluorescent tube", "neon"}, {"mercury-argon", "krypton"},
}

// verdict is what came of one random instrument.
type verdict struct {
	right, confident bool
	axisError        float64   // largest between the outermost lines, pixels
	residuals        []float64 // of the lines used, pixels
}

// tryInstrument calibrates an invented instrument. A pairing is right when every
// peak used has been given a line no further from its true wavelength than half
// the bandwidth; a spurious peak that close to a missing line cannot be told
// from it.
func tryInstrument(seed uint64, noise float64) (verdict, *simulated, *Wavelength, error) {
	r := rand.New(rand.NewPCG(seed, 20))
	s := drawInstrument(r)
	for s.anchors(lampSets[int(seed)%len(lampSets)]) < 12 {
		s = drawInstrument(r)
	}
	var recordings []Recording
	for _, name := range lampSets[int(seed)%len(lampSets)] {
		recordings = append(recordings, s.lineLamp(r, mustLamp(name), 0.3, 5, noise))
	}
	w, err := CalibrateWavelength(recordings, Expected{})
	if err != nil {
		return verdict{}, &s, nil, err
	}
	v := verdict{right: true, confident: w.Confident}
	for _, l := range w.Lines {
		if !l.Used {
			continue
		}
		if !slices.ContainsFunc(l.members, func(m Line) bool { return math.Abs(m.Nm-s.nmAt(l.Pixel)) <= s.bandwidth/2 }) {
			v.right = false
		}
		v.residuals = append(v.residuals, math.Abs(l.ResidualPx))
	}
	for p, nm := range s.axis {
		if nm >= w.FromNm && nm <= w.ToNm {
			v.axisError = max(v.axisError, math.Abs(w.Dispersion.At(float64(p))-nm)/s.slope(p))
		}
	}
	return v, &s, w, nil
}

func TestProbe(t *testing.T) {
	for _, noise := range []float64{1, 0} {
		var right, confident, falsely, errs, n int
		var med, axis []float64
		for seed := uint64(1000); seed < 1200; seed++ {
			n++
			v, s, w, err := tryInstrument(seed, noise)
			if err != nil {
				errs++
				t.Logf("%d: %v", seed, err)
				continue
			}
			used := 0
			for _, l := range w.Lines {
				if l.Used {
					used++
				}
			}
			med = append(med, quantile(v.residuals, 0.5))
			axis = append(axis, v.axisError)
			if v.right {
				right++
			}
			if v.confident {
				confident++
				if !v.right {
					falsely++
				}
			}
			if noise == 1 && (!v.right || !v.confident) {
				t.Logf("%d %v: px %d, %.0f–%.0f nm, bw %.2f (%.2f found), right %v confident %v margin %.1f lines %d axis err %.3f px med %.3f law %s %v", seed, lampSets[int(seed)%4], len(s.axis), s.axis[0], s.axis[len(s.axis)-1], s.bandwidth, w.Bandwidth.AtMiddleNm, v.right, v.confident, w.Margin, used, v.axisError, quantile(v.residuals, 0.5), w.Law, w.Doubts)
			}
		}
		t.Logf("noise %g: right %d of %d, confident %d, falsely %d, errors %d; median residual: %.4f, .75 %.4f .9 %.4f; axis error median %.3f .9 %.3f", noise, right, n, confident, falsely, errs, quantile(med, 0.5), quantile(med, 0.75), quantile(med, 0.9), quantile(axis, 0.5), quantile(axis, 0.9))
	}
}
