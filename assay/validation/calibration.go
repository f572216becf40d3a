package validation

import (
	"math"

	"lampassay/light/calibration"
)

// calibrationLines holds the anchors of the wavelength axis against published
// lists, in standard air.
func calibrationLines(l *list) {
	for _, c := range []struct {
		lamp      string
		nm        []float64
		tolerance float64 // nm: the digits of the list
		basis     Basis
		source    string
	}{
		{"mercury", []float64{253.65, 296.73, 302.15, 313.16, 334.15, 365.01, 404.66, 407.78, 435.84, 546.08, 576.96, 579.07}, 0.02, Published, "mercury-argon line list in common use, second-hand; NIST ASD"},
		{"argon", []float64{696.54, 706.72, 727.29, 738.40, 750.39, 763.51, 794.82, 800.62, 811.53, 826.45, 842.46, 852.14, 866.79, 912.30, 922.45}, 0.02, Published, "mercury-argon line list in common use, second-hand; NIST ASD"},
		{"neon", []float64{841.843, 849.536, 859.126, 863.465, 865.438}, 0.002, Published, "C. J. Sansonetti, M. M. Blackwell, E. B. Saloman, J. Res. NIST 109 (2004) 371"},
		{"neon", []float64{585.249, 588.190, 594.483, 597.553, 603.000, 607.434, 609.616, 614.306, 621.728, 626.650, 633.443, 640.225, 650.653, 659.895, 667.828, 692.947, 703.241}, 0.002, Memory, "NIST ASD"},
		{"cadmium", []float64{479.9914, 643.8469}, 0.001, Published, "line list, second-hand; NIST ASD"},
	} {
		lamp, err := calibration.LampByName(c.lamp)
		for _, nm := range c.nm {
			got := math.NaN()
			if err == nil {
				for _, line := range lamp.Lines {
					if !(math.Abs(line.Nm-nm) > math.Abs(got-nm)) {
						got = line.Nm
					}
				}
			}
			l.add(format("%s, line near %.2f nm", c.lamp, nm), nm, got, c.tolerance, "nm", c.basis, c.source)
		}
	}
}

// bandpass holds the three-point formula against rows worked out from the paper
// by hand, every value from the measured ones.
func bandpass(l *list) {
	const source = "E. I. Stearns, R. E. Stearns, Color Res. Appl. 13 (1988) 257, the formula worked out for this row"
	measured := []float64{0.0651, 0.0705, 0.0772, 0.0870, 0.1128, 0.1360}
	want := []float64{0.0646518, 0.0703921, 0.0769427, 0.0856720, 0.1130158, 0.1379256}
	got := calibration.CorrectBandpass3(measured)
	for i := range want {
		l.add(format("value %d of 6, 500–600 nm by 20 nm", i+1), want[i], got[i], 1e-7, "", Independent, source)
	}
	short := calibration.CorrectBandpass3([]float64{49.67, 69.59, 81.73, 88.19})
	l.add("value 2 of 4, 510–540 nm by 10 nm", 70.2357, short[1], 5e-5, "", Independent, source)
}

// picking holds what is said of lines picked at single points, and of a
// reference lamp whose temperature is off, against figures worked out from their
// laws.
func picking(l *list) {
	const gaussian = "Gaussian line, sum of the points times the step, over all positions"
	least, greatest := calibration.SamplingError(0.4)
	l.add("least area of a 2 nm line picked every 5 nm", -0.94, least, 0.005, "", Independent, gaussian)
	l.add("greatest area of a 2 nm line picked every 5 nm", 1.35, greatest, 0.005, "", Independent, gaussian)
	least, greatest = calibration.SamplingError(1)
	l.add("least area of a 5 nm line picked every 5 nm", -0.06, least, 0.005, "", Independent, gaussian)
	l.add("greatest area of a 5 nm line picked every 5 nm", 0.06, greatest, 0.005, "", Independent, gaussian)
	for _, c := range []struct{ nm, want float64 }{{450, 0.077}, {650, -0.041}} {
		got := math.NaN()
		if ref, err := calibration.PlanckReference(2856, 100); err == nil {
			got = ref.Tilt(c.nm)
		}
		l.add(format("reference lamp 100 K hotter than 2856 K: tilt at %.0f nm against 560 nm", c.nm), c.want, got, 0.0015, "", Independent, "Planck's law")
	}
}
