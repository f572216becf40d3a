package calibration

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func evenAxis(from, to, step float64) []float64 {
	var axis []float64
	for k := 0; from+float64(k)*step <= to+1e-9; k++ {
		axis = append(axis, from+float64(k)*step)
	}
	return axis
}

func TestBandpassFormulaGivesTheRowWorkedFromThePaper(t *testing.T) {
	// Stearns and Stearns (1988), α = 0.083, every value from the measured
	// ones; the row was worked out by hand for 500–600 nm at 20 nm.
	got := CorrectBandpass3([]float64{0.0651, 0.0705, 0.0772, 0.0870, 0.1128, 0.1360})
	want := []float64{0.0646518, 0.0703921, 0.0769427, 0.0856720, 0.1130158, 0.1379256}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 1e-7 {
			t.Errorf("value %d: %.7f, want %.7f", i, got[i], want[i])
		}
	}
	if v := CorrectBandpass3([]float64{49.67, 69.59, 81.73, 88.19})[1]; math.Abs(v-70.2357) > 5e-5 {
		t.Errorf("second value %.4f, want 70.2357", v)
	}
}

// triangle returns f as an instrument with a triangular bandpass of the given
// full width at half maximum shows it.
func triangle(f func(float64) float64, width float64) func(float64) float64 {
	return func(nm float64) float64 {
		sum, weight := 0.0, 0.0
		const n = 200
		for k := -n; k <= n; k++ {
			w := 1 - math.Abs(float64(k))/n
			sum += w * f(nm+float64(k)/n*width)
			weight += w
		}
		return sum / weight
	}
}

func TestBandpassCorrectionRestoresASmoothSpectrum(t *testing.T) {
	truth := func(nm float64) float64 { return math.Exp(-4 * math.Ln2 * math.Pow((nm-550)/40, 2)) }
	seen := triangle(truth, 10)
	axis := evenAxis(400, 700, 2)
	values := make([]float64, len(axis))
	for i, nm := range axis {
		values[i] = seen(nm)
	}
	got, err := CorrectBandpass(axis, values, 10)
	if err != nil {
		t.Fatal(err)
	}
	var before, after float64
	for i, nm := range axis {
		before = max(before, math.Abs(values[i]-truth(nm)))
		after = max(after, math.Abs(got[i]-truth(nm)))
	}
	t.Logf("largest error %.4f before, %.4f after", before, after)
	if after > before/8 {
		t.Errorf("largest error %.4f before, %.4f after", before, after)
	}
}

func TestBandpassCorrectionLeavesStraightLinesAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(-5, 5).Draw(t, "level"), rapid.Float64Range(-1, 1).Draw(t, "slope")
		v := make([]float64, 12)
		for i := range v {
			v[i] = a + b*float64(i)
		}
		for name, got := range map[string][]float64{"three": CorrectBandpass3(v), "five": CorrectBandpass5(v)} {
			for i := 1; i < len(v)-1; i++ {
				if math.Abs(got[i]-v[i]) > 1e-12*(1+math.Abs(a)+12*math.Abs(b)) {
					t.Fatalf("%s points: value %d is %g, was %g", name, i, got[i], v[i])
				}
			}
		}
	})
}

func TestBandpassCorrectionSaysWhenItMustNotBeUsed(t *testing.T) {
	axis := evenAxis(400, 700, 5)
	hill := make([]float64, len(axis))
	line := make([]float64, len(axis))
	rough := make([]float64, len(axis))
	for i, nm := range axis {
		hill[i] = math.Exp(-math.Pow((nm-550)/60, 2))
		line[i] = hill[i] + 5*math.Exp(-math.Pow((nm-546)/3, 2))
		rough[i] = hill[i] + 0.05*math.Sin(float64(i*i))
	}
	uneven := append([]float64(nil), axis...)
	uneven[10] += 1
	for _, c := range []struct {
		says      string
		axis, v   []float64
		bandwidth float64
	}{
		{"lines no wider", axis, line, 5},
		{"noise", axis, rough, 5},
		{"not evenly spaced", uneven, hill, 5},
		{"no whole number", axis, hill, 7},
		{"five bandwidths", axis, hill, 100},
		{"five samples", axis[:4], hill[:4], 5},
	} {
		if _, err := CorrectBandpass(c.axis, c.v, c.bandwidth); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v, want %q", err, c.says)
		}
	}
	if _, err := CorrectBandpass(axis, hill, 5); err != nil {
		t.Errorf("a smooth hill is refused: %v", err)
	}
}

func TestStrayLightComesOffAsItWentOn(t *testing.T) {
	light := make([]float64, 64)
	for p := range light {
		light[p] = 100 * gaussPixel(float64(p)-30, 20)
	}
	total := 0.0
	for _, v := range light {
		total += v
	}
	share := Stray{Share: 2e-4}
	seen := make([]float64, 64)
	for p := range seen {
		seen[p] = light[p] + share.Share*total
	}
	matrix := Stray{Matrix: make([][]float64, 64)}
	spread := make([]float64, 64)
	for i := range matrix.Matrix {
		matrix.Matrix[i] = make([]float64, 64)
		spread[i] = light[i]
		for j := range light {
			if i != j {
				matrix.Matrix[i][j] = 1e-3 / (1 + math.Abs(float64(i-j)))
				spread[i] += matrix.Matrix[i][j] * light[j]
			}
		}
	}
	for name, c := range map[string]struct {
		stray *Stray
		seen  []float64
	}{"share": {&share, seen}, "matrix": {&matrix, spread}} {
		got, err := c.stray.Correct(c.seen)
		if err != nil {
			t.Fatal(err)
		}
		for p := range light {
			if math.Abs(got[p]-light[p]) > 1e-10 {
				t.Fatalf("%s: pixel %d: %g, want %g", name, p, got[p], light[p])
			}
		}
	}
	if _, err := matrix.Correct(seen[:10]); err == nil {
		t.Error("a matrix for 64 pixels corrected 10")
	}
	if _, err := (&Stray{Matrix: [][]float64{{0, 1}, {1}}}).Correct([]float64{1, 2}); err == nil {
		t.Error("a ragged matrix was used")
	}
}

func TestStrayShareIsReadBelowALongPassEdge(t *testing.T) {
	axis := evenAxis(350, 900, 1)
	counts := make([]float64, len(axis))
	total := 0.0
	for i, nm := range axis {
		if nm > 600 {
			counts[i] = 1000 * silicon(nm)
			total += counts[i]
		}
	}
	const share = 3e-5
	for i := range counts {
		counts[i] += share * total
	}
	got, _, err := StrayShare(axis, counts, 595)
	if err != nil || math.Abs(got.Share/share-1) > 1e-9 {
		t.Errorf("%g, %v", got.Share, err)
	}
	unfiltered := make([]float64, len(axis))
	for i, nm := range axis {
		unfiltered[i] = 1000 * silicon(nm)
	}
	if _, _, err := StrayShare(axis, unfiltered, 595); err == nil || !strings.Contains(err.Error(), "without the filter") {
		t.Errorf("got %v", err)
	}
	if _, _, err := StrayShare(axis, counts, 355); err == nil {
		t.Error("no blind pixel, and a share all the same")
	}
}

// ghosted adds to counts the second order of what is there.
func ghosted(axis, counts []float64, ratio float64) []float64 {
	out := append([]float64(nil), counts...)
	edges := pixelEdges(axis)
	for p := range axis {
		lo, hi := 2*edges[p], 2*edges[p+1]
		for q := range axis {
			if o := min(hi, edges[q+1]) - max(lo, edges[q]); o > 0 {
				out[q] += ratio * counts[p] * o / (hi - lo)
			}
		}
	}
	return out
}

func TestSecondOrderComesOffAsItWentOn(t *testing.T) {
	axis := evenAxis(350, 950, 0.7)
	counts := make([]float64, len(axis))
	for i, nm := range axis {
		counts[i] = 1000*silicon(nm) + 30000*math.Exp(-math.Pow((nm-436)/1.5, 2))
	}
	s := SecondOrder{Nm: []float64{400}, Ratio: []float64{0.04}}
	got := s.Correct(axis, ghosted(axis, counts, 0.04))
	for i := range counts {
		if math.Abs(got[i]-counts[i]) > 1e-9*30000 {
			t.Fatalf("%.1f nm: %g, want %g", axis[i], got[i], counts[i])
		}
	}
}

func TestGhostsAreMeasuredAndALampsOwnLinesAreNot(t *testing.T) {
	axis := evenAxis(350, 950, 0.3)
	sum := func(lamp Lamp) []float64 {
		counts := make([]float64, len(axis))
		for i, nm := range axis {
			for _, l := range lamp.Lines {
				counts[i] += 40000 * l.Strength * math.Exp(-math.Pow((nm-l.Nm)/0.9, 2))
			}
		}
		return ghosted(axis, counts, 0.02)
	}
	ghosts := FindGhosts(axis, sum(mustLamp("mercury")), nil, mustLamp("mercury"))
	if len(ghosts) < 3 {
		t.Fatalf("got %+v", ghosts)
	}
	for _, g := range ghosts {
		if math.Abs(g.Ratio-0.02) > 0.001 {
			t.Errorf("ghost of %.1f nm: %.4f, want 0.02", g.Nm, g.Ratio)
		}
	}
	for _, g := range FindGhosts(axis, sum(mustLamp("mercury-argon")), nil, mustLamp("mercury-argon")) {
		if g.Nm > 430 && g.Nm < 440 {
			t.Errorf("871.7 nm lies beside argon's 866.8 nm and was used: %+v", g)
		}
	}
	if _, err := NewSecondOrder(nil); err == nil {
		t.Error("no ghosts made a correction")
	}
	if _, err := NewSecondOrder([]Ghost{{Nm: 400, Ratio: 0.8}}); err == nil {
		t.Error("a ghost of 80 % was believed")
	}
}
