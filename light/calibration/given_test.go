package calibration

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// truths returns pairs that are so: peaks within an eighth of the bandwidth of a
// line's true place, the tallest first.
func (s *simulated) truths(recordings []Recording) (pairs []GivenPair) {
	height := map[GivenPair]float64{}
	for i, r := range recordings {
		for _, p := range FindPeaks(r.Counts, nil) {
			at := slices.IndexFunc(r.Lamp.Lines, func(l Line) bool { return math.Abs(l.Nm-s.nmAt(p.Pixel)) < s.bandwidth/8 })
			if at >= 0 && !p.Broad {
				pair := GivenPair{i, p.Pixel, r.Lamp.Lines[at].Nm}
				pairs, height[pair] = append(pairs, pair), p.Height()
			}
		}
	}
	slices.SortFunc(pairs, func(a, b GivenPair) int { return cmp.Compare(height[b], height[a]) })
	return pairs
}

// rowsOfGiven returns the rows of the residual table that were given.
func rowsOfGiven(w *Wavelength) (rows []AnchorLine) {
	for _, l := range w.Lines {
		if l.Given {
			rows = append(rows, l)
		}
	}
	return rows
}

// The instruments of TestRandomInstrumentsArePairedRightOrDoubted that the search
// alone pairs wrong. The third has a bandwidth of 7 nm and a peak of nothing 5 nm
// from a missing line, which it still takes for that.
func TestAPairThatIsGivenRightsAWrongPairing(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		seed          uint64
		given         []GivenPair
		right         bool
		before, after float64 // largest error of the axis, pixels
	}{
		{57, []GivenPair{{0, 6.6, 253.652}}, true, 6, 0.1},
		{84, []GivenPair{{0, 267.0, 407.784}}, true, 18, 0.6},
		{108, []GivenPair{{0, 104.7, 365.016}, {0, 766.5, 842.465}}, false, 27, 7},
	} {
		s, recordings := inventInstrument(c.seed, 1, 15)
		alone, err := CalibrateWavelength(recordings, Expected{})
		if err != nil {
			t.Fatal(err)
		}
		if v := s.verdict(alone); v.right || v.axisError < c.before {
			t.Errorf("instrument %d: the search needs no help, %+v", c.seed, v)
		}
		w, err := CalibrateWavelength(recordings, Expected{Given: c.given})
		if err != nil {
			t.Errorf("instrument %d: %v", c.seed, err)
			continue
		}
		if v := s.verdict(w); v.right != c.right || v.axisError > c.after || v.confident && !v.right {
			t.Errorf("instrument %d: right %v, confident %v, axis out by %.2f pixels", c.seed, v.right, v.confident, v.axisError)
		}
		if rows := rowsOfGiven(w); len(rows) != len(c.given) || !rows[0].Used {
			t.Errorf("instrument %d: given %v, and the table says %+v", c.seed, c.given, rows)
		}
	}
}

// narrow is an instrument that the search does not reckon with: it sees 80 nm, from
// 573 nm to 653 nm.
func narrow() (*simulated, []Recording) {
	s := &simulated{axis: make([]float64, 1024), bandwidth: 0.4, noise: 10}
	for p := range s.axis {
		x := 2*float64(p)/1023 - 1
		s.axis[p] = 615 + 40*x - 1.5*x*x
	}
	return s, []Recording{s.lineLamp(rand.New(rand.NewPCG(1, 1)), mustLamp("neon"), 0.1, 2, 1)}
}

func TestThreePairsCalibrateWhereTheSearchFails(t *testing.T) {
	s, recordings := narrow()
	if w, err := CalibrateWavelength(recordings, Expected{}); err == nil && (w.Confident || s.verdict(w).right) {
		t.Fatal("the search does not fail here")
	}
	truths := s.truths(recordings)
	for n := 3; n <= 6; n++ {
		w, err := CalibrateWavelength(recordings, Expected{Given: truths[:n]})
		if err != nil {
			t.Errorf("%d pairs: %v", n, err)
			continue
		}
		if v := s.verdict(w); !v.right || !v.confident || v.axisError > 0.1 || len(w.Lines) < 14 {
			t.Errorf("%d pairs: right %v, axis out by %.2f pixels, %d lines, doubts %v", n, v.right, v.axisError, len(w.Lines), w.Doubts)
		}
	}
	if _, err := CalibrateWavelength(recordings, Expected{Given: truths[:2]}); err == nil || !strings.Contains(err.Error(), "pairs given") {
		t.Errorf("two pairs leave an axis that no search believes: %v", err)
	}
}

func TestGivingWhatTheSearchFoundChangesNothing(t *testing.T) {
	t.Parallel()
	try := func(name string, recordings []Recording, limit float64) {
		w, err := CalibrateWavelength(recordings, Expected{})
		if err != nil || !w.Confident {
			return // nothing to agree with
		}
		var given []GivenPair
		for _, l := range w.Lines {
			if l.Used {
				at := slices.IndexFunc(recordings, func(r Recording) bool { return r.Name == l.Recording })
				given = append(given, GivenPair{at, l.Pixel, l.members[0].Nm})
			}
		}
		for _, pairs := range [][]GivenPair{given, given[:1], given[len(given)-2:]} {
			again, err := CalibrateWavelength(recordings, Expected{Given: pairs})
			if err != nil {
				t.Errorf("%s with %d pairs: %v", name, len(pairs), err)
				continue
			}
			if got := len(rowsOfGiven(again)); got != len(pairs) {
				t.Errorf("%s: %d pairs were given, and the table has %d", name, len(pairs), got)
			}
			for _, nm := range []float64{w.FromNm, (w.FromNm + w.ToNm) / 2, w.ToNm} {
				within := limit
				if len(pairs) < len(given) { // which may bring in or leave out a blend
					within = 0.02 * w.Bandwidth.At(nm)
				}
				if d := again.Dispersion.At(w.Dispersion.PixelAt(nm)) - nm; math.Abs(d) > within {
					t.Errorf("%s with %d of %d pairs: %g nm is moved by %g nm", name, len(pairs), len(given), nm, d)
				}
			}
			if !again.Confident {
				t.Errorf("%s with %d of %d pairs: %v", name, len(pairs), len(given), again.Doubts)
			}
		}
	}
	try("bench", []Recording{benchRecording("mercury-argon", 1), benchRecording("neon", 2)}, 1e-9)
	for seed := uint64(401); seed <= 408; seed++ {
		s, recordings := inventInstrument(seed, 1, 15)
		// Ties are weighed by the slope of the axis before, which is not quite the same.
		try(recordings[0].Name, recordings, 1e-3*s.bandwidth)
	}
}

func TestAWrongPairIsKeptAndDoubted(t *testing.T) {
	recordings := []Recording{benchRecording("mercury-argon", 1), benchRecording("neon", 2)}
	s := bench()
	green := s.pixelAt(546.075)
	w, err := CalibrateWavelength(recordings, Expected{Given: []GivenPair{{0, green, 576.961}}})
	if err != nil {
		t.Fatal(err)
	}
	rows := rowsOfGiven(w)
	if len(rows) != 1 || !rows[0].Used || rows[0].Line != "Hg I 576.961" {
		t.Fatalf("the table says %+v", rows)
	}
	if w.Confident || !strings.Contains(strings.Join(w.Doubts, "; "), fmt.Sprintf("pixel %.1f with Hg I 576.961 misses that by 30.9 nm", rows[0].Pixel)) {
		t.Errorf("confident %v, doubts %q", w.Confident, w.Doubts)
	}
}

func TestAPairThatWouldBeSetAsideIsKeptAndDoubted(t *testing.T) {
	// A line 0.6 nm from where the lamp has it, as if the table were wrong there.
	recordings := []Recording{benchRecording("mercury-argon", 1), benchRecording("neon", 2)}
	lines := slices.Clone(recordings[1].Lamp.Lines)
	lines[slices.IndexFunc(lines, func(l Line) bool { return l.Nm == 640.225 })].Nm += 0.6
	recordings[1].Lamp.Lines = lines
	alone, err := CalibrateWavelength(recordings, Expected{})
	if err != nil {
		t.Fatal(err)
	}
	if at := slices.IndexFunc(alone.Lines, func(l AnchorLine) bool { return l.Line == "Ne I 640.825" }); at >= 0 && alone.Lines[at].Used {
		t.Fatal("the search alone believes it")
	}
	w, err := CalibrateWavelength(recordings, Expected{Given: []GivenPair{{1, bench().pixelAt(640.225), 640.825}}})
	if err != nil {
		t.Fatal(err)
	}
	rows := rowsOfGiven(w)
	if len(rows) != 1 || !rows[0].Used || math.Abs(rows[0].HeldOutNm-0.6) > 0.05 {
		t.Fatalf("the table says %+v", rows)
	}
	if says := fmt.Sprintf("pixel %.1f with Ne I 640.825, misses the axis of the others by 0.58 nm", rows[0].Pixel); w.Confident || !strings.Contains(strings.Join(w.Doubts, "; "), says) {
		t.Errorf("confident %v, doubts %q", w.Confident, w.Doubts)
	}
}

func TestPairsThatNoAxisHoldsAreRefusedByNamingTheWorst(t *testing.T) {
	recordings := []Recording{benchRecording("mercury-argon", 1), benchRecording("neon", 2)}
	s := bench()
	_, err := CalibrateWavelength(recordings, Expected{Given: []GivenPair{{0, s.pixelAt(546.075), 576.961}, {1, s.pixelAt(667.828), 717.394}, {1, s.pixelAt(692.947), 724.517}}})
	if err == nil || !strings.Contains(err.Error(), "with Ne I 717.394 and the rest: without it the peaks fall into place from 365 nm to 826 nm, and it misses that by 49.6 nm") {
		t.Errorf("says %v", err)
	}
}

// A peak is given the nearest line that is at least two bandwidths off.
func TestAWrongPairNeverMakesConfidence(t *testing.T) {
	t.Parallel()
	believed, refused, tried := 0, 0, 0
	for seed := uint64(501); seed <= 516; seed++ {
		s, recordings := inventInstrument(seed, 1, 15)
		truths := s.truths(recordings)
		if len(truths) == 0 {
			continue
		}
		pair := truths[int(seed)%min(4, len(truths))]
		far := math.Inf(1)
		wrong := pair
		for _, l := range recordings[pair.Recording].Lamp.Lines {
			if d := math.Abs(l.Nm - pair.Nm); d > 2*s.bandwidth && d < far {
				wrong.Nm, far = l.Nm, d
			}
		}
		tried++
		w, err := CalibrateWavelength(recordings, Expected{Given: []GivenPair{wrong}})
		switch {
		case err != nil:
			refused++
		case w.Confident:
			believed++
			t.Logf("instrument %d: %+v for %g nm is believed, %+v", seed, wrong, pair.Nm, rowsOfGiven(w))
		}
	}
	t.Logf("%d wrong pairs: %d refused, %d believed, the others doubted", tried, refused, believed)
	if tried < 14 || believed > 0 {
		t.Errorf("%d of %d wrong pairs are believed", believed, tried)
	}
}

func TestAPairThatCannotBeIsRefusedInASentence(t *testing.T) {
	clipped := benchRecording("mercury-argon", 1)
	clipped.Clipped = make([]bool, len(clipped.Counts))
	s := bench()
	green := s.pixelAt(546.075)
	clipped.Clipped[int(green+0.5)] = true
	sound := benchRecording("neon", 2)
	sound.Name = "neon.csv"
	at := func(recording int, nm float64) GivenPair { return GivenPair{recording, s.pixelAt(nm), nm} }
	red := at(1, 640.225)
	for _, c := range []struct {
		name  string
		given []GivenPair
		says  string
	}{
		{"no such recording", []GivenPair{{2, 100, 546.075}}, "a pair was given for recording 2, and there are 2"},
		{"not on the detector", []GivenPair{{1, 2048, 640.225}}, "pixel 2048, and the detector has the pixels 0 to 2047"},
		{"not a number", []GivenPair{{1, math.NaN(), 640.225}}, "pixel NaN"},
		{"no peak", []GivenPair{{1, s.pixelAt(500), 640.225}}, "neon.csv has no peak near pixel"},
		{"no line", []GivenPair{{1, red.Pixel, 641.5}}, "neon has no known line within 0.5 nm of 641.5 nm: the nearest is Ne I 640.225"},
		{"no wavelength", []GivenPair{{1, red.Pixel, math.NaN()}}, "neon has no known line"},
		{"saturated", []GivenPair{{0, green, 546.075}}, "is saturated, and the centre of a clipped line is unknown"},
		{"one peak, two lines", []GivenPair{red, {1, red.Pixel, 650.653}}, "was given two lines, Ne I 640.225 and Ne I 650.653"},
		{"one line, two peaks", []GivenPair{red, {1, s.pixelAt(650.653), 640.225}}, "Ne I 640.225 was given two peaks"},
		{"twice", []GivenPair{red, red}, "with Ne I 640.225 was given twice"},
		{"order", []GivenPair{{1, red.Pixel, 650.653}, {1, s.pixelAt(650.653), 640.225}}, "contradict each other, since wavelengths rise"},
		{"order of two recordings", []GivenPair{{0, s.pixelAt(435.8335), 763.5106}, red}, "contradict each other"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := CalibrateWavelength([]Recording{clipped, sound}, Expected{Given: c.given})
			if err == nil || !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), "\n") {
				t.Errorf("says %v", err)
			}
		})
	}
}

func TestAnUnresolvedGroupIsGivenByAnyOfItsLines(t *testing.T) {
	// 577 and 579 nm are one peak at 3 nm.
	s := bench()
	s.bandwidth = 3
	recordings := []Recording{s.lineLamp(rand.New(rand.NewPCG(4, 4)), mustLamp("mercury-neon"), 0, 0, 1)}
	var want *Wavelength
	for _, nm := range []float64{576.961, 579.067} {
		w, err := CalibrateWavelength(recordings, Expected{Given: []GivenPair{{0, s.pixelAt(578), nm}}})
		if err != nil {
			t.Fatal(err)
		}
		rows := rowsOfGiven(w)
		if len(rows) != 1 || rows[0].Line != "Hg I 576.96–579.07, unresolved" || !w.Confident {
			t.Fatalf("%+v, doubts %v", rows, w.Doubts)
		}
		if want != nil && w.Dispersion.At(1000) != want.Dispersion.At(1000) {
			t.Error("it matters which")
		}
		want = w
	}
}

func TestSightingsLayOutPeaksAndLines(t *testing.T) {
	recordings := []Recording{benchRecording("neon", 2)}
	w, err := CalibrateWavelength(recordings, Expected{})
	if err != nil {
		t.Fatal(err)
	}
	all, err := Sightings(recordings, &w.Dispersion)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(all[0].Peaks), len(FindPeaks(recordings[0].Counts, nil)); len(all) != 1 || got != want {
		t.Errorf("%d peaks, want %d", got, want)
	}
	for _, row := range w.Lines {
		at := slices.IndexFunc(all[0].Lines, func(l Sighted) bool { return l.Name == row.Line })
		if at < 0 {
			t.Errorf("%s is not among the lines", row.Line)
			continue
		}
		l := all[0].Lines[at]
		if l.Nm != row.Nm || math.Abs(w.Dispersion.At(l.Pixel)-l.Nm) > 1e-6 {
			t.Errorf("%s is laid out as %+v", row.Line, l)
		}
		if _, err := newSearch(recordings, Expected{Given: []GivenPair{{0, row.Pixel, l.LineNm}}}); err != nil {
			t.Errorf("%s cannot be given: %v", row.Line, err)
		}
	}
	if _, err := Sightings([]Recording{{Name: "flat", Lamp: mustLamp("neon"), Counts: make([]float64, 100)}}, &w.Dispersion); err == nil {
		t.Error("a recording without lines was laid out")
	}
	neon := mustLamp("neon")
	rough := RoughAxis(2048, &neon)
	if err := rough.Check(); err != nil {
		t.Error(err)
	}
	for _, l := range neon.Lines {
		if p := rough.PixelAt(l.Nm); p < 0 || p > 2047 {
			t.Errorf("%g nm is laid out at pixel %g", l.Nm, p)
		}
	}
}
