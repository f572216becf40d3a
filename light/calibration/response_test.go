package calibration

import (
	"math"
	"strings"
	"testing"

	"lampassay/light/spectrum"
)

func TestAHundredKelvinTiltAReferenceByEightPerCentInTheBlue(t *testing.T) {
	// Worked from Planck's law: 2856 K to 2956 K, relative to 560 nm.
	ref, err := PlanckReference(2856, 100)
	if err != nil {
		t.Fatal(err)
	}
	for nm, want := range map[float64]float64{450: 0.077, 560: 0, 650: -0.041} {
		if got := ref.Tilt(nm); math.Abs(got-want) > 0.0015 {
			t.Errorf("%g nm: %+.4f, want %+.3f", nm, got, want)
		}
	}
	tungsten, err := TungstenReference(2856, 100)
	if err != nil {
		t.Fatal(err)
	}
	if got := tungsten.Tilt(450); math.Abs(got-0.077) > 0.005 {
		t.Errorf("tungsten at 450 nm: %+.4f", got)
	}
}

func TestAFilamentIsCoolerThanItsColour(t *testing.T) {
	for _, cct := range []float64{2400, 2856, 3200} {
		k := FilamentTemperature(cct)
		if got := tungstenCCT(k); math.Abs(got-cct) > 0.01 {
			t.Errorf("%g K came back as %.2f K", cct, got)
		}
		// Handbooks give some 60 K for CIE illuminant A's lamp; from memory.
		if d := cct - k; d < 40 || d > 90 {
			t.Errorf("a filament of CCT %g K has %.0f K", cct, k)
		}
	}
}

func TestEmissivityJoinsAndStaysNearTheTable(t *testing.T) {
	for _, nm := range []float64{450, 680} {
		if a, b := Emissivity(nm-1e-9, 2800), Emissivity(nm, 2800); math.Abs(a/b-1) > 0.002 {
			t.Errorf("a step at %g nm: %.5f to %.5f", nm, a, b)
		}
	}
	// De Vos (1954) at 2800 K, from memory of handbooks.
	for nm, want := range map[float64]float64{400: 0.461, 500: 0.448, 600: 0.434, 700: 0.419, 800: 0.400} {
		if got := Emissivity(nm, 2800); math.Abs(got/want-1) > 0.03 {
			t.Errorf("%g nm: %.3f, want %.3f", nm, got, want)
		}
	}
}

func TestAFilamentIsShortOfABlackbodyInTheBlue(t *testing.T) {
	// What the doc comment of PlanckReference says.
	planck, _ := PlanckReference(2856, 10)
	tungsten, _ := TungstenReference(2856, 10)
	for _, c := range []struct{ from, to, most float64 }{{400, 460, 0.03}, {460, 800, 0.01}} {
		for nm := c.from; nm <= c.to; nm += 10 {
			a, _ := planck.At(nm)
			b, _ := tungsten.At(nm)
			if d := b/a - 1; d > 0.001 || d < -c.most {
				t.Errorf("%g nm: %+.4f", nm, d)
			}
		}
	}
}

func TestNoFilamentHasThatTemperature(t *testing.T) {
	for _, cct := range []float64{0, 1500, 5000, math.NaN()} {
		if _, err := PlanckReference(cct, 10); err == nil {
			t.Errorf("%g K was accepted", cct)
		}
	}
	if _, err := TungstenReference(2856, -1); err == nil {
		t.Error("a negative uncertainty was accepted")
	}
}

func filamentCounts(axis []float64, ref Reference, stray float64) []float64 {
	counts := make([]float64, len(axis))
	for i, nm := range axis {
		power, _ := ref.At(nm)
		counts[i] = 20000*power*silicon(nm) + stray
	}
	return counts
}

func TestAResponseGivesTheReferenceBack(t *testing.T) {
	axis := evenAxis(380, 780, 1.3)
	ref, err := TungstenReference(2856, 20)
	if err != nil {
		t.Fatal(err)
	}
	counts := filamentCounts(axis, ref, 0)
	r, err := NewResponse(axis, counts, ref, ResponseOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Check(); err != nil {
		t.Fatal(err)
	}
	nm, values, err := r.Correct(axis, counts)
	if err != nil {
		t.Fatal(err)
	}
	k, _ := ref.At(nm[0])
	k = values[0] / k
	for i := range nm {
		if want, _ := ref.At(nm[i]); math.Abs(values[i]/want/k-1) > 1e-12 {
			t.Fatalf("%.1f nm: %g, want %g", nm[i], values[i], k*want)
		}
	}
	if _, ok := r.At(379); ok {
		t.Error("the response extrapolates")
	}
}

func TestAResponseEndsWhereStrayLightCouldRule(t *testing.T) {
	axis := evenAxis(350, 800, 1)
	ref, err := TungstenReference(2856, 20)
	if err != nil {
		t.Fatal(err)
	}
	const stray = 100.0
	r, err := NewResponse(axis, filamentCounts(axis, ref, stray), ref, ResponseOptions{Stray: stray})
	if err != nil {
		t.Fatal(err)
	}
	power, _ := ref.At(r.FromNm)
	if signal := 20000 * power * silicon(r.FromNm); r.FromNm < 352 || signal < 0.88*9*stray {
		t.Errorf("from %.0f nm with a signal of %.0f over %g", r.FromNm, signal, stray)
	}
	if u, tilt, ok := r.UAt(r.FromNm); !ok || u < 0.09 || u > 0.11 || tilt == 0 {
		t.Errorf("u %.3f, tilt %.4f at the short end", u, tilt)
	}
}

func TestResponsesThatCannotBeAreRefusedInASentence(t *testing.T) {
	axis := evenAxis(380, 780, 1)
	ref, err := TungstenReference(2856, 20)
	if err != nil {
		t.Fatal(err)
	}
	good := filamentCounts(axis, ref, 0)
	lines := make([]float64, len(axis))
	for i, nm := range axis {
		for _, l := range mustLamp("neon").Lines {
			lines[i] += 5000 * math.Exp(-math.Pow((nm-l.Nm)/1.5, 2))
		}
	}
	clipped := make([]bool, len(axis))
	for i := range clipped {
		clipped[i] = good[i] > 10000
	}
	for _, c := range []struct {
		says   string
		counts []float64
		opt    ResponseOptions
	}{
		{"is it the line lamp", lines, ResponseOptions{}},
		{"holds no light", make([]float64, len(axis)), ResponseOptions{}},
		{"saturated", good, ResponseOptions{Clipped: clipped}},
		{"hidden in noise or stray", good, ResponseOptions{Stray: 1e6}},
		{"but 3 counts", good[:3], ResponseOptions{}},
	} {
		if _, err := NewResponse(axis, c.counts, ref, c.opt); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v, want %q", err, c.says)
		}
	}
	r, err := NewResponse(axis, good, ref, ResponseOptions{})
	if err != nil {
		t.Fatal(err)
	}
	r.Value[40] = 0
	if err := r.Check(); err == nil || !strings.Contains(err.Error(), "response is 0 at 420 nm") {
		t.Errorf("got %v", err)
	}
	r.Value[40] = 1
	if _, _, err := r.Correct([]float64{900, 910}, []float64{1, 1}); err == nil {
		t.Error("a spectrum outside the response was corrected")
	}
}

func TestACertificateIsFollowedBetweenItsPoints(t *testing.T) {
	planck, _ := PlanckReference(2856, 10)
	axis := evenAxis(380, 780, 20)
	values := make([]float64, len(axis))
	for i, nm := range axis {
		values[i], _ = planck.At(nm)
	}
	s, err := spectrum.New(spectrum.Relative, axis, values)
	if err != nil {
		t.Fatal(err)
	}
	ref, err := CertificateReference("certificate.csv", s, 0.01)
	if err != nil {
		t.Fatal(err)
	}
	for nm := 390.0; nm < 780; nm += 20 {
		got, _ := ref.At(nm)
		if want, _ := planck.At(nm); math.Abs(got/want-1) > 0.01 {
			t.Errorf("%g nm: %.4f, want %.4f", nm, got, want)
		}
	}
	values[3] = 0
	s, err = spectrum.New(spectrum.Relative, axis, values)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := CertificateReference("certificate.csv", s, 0.01); err == nil || !strings.Contains(err.Error(), "at 440 nm") {
		t.Errorf("got %v", err)
	}
}
