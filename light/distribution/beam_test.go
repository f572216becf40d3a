package distribution

import (
	"math"
	"testing"
)

func TestBeamAndFieldAngle(t *testing.T) {
	fine := steps(0, 180, 0.5)
	lambert := made(t, fine, []float64{0}, Rotational, Whole, cosine)
	b, ok := lambert.Beam(0.5, OfCentre)
	if !ok {
		t.Fatal("no beam angle")
	}
	near(t, "beam angle of a Lambertian source", b.Widest, 120, 1e-3)
	b, _ = lambert.Beam(0.1, OfPeak)
	near(t, "its field angle", b.Widest, 2*math.Acos(0.1)*180/math.Pi, 1e-2)

	// An oval beam: a cosine to powers that fall to half at 20° and at 40°.
	power := func(half float64) float64 { return math.Log(0.5) / math.Log(math.Cos(half*math.Pi/180)) }
	oval := made(t, fine, []float64{0, 90}, Quadrant, Whole, func(g, c float64) float64 {
		return math.Pow(cosine(g, 0), power(20+20*c/90))
	})
	b, _ = oval.Beam(0.5, OfCentre)
	near(t, "widest", b.Widest, 80, 0.01)
	near(t, "in the plane", b.Plane, 90, 0)
	near(t, "narrowest", b.Narrowest, 40, 0.01)

	// A beam that is off the axis by 10° in C 0: its two sides add up all the same.
	off := made(t, fine, []float64{0, 90, 180, 270}, None, Whole, func(g, c float64) float64 {
		var x float64
		switch c {
		case 0:
			x = g - 10
		case 180:
			x = g + 10
		default:
			x = math.Hypot(g, 10)
		}
		return max(0, 1-math.Abs(x)/20)
	})
	b, _ = off.Beam(0.5, OfPeak)
	near(t, "off axis", b.Widest, 20, 1e-9)

	// Hollow: the centre lies below half of the peak, and the whole beam counts.
	hollow := made(t, steps(0, 180, 10), []float64{0}, Rotational, Whole, func(g, _ float64) float64 {
		return map[float64]float64{0: 20, 10: 20, 20: 100, 30: 100, 40: 0}[g]
	})
	b, _ = hollow.Beam(0.5, OfPeak)
	near(t, "hollow", b.Widest, 70, 1e-9)

	for what, d := range map[string]*Distribution{
		"a uniform source":   made(t, fine, []float64{0}, Rotational, Whole, func(float64, float64) float64 { return 1 }),
		"an edge into dark":  made(t, steps(0, 90, 5), []float64{0}, Rotational, Dark, func(float64, float64) float64 { return 1 }),
		"a dark lamp":        made(t, fine, []float64{0}, Rotational, Whole, func(float64, float64) float64 { return 0 }),
		"a lamp of darkness": made(t, fine, []float64{0}, Rotational, Whole, func(float64, float64) float64 { return -1 }),
	} {
		if b, ok := d.Beam(0.5, OfCentre); ok {
			t.Errorf("%s has a beam angle of %g°", what, b.Widest)
		}
	}
}

func TestPeakAndCentre(t *testing.T) {
	d := made(t, steps(0, 180, 10), []float64{0, 90, 180, 270}, None, Whole, func(g, c float64) float64 {
		if g == 20 && c == 90 {
			return 500
		}
		return 100 + c/90
	})
	cd, gamma, c := d.Peak()
	if cd != 500 || gamma != 20 || c != 90 {
		t.Errorf("%g cd at %g°, C %g°", cd, gamma, c)
	}
	near(t, "centre", d.Centre(), 101.5, 1e-12)
}
