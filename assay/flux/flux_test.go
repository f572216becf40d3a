package flux

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"lampassay/assay/uncertainty"
	"lampassay/light/distribution"
	"lampassay/light/photometry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.8g, want %.8g ± %g", what, got, want, tolerance)
	}
}

const deg = math.Pi / 180

func cosine(gamma, _ float64) float64 { return max(0, math.Cos(gamma*deg)) }

// readings are what a perfect bench reads of a lamp at 2 m.
func readings(lamp func(gamma, c float64) float64, step float64, planes ...float64) (list []Reading) {
	for _, c := range planes {
		for g := 0.0; g <= 180; g += step {
			list = append(list, Reading{Gamma: g, Plane: c, Value: lamp(g, c) / 4, Distance: 2})
		}
	}
	return list
}

func assess(t testing.TB, a *Angles) *AnglesResult {
	t.Helper()
	r, err := a.Assess(context.Background(), uncertainty.Options{Draws: 1000})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func bench(list []Reading, s distribution.Symmetry) *Angles {
	return &Angles{Readings: list, Symmetry: s, Meter: MeterFor(uncertainty.White), DistanceU: Part{0.01, "tape"}, AngleU: Part{0.5, "scale"}}
}

func TestALambertianLampOverAngles(t *testing.T) {
	lamp := func(g, c float64) float64 { return 200 * cosine(g, c) }
	r := assess(t, bench(readings(lamp, 5, 0), distribution.Rotational))
	near(t, "flux", r.Value, 200*math.Pi, 0.001*200*math.Pi)
	near(t, "in 90°", r.Within90.Value, 100*math.Pi, 0.001*100*math.Pi)
	near(t, "in 120°", r.Within120.Value, 150*math.Pi, 0.5)
	near(t, "centre", r.Centre.Value, 200, 1e-9)
	near(t, "peak", r.Peak.Value, 200, 1e-9)
	near(t, "beam", r.Beam.Widest, 120, 0.3)
	if r.Directional || r.UsefulCone != 0 || r.Useful != r.Figure {
		t.Errorf("75 %% within 120° are not a directional lamp: %+v", r.Useful)
	}
	if !(r.Low < r.Value && r.Value < r.High) || !(r.U > 0.03*r.Value && r.U < 0.08*r.Value) {
		t.Errorf("%+v", r.Figure)
	}
	sum := 0.0
	for _, line := range r.Budget {
		if line.Source == "" || line.Name == "" {
			t.Errorf("a line without its name or source: %+v", line)
		}
		sum += line.Contribution * line.Contribution
	}
	near(t, "the budget's sum of squares", math.Sqrt(sum), r.U, 0.01*r.U)
}

func TestTheUsefulConeFollowsTheRegulation(t *testing.T) {
	power := func(n float64) func(g, c float64) float64 {
		return func(g, c float64) float64 { return 1000 * math.Pow(cosine(g, c), n) }
	}
	narrow := assess(t, bench(readings(power(20), 2.5, 0), distribution.Rotational))
	if narrow.UsefulCone != 90 || narrow.Useful != narrow.Within90 {
		t.Errorf("a beam of %.1f° has the cone of %g°", narrow.Beam.Widest, narrow.UsefulCone)
	}
	near(t, "flux in 90°", narrow.Useful.Value, 2*math.Pi*1000/21*(1-math.Pow(math.Cos(45*deg), 21)), 1)
	wide := assess(t, bench(readings(power(1.5), 2.5, 0), distribution.Rotational))
	if wide.UsefulCone != 120 || wide.Beam.Widest < 90 {
		t.Errorf("a beam of %.1f° has the cone of %g°", wide.Beam.Widest, wide.UsefulCone)
	}
}

// A sweep through both sides, poles on one half-plane only, repeats and disorder
// are the same lamp.
func TestReadingsComeInAnyOrder(t *testing.T) {
	lamp := func(g, c float64) float64 { return 100 + 50*math.Cos(g*deg) + 20*math.Sin(g*deg)*math.Cos(c*deg) }
	plain := assess(t, bench(readings(lamp, 10, 0, 90, 180, 270), distribution.None))
	var swept []Reading
	for _, c := range []float64{0, 90} {
		for g := 180.0; g >= -180; g -= 10 {
			if (g == 0 || math.Abs(g) == 180) && c == 90 {
				continue
			}
			r := Reading{Gamma: g, Plane: c, Value: lamp(g, c) / 4, Distance: 2}
			swept = append(swept, r, r)
		}
	}
	r := assess(t, bench(swept, distribution.None))
	near(t, "flux", r.Value, plain.Value, 1e-9)
	if i := slices.IndexFunc(r.Budget, func(l Line) bool { return l.Name == "repeatability of readings" }); i >= 0 && r.Budget[i].Contribution > 1e-6 {
		t.Errorf("repeats that agree scatter by %g lm", r.Budget[i].Contribution)
	}
}

func TestWhatIsTakenOffIsTheBlockedReading(t *testing.T) {
	list := readings(cosine, 10, 0)
	clean := assess(t, bench(list, distribution.Rotational))
	for i := range list {
		list[i].Value += 0.05
		list[i].Ambient = 0.05
	}
	r := assess(t, bench(list, distribution.Rotational))
	near(t, "flux", r.Value, clean.Value, 1e-9)
	if len(r.Cautions) != len(clean.Cautions)-1 {
		t.Errorf("cautions %q, and without ambient readings %q", r.Cautions, clean.Cautions)
	}
}

func projected(t testing.TB, q spectrum.Quantity, nm, v []float64) *spectrum.Projected {
	t.Helper()
	s, err := spectrum.New(q, nm, v)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// irradiance is a level spectrum of an illuminance.
func irradiance(t testing.TB, lux float64) *spectrum.Projected {
	nm, v := make([]float64, 401), make([]float64, 401)
	for i := range nm {
		nm[i], v[i] = 380+float64(i), lux/photometry.Km/106.856
	}
	return projected(t, spectrum.Irradiance, nm, v)
}

func TestSubstitutionByHand(t *testing.T) {
	s := SubstitutionFor(uncertainty.White, Part{0.015, "certificate"}, true)
	s.Reference, s.Lamp, s.Standard, s.Dark = 1000, []float64{61}, []float64{81}, 1
	s.AuxiliaryLamp, s.AuxiliaryStandard = []float64{10}, []float64{11}
	r, err := s.Assess(context.Background(), few)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flux", r.Value, 1000*60.0/80/0.9, 1e-9) // LM-79: divided by α = 9/10
	s.AuxiliaryLamp, s.AuxiliaryStandard = nil, nil
	if r, err = s.Assess(context.Background(), few); err != nil {
		t.Fatal(err)
	}
	near(t, "without an auxiliary lamp", r.Value, 750, 1e-9)
}

func TestOneDirectionByHand(t *testing.T) {
	for _, c := range []struct {
		model distribution.Model
		want  float64
	}{
		{distribution.Lambertian(), math.Pi * 400}, {distribution.Uniform(), 4 * math.Pi * 400},
		{distribution.Cone(90), 0.5857864376 * math.Pi * 400}, {distribution.CosinePower(3), math.Pi / 2 * 400},
	} {
		d := OneDirection{Lux: []float64{101}, Ambient: 1, Meter: MeterFor(uncertainty.White), Distance: 2, Model: c.model, ModelU: ModelUncertainty()}
		r, err := d.Assess(context.Background(), few)
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.model.String(), r.Value, c.want, 1e-6)
		if r.Budget[0].Name != uncertainty.AssumedBeam || r.U < 0.15*r.Value {
			t.Errorf("u = %g, the first line is %+v", r.U, r.Budget[0])
		}
	}
}

// A matt disc of 0.6 m at 1 m reads 1/1.09 of its intensity (1/(1 + (D/2d)²)).
func TestTheSizeOfAMattSurfaceIsMadeUpFor(t *testing.T) {
	const intensity, low = 400.0, 1 / 1.09
	d := OneDirection{Lux: []float64{intensity * low}, Meter: MeterFor(uncertainty.White), Distance: 1, Model: distribution.Lambertian(), ModelU: ModelUncertainty(), Size: 0.6}
	r, err := d.Assess(context.Background(), few)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flux", r.Value, math.Pi*intensity, 1e-9)
	a := bench(readings(func(g, c float64) float64 { return intensity * cosine(g, c) }, 10, 0), distribution.Rotational)
	for i := range a.Readings {
		a.Readings[i].Distance, a.Readings[i].Value = 1, a.Readings[i].Value*4*low
	}
	plain := assess(t, a)
	a.Size = 0.6
	sized := assess(t, a)
	near(t, "on the axis", sized.Centre.Value, intensity, 1e-9)
	near(t, "the largest", sized.Peak.Value, intensity, 1e-9)
	lux, _ := sized.At(1)
	near(t, "lux where the meter stood", lux, intensity*low, 1e-9)
	near(t, "the flux of the whole sphere", sized.Value, plain.Value, 1e-9)
	near(t, "the flux in 120°", sized.Within120.Value, plain.Within120.Value, 1e-9)
	if !(sized.Within120.U > 1.2*plain.Within120.U) {
		t.Errorf("u in 120° is %g with the size and %g without", sized.Within120.U, plain.Within120.U)
	}
}

func TestIlluminanceOfASpectrum(t *testing.T) {
	lux, err := Illuminance(irradiance(t, 320))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "illuminance", lux, 320, 0.2) // ∫V = 106.856 nm, in 5 nm steps
}

func TestDeclaredValues(t *testing.T) {
	for _, c := range []struct {
		d Declared
		u float64
	}{
		{Declared{Flux: 806, Expanded: 32, K: 2}, 16},
		{Declared{Flux: 806}, 80.6 / math.Sqrt(3)},
		{Declared{Flux: 806, Tolerance: 0.05}, 40.3 / math.Sqrt(3)},
	} {
		r, err := c.d.Assess(context.Background(), few)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "value", r.Value, 806, 1e-9)
		near(t, "u", r.U, c.u, 1e-6)
	}
}

func TestAnUncertaintyAsLargeAsTheFluxIsCautionedAgainst(t *testing.T) {
	const words = "reaches below zero"
	for _, c := range []struct {
		expanded float64
		cautions bool
	}{{100, false}, {1200, true}} {
		r, err := (&Declared{Flux: 806, Expanded: c.expanded, K: 2}).Assess(context.Background(), few)
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(strings.Join(r.Cautions, " "), words); got != c.cautions {
			t.Errorf("U = %g lm: %q", c.expanded, r.Cautions)
		}
	}
}

func vLambda() (nm, v []float64) {
	for l := 360.0; l <= 830; l += 2 {
		nm, v = append(nm, l), append(v, standards.V().At(l))
	}
	return nm, v
}

func line(t testing.TB, centre, width float64) *spectrum.Projected {
	var nm, v []float64
	for l := 380.0; l <= 780; l += 0.5 {
		nm, v = append(nm, l), append(v, math.Exp(-math.Pow((l-centre)/width, 2)))
	}
	return projected(t, spectrum.Relative, nm, v)
}

func TestMismatchOfALampByTheMetersCurve(t *testing.T) {
	nm, v := vLambda()
	white, err := MismatchOf(nm, v, line(t, 560, 90))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "of a meter that is V(λ)", white.Factor, 1, 2e-3)
	red, err := MismatchOf(nm, v, line(t, 655, 3))
	if err != nil {
		t.Fatal(err)
	}
	if !(red.U > 5*white.U) {
		t.Errorf("a nanometre of the curve's wavelengths is ± %g for red light and ± %g for white", red.U, white.U)
	}
	// V′/V at 655 nm is −6 % a nanometre; against illuminant A a little less.
	near(t, "u for red light", red.U, 0.06, 0.015)
	same, err := MismatchBetween(nm, v, line(t, 610, 3), line(t, 610, 3))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lamp against its like", same.Factor, 1, 1e-12)
	if !(MismatchByClass(uncertainty.Narrow).U > 2*MismatchByClass(uncertainty.White).U) {
		t.Error("without a curve, lamps of single lines are no less sure than white ones")
	}
	if _, err := MismatchOf([]float64{0, 1, 2}, []float64{1, 2, 3}, line(t, 560, 90)); err == nil {
		t.Error("a curve over pixels is taken for a response")
	}
}

func TestWhatCannotBeIsSaidInOneSentence(t *testing.T) {
	ctx := context.Background()
	angles := func(spoil func(*Angles)) func() error {
		return func() error {
			a := bench(readings(cosine, 10, 0, 90), distribution.Quadrant)
			spoil(a)
			_, err := a.Assess(ctx, few)
			return err
		}
	}
	one := func(spoil func(*OneDirection)) func() error {
		return func() error {
			d := OneDirection{Lux: []float64{100}, Meter: MeterFor(uncertainty.White), Distance: 1, Model: distribution.Uniform(), ModelU: ModelUncertainty()}
			spoil(&d)
			_, err := d.Assess(ctx, few)
			return err
		}
	}
	sphere := func(spoil func(*Substitution)) func() error {
		return func() error {
			s := SubstitutionFor(uncertainty.White, Part{0.015, "certificate"}, true)
			s.Reference, s.Lamp, s.Standard = 1000, []float64{60}, []float64{80}
			spoil(&s)
			_, err := s.Assess(ctx, few)
			return err
		}
	}
	declared := func(d Declared) func() error {
		return func() error { _, err := d.Assess(ctx, few); return err }
	}
	for _, c := range []struct {
		want string
		run  func() error
	}{
		{"there is no reading", angles(func(a *Angles) { a.Readings = nil })},
		{"the distance 0 m", angles(func(a *Angles) { a.Readings[3].Distance = 0 })},
		{"-1 lx", angles(func(a *Angles) { a.Readings[3].Value = -1 })},
		{"was read on other half-planes but not on C = 90°", angles(func(a *Angles) { a.Readings = a.Readings[:len(a.Readings)-3] })},
		{"as much was taken off as was read, or more", angles(func(a *Angles) {
			for i := range a.Readings {
				a.Readings[i].Ambient = 400
			}
		})},
		{"6.28 sr (50 % of the sphere) are unknown", angles(func(a *Angles) {
			a.Readings = slices.DeleteFunc(a.Readings, func(r Reading) bool { return r.Gamma > 90 })
		})},
		{"the uncertainty is negative", angles(func(a *Angles) { a.AngleU.U = -1 })},
		{"illuminance: nothing was read", one(func(d *OneDirection) { d.Lux = nil })},
		{"illuminance: -3 cannot be", one(func(d *OneDirection) { d.Lux[0] = -3 })},
		{"a distance of 0 m", one(func(d *OneDirection) { d.Distance = 0 })},
		{"a lamp of -1 m", one(func(d *OneDirection) { d.Size = -1 })},
		{"no beam was stated", one(func(d *OneDirection) { d.Model = distribution.Model{} })},
		{"as much was taken off", one(func(d *OneDirection) { d.Ambient = 200 })},
		{"-1 lx of ambient", one(func(d *OneDirection) { d.Ambient = -1 })},
		{"a reference lamp of 0 lm", sphere(func(s *Substitution) { s.Reference = 0 })},
		{"it takes both", sphere(func(s *Substitution) { s.AuxiliaryLamp = []float64{3} })},
		{"a dark reading of 70", sphere(func(s *Substitution) { s.Dark = 70 })},
		{"not above the dark reading", sphere(func(s *Substitution) {
			s.Dark, s.AuxiliaryLamp, s.AuxiliaryStandard = 5, []float64{4}, []float64{6}
		})},
		{"a declared flux of 0 lm", declared(Declared{})},
		{"both stated", declared(Declared{Flux: 1, Expanded: 1, K: 2, Tolerance: 0.1})},
		{"a coverage factor of 0", declared(Declared{Flux: 1, Expanded: 1})},
		{"a tolerance of -100 %", declared(Declared{Flux: 1, Tolerance: -1})},
		{"cannot be negative, and ends somewhere", declared(Declared{Flux: 1, Expanded: math.Inf(1), K: 2})},
		{"look at the readings, the distance and their units", declared(Declared{Flux: 1e12})},
		{"look at the readings, the distance and their units", one(func(d *OneDirection) { d.Distance = 1e-9 })},
		{"look at the uncertainties that were stated", one(func(d *OneDirection) { d.ModelU.U = 1e200 })},
		{"everything was read at γ = 0°", angles(func(a *Angles) { a.Readings = a.Readings[:1] })},
		{"beyond ± 20°", angles(func(a *Angles) { a.AngleU.U = 21 })},
		{"needs irradiance", func() error { _, err := Illuminance(line(t, 560, 90)); return err }},
	} {
		err := c.run()
		if err == nil || !strings.HasPrefix(err.Error(), "flux: ") || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("got %v, want a sentence with %q", err, c.want)
		}
	}
	a := bench(readings(cosine, 10, 0), distribution.None)
	_, err := a.Assess(ctx, few)
	var gap *distribution.GapError
	if !errors.As(err, &gap) || !gap.Planes {
		t.Errorf("one half-plane without a symmetry: %v", err)
	}
}
