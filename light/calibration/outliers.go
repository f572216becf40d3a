package calibration

import "math"

// outlier returns the tie that fits worst of those that were not given, and
// whether it contradicts the rest.
func (f *fitted) outlier(ties []tie) (worst int, out bool) {
	z := f.studentised(ties)
	for i := range ties {
		if !ties[i].given && (ties[worst].given || z[i] > z[worst]) {
			worst = i
		}
	}
	return worst, z[worst] > contradictionLimit(z) && !ties[worst].given
}

// accuse marks the given ties that would have been set aside otherwise, none of
// them better known than the floor (nm).
func (f *fitted) accuse(ties []tie, floor float64) {
	for i := range ties {
		ties[i].u = math.Hypot(ties[i].u, floor)
	}
	z := f.studentised(ties)
	f.against = make([]bool, len(ties))
	for i, t := range ties {
		f.against[i] = t.given && z[i] > contradictionLimit(z)
	}
}

// studentised judges each tie by the root of residual times held-out error over
// its uncertainty: held-out error alone would condemn every line that stands by
// itself.
func (f *fitted) studentised(ties []tie) []float64 {
	z := make([]float64, len(ties))
	for i, t := range ties {
		z[i] = math.Sqrt(math.Abs(f.residual[i]*f.heldOut[i])) / t.u
	}
	return z
}

// contradictionLimit is what a tie's studentised residual must not exceed. What is
// normal is set by a median, which outliers do not move.
func contradictionLimit(z []float64) float64 { return 4.5 * max(1, quantile(z, 0.5)/normalMedian) }
