package appearance

import (
	"context"
	"errors"
	"image"
	"image/color"
	"math"
	"testing"

	"pgregory.net/rapid"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func illuminant(t testing.TB, name string) *spectrum.Projected {
	t.Helper()
	il, err := standards.IlluminantByName(name)
	if err != nil {
		t.Fatal(err)
	}
	p, err := il.Spectrum.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// line is a triangle 0.2 nm wide.
func line(t testing.TB, nm float64) *spectrum.Projected {
	t.Helper()
	s, err := spectrum.New(spectrum.Relative, []float64{nm - 0.2, nm - 0.1, nm, nm + 0.1, nm + 0.2}, []float64{0, 0, 1, 0, 0})
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func scene(t testing.TB, p *spectrum.Projected, o Options) *Scene {
	t.Helper()
	s, err := New(p, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func anyColour(t *rapid.T) color.NRGBA {
	b := rapid.Byte()
	return color.NRGBA{b.Draw(t, "r"), b.Draw(t, "g"), b.Draw(t, "b"), 255}
}

func TestEveryNodeHasItsColourUnderDaylight(t *testing.T) {
	if missed := prepared().missed; missed > 2e-6 {
		t.Errorf("a node misses its colour by %g of a channel", missed)
	}
}

func TestReflectancesLieBetweenNothingAndAll(t *testing.T) {
	n := prepared()
	for f := range n.grid {
		for l := range n.grid[f] {
			for i := range n.grid[f][l] {
				for k, rho := range n.grid[f][l][i] {
					if !(rho >= 0 && rho <= 1) {
						t.Fatalf("face %d, level %d, node %d: ρ = %g at %d nm", f, l, i, rho, latticeFirst+k*latticeStep)
					}
				}
			}
		}
	}
}

// What a surface does not send back is the complement: the space knows it, since
// ρ(−U) = 1 − ρ(U).
func TestAColourAndItsComplementShareTheLight(t *testing.T) {
	w := channels()
	for _, c := range [][3]float64{{1, 0, 0}, {0.2, 0.7, 0.4}, {0.9, 0.6, 0.1}} {
		a, missA := solve(w, c)
		b, missB := solve(w, [3]float64{1 - c[0], 1 - c[1], 1 - c[2]})
		var x, y lattice
		a.reflectance(&x, nil)
		b.reflectance(&y, nil)
		for i := range x {
			if math.Abs(x[i]+y[i]-1) > 1e-3 {
				t.Errorf("%v: %.4f and %.4f at %d nm, missed %g and %g", c, x[i], y[i], latticeFirst+i*latticeStep, missA, missB)
				break
			}
		}
	}
}

// Mixing nodes is linear, so a colour between them comes back too. One level of
// eight bits is what rounding may take.
func TestUnderDaylightEveryColourStays(t *testing.T) {
	s := scene(t, illuminant(t, "D65"), Options{})
	adapted := scene(t, illuminant(t, "D65"), Options{Adapted: true})
	rapid.Check(t, func(t *rapid.T) {
		c := anyColour(t)
		for _, got := range []color.NRGBA{s.Colour(c), adapted.Colour(c)} {
			for _, d := range []int{int(got.R) - int(c.R), int(got.G) - int(c.G), int(got.B) - int(c.B)} {
				if d < -1 || d > 1 {
					t.Fatalf("%v became %v", c, got)
				}
			}
		}
	})
}

// Under light of one wavelength every surface is that colour, from black to
// bright, and nothing else.
func TestOneWavelengthGivesOneHueFromBlackToBright(t *testing.T) {
	for _, nm := range []float64{589.3, 532, 450, 633} {
		s := scene(t, line(t, nm), Options{})
		white := s.XYZ(1, 1, 1)
		wx, wy := white.XY()
		rapid.Check(t, func(t *rapid.T) {
			c := anyColour(t)
			got := s.XYZ(linear[c.R], linear[c.G], linear[c.B])
			if c.R|c.G|c.B == 0 {
				if got != (colorimetry.XYZ{}) {
					t.Fatalf("%g nm: black became %v", nm, got)
				}
				return
			}
			// A line counts as the whole nanometres on either side of it.
			if x, y := got.XY(); math.Abs(x-wx) > 5e-4 || math.Abs(y-wy) > 5e-4 {
				t.Fatalf("%g nm: %v has x %.6f, y %.6f, white %.6f, %.6f", nm, c, x, y, wx, wy)
			}
			if got.Y < 0 || got.Y > white.Y*(1+1e-12) {
				t.Fatalf("%g nm: %v has Y %g, white %g", nm, c, got.Y, white.Y)
			}
		})
		if got, want := s.Colour(color.NRGBA{255, 255, 255, 255}), colorimetry.LightSwatch(white); got != want {
			t.Errorf("%g nm: white paper is %v, the light itself %v", nm, got, want)
		}
		if got := s.Colour(color.NRGBA{0, 0, 0, 255}); got != (color.NRGBA{0, 0, 0, 255}) {
			t.Errorf("%g nm: black is %v", nm, got)
		}
		// From black to bright: greys climb to the white, each no darker.
		last := -1
		for v := range 256 {
			c := s.Colour(color.NRGBA{uint8(v), uint8(v), uint8(v), 255})
			if sum := int(c.R) + int(c.G) + int(c.B); sum < last {
				t.Fatalf("%g nm: grey %d is darker than the one before", nm, v)
			} else {
				last = sum
			}
		}
	}
}

func TestPaperIsWhiteToAnEyeUsedToTheLight(t *testing.T) {
	for _, name := range []string{"A", "FL2", "FL11", "HP1", "LED-B3", "D65"} {
		s := scene(t, illuminant(t, name), Options{Adapted: true})
		if got := s.Colour(color.NRGBA{255, 255, 255, 255}); got != (color.NRGBA{255, 255, 255, 255}) {
			t.Errorf("%s: %v", name, got)
		}
	}
}

func TestPaperHasTheColourOfTheLightToAnEyeThatIsNot(t *testing.T) {
	for _, name := range []string{"A", "FL2", "FL11", "HP1", "LED-B3"} {
		p := illuminant(t, name)
		s := scene(t, p, Options{})
		want := colorimetry.LightSwatch(colorimetry.Tristimulus(standards.CIE1931(), p))
		if got := s.Colour(color.NRGBA{255, 255, 255, 255}); got != want {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
	}
}

// A flat surface of 0.5 sends back half of every light.
func TestASurfaceIsMeasuredAgainstPaper(t *testing.T) {
	s := scene(t, illuminant(t, "FL11"), Options{})
	half := []float64{0.5, 0.5, 0.5}
	if got, want := s.Surface(380, 200, half), colorimetry.Swatch(s.XYZ(0.5, 0.5, 0.5)); got != want {
		t.Errorf("half: %v, want %v", got, want)
	}
}

// The surface that was made up for a daylight colour must say more of what a
// light does to a measured surface of that colour than leaving the colour as it
// is would say: for the test-colour samples of CIE 13.3, to an eye used to the
// light, in CAM02-UCS.
func TestMadeUpSurfacesSayMoreThanNoSimulation(t *testing.T) {
	samples := standards.TCS()
	daylight := scene(t, illuminant(t, "D65"), Options{})
	cam := colorimetry.NewCAM02(colorimetry.D65().Scale(100), 100, 20, colorimetry.Average)
	difference := func(c, d colorimetry.XYZ) float64 {
		j1, a1, b1 := cam.UCS(c.Scale(100))
		j2, a2, b2 := cam.UCS(d.Scale(100))
		return math.Sqrt((j1-j2)*(j1-j2) + (a1-a2)*(a1-a2) + (b1-b2)*(b1-b2))
	}
	for _, name := range []string{"A", "FL2", "FL11", "HP1", "HP3", "LED-B1"} {
		lamp := scene(t, illuminant(t, name), Options{Adapted: true})
		var simulated, left float64
		for _, r := range samples.R {
			rho := surface(samples.First, samples.Step, r)
			before := daylight.screen(daylight.under(&rho))
			red, green, blue := colorimetry.SRGBFromXYZ(before)
			truth := lamp.screen(lamp.under(&rho))
			simulated += difference(lamp.XYZ(max(0, red), max(0, green), max(0, blue)), truth) / float64(len(samples.R))
			left += difference(before, truth) / float64(len(samples.R))
		}
		t.Logf("%s: mean ΔE′ %.2f simulated, %.2f left as it was", name, simulated, left)
		if simulated >= left {
			t.Errorf("%s: mean ΔE′ %.2f, and %.2f without any simulation", name, simulated, left)
		}
	}
}

func TestADarkLightIsRefused(t *testing.T) {
	if _, err := New(new(spectrum.Projected), Options{}); !errors.Is(err, ErrDark) {
		t.Errorf("got %v", err)
	}
}

func TestAPictureIsItsPixelsAndKeepsItsOpacity(t *testing.T) {
	s := scene(t, illuminant(t, "HP1"), Options{})
	src := image.NewNRGBA(image.Rect(3, 5, 20, 12))
	for i := range src.Pix {
		src.Pix[i] = uint8(i * 37)
	}
	got, err := s.Image(context.Background(), src)
	if err != nil {
		t.Fatal(err)
	}
	if got.Bounds() != image.Rect(0, 0, 17, 7) {
		t.Fatalf("bounds %v", got.Bounds())
	}
	for y := range 7 {
		for x := range 17 {
			if want := s.Colour(src.NRGBAAt(x+3, y+5)); got.NRGBAAt(x, y) != want {
				t.Fatalf("%d, %d: %v, want %v", x, y, got.NRGBAAt(x, y), want)
			}
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := s.Image(ctx, src); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

func TestLevelsHoldTheirValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(levels[0], 1).Draw(t, "v")
		i, f := level(v)
		if back := levels[i]*(1-f) + levels[i+1]*f; f < 0 || f > 1 || math.Abs(back-v) > 1e-12 {
			t.Fatalf("%g came back as %g", v, back)
		}
	})
}

func TestCellsHoldTheirValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0, 1).Draw(t, "v")
		i, f := cell(v)
		if i < 0 || i > side-2 || f < -1e-12 || f > 1+1e-12 {
			t.Fatalf("%g: node %d, %g on", v, i, f)
		}
		if back := place(i)*(1-f) + place(i+1)*f; math.Abs(back-v) > 1e-12 {
			t.Fatalf("%g came back as %g", v, back)
		}
	})
}

func BenchmarkColour(b *testing.B) {
	s := scene(b, illuminant(b, "FL11"), Options{})
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		s.Colour(color.NRGBA{uint8(i), uint8(i >> 3), uint8(i >> 6), 255})
	}
}

func BenchmarkNew(b *testing.B) {
	p := illuminant(b, "FL11")
	scene(b, p, Options{})
	b.ResetTimer()
	for b.Loop() {
		scene(b, p, Options{})
	}
}
