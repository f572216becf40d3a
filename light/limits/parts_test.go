package limits

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampassay/light/colorimetry"
	"lampassay/light/photometry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func TestALinesProjectionKeepsItsPowerPlaceAndWidth(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		centre := rapid.Float64Range(450, 700).Draw(r, "centre")
		fwhm := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0.01, 12)).Draw(r, "fwhm")
		p := lineProjection(centre, fwhm)
		var power, place, spread float64
		for i, b := range p.b {
			x := float64(p.first+i) - centre
			power += b
			place += b * x
			spread += b * x * x
		}
		sigma := fwhm * sigmaFromFWHM
		frac := centre - math.Floor(centre)
		// A hat is reproduced but for the spread of dividing between neighbours: at
		// most 1/4 nm², frac(1−frac) for the ideal line, 1/6 nm² for a wide one.
		least, most := sigma*sigma, sigma*sigma+0.25+1e-9
		if fwhm == 0 {
			least, most = frac*(1-frac)-1e-9, frac*(1-frac)+1e-9
		}
		if math.Abs(power-1) > 1e-12 || math.Abs(place) > 1e-9 || spread < least-1e-9 || spread > most {
			r.Errorf("%g nm, %g wide: power %.15f, off by %g, variance %g of %g", centre, fwhm, power, place, spread, sigma*sigma)
		}
	})
}

// The differences of this package must be those of the package that judges
// lamps, on the same light.
func TestDifferencesAreThoseOfTheIndices(t *testing.T) {
	e, cri, tm30 := rendition.New(), new(rendition.CRI), new(rendition.TM30)
	rapid.Check(t, func(r *rapid.T) {
		var o Answer
		var columns []column
		var a []float64
		for i := range 4 {
			nm := []float64{450, 530, 580, 610}[i] + rapid.Float64Range(-15, 15).Draw(r, "nm")
			o.Mixture = append(o.Mixture, Part{Centre: nm, FWHM: 30, Emitter: -1, Power: rapid.Float64Range(0.1, 0.4).Draw(r, "power")})
		}
		curve, err := o.Draw(nil)
		if err != nil {
			r.Fatal(err)
		}
		p, err := curve.Project(spectrum.Sampled)
		if err != nil {
			r.Fatal(err)
		}
		cct, _, ok := colorimetry.CCT(colorimetry.Tristimulus(standards.CIE1931(), p).UV())
		if !ok || !rendition.HasReference(cct) {
			return
		}
		columns, a = []column{{emitter: 0, cost: 1, p: emitterProjection(p)}}, []float64{0.7}
		q := newPalette(columns)
		e.CRI(p, cct, cri)
		e.Fidelity(p, cct, tm30)

		space, places := criReference(cct)
		d := newDifferences(q.cri(), space, places)
		d.at(a)
		for j := range 9 {
			if got := 100 - 4.6*d.length[j]; math.Abs(got-cri.R[j]) > 1e-6 {
				r.Errorf("%g K, R%d: %.9f, want %.9f", cct, j+1, got, cri.R[j])
			}
		}
		ucs, bins, err := ucsReference(cct)
		if err != nil {
			r.Fatal(err)
		}
		d = newDifferences(q.ces(), newUCSSpace(), ucs)
		d.at(a)
		for j, got := range d.place {
			want := tm30.Test[j]
			if math.Abs(got[0]-want.J)+math.Abs(got[1]-want.A)+math.Abs(got[2]-want.B) > 1e-6 {
				r.Errorf("%g K, sample %d: %v, want %v", cct, j, got, want)
			}
		}
		if got := newGamut(ucs, bins, 1).of(d); math.Abs(got-tm30.Rg) > 1e-6 {
			r.Errorf("%g K: Rg %.9f, want %.9f", cct, got, tm30.Rg)
		}
	})
}

// Every gradient against differences of the values.
func TestGradientsAreThoseOfTheValues(t *testing.T) {
	c, err := Conditions{
		Colour:  withinDuv(3500, 0.003),
		Demands: []Demand{AtLeast(Ra, 80), AtLeast(R9, 20), AtLeast(Rf, 80), AtLeast(Rg, 95), AtMost(SP, 1.5), AtMost(MelDER, 0.6)},
		Bands:   []Band{{430, 660, 25}},
	}.normalised()
	if err != nil {
		t.Fatal(err)
	}
	columns, coarse, err := c.columns()
	if err != nil {
		t.Fatal(err)
	}
	p, err := newProgram(newPalette(columns).pick(coarse), &c)
	if err != nil {
		t.Fatal(err)
	}
	a := make([]float64, p.n)
	for j := range a {
		a[j] = 0.01 + 0.005*math.Sin(float64(j))
	}
	at, more, less := p.newPoint(), p.newPoint(), p.newPoint()
	p.value(a, at)
	p.slope(at)
	for _, j := range []int{0, 17, 40, 61, p.n - 1} {
		const h = 1e-5
		b := append([]float64(nil), a...)
		b[j] += h
		p.value(b, more)
		b[j] -= 2 * h
		p.value(b, less)
		for k := range p.limits {
			want := (more.g[k] - less.g[k]) / (2 * h)
			if got := at.gradient[k][j]; math.Abs(got-want) > 1e-4*(1+math.Abs(want)) {
				t.Errorf("limit %d, column %d: %.8g, by differences %.8g", k, j, got, want)
			}
		}
	}
}

// led draws an LED-like emitter, a Gaussian.
func led(t *testing.T, name string, centre, fwhm, efficiency float64) Emitter {
	t.Helper()
	o := Answer{Mixture: []Part{{Centre: centre, FWHM: fwhm, Emitter: -1, Power: 3}}}
	curve, err := o.Draw(nil)
	if err != nil {
		t.Fatal(err)
	}
	return Emitter{name, curve, efficiency}
}

// Three emitters mix a colour in one way only, which Cramer's rule finds.
func TestThreeEmittersMixAsCramersRuleSays(t *testing.T) {
	emitters := []Emitter{led(t, "blue", 455, 20, 0.7), led(t, "green", 540, 60, 0.45), led(t, "red", 620, 18, 0.6)}
	o := solve(t, Conditions{Colour: AtCCT(3500, 0), Emitters: emitters})
	var m [3]colorimetry.XYZ
	for i, e := range emitters {
		p, err := e.Spectrum.Project(spectrum.Sampled)
		if err != nil {
			t.Fatal(err)
		}
		m[i] = colorimetry.Tristimulus(standards.CIE1931(), p).Scale(1 / p.Total)
	}
	white := colorimetry.PlanckianXYZ(3500)
	white = white.Scale(1 / white.Y)
	det := func(p, q, r colorimetry.XYZ) float64 {
		return p.X*(q.Y*r.Z-q.Z*r.Y) - q.X*(p.Y*r.Z-p.Z*r.Y) + r.X*(p.Y*q.Z-p.Z*q.Y)
	}
	d := det(m[0], m[1], m[2])
	watts := [3]float64{det(white, m[1], m[2]) / d, det(m[0], white, m[2]) / d, det(m[0], m[1], white) / d}
	radiant := watts[0] + watts[1] + watts[2]
	want := photometry.Km / (watts[0]/0.7 + watts[1]/0.45 + watts[2]/0.6)
	if math.Abs(o.Efficacy-want) > 1e-5*want || math.Abs(o.LER-photometry.Km/radiant) > 1e-5*o.LER {
		t.Errorf("%.4f lm/W electrical and %.4f of radiation, want %.4f and %.4f", o.Efficacy, o.LER, want, photometry.Km/radiant)
	}
	for i, p := range o.Mixture {
		if p.Emitter != i || math.Abs(p.Power-watts[i]/radiant) > 1e-5 {
			t.Errorf("%s: %.6f of the radiation, want %.6f", emitters[i].Name, p.Power, watts[i]/radiant)
		}
	}
}

func TestTheBestTwoOfFourEmittersAreFound(t *testing.T) {
	emitters := []Emitter{led(t, "blue", 450, 20, 0.7), led(t, "yellow", 575, 90, 0.5), led(t, "green", 530, 35, 0.3), led(t, "red", 630, 18, 0.6)}
	four := solve(t, Conditions{Colour: withinDuv(4000, 0.02), Emitters: emitters})
	two := solve(t, Conditions{Colour: withinDuv(4000, 0.02), Emitters: emitters, Lines: 2})
	if len(two.Mixture) > 2 || two.Efficacy > four.Efficacy*(1+1e-6) {
		t.Errorf("two: %.3f with %v; four: %.3f", two.Efficacy, two.Mixture, four.Efficacy)
	}
	_, err := Solve(context.Background(), Conditions{Colour: AtCCT(4000, 0), Emitters: emitters[2:]})
	var u *Unreachable
	if !errors.As(err, &u) {
		t.Errorf("green and red alone: %v", err)
	}
}

// A light of four lines under a limit of four is the free optimum, and one of
// three is worse, but not than the next best found from elsewhere.
func TestFewerLinesCostLight(t *testing.T) {
	base := Conditions{Colour: AtCCT(3000, 0), Demands: []Demand{AtLeast(Ra, 80)}, Bands: gaussians}
	free := solve(t, base)
	base.Lines = 4
	if four := solve(t, base); math.Abs(four.Efficacy-free.Efficacy) > 1e-6*free.Efficacy {
		t.Errorf("four lines %.4f, any number %.4f", four.Efficacy, free.Efficacy)
	}
	base.Lines = 3
	three := solve(t, base)
	if n := len(three.Lines()); n != 3 || three.Efficacy >= free.Efficacy || three.Evidence.Agreed < 2 || !math.IsNaN(three.Evidence.Bound) {
		t.Errorf("%d lines, %.4f of %.4f, %+v", n, three.Efficacy, free.Efficacy, three.Evidence)
	}
}

func TestBadConditionsGetOneSentence(t *testing.T) {
	white := AtCCT(3000, 0)
	flat, err := spectrum.New(spectrum.Relative, []float64{400, 700}, []float64{0, 0})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		c    Conditions
		says string
	}{
		{Conditions{Colour: AtCCT(400, 0)}, "1000–25000 K"},
		{Conditions{Colour: AtCCT(3000, 0.2)}, "±0.05"},
		{Conditions{Colour: Colour{CCT: Span{5000, 3000}}}, "rising"},
		{Conditions{Colour: Colour{CCT: Span{3000, 3000}, X: 0.3}}, "not by both"},
		{Conditions{Colour: AtXY(0.7, 0.6)}, "no chromaticity"},
		{Conditions{Demands: []Demand{AtLeast(Ra, 80)}}, "needs a colour temperature"},
		{Conditions{Colour: white, Demands: []Demand{AtMost(Ra, 80)}}, "not at most"},
		{Conditions{Colour: white, Demands: []Demand{AtLeast(Ra, 101)}}, "only the reference"},
		{Conditions{Colour: white, Demands: []Demand{AtLeast(Rf, -1)}}, "below all there is"},
		{Conditions{Colour: white, Demands: []Demand{AtLeast(SP, math.NaN())}}, "not a number"},
		{Conditions{Colour: white, Demands: []Demand{AtLeast(Duv, 0)}}, "no measure"},
		{Conditions{Colour: white, Demands: []Demand{AtLeast(Ra, 80), AtLeast(Ra, 90)}}, "two demands"},
		{Conditions{Bands: []Band{{700, 400, 0}}}, "700–400 nm"},
		{Conditions{Bands: []Band{{400, 700, -1}}}, "-1 nm wide"},
		{Conditions{Emitters: []Emitter{{"dark", flat, 0.5}}}, "no radiation"},
		{Conditions{Emitters: []Emitter{{"keen", flat, 1.5}}}, "at most 1"},
		{Conditions{Emitters: []Emitter{{"none", nil, 0.5}}}, "no spectrum"},
		{Conditions{Emitters: []Emitter{{"dark", flat, 0.5}}, Bands: gaussians}, "not of both"},
		{Conditions{Bands: []Band{{400, 700, 0.001}}}, "0.001 nm wide"},
		{Conditions{Lines: -1}, "negative"},
		{Conditions{Restarts: 1e6}, "nor the restarts over 1000"},
	} {
		_, err := Solve(context.Background(), c.c)
		if err == nil || !strings.HasPrefix(err.Error(), "limits: ") || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v; want %q in it", c.c, err, c.says)
		}
	}
}

func TestACancelledSearchEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	c := Conditions{Colour: AtCCT(3000, 0), Demands: []Demand{AtLeast(Ra, 80)}, Bands: gaussians}
	if _, err := Solve(ctx, c); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if _, err := new(Solver).Front(ctx, c, Ra, []float64{70, 80}); !errors.Is(err, context.Canceled) {
		t.Errorf("front: %v", err)
	}
}

// memory is a cache that counts.
type memory struct {
	kept  map[string]Answer
	loads int
}

func (m *memory) Load(key string) (Answer, bool) {
	o, ok := m.kept[key]
	if ok {
		m.loads++
	}
	return o, ok
}

func (m *memory) Save(key string, a Answer) { m.kept[key] = a }

func TestACachedAnswerIsTheSame(t *testing.T) {
	m := &memory{kept: make(map[string]Answer)}
	s := &Solver{Cache: m}
	c := Conditions{Colour: AtCCT(3000, 0), Demands: []Demand{AtLeast(Ra, 80)}, Bands: gaussians}
	first, err := s.Solve(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	again, err := s.Solve(context.Background(), c)
	if err != nil || m.loads != 1 || again.Efficacy != first.Efficacy || again.Spectrum.Len() != first.Spectrum.Len() {
		t.Errorf("%d loads, %v, %g and %g", m.loads, err, first.Efficacy, again.Efficacy)
	}
	for i, v := range first.Spectrum.Values() {
		if again.Spectrum.Values()[i] != v {
			t.Fatalf("sample %d differs", i)
		}
	}
	seen := map[string]bool{c.Key(): true}
	for _, other := range []Conditions{
		{Colour: AtCCT(3001, 0), Demands: c.Demands, Bands: c.Bands},
		{Colour: c.Colour, Demands: []Demand{AtLeast(Ra, 81)}, Bands: c.Bands},
		{Colour: c.Colour, Demands: []Demand{AtMost(SP, 80)}, Bands: c.Bands},
		{Colour: c.Colour, Demands: c.Demands},
		{Colour: c.Colour, Demands: c.Demands, Bands: c.Bands, Lines: 4},
		{Colour: c.Colour, Demands: c.Demands, Emitters: []Emitter{led(t, "a", 500, 20, 0.5)}},
		{Colour: c.Colour, Demands: c.Demands, Emitters: []Emitter{led(t, "a", 500, 20, 0.6)}},
	} {
		if k := other.Key(); k == "" || seen[k] {
			t.Errorf("%+v has the key of another question", other)
		} else {
			seen[k] = true
		}
	}
}

func TestADamagedAnswerInTheCacheIsNone(t *testing.T) {
	c := Conditions{Colour: AtCCT(3000, 0), Bands: gaussians}
	m := &memory{kept: map[string]Answer{c.Key(): {Efficacy: 1, Mixture: []Part{{Emitter: 7, Power: 1}}}}}
	o, err := (&Solver{Cache: m}).Solve(context.Background(), c)
	if err != nil || !(o.Efficacy > 400) {
		t.Errorf("%.1f lm/W, %v", o.Efficacy, err)
	}
}

func TestAFrontFallsAndAMapHasItsOrder(t *testing.T) {
	s := new(Solver)
	c := Conditions{Colour: AtCCT(3000, 0), Bands: gaussians, Demands: []Demand{AtLeast(Ra, 10)}}
	front, err := s.Front(context.Background(), c, Ra, []float64{60, 80, 90, 95, 99.99})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range front[:4] {
		if p.Err != nil || i > 0 && p.Optimum.Efficacy >= front[i-1].Optimum.Efficacy {
			t.Errorf("%v: %.3f, %v", p.Demand, p.Optimum.Efficacy, p.Err)
		}
	}
	if front[4].Err == nil {
		t.Errorf("%v was reached", front[4].Demand)
	}
	points, err := s.Map(context.Background(), c, []float64{3000, 5000}, Ra, []float64{80, 90})
	if err != nil || len(points) != 4 {
		t.Fatalf("%d points, %v", len(points), err)
	}
	for i, want := range []float64{3000, 3000, 5000, 5000} {
		if points[i].CCT != want || math.Abs(points[i].Optimum.CCT-want) > 0.5 {
			t.Errorf("point %d: %g K, light of %g K", i, points[i].CCT, points[i].Optimum.CCT)
		}
	}
}

func BenchmarkPoint(b *testing.B) {
	s := new(Solver)
	for b.Loop() {
		if _, err := s.Solve(context.Background(), Conditions{Colour: AtCCT(3000, 0), Demands: []Demand{AtLeast(Ra, 80)}, Bands: gaussians}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPointOfRf(b *testing.B) {
	s := new(Solver)
	for b.Loop() {
		if _, err := s.Solve(context.Background(), Conditions{Colour: AtCCT(3000, 0), Demands: []Demand{AtLeast(Rf, 85)}, Bands: gaussians}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkMap is the map of 200 points: twenty temperatures by ten values of Ra.
func BenchmarkMap(b *testing.B) {
	var kelvin, ra []float64
	for i := range 20 {
		kelvin = append(kelvin, 2700+200*float64(i))
	}
	for i := range 10 {
		ra = append(ra, 70+25.0/9*float64(i))
	}
	for b.Loop() {
		points, err := new(Solver).Map(context.Background(), Conditions{Bands: gaussians}, kelvin, Ra, ra)
		if err != nil {
			b.Fatal(err)
		}
		for _, p := range points {
			if p.Err != nil {
				b.Fatal(p.Err)
			}
		}
	}
}
