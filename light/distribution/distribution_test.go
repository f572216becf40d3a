package distribution

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.10g, want %.10g ± %g", what, got, want, tolerance)
	}
}

// steps returns angles from one to another.
func steps(from, to, step float64) (list []float64) {
	for k := 0; from+float64(k)*step <= to+1e-9; k++ {
		list = append(list, from+float64(k)*step)
	}
	return list
}

// sampled reads an intensity at angles and half-planes.
func sampled(gamma, planes []float64, f func(gamma, c float64) float64) (cd [][]float64) {
	for _, c := range planes {
		var plane []float64
		for _, g := range gamma {
			plane = append(plane, f(g, c))
		}
		cd = append(cd, plane)
	}
	return cd
}

func made(t testing.TB, gamma, planes []float64, s Symmetry, b Beyond, f func(gamma, c float64) float64) *Distribution {
	t.Helper()
	d, err := New(gamma, planes, sampled(gamma, planes, f), s, b)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func cosine(gamma, _ float64) float64 { return max(0, math.Cos(gamma*math.Pi/180)) }

func TestZonalConstantsAreTheHandbooks(t *testing.T) {
	sum := 0.0
	for i, want := range []float64{.0955, .2835, .4629, .6282, .7744, .8972, .9926, 1.0579, 1.0911} { // IES Lighting Handbook, one digit more
		got := Zone(10*float64(i), 10*float64(i+1))
		near(t, "zonal constant", got, want, 1e-4)
		sum += got
	}
	near(t, "hemisphere", sum, 2*math.Pi, 1e-12)
}

func TestConesOfTheRegulation(t *testing.T) {
	near(t, "90°", SolidAngle(90), 1.8403, 1e-4)
	near(t, "90° over π", SolidAngle(90)/math.Pi, .586, 5e-4) // (EU) 2019/2020 Annex I
	near(t, "120°", SolidAngle(120), math.Pi, 1e-12)
	near(t, "360°", SolidAngle(360), 4*math.Pi, 1e-12)
}

func TestAUniformSourceGivesFourPiTimesItsIntensity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gamma := append([]float64{0, 180}, rapid.SliceOfN(rapid.Float64Range(1e-3, 179.9), 0, 12).Draw(t, "angles")...)
		slices.Sort(gamma)
		gamma = slices.Compact(gamma)
		s := rapid.SampledFrom([]Symmetry{None, Bilateral, Quadrant, Rotational}).Draw(t, "symmetry")
		planes := append([]float64{0, 90, 180, 270}, rapid.SliceOfN(rapid.Float64Range(-360, 360), 0, 5).Draw(t, "planes")...)
		d, err := New(gamma, planes, sampled(gamma, planes, func(float64, float64) float64 { return 100 }), s, Whole)
		if err != nil {
			t.Fatal(err)
		}
		if f := d.Flux(); math.Abs(f-1256.637061) > 1e-5 {
			t.Fatalf("%g lm", f)
		}
		full := rapid.Float64Range(0, 360).Draw(t, "cone")
		if f := d.FluxWithin(full); math.Abs(f-100*SolidAngle(full)) > 1e-9 {
			t.Fatalf("%g lm in a cone of %g°", f, full)
		}
	})
}

func TestALambertianSourceGivesPiTimesItsIntensity(t *testing.T) {
	for _, c := range []struct{ step, tolerance float64 }{
		// A chord runs below the cosine by at most step²/8, the integral by 2/3 of it.
		{10, 0.003}, {5, 0.0007}, {1, 3e-5}, {0.1, 3e-7},
	} {
		d := made(t, steps(0, 180, c.step), []float64{0}, Rotational, Whole, cosine)
		near(t, "flux", d.Flux()/math.Pi, 1, c.tolerance)
		near(t, "in 120°", d.FluxWithin(120)/math.Pi, 0.75, c.tolerance)
		near(t, "in 90°", d.FluxWithin(90)/math.Pi, 0.5, c.tolerance)
	}
	middle := 0.0
	for g := 5.0; g < 90; g += 10 {
		middle += cosine(g, 0) * Zone(g-5, g+5)
	}
	near(t, "by zones about the middle", middle, 3.1536, 5e-4)
}

// A piece on which the intensity is straight, against quadrature of its own.
func TestAPieceIsIntegratedExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.Float64Range(0, 179).Draw(t, "from")
		to := rapid.Float64Range(from+1e-6, 180).Draw(t, "to")
		first, second := weights(from, to)
		const n = 2000
		var a, b float64
		h := (to - from) / n
		for k := range n {
			x := (float64(k) + 0.5) / n
			s := math.Sin((from+x*(to-from))*math.Pi/180) * h * math.Pi / 180
			a, b = a+(1-x)*s, b+x*s
		}
		if math.Abs(first-a) > 3e-6*(to-from)*math.Pi/180 || math.Abs(second-b) > 3e-6*(to-from)*math.Pi/180 {
			t.Fatalf("%g, %g; want %g, %g", first, second, a, b)
		}
		if zone := 2 * math.Pi * (first + second); math.Abs(zone-Zone(from, to)) > 1e-12*zone+1e-15 {
			t.Fatalf("a constant gives %g, the zone is %g", zone, Zone(from, to))
		}
	})
}

func TestFluxIsAdditiveAndFollowsScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gamma, planes := steps(0, 180, 15), steps(0, 315, 45)
		draw := func(name string) [][]float64 {
			var cd [][]float64
			for range planes {
				cd = append(cd, rapid.SliceOfN(rapid.Float64Range(-1, 1000), len(gamma), len(gamma)).Draw(t, name))
			}
			return cd
		}
		a, b := draw("a"), draw("b")
		k := rapid.Float64Range(0.01, 100).Draw(t, "k")
		sum := sampled(gamma, planes, func(g, c float64) float64 {
			i, j := slices.Index(planes, c), slices.Index(gamma, g)
			return a[i][j] + k*b[i][j]
		})
		flux := func(cd [][]float64) *Distribution {
			d, err := New(gamma, planes, cd, None, Whole)
			if err != nil {
				t.Fatal(err)
			}
			return d
		}
		da, db, ds := flux(a), flux(b), flux(sum)
		if got, want := ds.Flux(), da.Flux()+k*db.Flux(); math.Abs(got-want) > 1e-9*math.Abs(want)+1e-9 {
			t.Fatalf("%g, want %g", got, want)
		}
		cone := rapid.Float64Range(0, 360).Draw(t, "cone")
		if got, want := ds.FluxWithin(cone), da.FluxWithin(cone)+k*db.FluxWithin(cone); math.Abs(got-want) > 1e-9*math.Abs(want)+1e-9 {
			t.Fatalf("%g, want %g", got, want)
		}
	})
}

// A lamp that has a symmetry gives the same flux whichever of its half-planes
// stand for the rest, and the same intensity in every direction.
func TestAStatedSymmetryStandsForThePlanesLeftOut(t *testing.T) {
	lamp := func(g, c float64) float64 {
		return (100 + 40*math.Cos(2*c*math.Pi/180)) * (1 + math.Cos(g*math.Pi/180))
	}
	gamma := steps(0, 180, 5)
	whole := made(t, gamma, steps(0, 345, 15), None, Whole, lamp)
	near(t, "flux", whole.Flux(), 400*math.Pi, 0.002*400*math.Pi)
	for _, c := range []struct {
		symmetry Symmetry
		last     float64
	}{{Quadrant, 90}, {Bilateral, 180}, {None, 360}} {
		d := made(t, gamma, steps(0, c.last, 15), c.symmetry, Whole, lamp)
		near(t, c.symmetry.String(), d.Flux(), whole.Flux(), 1e-9)
		for _, at := range []float64{0, 37, 90, 123.4, 200, 269, 350} {
			near(t, c.symmetry.String(), d.At(33, at), whole.At(33, at), 1e-9)
		}
	}
	if d := made(t, gamma, []float64{0, 90}, Rotational, Whole, lamp); math.Abs(d.Flux()-whole.Flux()) > 1e-9 {
		t.Errorf("two planes taken for a round lamp's give %g lm, their mean would be %g", d.Flux(), whole.Flux())
	}
}

func TestWhatIsNotCoveredIsRefusedWithItsSolidAngle(t *testing.T) {
	one := func(float64, float64) float64 { return 1 }
	for _, c := range []struct {
		what          string
		gamma, planes []float64
		symmetry      Symmetry
		beyond        Beyond
		from, to, sr  float64
	}{
		{"the upper half", steps(0, 90, 10), []float64{0}, Rotational, Whole, 90, 180, 2 * math.Pi},
		{"the lower end", steps(60, 180, 10), []float64{0}, Rotational, Whole, 0, 60, math.Pi},
		{"nothing to mirror", steps(0, 80, 10), []float64{0}, Rotational, Mirror, 80, 100, Zone(80, 100)},
		{"nothing to mirror behind", steps(100, 180, 10), []float64{0}, Rotational, Mirror, 80, 100, Zone(80, 100)},
		{"both ends", steps(10, 170, 10), []float64{0}, Rotational, Mirror, 0, 10, 2 * Zone(0, 10)},
		{"one plane alone", steps(0, 180, 10), []float64{0}, None, Whole, 0, 360, 4 * math.Pi},
		{"two planes", steps(0, 180, 10), []float64{0, 180}, None, Whole, 0, 180, 2 * math.Pi},
		{"the end of a quadrant", steps(0, 180, 10), []float64{0, 45}, Quadrant, Whole, 45, 90, 2 * math.Pi},
		{"the start of a half", steps(0, 180, 10), []float64{30, 90, 180}, Bilateral, Whole, 0, 30, 2 * math.Pi / 3},
	} {
		_, err := New(c.gamma, c.planes, sampled(c.gamma, c.planes, one), c.symmetry, c.beyond)
		var gap *GapError
		if !errors.As(err, &gap) {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		near(t, c.what+" from", gap.From, c.from, 1e-9)
		near(t, c.what+" to", gap.To, c.to, 1e-9)
		near(t, c.what+" solid angle", gap.SolidAngle, c.sr, 1e-9)
	}
}

func TestWhatIsAssumedIsToldApart(t *testing.T) {
	one := func(float64, float64) float64 { return 1 }
	for _, c := range []struct {
		from, to      float64
		beyond        Beyond
		flux, assumed float64
	}{
		{0, 180, Whole, 4 * math.Pi, 0},
		{0, 90, Dark, 2 * math.Pi, 0},
		{0, 150, Hold, 4 * math.Pi, Zone(150, 180)},
		{30, 180, Hold, 4 * math.Pi, Zone(0, 30)},
		{30, 150, Dark, Zone(30, 150), 0},
		{0, 150, Mirror, 4 * math.Pi, Zone(150, 180)},
		{30, 180, Mirror, 4 * math.Pi, Zone(0, 30)},
		{0, 90, Mirror, 4 * math.Pi, 2 * math.Pi},
		{90, 180, Mirror, 4 * math.Pi, 2 * math.Pi},
	} {
		d := made(t, steps(c.from, c.to, 10), []float64{0}, Rotational, c.beyond, one)
		near(t, c.beyond.String()+" flux", d.Flux(), c.flux, 1e-6)
		near(t, c.beyond.String()+" assumed", d.Assumed(), c.assumed, 1e-6)
	}
	tilted := made(t, steps(0, 120, 10), []float64{0}, Rotational, Mirror, func(g, _ float64) float64 { return g })
	near(t, "the mirror image of 20°", tilted.At(160, 0), 20, 1e-9)
	if !slices.IsSorted(tilted.Gamma()) {
		t.Errorf("angles %v", tilted.Gamma())
	}
}

// The derivative against a lamp whose angles were read off by a little.
func TestTheFluxPerDegreeIsItsDerivative(t *testing.T) {
	lamp := func(g, _ float64) float64 { return math.Pow(cosine(g, 0), 3) }
	d := made(t, steps(0, 180, 0.5), []float64{0}, Rotational, Whole, lamp)
	const shift = 1e-3
	for _, full := range []float64{360, 90, 33} {
		sum := 0.0
		for k := range 180000 { // ∫ I(γ − δ) sin γ by midpoints
			if g := (float64(k) + 0.5) / 1000; g < full/2 {
				sum += (lamp(g-shift, 0) - lamp(g+shift, 0)) / (2 * shift) * math.Sin(g*math.Pi/180)
			}
		}
		near(t, "per degree", d.PerDegree(full), 2*math.Pi*sum*1e-3*math.Pi/180, 2e-5)
	}
}

func TestIndependentErrorsAverageOut(t *testing.T) {
	coarse := made(t, steps(0, 180, 10), []float64{0}, Rotational, Whole, cosine)
	fine := made(t, steps(0, 180, 2.5), []float64{0}, Rotational, Whole, cosine)
	near(t, "four times the readings halve it", coarse.Independent(0.01)/fine.Independent(0.01), 2, 0.03)
	// By hand: one reading at a time.
	sum := 0.0
	for j := range coarse.gamma {
		v := coarse.cd[0][j]
		before := coarse.Flux()
		coarse.cd[0][j] *= 1.01
		sum += math.Pow(coarse.Flux()-before, 2)
		coarse.cd[0][j] = v
	}
	near(t, "one by one", coarse.Independent(0.01), math.Sqrt(sum), 1e-9)
}

func TestCoarserReadingsTellHowFineTheStepsAre(t *testing.T) {
	for _, step := range []float64{10, 5} {
		d := made(t, steps(0, 180, step), []float64{0}, Rotational, Whole, func(g, _ float64) float64 {
			return math.Pow(math.Cos(g*math.Pi/180), 2)
		})
		gamma, planes := d.Coarser()
		// The error of straight pieces goes with the square of the step.
		near(t, "error over difference", (d.Flux()-4*math.Pi/3)/(gamma-d.Flux()), 1.0/3, 0.02)
		if !math.IsNaN(planes) {
			t.Errorf("a round lamp's planes give %g lm", planes)
		}
	}
	d := made(t, steps(0, 180, 10), steps(0, 315, 45), None, Whole, func(g, c float64) float64 { return 2 + math.Cos(c*math.Pi/180) })
	_, planes := d.Coarser()
	near(t, "planes", planes, d.Flux(), 1e-9)
	// The jump into what is assumed dark is no step between readings.
	dark := made(t, steps(0, 90, 10), []float64{0}, Rotational, Dark, func(float64, float64) float64 { return 1 })
	gamma, _ := dark.Coarser()
	near(t, "an even light that ends at 90°", gamma, dark.Flux(), 1e-9)
	if gamma, planes := made(t, []float64{0, 180}, []float64{0}, Rotational, Whole, cosine).Coarser(); !math.IsNaN(gamma) || !math.IsNaN(planes) {
		t.Errorf("two angles leave %g and %g", gamma, planes)
	}
}

func TestWhatIsNoDistributionIsSaidInOneSentence(t *testing.T) {
	ok := []float64{0, 180}
	for _, c := range []struct {
		gamma, planes []float64
		cd            [][]float64
		want          string
	}{
		{nil, []float64{0}, [][]float64{{}}, "at least one of each"},
		{ok, nil, nil, "at least one of each"},
		{[]float64{-1, 180}, []float64{0}, [][]float64{{1, 1}}, "outside 0° to 180°"},
		{[]float64{0, math.NaN()}, []float64{0}, [][]float64{{1, 1}}, "outside 0° to 180°"},
		{[]float64{0, 90, 90}, []float64{0}, [][]float64{{1, 1, 1}}, "does not rise"},
		{ok, []float64{400}, [][]float64{{1, 1}}, "outside −360° to 360°"},
		{ok, []float64{0, 90}, [][]float64{{1, 1}}, "2 half-planes"},
		{ok, []float64{0}, [][]float64{{1}}, "1 intensities at 2 angles"},
		{ok, []float64{0}, [][]float64{{1, math.Inf(1)}}, "not a finite number"},
	} {
		_, err := New(c.gamma, c.planes, c.cd, Rotational, Whole)
		if err == nil || !strings.HasPrefix(err.Error(), "distribution: ") || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want a sentence with %q", err, c.want)
		}
	}
}

func TestNamesAreReadBack(t *testing.T) {
	for s := None; s <= Rotational; s++ {
		if got, err := ParseSymmetry(s.String()); err != nil || got != s {
			t.Errorf("%v: %v, %v", s, got, err)
		}
	}
	for b := Whole; b <= Mirror; b++ {
		if got, err := ParseBeyond(b.String()); err != nil || got != b {
			t.Errorf("%v: %v, %v", b, got, err)
		}
	}
	for s := Disc; s <= Line; s++ {
		if got, err := ParseShape(s.String()); err != nil || got != s {
			t.Errorf("%v: %v, %v", s, got, err)
		}
	}
	if _, err := ParseSymmetry("round"); err == nil {
		t.Error("round is taken for a symmetry")
	}
}
