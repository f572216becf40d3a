package spectrum_test

import (
	"math"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func TestPeakAndWidthOfKnownShapes(t *testing.T) {
	gaussian := func(centre, fwhm, pitch float64) (c curve) {
		for k := -400; k <= 400; k++ {
			l := centre + float64(k)*pitch
			c.x = append(c.x, l)
			c.y = append(c.y, math.Exp(-4*math.Ln2*(l-centre)*(l-centre)/(fwhm*fwhm)))
		}
		return c
	}
	// Straight lines between samples at pitch p displace a Gaussian's half
	// height by p²/8 · f″/f′ at most: with σ = FWHM/2.355, 0.041 p²/σ a side.
	width := func(fwhm, pitch float64) float64 { return 2 * 0.041 * pitch * pitch / (fwhm / 2.3548) }
	for _, c := range []struct {
		name            string
		curve           curve
		peak, fwhm, tol float64
	}{
		{"triangle", curve{[]float64{500, 510, 520}, []float64{0, 1, 0}}, 510, 10, 1e-12},
		{"uneven triangle", curve{[]float64{500, 502, 520}, []float64{0, 4, 0}}, 502, 10, 1e-12},
		{"triangle on a floor", curve{[]float64{490, 500, 510, 520, 530}, []float64{.2, .2, 1, .2, .2}}, 510, 12.5, 1e-12},
		{"flat top", curve{[]float64{500, 501, 509, 510}, []float64{0, 1, 1, 0}}, 501, 9, 1e-12},
		{"taller of two", curve{[]float64{500, 510, 520, 530, 540}, []float64{0, 1, 0, 2, 0}}, 530, 10, 1e-12},
		{"Gaussian of 20 nm at 1 nm", gaussian(555, 20, 1), 555, 20, width(20, 1)},
		{"Gaussian of 20 nm at 0.25 nm", gaussian(555, 20, .25), 555, 20, width(20, .25)},
		{"Gaussian of 1 nm at 0.1 nm", gaussian(589, 1, .1), 589, 1, width(1, .1)},
		{"cut off above", curve{[]float64{500, 510, 520}, []float64{0, 1, .9}}, 510, nan, 0},
		{"cut off below", curve{[]float64{500, 510, 520}, []float64{.9, 1, 0}}, 510, nan, 0},
		{"rising", curve{[]float64{500, 510, 520}, []float64{0, 1, 2}}, 520, nan, 0},
		{"negative throughout", curve{[]float64{500, 510, 520}, []float64{-3, -1, -2}}, 510, nan, 0},
	} {
		p := project(t, c.curve, spectrum.Sampled)
		if p.Peak != c.peak {
			t.Errorf("%s: peak at %g nm, want %g", c.name, p.Peak, c.peak)
		}
		got := p.FWHM()
		if math.IsNaN(got) != math.IsNaN(c.fwhm) || math.Abs(got-c.fwhm) > c.tol {
			t.Errorf("%s: FWHM %.12g nm, want %g ± %.2g", c.name, got, c.fwhm, c.tol)
		}
	}
}

func TestNegativeIsAShareOfArea(t *testing.T) {
	for _, c := range []struct {
		name string
		x, y []float64
		want float64
		zero bool
	}{
		{"clean", []float64{500, 501, 502}, []float64{1, 2, 1}, 0, false},
		{"negative throughout", []float64{500, 501, 502}, []float64{-1, -2, -1}, 1, false},
		{"a quarter", []float64{500, 501, 502, 503}, []float64{0, -1, 3, 0}, 0.25, false},
		// The sample at 510 nm stands for 10.5 nm, that at 511 nm for 5.5 nm.
		{"uneven axis", []float64{499, 500, 520, 521}, []float64{0, 1, -1, 0}, 0.5, false},
		{"uneven neighbours", []float64{490, 500, 501, 502}, []float64{0, 2, -11, 0}, 0.5, false},
		{"zero", []float64{500, 501}, []float64{0, 0}, 0, true},
		{"next to nothing is not zero", []float64{500, 500.1}, []float64{0, 5e-324}, 0, false},
	} {
		p := project(t, curve{c.x, c.y}, spectrum.Sampled)
		if math.Abs(p.Negative-c.want) > 1e-12 || p.Zero != c.zero {
			t.Errorf("%s: negative %g, zero %v; want %g, %v", c.name, p.Negative, p.Zero, c.want, c.zero)
		}
	}
}

func TestAnAxisFarBeyondTheGridIsReadWithinIt(t *testing.T) {
	// Flat at 1 from 100 nm to far infrared: b is 1 all over the grid.
	p := project(t, curve{[]float64{100, 1e15}, []float64{1, 1}}, spectrum.Sampled)
	for i, b := range p.B {
		if math.Abs(b-1) > 1e-9 {
			t.Fatalf("b at %d nm is %g", spectrum.GridFirst+i, b)
		}
	}
	if !p.Covers(200, 1400) || p.Covers(99, 1400) {
		t.Error("coverage is not the axis'")
	}
}

func TestAProjectorServesEverySpectrumOnItsAxis(t *testing.T) {
	c := curve{[]float64{500, 500.7, 502, 503.1}, []float64{1, 3, -1, 2}}
	pr, err := spectrum.NewProjector(c.x, spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	c.x[0] = 1 // the projector keeps its own
	if pr.Axis()[0] != 500 || pr.Kind() != spectrum.Sampled {
		t.Fatalf("axis %v, kind %v", pr.Axis(), pr.Kind())
	}
	var used, fresh spectrum.Projected
	pr.Project(&used, []float64{9, 9, 9, 9})
	pr.Project(&used, c.y)
	pr.Project(&fresh, c.y)
	if used != fresh {
		t.Error("a used destination does not give what a fresh one does")
	}
	if widest := c.x[2] - c.x[1]; fresh.Pitch != widest {
		t.Errorf("pitch %g nm, want the widest", fresh.Pitch)
	}
	defer func() {
		if recover() == nil {
			t.Error("too few values did not panic")
		}
	}()
	pr.Project(&fresh, c.y[:3])
}

// The wanted figure, 523.5 lm/W, is the doublet's own: 683.002·(2V(588.995) +
// V(589.592))/3, lines of NIST SRD 78 at two to one, V(λ) of CIE 018:2019.
const sodiumDoublet = 523.5

func TestSodiumLightIsWorthTheSameHoweverItIsSampled(t *testing.T) {
	v := standards.V()
	efficacy := func(c curve) float64 {
		p := project(t, c, spectrum.Sampled)
		return 683.002 * v.Of(p) / p.Total
	}
	lines := []struct{ nm, part float64 }{{588.995, 2. / 3}, {589.592, 1. / 3}}
	for _, fwhm := range []float64{0.1, 0.3, 1, 2, 3} {
		sigma := fwhm / 2.3548
		doublet := func(l float64) (s float64) {
			for _, d := range lines {
				z := (l - d.nm) / sigma
				s += d.part * math.Exp(-z*z/2) / (sigma * math.Sqrt(2*math.Pi))
			}
			return s
		}
		for _, phase := range []float64{0, .13, .37, .5, .71, .94} {
			// Points of the curve, two or more to a width.
			for _, pitch := range []float64{fwhm / 2, fwhm / 3, fwhm / 10} {
				var c curve
				for l := 570 + phase*pitch; l < 610; l += pitch {
					c.x, c.y = append(c.x, l), append(c.y, doublet(l))
				}
				near(t, "points", efficacy(c), sodiumDoublet, 1, 1)
			}
			// Samples that keep energy and centroid, as coarse as 2 nm: each
			// takes in the curve by a triangle of its own pitch.
			for _, pitch := range []float64{0.25, 0.5, 1, 2} {
				var c curve
				for l := 570 + phase*pitch; l < 610; l += pitch {
					sum, half := 0.0, 400
					for k := -half; k < half; k++ {
						u := (float64(k) + .5) / float64(half)
						sum += doublet(l+u*pitch) * (1 - math.Abs(u)) / float64(half)
					}
					c.x, c.y = append(c.x, l), append(c.y, sum)
				}
				near(t, "energy and centroid", efficacy(c), sodiumDoublet, 1, 1)
			}
		}
	}
	// A line picked at single points of a table too coarse for it has lost
	// more than the tolerance: the test above can fail.
	worst := 0.0
	for phase := 0.0; phase < 5; phase += .1 {
		var c curve
		for l := 560 + phase; l < 620; l += 5 {
			z := (l - 588.995) / .85
			c.x, c.y = append(c.x, l), append(c.y, math.Exp(-z*z/2)+1e-12)
		}
		worst = max(worst, math.Abs(efficacy(c)-sodiumDoublet))
	}
	if worst < 5 {
		t.Errorf("points 5 nm apart of a 2 nm line are wrong by %.2g lm/W at most: the test has no teeth", worst)
	}
}

func axis2048() []float64 {
	x := make([]float64, 2048)
	for i := range x { // a diode array: 340–1030 nm, pitch falling from .38 to .30 nm
		p := float64(i)
		x[i] = 339.91 + .3801*p - 2.0e-5*p*p
	}
	return x
}

func TestProjectingAllocatesNothing(t *testing.T) {
	x := axis2048()
	y := make([]float64, len(x))
	for i := range y {
		y[i] = standards.Planck(x[i], 2856)
	}
	pr, err := spectrum.NewProjector(x, spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	p, v := new(spectrum.Projected), standards.V()
	if n := testing.AllocsPerRun(100, func() { pr.Project(p, y); v.Of(p) }); n != 0 {
		t.Errorf("%g allocations a projection", n)
	}
}

func BenchmarkProject2048(b *testing.B) {
	x := axis2048()
	y := make([]float64, len(x))
	for i := range y {
		y[i] = float64(i % 97)
	}
	pr, err := spectrum.NewProjector(x, spectrum.Sampled)
	if err != nil {
		b.Fatal(err)
	}
	p := new(spectrum.Projected)
	b.ReportAllocs()
	for b.Loop() {
		pr.Project(p, y)
	}
}

func BenchmarkNewProjector2048(b *testing.B) {
	x := axis2048()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := spectrum.NewProjector(x, spectrum.Sampled); err != nil {
			b.Fatal(err)
		}
	}
}
