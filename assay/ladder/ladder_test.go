package ladder

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/limits"
	"lampassay/light/photometry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func assayed(t testing.TB, s *spectrum.Spectrum, kind spectrum.Projection, g assay.Given) *assay.Result {
	t.Helper()
	p, err := s.Project(kind)
	if err != nil {
		t.Fatal(err)
	}
	r := new(assay.Result)
	assay.NewEvaluator().Evaluate(p, &g, r)
	return r
}

func illuminant(t testing.TB, name string, g assay.Given) *assay.Result {
	t.Helper()
	il, err := standards.IlluminantByName(name)
	if err != nil {
		t.Fatal(err)
	}
	return assayed(t, il.Spectrum, spectrum.Tabulated, g)
}

// line is a Gaussian of the given width in nm on a dark ground.
func line(t testing.TB, centre, fwhm float64, g assay.Given) *assay.Result {
	t.Helper()
	var nm, v []float64
	for l := 360.0; l <= 830; l += 0.25 {
		nm, v = append(nm, l), append(v, math.Exp(-4*math.Ln2*(l-centre)*(l-centre)/fwhm/fwhm))
	}
	s, err := spectrum.New(spectrum.Relative, nm, v)
	if err != nil {
		t.Fatal(err)
	}
	return assayed(t, s, spectrum.Sampled, g)
}

// given is invented: 3350 lm from 41 W at the mains, 36 W at the lamp.
var given = assay.Given{Flux: assay.Measured(3350), Power: assay.Measured(41), PowerLamp: assay.Measured(36)}

func climb(t testing.TB, r *assay.Result, o Options) *Ladder {
	t.Helper()
	l, err := Of(context.Background(), r, o)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

var search = Search(new(limits.Solver))

func ler(r *assay.Result) float64 { v, _ := r.Value(quantity.LER); return v }

func TestTheRungsOfATube(t *testing.T) {
	l := climb(t, illuminant(t, "FL11", given), Options{Best: search})
	if l.Colour != White {
		t.Errorf("colour %q", l.Colour)
	}
	for i, want := range []struct {
		efficacy, tolerance float64
		basis               Basis
	}{
		{683.002, 0, Defined},
		{400, 15, Computed}, // white of Ra 80 is said to end near 390 lm/W at mid temperatures: common practice, no source
		{ler(illuminant(t, "FL11", given)), 0, Measured},
		{3350. / 36, 1e-9, Measured},
		{3350. / 41, 1e-9, Measured},
	} {
		r := l.Rungs[i]
		if !r.Known() || math.Abs(r.Efficacy-want.efficacy) > want.tolerance || r.Basis != want.basis {
			t.Errorf("rung %d: %+v, want %g ± %g, %s", i, r, want.efficacy, want.tolerance, want.basis)
		}
	}
	if got := l.Kept(); math.Abs(got-3350./41/photometry.Km) > 1e-12 {
		t.Errorf("kept %g in all", got)
	}
}

func TestWhatIsKeptMultipliesUp(t *testing.T) {
	for _, g := range []assay.Given{given, {Flux: given.Flux, Power: given.Power}, {Flux: given.Flux, PowerLamp: given.PowerLamp}, {}} {
		l := climb(t, illuminant(t, "FL11", g), Options{Best: search})
		product := 1.0
		for _, r := range l.Rungs[1:] {
			if r.Known() {
				product *= r.Kept
				if !(r.Kept > 0 && r.Kept <= 1) || r.Loss == "" {
					t.Errorf("%+v: a rung keeps a share of the one above and names the loss", r)
				}
			} else if r.Efficacy != 0 || r.Kept != 0 || r.Loss != "" {
				t.Errorf("%+v: no figure goes with a reason", r)
			}
		}
		if math.Abs(product-l.Kept()) > 1e-12 {
			t.Errorf("%v: the rungs keep %g, the ladder %g", g, product, l.Kept())
		}
	}
}

// A light of a single colour is held to 683·V(λ) of its own wavelength.
func TestALightOfASingleColourHasItsOwnLimit(t *testing.T) {
	for _, nm := range []float64{470, 532, 589.3, 633} {
		l := climb(t, line(t, nm, 0.5, assay.Given{}), Options{Best: func(context.Context, float64, float64, float64) (Rival, error) {
			t.Errorf("%g nm: asked for a rival", nm)
			return Rival{}, nil
		}})
		want := photometry.Km * standards.V().At(nm)
		if got := l.Rungs[1]; l.Colour != Single || math.Abs(got.Efficacy/want-1) > 0.005 {
			t.Errorf("%g nm: %s, %+v; want %.1f lm/W", nm, l.Colour, got, want)
		}
		if got := l.Rungs[2]; math.Abs(got.Kept-1) > 0.005 {
			t.Errorf("%g nm: a thin line keeps %g of its limit", nm, got.Kept)
		}
	}
}

// Green light has no colour temperature: its rival has its chromaticity and
// owes nothing to colours.
func TestColouredLightIsHeldToItsChromaticityAlone(t *testing.T) {
	asked := 0
	l := climb(t, line(t, 530, 60, assay.Given{}), Options{Best: func(ctx context.Context, x, y, ra float64) (Rival, error) {
		asked++
		if !math.IsNaN(ra) {
			t.Errorf("asked for Ra %g", ra)
		}
		return search(ctx, x, y, ra)
	}})
	if l.Colour != Coloured || asked != 1 || !l.Rungs[1].Known() || l.Rungs[2].Kept > 1 {
		t.Errorf("asked %d times: %+v", asked, l)
	}
}

func TestTheRivalIsNeverBelowTheLampItself(t *testing.T) {
	for _, name := range []string{"A", "D65", "FL2", "FL11", "HP1", "HP3", "LED-B1", "LED-B5", "LED-V1"} {
		l := climb(t, illuminant(t, name, assay.Given{}), Options{Best: search})
		if best, own := l.Rungs[1], l.Rungs[2]; !best.Known() || best.Efficacy < own.Efficacy {
			t.Errorf("%s: best %+v, own %.1f", name, best, own.Efficacy)
		}
	}
}

func TestAnAssumedGearFillsInTheEndThatWasNotMeasured(t *testing.T) {
	mains := climb(t, illuminant(t, "FL11", assay.Given{Flux: given.Flux, Power: given.Power}), Options{Gear: 0.9})
	if r := mains.Rungs[3]; r.Basis != Assumed || math.Abs(r.Efficacy-3350/41./0.9) > 1e-9 || !strings.Contains(r.Name, "assumed to pass 90 %") {
		t.Errorf("at the lamp: %+v", r)
	}
	if r := mains.Rungs[4]; r.Basis != Measured || math.Abs(r.Kept-0.9) > 1e-12 || r.Loss != gearLoss {
		t.Errorf("at the mains: %+v", r)
	}
	lamp := climb(t, illuminant(t, "FL11", assay.Given{Flux: given.Flux, PowerLamp: given.PowerLamp}), Options{Gear: 0.9})
	if r := lamp.Rungs[4]; r.Basis != Assumed || math.Abs(r.Efficacy-3350/36.*0.9) > 1e-9 {
		t.Errorf("at the mains: %+v", r)
	}
	both := climb(t, illuminant(t, "FL11", given), Options{Gear: 0.9})
	if r := both.Rungs[4]; r.Basis != Measured || math.Abs(r.Efficacy-3350/41.) > 1e-9 {
		t.Errorf("an assumption displaced a measurement: %+v", r)
	}
	for _, gear := range []float64{-0.5, 1.01, math.NaN(), math.Inf(1)} {
		if _, err := Of(context.Background(), illuminant(t, "FL11", given), Options{Gear: gear}); err == nil {
			t.Errorf("gear of %g was taken", gear)
		}
	}
}

// An orange and a red LED lie on the Planckian locus as nearly as a candle does.
func TestRedLightIsNotCalledWhite(t *testing.T) {
	for nm, want := range map[float64]Colour{590: White, 605: Coloured, 620: Coloured, 640: Coloured} {
		if l := climb(t, line(t, nm, 30, assay.Given{}), Options{}); l.Colour != want {
			t.Errorf("%g nm, 30 nm wide: %s, want %s", nm, l.Colour, want)
		}
	}
}

// 3350 lm from 5 W is 670 lm/W, and the light of the tube has 337.
func TestMoreLumensThanTheLightHasAreRefused(t *testing.T) {
	for _, g := range []assay.Given{{Flux: given.Flux, Power: assay.Measured(5)}, {Flux: given.Flux, Power: assay.Measured(5), PowerLamp: assay.Measured(4)}} {
		l := climb(t, illuminant(t, "FL11", g), Options{})
		if r := l.Rungs[4]; r.Known() || r.Efficacy != 0 || r.Loss != "" || !strings.Contains(r.Why, "670 lm/W come out, and this light has 33") {
			t.Errorf("%+v", r)
		}
		if kept := l.Kept(); !(kept < 0.5) {
			t.Errorf("kept %g in all", kept)
		}
	}
}

func TestALampWithoutFiguresSaysWhatIsMissing(t *testing.T) {
	l := climb(t, illuminant(t, "FL11", assay.Given{}), Options{})
	for _, i := range []int{1, 3, 4} {
		if l.Rungs[i].Why == "" {
			t.Errorf("rung %d: %+v, want a reason", i, l.Rungs[i])
		}
	}
}

func TestASearchThatFailsIsAReasonAndOneThatIsStoppedIsAnError(t *testing.T) {
	fails := errors.New("no light has this colour")
	l := climb(t, illuminant(t, "FL11", given), Options{Best: func(context.Context, float64, float64, float64) (Rival, error) { return Rival{}, fails }})
	if l.Rungs[1].Why != fails.Error() {
		t.Errorf("%+v", l.Rungs[1])
	}
	l = climb(t, illuminant(t, "FL11", given), Options{Best: func(context.Context, float64, float64, float64) (Rival, error) { return Rival{LER: 100}, nil }})
	if l.Rungs[1].Known() || !strings.Contains(l.Rungs[1].Why, "the search reached 100 lm/W") {
		t.Errorf("a rival below the lamp: %+v", l.Rungs[1])
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Of(ctx, illuminant(t, "FL11", given), Options{Best: search}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

func TestRungsAreFiniteForAnySpectrum(t *testing.T) {
	best := func(context.Context, float64, float64, float64) (Rival, error) { return Rival{LER: 683}, nil }
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 60).Draw(t, "n")
		nm, v := make([]float64, n), make([]float64, n)
		at := rapid.Float64Range(300, 500).Draw(t, "from")
		for i := range nm {
			at += rapid.Float64Range(0.1, 12).Draw(t, "step")
			nm[i], v[i] = at, rapid.Float64Range(-0.2, 5).Draw(t, "v")
		}
		s, err := spectrum.New(spectrum.Relative, nm, v)
		if err != nil {
			return // no spectrum
		}
		p, err := s.Project(spectrum.Sampled)
		if err != nil {
			return // no spectrum
		}
		r := new(assay.Result)
		assay.NewEvaluator().Evaluate(p, &given, r)
		l, err := Of(context.Background(), r, Options{Best: best})
		if err != nil {
			t.Fatal(err)
		}
		for _, rung := range l.Rungs {
			if math.IsNaN(rung.Efficacy) || math.IsInf(rung.Efficacy, 0) || math.IsNaN(rung.Kept) || math.IsInf(rung.Kept, 0) {
				t.Fatalf("%+v", rung)
			}
			if rung.Key == Spectrum && rung.Known() && rung.Efficacy != ler(r) {
				t.Fatalf("LER %g, rung %g", ler(r), rung.Efficacy)
			}
		}
	})
}

func TestPeersAreALampsOwnKind(t *testing.T) {
	tube := illuminant(t, "FL11", assay.Given{})
	cct, _ := tube.Value(quantity.CCT)
	own, _ := tube.Value(quantity.Ra)
	if colour, ra := Peers(tube); colour.CCT != (limits.Span{From: cct, To: cct}) || !(ra <= own && ra > own-0.1) {
		t.Errorf("of a tube of %g K and Ra %g: %+v, Ra %g", cct, own, colour, ra)
	}
	if colour, ra := Peers(line(t, 532, 0.5, assay.Given{})); colour.CCT.From != 0 || !(colour.Y > 0.75) || !math.IsNaN(ra) {
		t.Errorf("of a green line: %+v, Ra %g", colour, ra)
	}
}
