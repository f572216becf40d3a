package standards

import (
	"math"
	"testing"

	"lampassay/light/spectrum"

	"pgregory.net/rapid"
)

func TestThe2DegreeObserverHasItsPublishedSums(t *testing.T) {
	o := CIE1931()
	// ISO/CIE 11664-1:2019: Σȳ at 1 nm; equal energy sits at 1/3, 1/3.
	near(t, "Σȳ", sum(o.Y.W), 106.85692, 5e-6)
	x, y, z := sum(o.X.W), sum(o.Y.W), sum(o.Z.W)
	near(t, "x of E", x/(x+y+z), 1./3, 5e-5)
	near(t, "y of E", y/(x+y+z), 1./3, 5e-5)
}

func TestVIsOneAt555AndSodiumsIsKnown(t *testing.T) {
	v := V()
	for i, value := range v.W {
		if l := v.First + i; (value == 1) != (l == 555) || value > 1 {
			t.Errorf("V(%d nm) = %g", l, value)
		}
	}
	// 525 lm/W is the figure commonly quoted for sodium, that of 589.0 nm.
	near(t, "683.002 V(589.0)", 683.002*v.At(589), 525.1, 1)
	near(t, "683.002 V(589.3)", 683.002*v.At(589.3), 522.7, 1)
}

func TestScotopicEfficacyFollowsFromTheCandela(t *testing.T) {
	// 540 THz is 555.016 nm in standard air, where K is 683 lm/W for any
	// observer: CIE 018:2019 gives K′m = 1700.06 lm/W.
	near(t, "683/V′(555.016 nm)", 683/VPrime().At(555.016), 1700.06, 0.01)
	near(t, "V′(507 nm)", VPrime().At(507), 1, 0)
}

func TestThe10DegreeObserverKeepsItsSumsAtOneNanometre(t *testing.T) {
	table := mustLoad("cie1964")
	o := CIE1964()
	w := []*spectrum.Weighting{o.X, o.Y, o.Z}
	for c, column := range table.Columns {
		coarse, fine := 5*sum(table.Data[c]), sum(w[c].W)
		near(t, "Σ"+column+" at 1 nm against 5 nm", fine/coarse, 1, 2e-6)
		for i, l := range table.Nm {
			near(t, column+" at an entry", w[c].At(l), table.Data[c][i], 0)
		}
	}
	x, y, z := sum(w[0].W), sum(w[1].W), sum(w[2].W)
	near(t, "x10 of E", x/(x+y+z), 1./3, 5e-5)
	near(t, "y10 of E", y/(x+y+z), 1./3, 5e-5)
}

func TestSpragueReproducesAQuarticInsideAndALineAtTheEnds(t *testing.T) {
	// The formula is of the fifth order, but takes its slopes from five-point
	// differences: the quartic is the highest it gives back exactly. The
	// extensions of CIE 167 beyond either end keep no more than a straight line.
	x := make([]float64, 12)
	for i := range x {
		x[i] = 360 + 5*float64(i)
	}
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SliceOfN(rapid.Float64Range(-1, 1), 5, 5).Draw(t, "coefficients")
		f := func(l float64) float64 {
			u := (l - 385) / 25
			return c[0] + u*(c[1]+u*(c[2]+u*(c[3]+u*c[4])))
		}
		y := make([]float64, len(x))
		k := rapid.IntRange(0, len(x)-2).Draw(t, "interval")
		if k < 2 || k > len(x)-4 {
			c[2], c[3], c[4] = 0, 0, 0
		}
		for i := range x {
			y[i] = f(x[i])
		}
		l := x[k] + rapid.Float64Range(0, 5).Draw(t, "within")
		if got := sprague(x, y, l, k); !(math.Abs(got-f(l)) <= 1e-12) {
			t.Fatalf("at %g nm: %.15g, want %.15g", l, got, f(l))
		}
	})
	// A quintic it must miss (but for the middle of an interval), or the
	// statement above is empty.
	quintic := func(l float64) float64 { return math.Pow((l-385)/5, 5) }
	y := make([]float64, len(x))
	for i := range x {
		y[i] = quintic(x[i])
	}
	if math.Abs(sprague(x, y, 386.5, 5)-quintic(386.5)) < 0.5 {
		t.Error("a quintic came back exactly")
	}
}

func TestAlphaOpicEfficaciesOfDaylight(t *testing.T) {
	// CIE S 026:2018: α-opic efficacy of luminous radiation of D65, mW/lm.
	// D65 is straight between its 5 nm entries here.
	d65, err := IlluminantByName("D65")
	if err != nil {
		t.Fatal(err)
	}
	at := func(l float64) float64 {
		x, y := d65.Spectrum.Axis(), d65.Spectrum.Values()
		k := min(int(l-x[0])/5, len(x)-2)
		return linear(x, y, l, k)
	}
	weigh := func(w *spectrum.Weighting) (s float64) {
		for i, v := range w.W {
			s += v * at(float64(w.First+i))
		}
		return s
	}
	lumens := 683.002 * weigh(V())
	a := AlphaOpic()
	for _, c := range []struct {
		w    *spectrum.Weighting
		want float64
	}{
		{a.SCone, .8173}, {a.MCone, 1.4558}, {a.LCone, 1.6289}, {a.Rhodopic, 1.4497}, {a.Melanopic, 1.3262},
	} {
		near(t, c.w.Name, 1000*weigh(c.w)/lumens, c.want, .0001)
	}
	near(t, "melanopic at 490 nm", a.Melanopic.At(490), 1, 5e-4)
}

func TestBlueLightHazardFollowsItsFormula(t *testing.T) {
	b := BlueLight()
	for l := 500; l <= 600; l++ { // IEC 62471:2006, note to Table 4.2
		want := math.Pow(10, float64(450-l)/50)
		near(t, "B(λ)", b.At(float64(l))/want, 1, 0.06) // the table rounds to 2 digits
	}
	near(t, "B(440 nm)", b.At(440), 1, 0)
}

func TestRetinalThermalHazardIsTenTimesBlueLight(t *testing.T) {
	b, r := mustLoad("blue_light"), mustLoad("retinal_thermal")
	tenfold := 0
	for i, l := range r.Nm {
		switch {
		case l <= 495:
			k := int(l-b.Nm[0]) / 5
			near(t, "R = 10 B", r.Data[0][i], 10*b.Data[0][k], 1e-12)
			tenfold++
		case l >= 500 && l <= 700:
			near(t, "R", r.Data[0][i], 1, 0)
		case l > 700 && l < 1050:
			want := math.Pow(10, (700-l)/500) // IEC 62471:2006 Table 4.2
			near(t, "R", r.Data[0][i], want, 1e-4)
		case l >= 1050 && l <= 1150:
			near(t, "R", r.Data[0][i], 0.2, 0)
		case l >= 1200:
			near(t, "R", r.Data[0][i], 0.02, 0)
		}
	}
	if tenfold != 24 {
		t.Errorf("%d entries from 380 nm to 495 nm, want 24", tenfold)
	}
}

func TestActinicUltravioletPeaksAt270(t *testing.T) {
	table := mustLoad("actinic_uv")
	for i := 1; i < len(table.Nm); i++ {
		rises := table.Data[0][i] > table.Data[0][i-1]
		if rises != (table.Nm[i] <= 270) {
			t.Errorf("S(%g nm) = %g after %g", table.Nm[i], table.Data[0][i], table.Data[0][i-1])
		}
	}
	near(t, "S(270 nm)", ActinicUV().At(270), 1, 0)
	// Straight in the logarithm between the entries at 270 nm and 275 nm.
	near(t, "S(272 nm)", ActinicUV().At(272), math.Pow(ActinicUV().At(275), .4), 1e-12)
}

func TestReflectingSamplesReflect(t *testing.T) {
	for _, c := range []struct {
		s    *Samples
		n    int
		name string
	}{{TCS(), 14, "TCS"}, {CES(), 99, "CES"}} {
		if len(c.s.R) != c.n || len(c.s.Names) != c.n || c.s.First != 380 || c.s.Step != 5 {
			t.Errorf("%s: %d samples, %d names, from %d nm at %d nm", c.name, len(c.s.R), len(c.s.Names), c.s.First, c.s.Step)
		}
		for j, r := range c.s.R {
			for k, v := range r {
				if !(v >= 0 && v <= 1) || len(r) != 81 {
					t.Errorf("%s: radiance factor %g at %d nm", c.s.Names[j], v, 380+5*k)
				}
			}
		}
	}
}

func TestTypedTablesAreReadOnce(t *testing.T) {
	for name, read := range map[string]func() any{
		"CIE1931": func() any { return CIE1931() }, "CIE1964": func() any { return CIE1964() },
		"V": func() any { return V() }, "VPrime": func() any { return VPrime() },
		"AlphaOpic": func() any { return AlphaOpic() }, "Daylight": func() any { return Daylight() },
		"TCS": func() any { return TCS() }, "CES": func() any { return CES() },
		"ActinicUV": func() any { return ActinicUV() },
	} {
		if first, second := read(), read(); first != second {
			t.Errorf("%s: a second call reads the table again", name)
		}
	}
	if &V().W[0] != &CIE1931().Y.W[0] {
		t.Error("V(λ) is not the observer's own ȳ")
	}
}
