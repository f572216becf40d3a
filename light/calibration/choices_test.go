package calibration

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"lampassay/light/spectrum"
)

// smallMatrix spreads a thousandth of each pixel's light over its neighbours.
func smallMatrix(n int) [][]float64 {
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, n)
		for j := range m[i] {
			if i != j {
				m[i][j] = 1e-3 / (1 + math.Abs(float64(i-j)))
			}
		}
	}
	return m
}

func TestAMatrixOfStrayLightServesGoroutinesSideBySide(t *testing.T) {
	const n = 48
	seen := make([]float64, n)
	for p := range seen {
		seen[p] = 100 * gaussPixel(float64(p)-20, 15)
	}
	put := StrayMatrix(smallMatrix(n))
	byHand := Stray{Matrix: smallMatrix(n)}
	text, err := json.Marshal(put)
	if err != nil {
		t.Fatal(err)
	}
	var back Stray
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	want, err := byHand.Correct(seen)
	if err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	for range 8 {
		for name, s := range map[string]*Stray{"made": &put, "read": &back, "by hand": &byHand} {
			all.Go(func() {
				if got, err := s.Correct(seen); err != nil || !slices.Equal(got, want) {
					t.Errorf("%s: %v, %v", name, got[:3], err)
				}
			})
		}
	}
	all.Wait()
	if err := json.Unmarshal([]byte(`{"share":1}`), &back); err == nil {
		t.Error("an unknown key was read")
	}
}

func TestALawThatIsAskedForIsTaken(t *testing.T) {
	for _, law := range Laws() {
		w, err := CalibrateWavelength([]Recording{benchRecording("mercury-argon", 1), benchRecording("neon", 2)}, Expected{Law: law})
		if err != nil {
			t.Errorf("%s: %v", law, err)
			continue
		}
		if w.Law != law {
			t.Errorf("asked for a %s and got a %s", law, w.Law)
		}
		at := slices.IndexFunc(w.Laws, func(l LawError) bool { return l.Law == law })
		if at < 0 || w.Laws[at].HeldOutNm != w.HeldOutNm {
			t.Errorf("%s: held out %g nm, and of all laws %+v", law, w.HeldOutNm, w.Laws)
		}
	}
	// Left open, the law is the simplest within a tenth of the best.
	w, err := CalibrateWavelength([]Recording{benchRecording("mercury-argon", 1), benchRecording("neon", 2)}, Expected{})
	if err != nil {
		t.Fatal(err)
	}
	best := math.Inf(1)
	for _, l := range w.Laws {
		best = min(best, l.HeldOutNm)
	}
	if len(w.Laws) != 5 || w.HeldOutNm > 1.1*best {
		t.Errorf("a %s with %g nm of %+v", w.Law, w.HeldOutNm, w.Laws)
	}
}

func TestRecordingsThatWereSwappedAreNamed(t *testing.T) {
	a, b := benchRecording("mercury-argon", 1), benchRecording("neon", 2)
	a.Name, b.Name = "first.csv", "second.csv"
	a.Lamp, b.Lamp = b.Lamp, a.Lamp
	_, err := CalibrateWavelength([]Recording{a, b}, Expected{})
	if err == nil || !strings.Contains(err.Error(), "first.csv and second.csv are swapped: the first shows mercury-argon, the second neon") {
		t.Errorf("got %v", err)
	}
}

func TestAFinishedCurveIsNotToldWhereSecondOrderCouldBe(t *testing.T) {
	axis := evenAxis(350, 800, 0.5)
	values := make([]float64, len(axis))
	for i, nm := range axis {
		values[i] = math.Exp(-math.Pow((nm-580)/80, 2))
	}
	for q, noted := range map[spectrum.Quantity]bool{spectrum.Counts: true, spectrum.Irradiance: false, spectrum.Relative: false} {
		s, err := spectrum.New(q, axis, values)
		if err != nil {
			t.Fatal(err)
		}
		got := slices.ContainsFunc(Inspect(&Evidence{Axis: axis, Spectrum: s}), func(f Finding) bool { return f.Gate == GateSecondOrder })
		if got != noted {
			t.Errorf("%v: noted %v", q, got)
		}
	}
}

func TestThePatternOfADetectorIsNoLineInItsDark(t *testing.T) {
	axis := evenAxis(350, 861.5, 0.5)
	light, dark := make([]float64, len(axis)), make([]float64, len(axis))
	r := rand.New(rand.NewPCG(5, 5))
	for p := range dark {
		dark[p] = 900 + 40*math.Sin(float64(p)/31) + 3*r.NormFloat64()
		light[p] = dark[p] + 20000*math.Exp(-math.Pow((axis[p]-580)/80, 2))
	}
	inDark := func() bool {
		e := &Evidence{Axis: axis, Frames: []Frame{{light, 40}}, Dark: &Frame{dark, 40}}
		return slices.ContainsFunc(Inspect(e), func(f Finding) bool { return f.Gate == GateDark })
	}
	if inDark() {
		t.Error("a slow wave was taken for a line")
	}
	for p := range dark {
		dark[p] += 2000 * gaussPixel(float64(p)-400, 4)
	}
	if !inDark() {
		t.Error("a line in the dark passed")
	}
}
