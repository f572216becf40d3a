package colorimetry

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Worked examples of CIE 159:2004, average surround, Y_b = 20, with the degree
// of adaptation that the model computes; from memory. Half a unit of the last
// digit.
func TestCIECAM02OfTheWorkedExamples(t *testing.T) {
	d65, a := XYZ{95.05, 100, 108.88}, XYZ{109.85, 100, 35.58}
	for _, c := range []struct {
		sample, white    XYZ
		la               float64
		h, j, q, s, c, m float64
		unit             float64 // of C and M
	}{
		{XYZ{19.01, 20.00, 21.78}, d65, 318.31, 219.0, 41.73, 195.37, 2.36, 0.1047, 0.1088, 1e-4},
		{XYZ{57.06, 43.06, 31.96}, d65, 31.83, 19.6, 65.96, 152.67, 52.25, 48.57, 41.67, 1e-2},
		{XYZ{3.53, 6.56, 2.14}, a, 318.31, 177.1, 21.79, 141.17, 58.79, 46.94, 48.80, 1e-2},
		{XYZ{19.01, 20.00, 21.78}, a, 31.83, 248.9, 42.53, 122.83, 60.22, 51.92, 44.54, 1e-2},
	} {
		v := NewCAM02(c.white, c.la, 20, Average).WithAdaptation(Average.Adaptation(c.la))
		got := v.Appearance(c.sample)
		if !near(got.H, c.h, 0.0501) || !near(got.J, c.j, 0.00501) || !near(got.Q, c.q, 0.00501) ||
			!near(got.S, c.s, 0.00501) || !near(got.C, c.c, 0.501*c.unit) || !near(got.M, c.m, 0.501*c.unit) {
			t.Errorf("%v under %v at %g cd/m²: %+v; want %+v", c.sample, c.white, c.la, got, c)
		}
	}
}

// stepwise is CIE 159:2004 written down clause by clause, with powers and
// angles, for a condition and a colour; then the coordinates of CAM02-UCS.
func stepwise(c, w XYZ, la, yb, surround, nc, d float64) (a Appearance, jp, ap, bp float64) {
	cone := func(c XYZ) (r, g, b float64) {
		return 0.7328*c.X + 0.4296*c.Y - 0.1624*c.Z, -0.7036*c.X + 1.6975*c.Y + 0.0061*c.Z, 0.0030*c.X + 0.0136*c.Y + 0.9834*c.Z
	}
	k := 1 / (5*la + 1)
	fl := 0.2*math.Pow(k, 4)*(5*la) + 0.1*math.Pow(1-math.Pow(k, 4), 2)*math.Pow(5*la, 1.0/3)
	n := yb / w.Y
	nbb := 0.725 * math.Pow(1/n, 0.2)
	z := 1.48 + math.Sqrt(n)
	rw, gw, bw := cone(w)
	signals := func(c XYZ) (r, g, b float64) {
		r, g, b = cone(c)
		r, g, b = (w.Y*d/rw+1-d)*r, (w.Y*d/gw+1-d)*g, (w.Y*d/bw+1-d)*b
		back := cat02.inverse()
		x, y, zz := back.apply(r, g, b)
		response := func(v float64) float64 {
			p := math.Pow(fl*math.Abs(v)/100, 0.42)
			if v < 0 {
				p = -p
			}
			return 400*p/(math.Abs(p)+27.13) + 0.1
		}
		return response(0.38971*x + 0.68898*y - 0.07868*zz), response(-0.22981*x + 1.18340*y + 0.04641*zz), response(zz)
	}
	achromatic := func(c XYZ) float64 {
		r, g, b := signals(c)
		return (2*r + g + b/20 - 0.305) * nbb
	}
	r, g, b := signals(c)
	a.A, a.B = r-12*g/11+b/11, (r+g-2*b)/9
	a.H = math.Mod(math.Atan2(a.B, a.A)*180/math.Pi+360, 360)
	et := (math.Cos(a.H*math.Pi/180+2) + 3.8) / 4
	t := 50000.0 / 13 * nc * nbb * et * math.Hypot(a.A, a.B) / (r + g + 21.0/20*b)
	a.J = 100 * math.Pow(achromatic(c)/achromatic(w), surround*z)
	a.Q = 4 / surround * math.Sqrt(a.J/100) * (achromatic(w) + 4) * math.Pow(fl, 0.25)
	a.C = math.Pow(t, 0.9) * math.Sqrt(a.J/100) * math.Pow(1.64-math.Pow(0.29, n), 0.73)
	a.M = a.C * math.Pow(fl, 0.25)
	a.S = 100 * math.Sqrt(a.M/a.Q)
	m := math.Log(1+0.0228*a.M) / 0.0228
	h := a.H * math.Pi / 180
	return a, 1.7 * a.J / (1 + 0.007*a.J), m * math.Cos(h), m * math.Sin(h)
}

// The inverse of the CAT02 matrix as CIE 159:2004 prints it, to six decimals.
func TestTheInverseOfCAT02IsThePrintedOne(t *testing.T) {
	printed := matrix{
		{1.096124, -0.278869, 0.182745},
		{0.454369, 0.473533, 0.072098},
		{-0.009628, -0.005698, 1.015326},
	}
	got := cat02.inverse()
	for i := range printed {
		for j := range printed[i] {
			if !near(got[i][j], printed[i][j], 5.01e-7) {
				t.Errorf("row %d, column %d: %.9f, printed %g", i, j, got[i][j], printed[i][j])
			}
		}
	}
}

func TestTheFastFormsAgreeWithTheModelStepByStep(t *testing.T) {
	type surround struct{ c, nc float64 }
	table := map[Surround]surround{Average: {0.69, 1}, Dim: {0.59, 0.9}, Dark: {0.525, 0.8}}
	rapid.Check(t, func(r *rapid.T) {
		x := rapid.Float64Range(0.28, 0.48).Draw(r, "xw")
		white := XYZFromXY(x, rapid.Float64Range(0.30, 0.42).Draw(r, "yw"), 100)
		// A real colour: three lights added, together no brighter than the white.
		part := rapid.Float64Range(0.01, 1)
		red, green, blue := part.Draw(r, "red"), part.Draw(r, "green"), part.Draw(r, "blue")
		lx, ly := line(620)
		mx, my := line(530)
		sx, sy := line(450)
		p, q, o := XYZFromXY(lx, ly, 40*red), XYZFromXY(mx, my, 55*green), XYZFromXY(sx, sy, 5*blue)
		c := XYZ{p.X + q.X + o.X, p.Y + q.Y + o.Y, p.Z + q.Z + o.Z}
		la := rapid.Float64Range(1, 1000).Draw(r, "la")
		yb := rapid.Float64Range(5, 50).Draw(r, "yb")
		s := rapid.SampledFrom([]Surround{Average, Dim, Dark}).Draw(r, "surround")
		d := rapid.Float64Range(0, 1).Draw(r, "d")
		v := NewCAM02(white, la, yb, s).WithAdaptation(d)
		got := v.Appearance(c)
		want, j, a, b := stepwise(c, white, la, yb, table[s].c, table[s].nc, d)
		gj, ga, gb := v.UCS(c)
		const tol = 1e-9
		for name, pair := range map[string][2]float64{
			"J": {got.J, want.J}, "Q": {got.Q, want.Q}, "C": {got.C, want.C}, "M": {got.M, want.M},
			"a": {got.A, want.A}, "b": {got.B, want.B}, "J′": {gj, j}, "a′": {ga, a}, "b′": {gb, b},
		} {
			if !near(pair[0], pair[1], tol*max(1, math.Abs(pair[1]))) {
				r.Errorf("%s: %.9g, step by step %.9g", name, pair[0], pair[1])
			}
		}
	})
}

// The first row of the Hunt-Pointer-Estévez matrix adds up to 1.00001, by which
// a fully adapted white keeps a chroma of a few thousandths.
func TestTheWhiteIsWhite(t *testing.T) {
	for _, white := range []XYZ{{95.05, 100, 108.88}, {109.85, 100, 35.58}, PlanckianXYZ(2700).Scale(100 / PlanckianXYZ(2700).Y)} {
		for _, s := range []Surround{Average, Dim, Dark} {
			v := NewCAM02(white, 100, 20, s)
			if j, a, b := v.UCS(white); !near(j, 100, 1e-12) || !near(a, 0, 0.01) || !near(b, 0, 0.01) {
				t.Errorf("%v: J′ %.15g, a′ %g, b′ %g", white, j, a, b)
			}
			if j, a, b := v.UCS(XYZ{}); !near(j, 0, 1e-9) || !near(a, 0, 1e-9) || !near(b, 0, 1e-9) {
				t.Errorf("black under %v: J′ %g, a′ %g, b′ %g", white, j, a, b)
			}
		}
	}
}

func TestAConditionTakesAnotherWhite(t *testing.T) {
	d65, a := XYZ{95.05, 100, 108.88}, XYZ{109.85, 100, 35.58}
	made, changed := NewCAM02(a, 50, 15, Dim).WithAdaptation(0.7), NewCAM02(d65, 50, 15, Dim).WithAdaptation(0.7).WithWhite(a)
	c := XYZ{57.06, 43.06, 31.96}
	if p, q := made.Appearance(c), changed.Appearance(c); p != q {
		t.Errorf("under A %+v; under D65, then A %+v", p, q)
	}
}

func TestImpossibleColoursGiveFiniteCoordinates(t *testing.T) {
	v := NewCAM02(XYZ{95.05, 100, 108.88}, 100, 20, Average)
	rapid.Check(t, func(r *rapid.T) {
		f := rapid.Float64Range(-200, 200)
		c := XYZ{f.Draw(r, "X"), f.Draw(r, "Y"), f.Draw(r, "Z")}
		j, a, b := v.UCS(c)
		p := v.Appearance(c)
		for _, x := range []float64{j, a, b, p.J, p.Q, p.C, p.M, p.S, p.H} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				r.Fatalf("%v: %g %g %g, %+v", c, j, a, b, p)
			}
		}
	})
}

func TestAdaptationIsThatOfCIE159(t *testing.T) {
	// D = F(1 − e^(−(La+42)/92)/3.6): F at high luminance, and F·0.8240 at none.
	for s, f := range map[Surround]float64{Average: 1, Dim: 0.9, Dark: 0.8} {
		if d := s.Adaptation(1e6); !near(d, f, 1e-12) {
			t.Errorf("surround %d, bright: %g", s, d)
		}
		if d := s.Adaptation(0); !near(d, f*0.82404, 1e-5) {
			t.Errorf("surround %d, dark: %g", s, d)
		}
	}
}

func TestAdaptCarriesWhiteToWhiteAndBack(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		from, to, c := PlanckianXYZ(rapid.Float64Range(1800, 20000).Draw(r, "from")), D65(), colour(r)
		if w := Adapt(from, from, to); !near(w.X, to.X, 1e-12) || !near(w.Y, to.Y, 1e-12) || !near(w.Z, to.Z, 1e-12) {
			r.Errorf("the white became %v", w)
		}
		back := Adapt(Adapt(c, from, to), to, from)
		if scale := 1e-10 * (c.X + c.Y + c.Z); !near(back.X, c.X, scale) || !near(back.Y, c.Y, scale) || !near(back.Z, c.Z, scale) {
			r.Errorf("%v became %v", c, back)
		}
	})
}
