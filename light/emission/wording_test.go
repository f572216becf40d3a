package emission

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"lampassay/light/standards"
)

// analysedIlluminants are the results of every published illuminant, by name.
func analysedIlluminants(t *testing.T) map[string]*Result {
	t.Helper()
	all := map[string]*Result{}
	for _, il := range standards.Illuminants() {
		r, err := Analyse(il.Spectrum, Options{})
		if err != nil {
			t.Fatalf("%s: %v", il.Name, err)
		}
		all[il.Name] = r
	}
	if len(all) == 0 {
		t.Fatal("no illuminants")
	}
	return all
}

// analysedLamps are the results of the invented lamps, by name.
func analysedLamps(t *testing.T) map[string]*Result {
	t.Helper()
	all := map[string]*Result{}
	for name, s := range benchmarkLamps(1456) {
		r, err := Analyse(s, Options{})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		all[name] = r
	}
	return all
}

func TestOnlyWhatTheInstrumentCannotSplitIsCalledUnresolved(t *testing.T) {
	blends := 0
	for _, set := range []map[string]*Result{analysedIlluminants(t), analysedLamps(t)} {
		for name, r := range set {
			for _, l := range r.Lines {
				if l.CentreU > l.Width {
					t.Errorf("%s: the line at %.2f nm is %.1f nm wide, but placed only within %.1f nm", name, l.Centre, l.Width, l.CentreU)
				}
				if (l.Unresolved != "") != (l.ResolvingPower > 0) {
					t.Errorf("%s: %q with a resolving power of %.0f", name, l.Unresolved, l.ResolvingPower)
				}
				if l.Unresolved == "" {
					continue
				}
				blends++
				if has := l.Centre / r.Bandwidth; l.ResolvingPower <= has {
					t.Errorf("%s: %.2f nm is unresolved though %.0f of resolving power suffice and %.0f are there", name, l.Centre, l.ResolvingPower, has)
				}
			}
		}
	}
	if blends < 20 {
		t.Errorf("only %d blends were named", blends)
	}
}

func TestAlternativesComeAfterTheFamilyNamed(t *testing.T) {
	for _, set := range []map[string]*Result{analysedIlluminants(t), analysedLamps(t)} {
		for name, r := range set {
			for _, a := range r.Family.Alternatives {
				if r.Family.Key != FamilyUnknown && a.Score > r.Family.Score-0.1 {
					t.Errorf("%s: %s at %.2f, but %s at %.2f", name, r.Family.Name, r.Family.Score, a.Name, a.Score)
				}
			}
		}
	}
}

func TestAWhiteLEDIsNoDiodeOfOneColour(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	// A pump, a garnet band with more than half the power, and a narrow red group.
	c := newCurve(200, 1100, 0.48, 2.9).band(450, 19, 0.6).band(554, 98, 1)
	for _, m := range [][2]float64{{613.4, 4.5}, {630.8, 9}, {647.8, 2.2}} {
		c.line(m[0], m[1], 0)
	}
	r, err := Analyse(c.noisy(rng, 0.0002), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r.Family.Key != FamilyLEDPhosphor {
		t.Errorf("named %q", r.Family.Name)
	}
	for _, a := range r.Family.Alternatives {
		if a.Key == FamilyLEDSingle {
			t.Errorf("also %s at %.2f", a.Name, a.Score)
		}
	}
	for _, b := range r.Bands {
		if b.Kind == KindSemiconductor && b.Width < 0.6*thermalWidth(b.Centre) {
			t.Errorf("%.0f nm, %.1f nm wide: too narrow for %s", b.Centre, b.Width, b.Name)
		}
	}
}

func TestASodiumArcHasWingsAndNoHalophosphate(t *testing.T) {
	wings := 0
	for _, set := range []map[string]*Result{analysedIlluminants(t), analysedLamps(t)} {
		for name, r := range set {
			for _, b := range r.Bands {
				if strings.Contains(b.Name, "halophosphate") && !r.Family.hasPhosphor() {
					t.Errorf("%s: %s at %.0f nm in %s", name, b.Name, b.Centre, r.Family.Name)
				}
				if strings.Contains(b.Name, "wings of the sodium arc") {
					wings++
				}
			}
		}
	}
	if wings == 0 {
		t.Error("no wings of a sodium arc were named")
	}
}

func TestAStrongSodiumKeepsItsWeakLinesFromNeon(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 2))
	c := newCurve(380, 850, 0.3, 1.2)
	for _, l := range standards.Lines() {
		switch l.Spectrum {
		case "Na I":
			c.line(l.Nm, l.Intensity/500, 0)
		case "Ne I":
			c.line(l.Nm, neonScale(l.Nm)*l.Intensity/2500, 0)
		}
	}
	r, err := Analyse(c.noisy(rng, 0.0001), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r.Element("Na I") == nil || r.Element("Ne I") == nil {
		t.Fatalf("sodium and neon were put in, found: %+v", r.Elements)
	}
	for _, l := range r.Lines {
		if math.Abs(l.Centre-615.9) < 0.3 && l.Emitter != "Na I" {
			t.Errorf("%.2f nm is given to %s", l.Centre, l.Emitter)
		}
		if math.Abs(l.Centre-640.2) < 0.3 && l.Emitter != "Ne I" {
			t.Errorf("%.2f nm is given to %s", l.Centre, l.Emitter)
		}
	}
}

func TestTheRedLineOfAThreeBandTubeIsEuropiums(t *testing.T) {
	n := 0
	for name, r := range analysedIlluminants(t) {
		if r.Family.Key != FamilyTriphosphor {
			continue
		}
		n++
		e := r.Element("Eu³⁺ (oxide)")
		if e == nil {
			t.Errorf("%s: no europium", name)
			continue
		}
		if name == "FL11" && e.Score > 0.7 {
			t.Errorf("FL11: one line of europium scores %.2f", e.Score)
		}
		for _, l := range r.Lines {
			if l.Centre > 608 && l.Centre < 616 && l.Emitter == "" {
				t.Errorf("%s: %.1f nm is unexplained", name, l.Centre)
			}
		}
	}
	if n < 3 {
		t.Errorf("%d three-band illuminants", n)
	}
}

func TestReasonsReadWell(t *testing.T) {
	for _, set := range []map[string]*Result{analysedIlluminants(t), analysedLamps(t)} {
		for name, r := range set {
			said := append([]string(nil), r.Warnings...)
			for _, e := range r.Elements {
				said = append(append(said, e.Reasons...), e.Alternatives...)
			}
			for _, b := range r.Bands {
				if b.Name == "" || len(b.Reasons) == 0 {
					t.Errorf("%s: a band at %.0f nm without name or reasons", name, b.Centre)
				}
			}
			for _, s := range append(said, r.Family.Reasons...) {
				for _, bad := range []string{"NaN", "Inf", " -", "e+", " 0 standard deviations", " 0.0 standard deviations"} {
					if strings.Contains(s, bad) {
						t.Errorf("%s: %q holds %q", name, s, bad)
					}
				}
			}
		}
	}
}
