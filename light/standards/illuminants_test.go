package standards

import (
	"fmt"
	"math"
	"testing"
)

// xy is the chromaticity by the plain sum Σ S x̄ over the entries from 380 nm to
// 780 nm, the range of the published figures.
func xy(il Illuminant) (x, y float64) {
	o := CIE1931()
	var X, Y, Z float64
	for i, l := range il.Spectrum.Axis() {
		if l < 380 || l > 780 {
			continue
		}
		s := il.Spectrum.Values()[i]
		X += s * o.X.At(l)
		Y += s * o.Y.At(l)
		Z += s * o.Z.At(l)
	}
	return X / (X + Y + Z), Y / (X + Y + Z)
}

// CIE 15:2018, tables of the illuminants: chromaticity for the 2° observer. C is
// that of CIE 15:2004. A, D50 and D65 are given to five decimals.
var published = []struct {
	name string
	x, y float64
	tol  float64
}{
	{"A", .44758, .40745, 1e-5}, {"D65", .31272, .32903, 1e-5}, {"D50", .34567, .35851, 1e-5},
	{"C", .3101, .3162, 6e-5},
	{"FL1", .3131, .3371, 6e-5}, {"FL2", .3721, .3751, 6e-5}, {"FL3", .4091, .3941, 6e-5},
	{"FL4", .4402, .4031, 6e-5}, {"FL5", .3138, .3452, 6e-5}, {"FL6", .3779, .3882, 6e-5},
	{"FL7", .3129, .3292, 6e-5}, {"FL8", .3458, .3586, 6e-5}, {"FL9", .3741, .3727, 6e-5},
	{"FL10", .3458, .3588, 6e-5}, {"FL11", .3805, .3769, 6e-5}, {"FL12", .4370, .4042, 6e-5},
	{"FL3.1", .4407, .4033, 6e-5}, {"FL3.2", .3808, .3734, 6e-5}, {"FL3.3", .3153, .3439, 6e-5},
	{"FL3.4", .4429, .4043, 6e-5}, {"FL3.5", .3749, .3672, 6e-5}, {"FL3.6", .3488, .3600, 6e-5},
	{"FL3.7", .4384, .4045, 6e-5}, {"FL3.8", .3820, .3832, 6e-5}, {"FL3.9", .3499, .3591, 6e-5},
	{"FL3.10", .3455, .3560, 6e-5}, {"FL3.11", .3245, .3434, 6e-5}, {"FL3.12", .4377, .4037, 6e-5},
	{"FL3.13", .3830, .3724, 6e-5}, {"FL3.14", .3447, .3609, 6e-5}, {"FL3.15", .3127, .3288, 6e-5},
	{"HP1", .5330, .4150, 6e-5}, {"HP2", .4778, .4158, 6e-5}, {"HP3", .4302, .4075, 6e-5},
	{"HP4", .3812, .3797, 6e-5}, {"HP5", .3776, .3713, 6e-5},
	{"LED-B1", .4560, .4078, 6e-5}, {"LED-B2", .4357, .4012, 6e-5}, {"LED-B3", .3756, .3723, 6e-5},
	{"LED-B4", .3422, .3502, 6e-5}, {"LED-B5", .3118, .3236, 6e-5}, {"LED-BH1", .4474, .4066, 6e-5},
	{"LED-RGB1", .4557, .4211, 6e-5}, {"LED-V1", .4548, .4044, 6e-5}, {"LED-V2", .3781, .3775, 6e-5},
}

func TestEveryIlluminantHasItsPublishedChromaticity(t *testing.T) {
	if len(published) != len(Illuminants()) {
		t.Errorf("%d illuminants are carried, %d are checked", len(Illuminants()), len(published))
	}
	for _, c := range published {
		il, err := IlluminantByName(c.name)
		if err != nil {
			t.Error(err)
			continue
		}
		x, y := xy(il)
		near(t, c.name+" x", x, c.x, c.tol)
		near(t, c.name+" y", y, c.y, c.tol)
	}
}

func TestIlluminantsAnswerToTheirNames(t *testing.T) {
	for _, c := range []struct{ asked, want string }{
		{"led b1", "LED-B1"}, {"LED_RGB1", "LED-RGB1"}, {"fl3.1", "FL3.1"}, {"FL3", "FL3"}, {"d65", "D65"}, {"a", "A"},
	} {
		il, err := IlluminantByName(c.asked)
		if err != nil || il.Name != c.want {
			t.Errorf("%q is %q, %v; want %s", c.asked, il.Name, err, c.want)
		}
	}
	for _, name := range []string{"", "F11", "D66", "fl31"} {
		if il, err := IlluminantByName(name); err == nil {
			t.Errorf("%q is taken for %s", name, il.Name)
		}
	}
}

func TestIlluminantAIsPlancksLaw(t *testing.T) {
	// ISO/CIE 11664-2:2022: 100 (560/λ)⁵ (e^(1.435e7/(2848·560)) − 1) /
	// (e^(1.435e7/(2848 λ)) − 1), to six significant digits.
	rule := func(l float64) float64 {
		return 100 * math.Pow(560/l, 5) * math.Expm1(1.435e7/(2848*560)) / math.Expm1(1.435e7/(2848*l))
	}
	fine, coarse := mustLoad("illuminant_a"), mustLoad("illuminant_a_d65")
	for _, table := range []*Table{fine, coarse} {
		for i, l := range table.Nm {
			near(t, fmt.Sprintf("A at %g nm", l), table.column("A")[i]/rule(l), 1, 1e-5)
		}
	}
	// With today's c2 the same light is a Planckian radiator's at about 2855.5 K.
	kelvin := 2848 * 1.4388 / 1.435
	for _, l := range []float64{300, 450, 700, 830} {
		near(t, "A as Planckian", Planck(l, kelvin)/Planck(560, kelvin), rule(l)/100, 1e-9*rule(l))
	}
}

func TestDaylightComponentsRebuildD65AndD50(t *testing.T) {
	// CIE 15:2018, illuminants D, by which M1 and M2 are rounded to three decimals
	// before use. The tables hold four decimals.
	for _, c := range []struct {
		name, table string
		nominal     float64
		tol         float64
	}{
		{"D65", "illuminant_a_d65", 6500, .00085},
		{"D50", "illuminant_d50", 5000, .00006},
	} {
		m1, m2 := DaylightWeightsAt(c.nominal * 1.4388 / 1.4380)
		m1, m2 = math.Round(1000*m1)/1000, math.Round(1000*m2)/1000
		d, table := mustLoad("daylight"), mustLoad(c.table)
		for i, l := range table.Nm {
			s := d.Data[0][i] + m1*d.Data[1][i] + m2*d.Data[2][i]
			near(t, fmt.Sprintf("%s at %g nm", c.name, l), s, table.column(c.name)[i], c.tol)
		}
	}
}

func TestDaylightIsDefinedFrom4000To25000(t *testing.T) {
	for _, kelvin := range []float64{3999.9, 25000.1, 0, -1, math.NaN(), math.Inf(1)} {
		if _, _, err := DaylightChromaticity(kelvin); err != ErrDaylightRange {
			t.Errorf("%g K: error %v", kelvin, err)
		}
	}
	for _, kelvin := range []float64{4000, 25000} {
		if _, _, err := DaylightChromaticity(kelvin); err != nil {
			t.Errorf("%g K: %v", kelvin, err)
		}
	}
	// The two halves of the formula meet at 7000 K.
	below, above := 0.0, 0.0
	below, _, _ = DaylightChromaticity(7000)
	above, _, _ = DaylightChromaticity(math.Nextafter(7000, 8000))
	near(t, "x_D at 7000 K", above, below, 5e-5)
	// The formula passes within 0.0002 of the chromaticities that its own
	// illuminants, with their rounded M1 and M2, come out at.
	for _, c := range []struct{ nominal, x, y float64 }{{6500, .31272, .32903}, {5000, .34567, .35851}} {
		x, y, _ := DaylightChromaticity(c.nominal * 1.4388 / 1.4380)
		near(t, "x_D", x, c.x, 2e-4)
		near(t, "y_D", y, c.y, 2e-4)
	}
}
