package colorimetry

import (
	"math"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"

	"pgregory.net/rapid"
)

// Chromaticities of CIE 15:2018, second-hand; C from memory. Where a table goes
// beyond 380–780 nm the published figure is the sum over that range at 5 nm:
// summed so, every one agrees to half a unit of its last digit and 5e-6 for the
// rounding of the tables.
var publishedXY = []struct {
	name       string
	x, y, unit float64
}{
	{"A", .44758, .40745, 1e-5}, {"C", .31006, .31616, 1e-5},
	{"D50", .34567, .35851, 1e-5}, {"D65", .31272, .32903, 1e-5},
	{"FL1", .3131, .3371, 1e-4}, {"FL2", .3721, .3751, 1e-4},
	{"FL3", .4091, .3941, 1e-4}, {"FL4", .4402, .4031, 1e-4},
	{"FL5", .3138, .3452, 1e-4}, {"FL6", .3779, .3882, 1e-4},
	{"FL7", .3129, .3292, 1e-4}, {"FL8", .3458, .3586, 1e-4},
	{"FL9", .3741, .3727, 1e-4}, {"FL10", .3458, .3588, 1e-4},
	{"FL11", .3805, .3769, 1e-4}, {"FL12", .4370, .4042, 1e-4},
	{"FL3.1", .4407, .4033, 1e-4}, {"FL3.2", .3808, .3734, 1e-4},
	{"FL3.3", .3153, .3439, 1e-4}, {"FL3.4", .4429, .4043, 1e-4},
	{"FL3.5", .3749, .3672, 1e-4}, {"FL3.6", .3488, .3600, 1e-4},
	{"FL3.7", .4384, .4045, 1e-4}, {"FL3.8", .3820, .3832, 1e-4},
	{"FL3.9", .3499, .3591, 1e-4}, {"FL3.10", .3455, .3560, 1e-4},
	{"FL3.11", .3245, .3434, 1e-4}, {"FL3.12", .4377, .4037, 1e-4},
	{"FL3.13", .3830, .3724, 1e-4}, {"FL3.14", .3447, .3609, 1e-4},
	{"FL3.15", .3127, .3288, 1e-4},
	{"HP1", .5330, .4150, 1e-4}, {"HP2", .4778, .4158, 1e-4},
	{"HP3", .4302, .4075, 1e-4}, {"HP4", .3812, .3797, 1e-4},
	{"HP5", .3776, .3713, 1e-4},
	{"LED-B1", .4560, .4078, 1e-4}, {"LED-B2", .4357, .4012, 1e-4},
	{"LED-B3", .3756, .3723, 1e-4}, {"LED-B4", .3422, .3502, 1e-4},
	{"LED-B5", .3118, .3236, 1e-4}, {"LED-BH1", .4474, .4066, 1e-4},
	{"LED-RGB1", .4557, .4211, 1e-4}, {"LED-V1", .4548, .4044, 1e-4},
	{"LED-V2", .3781, .3775, 1e-4},
}

func TestIlluminantsHaveTheirPublishedChromaticity(t *testing.T) {
	o := standards.CIE1931()
	for _, c := range publishedXY {
		p := projected(t, c.name)
		clear(p.B[:380-spectrum.GridFirst])
		clear(p.B[781-spectrum.GridFirst:])
		x, y := Tristimulus(o, p).XY()
		if tol := c.unit/2 + 5e-6; !near(x, c.x, tol) || !near(y, c.y, tol) {
			t.Errorf("%s: %.6f, %.6f; published %g, %g", c.name, x, y, c.x, c.y)
		}
	}
}

// CIE 15:2018 publishes 1/3, 1/3 for illuminant E; the rounding of the
// colour-matching functions leaves 3e-5 of either observer.
func TestEqualEnergyIsOneThird(t *testing.T) {
	s, err := spectrum.New(spectrum.Relative, []float64{360, 830}, []float64{7, 7})
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range []*standards.Observer{standards.CIE1931(), standards.CIE1964()} {
		if x, y := Tristimulus(o, p).XY(); !near(x, 1.0/3, 5e-5) || !near(y, 1.0/3, 5e-5) {
			t.Errorf("%s: %.6f, %.6f", o.Name, x, y)
		}
	}
}

func TestTristimulusOfALineIsItsPowerTimesTheObserver(t *testing.T) {
	o := standards.CIE1931()
	p := new(spectrum.Projected)
	p.B[555-spectrum.GridFirst] = 3
	want := XYZ{3 * o.X.At(555), 3 * o.Y.At(555), 3 * o.Z.At(555)}
	if got := Tristimulus(o, p); got != want {
		t.Errorf("%v, want %v", got, want)
	}
}

func TestNoLightHasNoChromaticity(t *testing.T) {
	for _, c := range []XYZ{{}, {-1, -1, -1}, {1, -1, 0}, {math.NaN(), 1, 1}} {
		x, y := c.XY()
		u, v := c.UV()
		up, vp := c.UVPrime()
		for _, f := range []float64{x, y, u, v, up, vp} {
			if !math.IsNaN(f) {
				t.Errorf("%v: %g", c, f)
			}
		}
	}
}

// colour draws a real colour: a positive Y and a chromaticity inside the
// triangle of the axes, away from its edges.
func colour(r *rapid.T) XYZ {
	x := rapid.Float64Range(0.02, 0.7).Draw(r, "x")
	y := rapid.Float64Range(0.02, 0.97-x).Draw(r, "y")
	return XYZFromXY(x, y, rapid.Float64Range(1e-3, 1e3).Draw(r, "Y"))
}

func TestChromaticitiesConvertBothWaysAndDoNotKnowTheScale(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		c := colour(r)
		x, y := c.XY()
		u, v := c.UV()
		up, vp := c.UVPrime()
		if bx, by := XYFromUV(u, v); !near(bx, x, 1e-13) || !near(by, y, 1e-13) {
			r.Errorf("uv and back: %g, %g became %g, %g", x, y, bx, by)
		}
		if up != u || !near(vp, 1.5*v, 1e-15) {
			r.Errorf("u′v′ %g, %g beside uv %g, %g", up, vp, u, v)
		}
		back := XYZFromXY(x, y, c.Y)
		if !near(back.X/c.X, 1, 1e-12) || !near(back.Z/c.Z, 1, 1e-12) || back.Y != c.Y {
			r.Errorf("%v became %v", c, back)
		}
		k := rapid.Float64Range(1e-6, 1e6).Draw(r, "k")
		if sx, sy := c.Scale(k).XY(); !near(sx, x, 1e-14) || !near(sy, y, 1e-14) {
			r.Errorf("scaled by %g: %g, %g became %g, %g", k, x, y, sx, sy)
		}
	})
}
