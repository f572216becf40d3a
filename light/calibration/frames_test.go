package calibration

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestClippingIsSeenInRawCounts(t *testing.T) {
	mask := ClipMask([]float64{100, 64000, 64600, 65535}, 65535)
	if mask[0] || mask[1] || !mask[2] || !mask[3] {
		t.Errorf("got %v", mask)
	}
	if n := count(ClipMask([]float64{1e9}, 0)); n != 0 {
		t.Error("an unknown full scale clipped something")
	}
}

func TestAFlatTopIsClippingAndARoundOneIsNot(t *testing.T) {
	shape := func(width, cut float64) []float64 {
		y := make([]float64, 300)
		for i := range y {
			z := (float64(i) - 150.3) / width
			y[i] = min(math.Exp(-4*math.Ln2*z*z), cut)
		}
		return y
	}
	for _, c := range []struct {
		width, cut float64
		clipped    bool
	}{{2, 1, false}, {6, 1, false}, {30, 1, false}, {90, 1, false}, {6, 0.7, true}, {30, 0.8, true}, {90, 0.7, true}} {
		if _, _, got := HiddenClipping(shape(c.width, c.cut)); got != c.clipped {
			t.Errorf("width %g cut at %g: clipped %v", c.width, c.cut, got)
		}
	}
	flat := make([]float64, 50)
	for i := range flat {
		flat[i] = 1
	}
	if _, _, got := HiddenClipping(flat); got {
		t.Error("equal energy counts as clipped")
	}
}

func TestADarkServesItsOwnExposure(t *testing.T) {
	light := Frame{[]float64{10, 20, 30, 40, 50, 60, 70, 80}, 100}
	for says, dark := range map[string]Frame{
		"dark was exposed for 50 ms": {make([]float64, 8), 50},
		"8 pixels but its dark 3":    {make([]float64, 3), 100},
		"swapped":                    {[]float64{100, 90, 120, 110, 130, 140, 120, 150}, 100},
	} {
		if _, err := SubtractDark(light, dark); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q", err, says)
		}
	}
	got, err := SubtractDark(light, Frame{[]float64{11, 1, 1, 1, 1, 1, 1, 1}, 100})
	if err != nil || got.Counts[0] != -1 || got.Counts[7] != 79 {
		t.Errorf("%v, %v: negative counts stay", got, err)
	}
}

func TestLinearityIsItsOwnInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Linearity{65535, []float64{rapid.Float64Range(-0.1, 0.1).Draw(t, "a1"), rapid.Float64Range(-0.05, 0.05).Draw(t, "a2")}}
		c := rapid.Float64Range(0, 60000).Draw(t, "counts")
		if back := l.Correct(l.Distort([]float64{c}))[0]; math.Abs(back-c) > 1e-6*max(1, c) {
			t.Errorf("%g came back as %g", c, back)
		}
	})
}

func TestLinearityIsFoundFromAnExposureSeries(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	truth := Linearity{65535, []float64{-0.04, 0.012}}
	var series []Frame
	for _, ms := range []float64{5, 10, 20, 40, 60} {
		counts := make([]float64, 400)
		for p := range counts {
			counts[p] = 1000 * ms * (0.05 + math.Exp(-math.Pow((float64(p)-200)/90, 2)))
		}
		counts = truth.Distort(counts)
		for p := range counts {
			counts[p] += 5 * r.NormFloat64()
		}
		series = append(series, Frame{counts, ms})
	}
	got, err := FitLinearity(series, 65535, 2)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []float64{0.1, 0.5, 0.9} {
		if d := got.factor(x)/truth.factor(x) - 1; math.Abs(d) > 0.001 {
			t.Errorf("at %g of full scale the factor is off by %.4f", x, d)
		}
	}
	if _, err := FitLinearity(series[:1], 65535, 2); err == nil {
		t.Error("one exposure determined a linearity")
	}
}

func bracket(r *rand.Rand, drift float64) (truth []float64, frames []Frame, masks [][]bool) {
	truth = make([]float64, 500)
	for p := range truth {
		truth[p] = 20 + 300*gaussPixel(float64(p)-150, 3) + 8000*gaussPixel(float64(p)-350.4, 3)
	}
	for i, ms := range []float64{200, 20} {
		counts := make([]float64, 500)
		for p := range counts {
			c := truth[p] * ms
			if i == 1 {
				c *= 1 + drift
			}
			counts[p] = min(c+math.Sqrt(c+25)*r.NormFloat64(), 60000)
		}
		frames = append(frames, Frame{counts, ms})
		masks = append(masks, ClipMask(counts, 60000))
	}
	return truth, frames, masks
}

func TestABracketIsJoinedWithoutASeam(t *testing.T) {
	truth, frames, masks := bracket(rand.New(rand.NewPCG(1, 1)), 0)
	if count(masks[0]) == 0 || count(masks[1]) != 0 {
		t.Fatal("the long exposure should clip and the short one not")
	}
	s, err := Stitch(frames, masks)
	if err != nil {
		t.Fatal(err)
	}
	for p, want := range truth {
		u := math.Sqrt(want*20+25) / 20 // of the short exposure
		if math.Abs(s.Rate[p]-want) > 5*u {
			t.Errorf("pixel %d: %.2f, want %.2f ± %.2f", p, s.Rate[p], want, u)
		}
	}
	if len(s.Seams) != 1 || math.Abs(s.Seams[0].Ratio-1) > 4*s.Seams[0].U || count(s.Lost) != 0 {
		t.Errorf("seams %+v, %d lost", s.Seams, count(s.Lost))
	}
}

func TestAJoinWeighsByNoise(t *testing.T) {
	// Where both are sound the error must be that of the long exposure.
	r := rand.New(rand.NewPCG(8, 1))
	sum, n := 0.0, 0
	for range 20 {
		truth, frames, masks := bracket(r, 0)
		s, err := Stitch(frames, masks)
		if err != nil {
			t.Fatal(err)
		}
		for p := range 100 {
			z := (s.Rate[p] - truth[p]) / (math.Sqrt(truth[p]*200+25) / 200)
			sum += z * z
			n++
		}
	}
	if rms := math.Sqrt(sum / float64(n)); rms > 1.03 {
		t.Errorf("the joined noise is %.3f times that of the long exposure alone", rms)
	}
}

func TestADriftingLampIsRefusedAndALostPeakReported(t *testing.T) {
	_, frames, masks := bracket(rand.New(rand.NewPCG(1, 1)), 0.06)
	if _, err := Stitch(frames, masks); err == nil || !strings.Contains(err.Error(), "drifted") {
		t.Errorf("got %v", err)
	}
	s, err := Stitch(frames[:1], masks[:1])
	if err != nil || count(s.Lost) != count(masks[0]) {
		t.Errorf("%d lost, %d clipped, %v", count(s.Lost), count(masks[0]), err)
	}
	if _, err := Stitch(nil, nil); err == nil {
		t.Error("nothing was stitched")
	}
	if _, err := Stitch([]Frame{{make([]float64, 9), 0}}, [][]bool{make([]bool, 9)}); err == nil {
		t.Error("an exposure of 0 ms was normalised")
	}
}
