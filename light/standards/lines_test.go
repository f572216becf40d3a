package standards

import (
	"math"
	"testing"
)

func TestTheLinesAreAllThereAndInOrder(t *testing.T) {
	lines := Lines()
	if len(lines) != 553 {
		t.Errorf("%d lines, want 553", len(lines))
	}
	seen := map[string]bool{}
	for i, l := range lines {
		if !(l.Nm > 328 && l.Nm < 993 && l.Intensity > 0) {
			t.Errorf("%s: %g nm with intensity %g", l.Spectrum, l.Nm, l.Intensity)
		}
		switch {
		case i > 0 && lines[i-1].Spectrum == l.Spectrum:
			if l.Nm <= lines[i-1].Nm {
				t.Errorf("%s: %g nm follows %g nm", l.Spectrum, l.Nm, lines[i-1].Nm)
			}
		case seen[l.Spectrum]:
			t.Errorf("%s: its lines are not together", l.Spectrum)
		}
		seen[l.Spectrum] = true
	}
	if len(seen) != 25 {
		t.Errorf("%d spectra, want 25", len(seen))
	}
}

func TestWellKnownLinesAreInTheirPlaces(t *testing.T) {
	// Standard air, NIST SRD 78 unless noted.
	for _, c := range []struct {
		spectrum string
		tol      float64
		nm       []float64
	}{
		{"Na I", .0005, []float64{588.995, 589.5924}},
		// Rounded to 0.01 nm in the usual tables of a mercury lamp.
		{"Hg I", .02, []float64{365.01, 404.66, 407.78, 435.84, 546.08, 576.96, 579.07}},
		// Sansonetti, Salit and Reader, Appl. Opt. 35 (1996) 74.
		{"Hg I", .002, []float64{404.6565, 435.8335, 546.075}},
		{"Cd I", .001, []float64{479.9914, 643.8469}},
		{"He I", .001, []float64{587.5618, 706.5188}},
		{"Ar I", .02, []float64{696.54, 706.72, 738.40, 750.39, 763.51, 794.82, 811.53, 826.45, 842.46, 912.30}},
		// Sansonetti, Blackwell and Saloman, J. Res. NIST 109 (2004).
		{"Ne I", .002, []float64{841.843, 849.536, 859.126, 863.465, 865.438}},
		// Rounded, as remembered; the tables of NIST have them.
		{"Ne I", .002, []float64{585.249, 588.190, 594.483, 609.616, 614.306, 640.225, 650.653, 692.947, 703.241}},
	} {
		for _, nm := range c.nm {
			nearest := math.Inf(1)
			for _, l := range Lines() {
				if l.Spectrum == c.spectrum && math.Abs(l.Nm-nm) < math.Abs(nearest-nm) {
					nearest = l.Nm
				}
			}
			near(t, c.spectrum, nearest, nm, c.tol)
		}
	}
}

func TestTheSodiumDoubletIsTwoToOne(t *testing.T) {
	strength := map[float64]float64{}
	for _, l := range Lines() {
		if l.Spectrum == "Na I" {
			strength[l.Nm] = l.Intensity
		}
	}
	near(t, "D2 over D1", strength[588.995]/strength[589.5924], 2, 0)
}
