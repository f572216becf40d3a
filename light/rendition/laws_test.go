package rendition

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// A reference light is its own reference: 100 throughout and no shifts. As a
// table it meets the very sums of the reference; as a curve, daylight still does
// where its bends lie on samples, and a blackbody departs by the curvature
// between samples 1 nm apart.
func TestReferenceLightScoresItself(t *testing.T) {
	e := New()
	rapid.Check(t, func(t *rapid.T) {
		cct := rapid.Float64Range(2000, 20000).Draw(t, "cct")
		read := rapid.SampledFrom([]struct {
			kind      spectrum.Projection
			step      float64
			tolerance float64
		}{
			{spectrum.Tabulated, 1, 1e-9}, {spectrum.Tabulated, 5, 1e-9}, {spectrum.Tabulated, 10, 1e-9}, {spectrum.Tabulated, 20, 1e-9},
			{spectrum.Sampled, 1, 2e-3}, {spectrum.Sampled, 0.5, 2e-3},
		}).Draw(t, "read")
		check := func(what string, got, want float64) {
			if !(math.Abs(got-want) <= read.tolerance) {
				t.Fatalf("%s is %.9g, want %g", what, got, want)
			}
		}
		const top = 100.00045398899218 // 10 ln(e¹⁰ + 1): the scale of CIE 224 ends here
		light := func(daylightFrom float64) *spectrum.Projected {
			f := blackbody(cct)
			if cct >= daylightFrom {
				f = daylight(cct)
			}
			p, err := curve(t, 360, 830, read.step, f).Project(read.kind)
			if err != nil {
				t.Fatal(err)
			}
			return p
		}

		var c CRI
		e.CRI(light(criDaylightFrom), cct, &c)
		check("Ra", c.Ra, 100)
		check("DeltaC", c.DeltaC, 0)
		for i, r := range c.R {
			check(fmt.Sprintf("R%d", i+1), r, 100)
		}
		check("SSI", e.SSI(light(ssiDaylightFrom), cct), 100)
		if cct > blendFrom && cct < blendTo {
			return // the mixture has its own test
		}
		var tm TM30
		e.Fidelity(light(blendTo), cct, &tm)
		check("Rf", tm.Rf, top)
		check("Rg", tm.Rg, 100)
		for h := range HueBins {
			check("Rf,h", tm.RfH[h], top)
			check("Rcs,h", tm.RcsH[h], 0)
			check("Rhs,h", tm.RhsH[h], 0)
		}
	})
}

func TestScaleDoesNotMatter(t *testing.T) {
	il, err := standards.IlluminantByName("FL11")
	if err != nil {
		t.Fatal(err)
	}
	p, cct := project(t, il.Spectrum, spectrum.Tabulated)
	e := New()
	var c0, c1 CRI
	var f0, f1 TM30
	e.CRI(p, cct, &c0)
	e.Fidelity(p, cct, &f0)
	ssi := e.SSI(p, cct)
	rapid.Check(t, func(t *rapid.T) {
		k := math.Exp(rapid.Float64Range(-200, 200).Draw(t, "log scale"))
		q := *p
		for i := range q.B {
			q.B[i] *= k
		}
		e.CRI(&q, cct, &c1)
		e.Fidelity(&q, cct, &f1)
		for _, v := range [][2]float64{{c0.Ra, c1.Ra}, {f0.Rf, f1.Rf}, {f0.Rg, f1.Rg}, {ssi, e.SSI(&q, cct)}} {
			if !(math.Abs(v[0]-v[1]) <= 1e-9) {
				t.Fatalf("%g became %g", v[0], v[1])
			}
		}
	})
}

// Whatever comes in: no panic, indices that are numbers keep to their range,
// and the next light is none the worse for it.
func TestAnyCurveIsSurvived(t *testing.T) {
	e := New()
	good, goodCCT := illuminant(t, "FL2")
	var c, again CRI
	var f, againF TM30
	e.CRI(good, goodCCT, &c)
	e.Fidelity(good, goodCCT, &f)
	ssi := e.SSI(good, goodCCT)
	odd := rapid.OneOf(rapid.Float64Range(-1, 1), rapid.Just(0.0), rapid.Just(1e300), rapid.Just(-1e300), rapid.Just(5e-324))
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]spectrum.Projection{spectrum.Sampled, spectrum.Tabulated}).Draw(t, "kind")
		step := rapid.IntRange(1, 300).Draw(t, "step")
		first := rapid.IntRange(1, 700).Draw(t, "first")
		values := rapid.SliceOfN(odd, 2, 60).Draw(t, "values")
		nm := make([]float64, len(values))
		for i := range nm {
			nm[i] = float64(first + i*step)
		}
		cct := rapid.OneOf(rapid.Float64(), rapid.Float64Range(500, 30000), rapid.Just(math.NaN()), rapid.Just(math.Inf(1))).Draw(t, "cct")
		s, err := spectrum.New(spectrum.Relative, nm, values)
		if err != nil {
			t.Fatal(err)
		}
		p, err := s.Project(kind)
		if err != nil {
			return // nothing of it lies on the grid
		}
		var oc CRI
		var of TM30
		e.CRI(p, cct, &oc)
		e.Fidelity(p, cct, &of)
		os := e.SSI(p, cct)
		_ = e.SSIAgainst(p, good)
		for j, v := range append(of.RfCES[:], of.Rf) {
			if v < 0 || v > 100.001 {
				t.Fatalf("Rf of sample %d is %g", j+1, v)
			}
		}
		if oc.Ra > 100 || os > 100 {
			t.Fatalf("Ra %g, SSI %g", oc.Ra, os)
		}

		e.CRI(good, goodCCT, &again)
		e.Fidelity(good, goodCCT, &againF)
		if again != c || againF != f || e.SSI(good, goodCCT) != ssi {
			t.Fatal("FL2 comes out otherwise after it")
		}
	})
}

// The adaptation of CIE 13.3 carries the test light itself onto the reference:
// its rational functions undo c and d exactly, decimals as printed.
func TestAdaptationCarriesWhiteOntoWhite(t *testing.T) {
	for _, name := range []string{"FL5", "HP1", "LED-V1", "LED-RGB1"} {
		p, cct := illuminant(t, name)
		e := New()
		var c CRI
		e.CRI(p, cct, &c)                               // leaves the test light folded and at Y = 100
		e.criReference(make([]float64, 3*(tcsCount+1))) // the reference likewise
		test, ref := e.test.white(), e.ref.white()
		underRef := colorimetry.NewUVW(ref)
		underTest := underRef.WithWhite(test)
		_, du, dv := underTest.UVW(test)
		near(t, name+" U*", du, 0, 1e-9)
		near(t, name+" V*", dv, 0, 1e-9)
		_, du, dv = underRef.UVW(ref)
		near(t, name+" reference U*", du, 0, 1e-9)
		near(t, name+" reference V*", dv, 0, 1e-9)
	}
}

func TestNoReferenceNoFigure(t *testing.T) {
	p, _ := illuminant(t, "FL2")
	dark, err := curve(t, 380, 780, 5, func(float64) float64 { return 0 }).Project(spectrum.Tabulated)
	if err != nil {
		t.Fatal(err)
	}
	inverse, err := curve(t, 380, 780, 5, func(float64) float64 { return -1 }).Project(spectrum.Tabulated)
	if err != nil {
		t.Fatal(err)
	}
	e := New()
	for _, c := range []struct {
		name string
		p    *spectrum.Projected
		cct  float64
	}{
		{"zero", p, 0}, {"negative", p, -3000}, {"not a number", p, math.NaN()}, {"infinite", p, math.Inf(1)},
		{"beyond daylight", p, 25001}, {"dark", dark, 3000}, {"negative light", inverse, 3000}, {"empty", new(spectrum.Projected), 3000},
	} {
		var cri CRI
		var tm TM30
		e.CRI(c.p, c.cct, &cri)
		e.Fidelity(c.p, c.cct, &tm)
		for _, v := range []float64{cri.Ra, cri.R[8], cri.DeltaC, tm.Rf, tm.Rg, tm.RfCES[0], tm.RcsH[0], e.SSI(c.p, c.cct)} {
			if !math.IsNaN(v) {
				t.Errorf("%s: %+v, Rf %g, Rg %g, SSI %g", c.name, cri, tm.Rf, tm.Rg, e.SSI(c.p, c.cct))
				break
			}
		}
	}
	for cct, want := range map[float64]bool{0: false, -1: false, 1000: true, 25000: true, 25000.1: false, math.Inf(1): false} {
		if HasReference(cct) != want {
			t.Errorf("HasReference(%g) is %t", cct, !want)
		}
	}
}

func TestBinsWithoutSamplesHaveNoMeasures(t *testing.T) {
	// Under light as red as 800 K no sample looks green or blue.
	p, err := curve(t, 380, 780, 5, blackbody(800)).Project(spectrum.Tabulated)
	if err != nil {
		t.Fatal(err)
	}
	var tm TM30
	New().Fidelity(p, 800, &tm)
	empty := 0
	for h, n := range tm.BinSize {
		if (n == 0) != math.IsNaN(tm.RfH[h]) || (n == 0) != math.IsNaN(tm.RcsH[h]) {
			t.Errorf("bin %d holds %d samples, Rf,h %g, Rcs,h %g", h+1, n, tm.RfH[h], tm.RcsH[h])
		}
		if n == 0 {
			empty++
		}
	}
	if empty == 0 {
		t.Error("no bin is empty")
	}
	near(t, "Rg over the others", tm.Rg, 100, 1e-9)
}

func TestFoldedSumsAreTheDirectSums(t *testing.T) {
	p := sampledFL2(t)
	for _, o := range []struct {
		observer *standards.Observer
		folder   *folder
	}{{standards.CIE1931(), shared().cie1931}, {standards.CIE1964(), shared().cie1964}} {
		var f folded
		o.folder.fold(from(p, foldFirst), &f)
		ces := standards.CES()
		for j := range ces.R {
			got := f.of(&shared().ces[j])
			direct := func(w *spectrum.Weighting) float64 {
				product := spectrum.Weighting{First: nodeFirst, W: make([]float64, 401)}
				for i := range product.W {
					k, part := i/5, float64(i%5)/5
					r := ces.R[j][k]
					if part > 0 {
						r = r*(1-part) + ces.R[j][k+1]*part
					}
					product.W[i] = r * w.At(float64(nodeFirst+i))
				}
				return product.Of(p)
			}
			near(t, "X", got.X, direct(o.observer.X), 1e-11*got.X)
			near(t, "Y", got.Y, direct(o.observer.Y), 1e-11*got.Y)
			near(t, "Z", got.Z, direct(o.observer.Z), 1e-11*got.Z)
		}
	}
}

func TestReferenceLightIsThatOfTheStandards(t *testing.T) {
	r := reference{radiators: shared().radiators}
	tabulated := &spectrum.Projected{Kind: spectrum.Tabulated, Step: 5, From: 380}
	r.at(tabulated, 2856)
	b := r.blackbody()
	for i, v := range b {
		nm := float64(lightFirst + i)
		want := 0.0
		if i%5 == 0 {
			want = 5 * standards.Planck(nm, 2856) / standards.Planck(560, 2856) * b[560-lightFirst] / 5
		}
		near(t, fmt.Sprintf("blackbody at %g nm", nm), v, want, 1e-13*b[560-lightFirst])
	}
	// D65 is tabulated from weights rounded to three decimals.
	il, err := standards.IlluminantByName("D65")
	if err != nil {
		t.Fatal(err)
	}
	r.at(tabulated, 6500*1.4388/1.4380)
	d := r.daylight()
	for i, nm := range il.Spectrum.Axis() {
		if k := int(nm) - lightFirst; k >= 0 && k < lightLen {
			near(t, fmt.Sprintf("daylight at %g nm", nm), d[k]/5, il.Spectrum.Values()[i], 0.02)
		}
	}
}

func TestTablesFitTheNodes(t *testing.T) {
	for _, c := range []struct {
		name string
		s    *standards.Samples
		n    int
	}{{"TCS", standards.TCS(), 14}, {"CES", standards.CES(), CESCount}} {
		if c.s.First != nodeFirst || c.s.Step != nodeStep || len(c.s.R) != c.n {
			t.Errorf("%s: %d samples from %d nm at %d nm", c.name, len(c.s.R), c.s.First, c.s.Step)
		}
		for j, r := range c.s.R {
			if len(r) != nodeCount {
				t.Errorf("%s %d has %d entries", c.name, j+1, len(r))
			}
		}
	}
	if w := shared().cie1964; w[0][0][3] != 0 || w[0][nodeCount-1][5] != 0 {
		t.Error("the hats reach outside 380–780 nm")
	}
}

func TestEvaluationDoesNotAllocate(t *testing.T) {
	e, p := New(), sampledFL2(t)
	var c CRI
	var f TM30
	k := 0.0
	if n := testing.AllocsPerRun(20, func() {
		k++
		e.CRI(p, 4225+k, &c)
		e.Fidelity(p, 4225+k, &f)
		e.SSI(p, 4225+k)
		e.SSIAgainst(p, p)
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}
