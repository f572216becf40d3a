package emission

import (
	"encoding/binary"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"lampassay/light/spectrum"
)

// finite fails the test on a figure that is not one.
func finite(t *testing.T, r *Result) {
	t.Helper()
	bad := func(what string, v float64) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%s is %g", what, v)
		}
	}
	for i := range r.Continuum {
		bad("continuum", r.Continuum[i])
		bad("noise", r.Noise[i])
	}
	for _, l := range r.Lines {
		for _, v := range []float64{l.Centre, l.CentreU, l.Area, l.AreaU, l.Width, l.WidthU, l.SNR} {
			bad("a line's figure", v)
		}
	}
	for _, b := range r.Bands {
		bad("a band's area", b.Area)
		bad("a band's share", b.Share)
	}
	for _, e := range r.Elements {
		bad("a score", e.Score)
	}
	bad("the family's score", r.Family.Score)
	if r.Family.Key == "" || len(r.Family.Reasons) == 0 {
		t.Fatalf("no family or no reasons: %+v", r.Family)
	}
}

func FuzzAnalyseGivesFiguresWhateverTheCurve(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 250, 100, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20}, 1.0, 350.0, 10.0)
	f.Add(make([]byte, 64), 1e-300, 201.0, 0.5)
	f.Add([]byte("a curve of no meaning, but long enough to be analysed in full"), 1e300, 380.0, 5.0)
	f.Fuzz(func(t *testing.T, data []byte, scale, from, pitch float64) {
		if !(from > 1) || !(pitch > 1e-3) || from > 3000 || pitch > 100 || len(data) > 4000 {
			return
		}
		var x, y []float64
		for i := 0; i+1 < len(data); i += 2 {
			x = append(x, from+pitch*float64(i/2))
			y = append(y, scale*float64(int16(binary.LittleEndian.Uint16(data[i:]))))
		}
		s, err := spectrum.New(spectrum.Counts, x, y)
		if err != nil {
			return
		}
		r, err := Analyse(s, Options{})
		if err != nil {
			if !errors.Is(err, ErrTooFew) && !errors.Is(err, ErrScale) {
				t.Fatal(err)
			}
			return
		}
		finite(t, r)
	})
}

func TestScaleDoesNotMatter(t *testing.T) {
	for name, s := range benchmarkLamps(1456) {
		small, err := s.Scale(1e-9, spectrum.Irradiance)
		if err != nil {
			t.Fatal(err)
		}
		a, err := Analyse(s, Options{})
		if err != nil {
			t.Fatal(err)
		}
		b, err := Analyse(small, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if a.Family.Name != b.Family.Name || len(a.Lines) != len(b.Lines) || len(a.Elements) != len(b.Elements) {
			t.Errorf("%s: %s with %d lines, but %s with %d a thousand million times weaker", name, a.Family.Name, len(a.Lines), b.Family.Name, len(b.Lines))
			continue
		}
		for i := range a.Lines {
			if math.Abs(b.Lines[i].Area/a.Lines[i].Area/1e-9-1) > 1e-6 {
				t.Errorf("%s: area of line %d scales by %g", name, i, b.Lines[i].Area/a.Lines[i].Area)
			}
		}
	}
}

func TestTheSameSpectrumGivesTheSameResult(t *testing.T) {
	for name, s := range benchmarkLamps(1456) {
		a, _ := Analyse(s, Options{})
		b, _ := Analyse(s, Options{})
		for _, r := range []*Result{a, b} { // NaN is not equal to itself
			if math.IsNaN(r.Shift) {
				r.Shift, r.ShiftU = 0, 0
			}
			for i := range r.Bands {
				if math.IsNaN(r.Bands[i].Temperature) {
					r.Bands[i].Temperature = 0
				}
				if math.IsNaN(r.Bands[i].Width) {
					r.Bands[i].Width = 0
				}
			}
		}
		if !reflect.DeepEqual(a, b) {
			t.Errorf("%s: two runs differ", name)
		}
	}
}

// Closure: lines of known place, area and width come back within their stated
// uncertainties. For the three figures of 400 lines, the share within two
// standard uncertainties must be that of a normal distribution, 95.4 %, less
// what 400 trials can miss it by and what the assumed imperfect line shape adds.
func TestFittedLinesCloseWithinTheirUncertainties(t *testing.T) {
	within := [3]int{}
	n := 0
	for k := range 100 {
		rng := rand.New(rand.NewPCG(11, uint64(k)))
		c := newCurve(400, 700, 0.4, 1.5)
		c.band(560, 120, 0.3)
		type truth struct{ nm, area float64 }
		var lines []truth
		for _, nm := range []float64{430, 500, 545, 620} {
			l := truth{nm + 10*rng.Float64(), 0.5 + 2*rng.Float64()}
			lines = append(lines, l)
			c.line(l.nm, l.area*1/areaFactor, 0)
		}
		r, err := Analyse(c.noisy(rng, 0.01), Options{Bandwidth: 1.5})
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			best := -1
			for i, f := range r.Lines {
				if math.Abs(f.Centre-l.nm) < 1 {
					best = i
				}
			}
			if best < 0 {
				t.Errorf("the line at %.2f nm of area %.2f was not found", l.nm, l.area)
				continue
			}
			n++
			f := r.Lines[best]
			for j, d := range []float64{(f.Centre - l.nm) / f.CentreU, (f.Area - l.area) / f.AreaU, (f.Width - 1.5) / f.WidthU} {
				if math.Abs(d) < 2 {
					within[j]++
				}
			}
		}
	}
	for j, what := range []string{"centre", "area", "width"} {
		share := float64(within[j]) / float64(n)
		t.Logf("%s: %.1f %% of %d within two standard uncertainties", what, 100*share, n)
		if share < 0.92 {
			t.Errorf("%s: only %.1f %% within two standard uncertainties", what, 100*share)
		}
	}
}

func TestTheContinuumNeitherRingsNorSwallowsLines(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	// A pure continuum comes back as it is.
	c := newCurve(350, 900, 0.4, 1.5).planck(2800, 1)
	truth := append([]float64(nil), c.y...)
	r, err := Analyse(c.noisy(rng, 0.002), Options{})
	if err != nil {
		t.Fatal(err)
	}
	top := 0.0
	for _, v := range truth {
		top = max(top, v)
	}
	for i, v := range r.Continuum {
		if math.Abs(v-truth[i]) > 0.02*top {
			t.Fatalf("pure continuum: %.4f at %.1f nm, want %.4f", v, c.x[i], truth[i])
		}
	}
	// Pure lines leave nothing, and nothing negative beyond the noise and the
	// assumed imperfection of their shape.
	c = newCurve(350, 900, 0.4, 1.5)
	for _, nm := range []float64{404.66, 435.83, 546.07, 576.96, 579.07, 696.5, 763.5} {
		c.line(nm, 1.5, 0)
	}
	r, err = Analyse(c.noisy(rng, 0.001), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range r.Continuum {
		if math.Abs(v) > 0.03 {
			t.Fatalf("pure lines: the continuum is %.4f at %.1f nm, want 0", v, c.x[i])
		}
	}
}

func TestTwoSodiumLinesSeenAsOneAreNamedSo(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	for _, set := range []struct {
		bandwidth float64
		one       bool
	}{{1.2, true}, {0.25, false}} {
		c := newCurve(560, 840, set.bandwidth/3, set.bandwidth).line(588.995, 2, 0).line(589.592, 1, 0).line(818.326, 0.1, 0).line(819.482, 0.2, 0)
		r, err := Analyse(c.noisy(rng, 0.0005), Options{})
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, l := range r.Lines {
			if l.Emitter != "Na I" || math.Abs(l.Centre-589.3) > 1 {
				continue
			}
			n++
			if set.one != (l.Unresolved != "") {
				t.Errorf("bandwidth %.2f nm: line at %.2f nm unresolved: %q", set.bandwidth, l.Centre, l.Unresolved)
			}
			// λ/Δλ of the pair, NIST wavelengths 588.9950 and 589.5924 nm.
			if set.one && math.Abs(l.ResolvingPower-589/0.5974) > 5 {
				t.Errorf("resolving power %.0f, want %.0f", l.ResolvingPower, 589/0.5974)
			}
		}
		if want := map[bool]int{true: 1, false: 2}[set.one]; n != want {
			t.Errorf("bandwidth %.2f nm: %d sodium D lines, want %d", set.bandwidth, n, want)
		}
	}
}

func TestAnUncheckedAxisIsCorrectedAndSaidToBeOff(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	c := newCurve(380, 900, 0.4, 1.5).mercury(3, true).argon(0.5)
	for i := range c.x {
		c.x[i] += 0.8
	}
	r, err := Analyse(c.noisy(rng, 0.001), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(r.Shift-0.8) > 2*r.ShiftU || r.ShiftU > 0.2 {
		t.Errorf("shift %.3f ± %.3f nm, want 0.8", r.Shift, r.ShiftU)
	}
	warned := false
	for _, w := range r.Warnings {
		warned = warned || len(w) > 16 && w[:16] == "the atomic lines"
	}
	if !warned {
		t.Errorf("no warning of an axis 0.8 nm off: %v", r.Warnings)
	}
}

func TestOptionsAndShortSpectraAreRefusedInWords(t *testing.T) {
	s, _ := spectrum.New(spectrum.Counts, []float64{400, 500, 600}, []float64{1, 2, 3})
	if _, err := Analyse(s, Options{}); !errors.Is(err, ErrTooFew) {
		t.Errorf("three samples: %v", err)
	}
	if _, err := Analyse(s, Options{Bandwidth: -1}); err == nil {
		t.Error("a negative bandwidth was accepted")
	}
	if _, err := Analyse(s, Options{Noise: math.NaN()}); err == nil {
		t.Error("a noise that is not a number was accepted")
	}
}

func TestTabulatedShapesAreRight(t *testing.T) {
	for u := -3.0; u < 3; u += 0.00137 {
		want := gauss(u)
		if math.Abs(u) >= 2.5 {
			want = 0
		}
		if d := math.Abs(gaussians().at(u) - want); d > 3e-6 {
			t.Fatalf("line shape at %g off by %g", u, d)
		}
		if u < 2 {
			if d := math.Abs(lnPhis().at(u) - math.Log(0.5*math.Erfc(-u/math.Sqrt2))); d > 1e-3 {
				t.Fatalf("ln Φ(%g) off by %g", u, d)
			}
		}
	}
}
