package calibration

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func someDispersion(t *rapid.T) Dispersion {
	d := Dispersion{Model: Polynomial, Pixels: rapid.IntRange(64, 4096).Draw(t, "pixels")}
	if rapid.Bool().Draw(t, "grating") {
		d.Model, d.Kappa = Grating, rapid.Float64Range(0.05, 0.5).Draw(t, "kappa")
		span := rapid.Float64Range(100, 400).Draw(t, "span")
		d.Coefficients = []float64{300, 300, span / d.Kappa}
		return d
	}
	d.Coefficients = []float64{600, rapid.Float64Range(100, 300).Draw(t, "slope"), rapid.Float64Range(-20, 20).Draw(t, "bend"), rapid.Float64Range(-5, 5).Draw(t, "twist")}
	return d
}

func TestPixelAtIsTheInverseOfAt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := someDispersion(t)
		if err := d.Check(); err != nil {
			t.Fatal(err)
		}
		p := rapid.Float64Range(0, float64(d.Pixels-1)).Draw(t, "pixel")
		if back := d.PixelAt(d.At(p)); math.Abs(back-p) > 1e-6 {
			t.Errorf("pixel %g came back as %g", p, back)
		}
		h := 1e-3
		if slope := (d.At(p+h) - d.At(p-h)) / (2 * h); math.Abs(d.Slope(p)/slope-1) > 1e-5 {
			t.Errorf("slope %g, differences say %g", d.Slope(p), slope)
		}
	})
}

func TestAShiftedDispersionGivesMovedLinesTheirWavelength(t *testing.T) {
	d := Dispersion{Model: Polynomial, Pixels: 1000, Coefficients: []float64{600, 200, 10}}
	moved := d.Shifted(2.5)
	if a, b := moved.At(502.5), d.At(500); math.Abs(a-b) > 1e-12 {
		t.Errorf("%.6f nm, want %.6f nm", a, b)
	}
}

func TestFaultyDispersionsAreNamed(t *testing.T) {
	for says, d := range map[string]Dispersion{
		"backwards":      {Model: Polynomial, Pixels: 100, Coefficients: []float64{600, -200}},
		"at least 8":     {Model: Polynomial, Pixels: 2, Coefficients: []float64{600, 200}},
		"2 to 5":         {Model: Polynomial, Pixels: 100, Coefficients: []float64{600}},
		"3 coefficients": {Model: Grating, Pixels: 100, Coefficients: []float64{600, 200}, Kappa: 0.2},
		"unknown":        {Model: "spline", Pixels: 100},
		"starts at":      {Model: Polynomial, Pixels: 100, Coefficients: []float64{100, 200}},
	} {
		if err := d.Check(); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%+v: %v, want %q", d, err, says)
		}
	}
}

// tiesOf reads ties off a true axis at a lamp's lines.
func tiesOf(truth func(x float64) float64, noise float64) []tie {
	r := rand.New(rand.NewPCG(3, 4))
	var ties []tie
	for k := range 18 {
		x := -0.95 + 1.9*float64(k)/17
		ties = append(ties, tie{(x + 1) * 511.5, truth(x) + noise*r.NormFloat64(), max(noise, 1e-4), false})
	}
	return ties
}

func TestTheLawIsChosenByWhatItHasNotSeen(t *testing.T) {
	for _, c := range []struct {
		name  string
		truth func(x float64) float64
		law   string
	}{
		{"straight", func(x float64) float64 { return 600 + 250*x }, "straight line"},
		{"parabola", func(x float64) float64 { return 600 + 250*x - 12*x*x }, "polynomial of order 2"},
		{"cubic", func(x float64) float64 { return 600 + 250*x - 12*x*x + 9*x*x*x }, "polynomial of order 3"},
	} {
		f, ok := chooseDispersion(1024, tiesOf(c.truth, 0.01), "")
		if !ok || f.name != c.law {
			t.Errorf("%s: chose %q", c.name, f.name)
		}
	}
}

func TestAGratingIsFollowedByItsOwnEquation(t *testing.T) {
	// 600 lines per mm, 17° incidence, a camera of 0.35 rad to either side.
	const d, kappa, phi = 1e6 / 600, 0.35, 0.06
	truth := func(x float64) float64 {
		return d * (math.Sin(17*math.Pi/180) + math.Sin(phi+math.Atan(kappa*x)))
	}
	g, _, ok := gratingThrough(1024, tiesOf(truth, 0))
	if !ok {
		t.Fatal("no fit")
	}
	cubic, ok := fitPolynomial(1024, tiesOf(truth, 0), 3)
	if !ok {
		t.Fatal("no fit")
	}
	worst := func(d Dispersion) float64 {
		w := 0.0
		for x := -1.1; x <= 1.1; x += 0.02 { // beyond the lines as well
			w = max(w, math.Abs(d.At((x+1)*511.5)-truth(x)))
		}
		return w
	}
	if a, b := worst(g), worst(cubic.dispersion); a > 0.02 || a > b/5 {
		t.Errorf("grating equation off by %.3f nm, cubic by %.3f nm", a, b)
	}
}
