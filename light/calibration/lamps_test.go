package calibration

import (
	"math"
	"testing"
)

func TestLinesAreWhereTheyArePublished(t *testing.T) {
	for _, c := range []struct {
		lamp      string
		tolerance float64
		nm        []float64
	}{
		// Mercury and argon in standard air to two decimals, second-hand.
		{"mercury", 0.02, []float64{253.65, 296.73, 302.15, 334.15, 365.01, 404.66, 407.78, 435.84, 546.08, 576.96, 579.07}},
		{"argon", 0.02, []float64{696.54, 706.72, 727.29, 738.40, 750.39, 763.51, 772.40, 794.82, 800.62, 811.53, 826.45, 842.46, 852.14, 866.79, 912.30, 922.45}},
		// Sansonetti, Blackwell, Saloman, J. Res. NIST 109 (2004) 371.
		{"neon", 0.002, []float64{841.843, 849.536, 859.126, 863.465, 865.438}},
		// NIST line tables, from memory.
		{"neon", 0.002, []float64{585.249, 588.190, 594.483, 597.553, 603.000, 607.434, 609.616, 614.306, 616.359, 621.728, 626.650, 630.479, 633.443, 638.299, 640.225, 650.653, 653.288, 659.895, 667.828, 692.947, 703.241}},
		{"cadmium", 0.001, []float64{479.9914, 643.8469}},
		{"hydrogen", 0.001, []float64{486.1327, 656.2819}},
	} {
		lamp := mustLamp(c.lamp)
		for _, nm := range c.nm {
			nearest := math.Inf(1)
			for _, l := range lamp.Lines {
				if math.Abs(l.Nm-nm) < math.Abs(nearest-nm) {
					nearest = l.Nm
				}
			}
			// Argon 772.40 is the mean of two lines.
			if math.Abs(nearest-nm) > c.tolerance && nm != 772.40 {
				t.Errorf("%s: %.4f nm, published %.4f nm", c.lamp, nearest, nm)
			}
		}
	}
}

func TestEveryAnchorIsInTheTableOfLines(t *testing.T) {
	for emitter, nm := range anchors {
		lamp := newLamp("", []string{emitter})
		extra := 0
		if emitter == "Hg I" {
			extra = len(ultravioletMercury)
		}
		if len(lamp.Lines) != len(nm)+extra {
			t.Errorf("%s: %d of %d anchors found", emitter, len(lamp.Lines)-extra, len(nm))
		}
	}
}

func TestLampsAreFoundByNameAndSymbol(t *testing.T) {
	for _, name := range append(LampNames(), "Hg-Ar", "Ne", "mercury argon", "Fluorescent-Tube") {
		if l, err := LampByName(name); err != nil || len(l.Lines) == 0 {
			t.Errorf("%q: %v", name, err)
		}
	}
	if _, err := LampByName("moonlight"); err == nil {
		t.Error("moonlight is a calibration lamp")
	}
}

func TestUnresolvedLinesCountAtTheirWeightedPlace(t *testing.T) {
	sodium := mustLamp("sodium")
	f := sodium.features(5)
	at := nearestFeature(f, 589)
	// 2:1 in the table of NIST.
	if want := (2*588.9950 + 589.5924) / 3; math.Abs(f[at].nm-want) > 1e-6 {
		t.Errorf("D lines at %.4f nm, want %.4f nm", f[at].nm, want)
	}
	if fine := sodium.features(0.2); len(fine) != len(sodium.Lines) {
		t.Errorf("%d of %d lines are apart at 0.2 nm", len(fine), len(sodium.Lines))
	}
}

func TestNoLampHasMoreLinesThanTheSearchCanMark(t *testing.T) {
	for _, name := range LampNames() {
		if l := mustLamp(name); len(l.Lines) > 64 {
			t.Errorf("%s has %d lines", name, len(l.Lines))
		}
	}
}
