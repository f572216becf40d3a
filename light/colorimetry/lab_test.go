package colorimetry

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Sharma, Wu & Dalal, Color Res. Appl. 30 (2005) 21, Table 1. Pairs 1 to 5 were
// checked second-hand; the others are stated from memory.
var sharma = []struct {
	p, q Lab
	de   float64
}{
	{Lab{50, 2.6772, -79.7751}, Lab{50, 0, -82.7485}, 2.0425},
	{Lab{50, 3.1571, -77.2803}, Lab{50, 0, -82.7485}, 2.8615},
	{Lab{50, 2.8361, -74.0200}, Lab{50, 0, -82.7485}, 3.4412},
	{Lab{50, -1.3802, -84.2814}, Lab{50, 0, -82.7485}, 1.0000},
	{Lab{50, -1.1848, -84.8006}, Lab{50, 0, -82.7485}, 1.0000},
	{Lab{50, -0.9009, -85.5211}, Lab{50, 0, -82.7485}, 1.0000},
	{Lab{50, 0, 0}, Lab{50, -1, 2}, 2.3669},
	{Lab{50, -1, 2}, Lab{50, 0, 0}, 2.3669},
	{Lab{50, 2.4900, -0.0010}, Lab{50, -2.4900, 0.0009}, 7.1792},
	{Lab{50, 2.4900, -0.0010}, Lab{50, -2.4900, 0.0010}, 7.1792},
	{Lab{50, 2.4900, -0.0010}, Lab{50, -2.4900, 0.0011}, 7.2195},
	{Lab{50, 2.4900, -0.0010}, Lab{50, -2.4900, 0.0012}, 7.2195},
	{Lab{50, -0.0010, 2.4900}, Lab{50, 0.0009, -2.4900}, 4.8045},
	{Lab{50, -0.0010, 2.4900}, Lab{50, 0.0010, -2.4900}, 4.8045},
	{Lab{50, -0.0010, 2.4900}, Lab{50, 0.0011, -2.4900}, 4.7461},
	{Lab{50, 2.5, 0}, Lab{50, 0, -2.5}, 4.3065},
	{Lab{50, 2.5, 0}, Lab{73, 25, -18}, 27.1492},
	{Lab{50, 2.5, 0}, Lab{61, -5, 29}, 22.8977},
	{Lab{50, 2.5, 0}, Lab{56, -27, -3}, 31.9030},
	{Lab{50, 2.5, 0}, Lab{58, 24, 15}, 19.4535},
	{Lab{50, 2.5, 0}, Lab{50, 3.1736, 0.5854}, 1.0000},
	{Lab{50, 2.5, 0}, Lab{50, 3.2972, 0}, 1.0000},
	{Lab{50, 2.5, 0}, Lab{50, 1.8634, 0.5757}, 1.0000},
	{Lab{50, 2.5, 0}, Lab{50, 3.2592, 0.3350}, 1.0000},
	{Lab{60.2574, -34.0099, 36.2677}, Lab{60.4626, -34.1751, 39.4387}, 1.2644},
	{Lab{63.0109, -31.0961, -5.8663}, Lab{62.8187, -29.7946, -4.0864}, 1.2630},
	{Lab{61.2901, 3.7196, -5.3901}, Lab{61.4292, 2.2480, -4.9620}, 1.8731},
	{Lab{35.0831, -44.1164, 3.7933}, Lab{35.0232, -40.0716, 1.5901}, 1.8645},
	{Lab{22.7233, 20.0904, -46.6940}, Lab{23.0331, 14.9730, -42.5619}, 2.0373},
	{Lab{36.4612, 47.8580, 18.3852}, Lab{36.2715, 50.5065, 21.2231}, 1.4146},
	{Lab{90.8027, -2.0831, 1.4410}, Lab{91.1528, -1.6435, 0.0447}, 1.4441},
	{Lab{90.9257, -0.5406, -0.9208}, Lab{88.6381, -0.8985, -0.7239}, 1.5381},
	{Lab{6.7747, -0.2908, -2.4247}, Lab{5.8714, -0.0985, -2.2286}, 0.6377},
	{Lab{2.0776, 0.0795, -1.1350}, Lab{0.9033, -0.0636, -0.5514}, 0.9082},
}

func TestCIEDE2000OfSharmasPairs(t *testing.T) {
	for i, c := range sharma {
		if de := DeltaE2000(c.p, c.q); !near(de, c.de, 5e-5) {
			t.Errorf("pair %d: %.5f, published %.4f", i+1, de, c.de)
		}
		if de := DeltaE2000(c.q, c.p); !near(de, c.de, 5e-5) {
			t.Errorf("pair %d turned round: %.5f, published %.4f", i+1, de, c.de)
		}
	}
}

// Computed by hand from the first three pairs.
func TestCIE76IsTheDistance(t *testing.T) {
	for i, want := range []float64{4.0011, 6.3142, 9.1777} {
		if de := DeltaE76(sharma[i].p, sharma[i].q); !near(de, want, 5e-5) {
			t.Errorf("pair %d: %.5f, want %g", i+1, de, want)
		}
	}
}

func TestLabOfWhiteGreyAndTheKnee(t *testing.T) {
	white := XYZ{96.42, 100, 82.51}
	for _, c := range []struct{ y, l float64 }{
		{100, 100},
		{100 * math.Pow(66.0/116, 3), 50},    // 116·∛(Y/Yn) − 16 solved for 50
		{100 * math.Pow(24.0/116, 3), 8},     // the knee, from the cube root
		{100 * 0.5 * 108 / 841 * 8 / 116, 4}, // half of that, on the straight line
		{0, 0},
	} {
		got := LabFromXYZ(white.Scale(c.y/100), white)
		if !near(got.L, c.l, 1e-12) || !near(got.A, 0, 1e-12) || !near(got.B, 0, 1e-12) {
			t.Errorf("Y = %g: %+v, want L* = %g", c.y, got, c.l)
		}
	}
	if below, above := labRoot(math.Pow(24.0/116, 3)), labRoot(math.Nextafter(math.Pow(24.0/116, 3), 1)); !near(below, above, 1e-15) {
		t.Errorf("the knee jumps from %.17g to %.17g", below, above)
	}
}

func TestColourDifferencesAreSymmetricAndVanishOnlyAtHome(t *testing.T) {
	lab := rapid.Custom(func(r *rapid.T) Lab {
		f := rapid.Float64Range(-120, 120)
		return Lab{rapid.Float64Range(0, 100).Draw(r, "L"), f.Draw(r, "a"), f.Draw(r, "b")}
	})
	rapid.Check(t, func(r *rapid.T) {
		p, q, s := lab.Draw(r, "p"), lab.Draw(r, "q"), lab.Draw(r, "s")
		for name, d := range map[string]func(a, b Lab) float64{"CIE76": DeltaE76, "CIEDE2000": DeltaE2000} {
			if forth, back := d(p, q), d(q, p); !near(forth, back, 1e-9) || forth < 0 {
				r.Errorf("%s: %g one way, %g the other", name, forth, back)
			}
			if d(p, p) != 0 {
				r.Errorf("%s: %g from itself", name, d(p, p))
			}
			if p != q && DeltaE76(p, q) > 1e-6 && d(p, q) <= 0 {
				r.Errorf("%s: %v and %v are no distance apart", name, p, q)
			}
		}
		if DeltaE76(p, s) > DeltaE76(p, q)+DeltaE76(q, s)+1e-9 {
			r.Errorf("CIE76 is longer straight than by way of %v", q)
		}
	})
}
