package distribution

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestFiniteSources(t *testing.T) {
	for _, c := range []struct {
		shape           Shape
		over            float64 // distance over size
		want, tolerance float64
	}{
		{Disc, 1, 0.8, 1e-12}, {Disc, 2, 1 - .059, 3e-4}, {Disc, 5, 1 - .0099, 2e-4}, {Disc, 10, 1 - .0025, 2e-4},
		{Line, 1, 1 - .136, 5e-4}, {Line, 5, .99339, 2e-4}, {Line, 10, .99834, 2e-4},
	} {
		near(t, c.shape.String(), Ratio(c.shape, 1, c.over), c.want, c.tolerance)
	}
	for _, s := range []Shape{Disc, Square, Line} {
		for _, d := range []float64{0.2, 0.7, 1, 3, 10} {
			near(t, s.String(), Ratio(s, 0.4, d), byQuadrature(s, 0.4, d), 1e-5)
		}
		near(t, "a point", Ratio(s, 0, 1), 1, 0)
		near(t, "far away", Ratio(s, 1, 1e5), 1, 1e-9)
		near(t, "at the surface", Ratio(s, 1e300, 1e-300), 0, 0)
	}
}

// byQuadrature sums I cos γ cos γ′/r² over a surface.
func byQuadrature(s Shape, size, d float64) float64 {
	const n = 1000
	sum, area := 0.0, 0.0
	add := func(r2, weight float64) {
		q := d*d + r2
		sum, area = sum+weight*d*d/(q*q), area+weight
	}
	h := size / n
	for i := range n {
		x := (float64(i)+0.5)*h - size/2
		switch s {
		case Line:
			add(x*x, h)
		case Disc:
			add(math.Pow((float64(i)+0.5)*h/2, 2), float64(i)+0.5)
		case Square:
			for k := range n {
				y := (float64(k)+0.5)*h - size/2
				add(x*x+y*y, h*h)
			}
		}
	}
	return sum / area * d * d
}

func TestTheLeastDistanceGivesTheErrorThatWasAsked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom([]Shape{Disc, Square, Line}).Draw(t, "shape")
		size := rapid.Float64Range(1e-3, 10).Draw(t, "size")
		relative := rapid.Float64Range(1e-4, 0.9).Draw(t, "error")
		d := LeastDistance(s, size, relative)
		if got := 1 - Ratio(s, size, d); math.Abs(got-relative) > 1e-9 {
			t.Fatalf("%g at %g", got, d)
		}
	})
	near(t, "one per cent of a disc", LeastDistance(Disc, 0.3, 0.01), 0.15*math.Sqrt(99), 1e-9)
	near(t, "a point", LeastDistance(Line, 0, 0.01), 0, 0)
}

// All light passes through a sphere round the lamp: ∮ E dA is the flux as close
// as half a radius from a disc, where E d² is off by a fifth.
func TestTheFluxThroughASphereDoesNotDependOnItsSize(t *testing.T) {
	const radius, distance = 0.5, 1.0
	gamma := steps(0, 180, 1)
	near1 := func(g, _ float64) float64 {
		sin, cos := math.Sincos(g * math.Pi / 180)
		e := 0.0
		const rings, spokes = 40, 48
		for i := range rings {
			r := radius * (float64(i) + 0.5) / rings
			for k := range spokes {
				s, c := math.Sincos(2 * math.Pi * (float64(k) + 0.5) / spokes)
				dx, dy, dz := distance*sin-r*c, -r*s, distance*cos
				q := math.Sqrt(dx*dx + dy*dy + dz*dz)
				from, to := dz/q, (dx*sin+dz*cos)/q // cosines at the disc and at the meter
				e += max(0, from) * max(0, to) / (q * q) * r
			}
		}
		return e * 2 * math.Pi / spokes * radius / rings / (math.Pi * radius * radius) * distance * distance
	}
	d := made(t, gamma, []float64{0}, Rotational, Whole, near1)
	near(t, "on the axis", d.Centre(), 0.8, 1e-3)
	near(t, "flux", d.Flux(), math.Pi, 0.002*math.Pi)
}

func TestModelsAgreeWithTheirDistributions(t *testing.T) {
	fine := steps(0, 180, 0.05)
	for _, c := range []struct {
		model Model
		f     func(g float64) float64
	}{
		{Uniform(), func(float64) float64 { return 1 }},
		{Lambertian(), func(g float64) float64 { return cosine(g, 0) }},
		{CosinePower(7), func(g float64) float64 { return math.Pow(cosine(g, 0), 7) }},
		{BeamAngle(60), func(g float64) float64 {
			return math.Pow(cosine(g, 0), math.Log(0.5)/math.Log(math.Cos(math.Pi/6)))
		}},
		{Cone(40), func(g float64) float64 {
			if g < 20 {
				return 1
			}
			return 0
		}},
	} {
		d := made(t, fine, []float64{0}, Rotational, Whole, func(g, _ float64) float64 { return c.f(g) })
		near(t, c.model.String(), c.model.PerCandela(), d.Flux(), 0.003*d.Flux())
	}
	near(t, "a beam of 120°", BeamAngle(120).PerCandela(), math.Pi, 1e-12)
	if k := BeamAngle(0.001).PerCandela(); !(k > 0 && k < 1e-8) {
		t.Errorf("a needle gives %g lm/cd", k)
	}
}
