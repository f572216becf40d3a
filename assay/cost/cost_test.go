package cost

import (
	"context"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The lamps, prices and terms here are invented.
var (
	filament = Lamp{Name: "filament", Flux: Exactly(710), Power: Exactly(60), Price: Exactly(1), Life: Exactly(1000)}
	led      = Lamp{Name: "LED", Flux: Exactly(806), Power: Exactly(8), Price: Exactly(4), Life: Exactly(15000)}
	terms    = Terms{Hours: Exactly(1000), Tariff: Exactly(0.3), Carbon: Exactly(0.25), Currency: "EUR"}
)

func compute(t testing.TB, lamps []Lamp, terms Terms) *Report {
	t.Helper()
	r, err := Compute(context.Background(), lamps, terms)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func figure(t testing.TB, list []Figure, key string) Figure {
	t.Helper()
	for _, f := range list {
		if f.Key == key {
			return f
		}
	}
	t.Fatalf("there is no figure %q", key)
	return Figure{}
}

// Expected values are arithmetic done by hand on the invented inputs.
func TestTheSumsOfAYearAndOfAMillionLumenHours(t *testing.T) {
	r := compute(t, []Lamp{filament, led}, terms)
	for _, c := range []struct {
		lamp int
		key  string
		want float64
	}{
		{0, "energy_per_year", 60}, {1, "energy_per_year", 8},
		{0, "light_per_year", 0.71},
		{0, "energy_cost_per_year", 18}, {1, "energy_cost_per_year", 2.4},
		{0, "cost_per_year", 19}, {1, "cost_per_year", 2.4 + 4./15},
		{0, "carbon_per_year", 15},
		{0, "energy_per_mlmh", 60e3 / 710}, {1, "energy_per_mlmh", 8e3 / 806},
		{1, "energy_cost_per_mlmh", 2400. / 806},
		{0, "cost_per_mlmh", 18e3/710 + 1e3/710}, {1, "cost_per_mlmh", 2400./806 + 4e6/(806*15000)},
		{1, "carbon_per_mlmh", 2000. / 806},
	} {
		if got := figure(t, r.Bills[c.lamp].Figures, c.key); math.Abs(got.Value-c.want) > 1e-12*c.want || got.U != 0 || got.Low != got.Value {
			t.Errorf("%s, %s: %+v, want %.6g", r.Bills[c.lamp].Name, c.key, got, c.want)
		}
	}
	p := r.Replacements[0]
	n := 710. / 806
	saved := 60 - n*8 // kWh in a year
	for key, want := range map[string]float64{
		"count": n, "energy_saved": 100 * saved / 60, "energy_saved_per_year": saved, "money_saved_per_year": 0.3 * saved,
		"carbon_saved_per_year": saved / 4, "payback": n * 4 / (0.3 * saved), "payback_when_due": (n*4 - 1) / (0.3 * saved),
		"life_after_payback": 15000 - 1000*n*4/(0.3*saved),
	} {
		if got := figure(t, p.Figures, key); math.Abs(got.Value-want) > 1e-12*want {
			t.Errorf("%s: %+v, want %.6g", key, got, want)
		}
	}
	if p.Whole != 1 || math.Abs(p.Light-806./710) > 1e-12 || p.Pays != Yes {
		t.Errorf("%+v", p)
	}
}

func TestALampReplacedByItselfChangesNothing(t *testing.T) {
	twin := filament
	twin.Name = "twin"
	p := compute(t, []Lamp{filament, twin}, terms).Replacements[0]
	for key, want := range map[string]float64{"count": 1, "energy_saved": 0, "money_saved_per_year": 0} {
		if got := figure(t, p.Figures, key); got.Value != want {
			t.Errorf("%s: %+v, want %g", key, got, want)
		}
	}
	if got := figure(t, p.Figures, "payback"); got.Why != neverPays || p.Pays != No || p.Whole != 1 {
		t.Errorf("%+v, %+v", got, p)
	}
}

// What A saves in place of B and B in place of A, for one lumen, are opposite.
func TestReplacementsMirrorEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(what string, lo, hi float64) Value { return Exactly(rapid.Float64Range(lo, hi).Draw(t, what)) }
		a := Lamp{Name: "a", Flux: draw("flux", 10, 1e5), Power: draw("power", 0.5, 2000)}
		b := Lamp{Name: "b", Flux: draw("flux", 10, 1e5), Power: draw("power", 0.5, 2000)}
		saving := func(x, y Lamp) float64 {
			r, err := Compute(context.Background(), []Lamp{x, y}, terms)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range r.Replacements[0].Figures {
				if f.Key == "energy_saved_per_year" {
					return f.Value / x.Flux.Value
				}
			}
			t.Fatal("no saving")
			return 0
		}
		if ab, ba := saving(a, b), saving(b, a); math.Abs(ab+ba) > 1e-9*(math.Abs(ab)+1e-9) {
			t.Fatalf("%g and %g", ab, ba)
		}
	})
}

// For a product of powers relative uncertainties add in quadrature (JCGM
// 100:2008 5.1.6).
func TestUncertaintyIsCarried(t *testing.T) {
	l := Lamp{Name: "lamp", Flux: Value{1000, 10}, Power: Value{10, 0.05}}
	r := compute(t, []Lamp{l}, Terms{Hours: Value{1000, 10}, Tariff: Exactly(0.25), Currency: "EUR"})
	for key, relative := range map[string]float64{
		"energy_per_year":      math.Hypot(0.005, 0.01),
		"energy_cost_per_mlmh": math.Hypot(0.005, 0.01),
	} {
		f := figure(t, r.Bills[0].Figures, key)
		if math.Abs(f.U/f.Value/relative-1) > 0.005 || !f.Straight || math.Abs((f.High-f.Low)/(2*f.U)-1.96) > 0.001 {
			t.Errorf("%s: %+v, want a relative uncertainty of %.4f", key, f, relative)
		}
	}
}

// Two digits of the uncertainty, and the value to the same place (JCGM 100:2008
// 7.2.6); what is rounded up to a power of ten has two digits all the same.
func TestAReadingHasTwoDigitsOfItsUncertainty(t *testing.T) {
	for _, c := range []struct {
		value, half  float64
		straight     bool
		want, beside string
	}{
		{2.5504, 0.0997, true, "2.55", "± 0.10"}, {2.5504, 0.0994, true, "2.550", "± 0.099"}, {8.5, 0.33, true, "8.50", "± 0.33"},
		{14776.3, 15, false, "14776", "(14761 to 14791)"}, {14776.3, 996, true, "14800", "± 1000"}, {84.507, 0, true, "84.51", ""}, {0.99996, 0, true, "1.000", ""},
	} {
		f := Figure{Value: c.value, Low: c.value - c.half, High: c.value + c.half, Straight: c.straight, Defined: 1}
		if value, beside := f.Reading(); value != c.want || beside != c.beside {
			t.Errorf("%g ± %g: %q %q, want %q %q", c.value, c.half, value, beside, c.want, c.beside)
		}
	}
}

func TestTheTariffCancelsFromShares(t *testing.T) {
	hazy := terms
	hazy.Hours, hazy.Tariff = Value{1000, 200}, Value{0.3, 0.1}
	r := compute(t, []Lamp{filament, led}, hazy)
	if f := figure(t, r.Replacements[0].Figures, "energy_saved"); f.U != 0 {
		t.Errorf("%+v: hours and tariff have no part in it", f)
	}
	if f := figure(t, r.Replacements[0].Figures, "payback"); f.U == 0 {
		t.Errorf("%+v: hours and tariff have a part in it", f)
	}
}

// Two lamps that nearly draw: the saving may be nothing, and the straight law
// says little about its reciprocal.
func TestAPaybackThatMayNeverComeHasTheIntervalOfDraws(t *testing.T) {
	a := Lamp{Name: "a", Flux: Value{800, 24}, Power: Value{9, 0.3}}
	b := Lamp{Name: "b", Flux: Value{800, 24}, Power: Value{8.5, 0.3}, Price: Exactly(5), Life: Exactly(20000)}
	r := compute(t, []Lamp{a, b}, terms)
	f := figure(t, r.Replacements[0].Figures, "payback")
	if f.Straight || !(f.Defined > 0.5 && f.Defined < 1) || !(f.Low < f.Value && f.Value < f.High) {
		t.Errorf("%+v", f)
	}
	if r.Replacements[0].Pays != CannotTell {
		t.Errorf("pays: %q", r.Replacements[0].Pays)
	}
}

func TestASavingThatMayBeNoneLeavesTheAnswerOpen(t *testing.T) {
	a := Lamp{Name: "a", Flux: Value{800, 24}, Power: Exactly(8)}
	b := Lamp{Name: "b", Flux: Value{800, 24}, Power: Exactly(8.1), Price: Exactly(5), Life: Exactly(20000)}
	if p := compute(t, []Lamp{a, b}, terms).Replacements[0]; p.Pays != CannotTell {
		t.Errorf("8.1 W for 8 W, give or take 4 %%: pays %q", p.Pays)
	}
	b.Power = Exactly(12)
	if p := compute(t, []Lamp{a, b}, terms).Replacements[0]; p.Pays != No {
		t.Errorf("12 W for 8 W: pays %q", p.Pays)
	}
}

func TestALampThatDiesFirstDoesNotPay(t *testing.T) {
	short := led
	short.Life = Exactly(200)
	short.Price = Exactly(40)
	if p := compute(t, []Lamp{filament, short}, terms).Replacements[0]; p.Pays != No {
		t.Errorf("%+v", p)
	}
}

func TestAFigureSaysWhichInputItNeeds(t *testing.T) {
	r := compute(t, []Lamp{{Name: "a", Flux: Exactly(800), Power: Exactly(9)}, {Name: "b", Flux: Exactly(800), Power: Exactly(8)}}, Terms{})
	for key, want := range map[string]string{
		"energy_per_year": "needs the burning hours in a year", "energy_cost_per_mlmh": "needs a tariff", "carbon_per_mlmh": "needs the carbon of a kilowatt-hour",
	} {
		if f := figure(t, r.Bills[0].Figures, key); f.Why != want || f.Value != 0 {
			t.Errorf("%s: %+v, want %q", key, f, want)
		}
	}
	priced := compute(t, []Lamp{{Name: "a", Flux: Exactly(800), Power: Exactly(9)}, {Name: "b", Flux: Exactly(800), Power: Exactly(8)}}, terms)
	if f := figure(t, priced.Replacements[0].Figures, "payback"); f.Why != "needs the price of b" {
		t.Errorf("%+v", f)
	}
	if priced.Replacements[0].Pays != Unknown {
		t.Errorf("pays: %q", priced.Replacements[0].Pays)
	}
}

func TestWhatCannotBeIsRefusedInASentence(t *testing.T) {
	for name, c := range map[string]struct {
		lamps []Lamp
		terms Terms
		want  string
	}{
		"no lamp":           {nil, terms, "no lamp"},
		"negative hours":    {[]Lamp{led}, Terms{Hours: Exactly(-5)}, "burning hours in a year is -5 h: it must be above zero"},
		"too many hours":    {[]Lamp{led}, Terms{Hours: Exactly(9000), Currency: "EUR"}, "more than a year has"},
		"a zero price":      {[]Lamp{{Name: "a", Flux: Exactly(1), Power: Exactly(1), Price: Value{0, 1}}}, terms, "a: the price is 0: it must be above zero"},
		"no currency":       {[]Lamp{{Name: "a", Flux: Exactly(1), Power: Exactly(1)}}, Terms{Tariff: Exactly(0.3)}, "needs its currency"},
		"price alone":       {[]Lamp{led}, Terms{}, "needs its currency"},
		"no flux":           {[]Lamp{{Name: "a", Power: Exactly(1)}}, terms, "a: the flux is 0 lm: it must be above zero"},
		"same names":        {[]Lamp{led, led}, terms, "names that differ"},
		"no name":           {[]Lamp{{Flux: Exactly(1), Power: Exactly(1)}}, terms, "names that differ"},
		"not a number":      {[]Lamp{led}, Terms{Tariff: Exactly(math.NaN()), Currency: "EUR"}, "not a number"},
		"a million for one": {[]Lamp{{Name: "a", Flux: Exactly(1e9), Power: Exactly(1)}, {Name: "b", Flux: Exactly(1), Power: Exactly(1)}}, terms, "1e+09 of b for the light of one a: are both fluxes in lumens?"},
		"mostly unsure":     {[]Lamp{{Name: "a", Flux: Value{1, 11}, Power: Exactly(1)}}, terms, "a: the uncertainty of flux is 11, over ten times the value"},
		"beyond numbers":    {[]Lamp{{Name: "a", Flux: Exactly(1), Power: Exactly(1e308)}}, terms, "the energy in a year is beyond all numbers"},
		"u below nothing":   {[]Lamp{{Name: "a", Flux: Value{1, -1}, Power: Exactly(1)}}, terms, "it cannot be negative"},
	} {
		_, err := Compute(context.Background(), c.lamps, c.terms)
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

func TestAFigureIsReadToTheDigitsItsUncertaintyEarns(t *testing.T) {
	for _, c := range []struct {
		f             Figure
		value, beside string
	}{
		{Figure{Value: 25.3456, Low: 25.3456, High: 25.3456, Straight: true}, "25.35", ""},
		{Figure{Value: 25.3456, Low: 23.9, High: 26.8, Straight: true}, "25.3", "± 1.5"},
		{Figure{Value: 14776.4, Low: 14750, High: 14802, Straight: true}, "14776", "± 26"},
		{Figure{Value: 14776.4, Low: 14500, High: 15052, Straight: true}, "14780", "± 280"},
		{Figure{Value: -0.014, Low: -0.024, High: -0.004, Straight: true}, "−0.014", "± 0.010"},
		{Figure{Value: 3.2, Low: 1.4, High: 9.6}, "3.2", "(1.4 to 9.6)"},
		{Figure{}, "0", ""},
	} {
		value, beside := c.f.Reading()
		if value != c.value || beside != c.beside {
			t.Errorf("%+v: %q %q, want %q %q", c.f, value, beside, c.value, c.beside)
		}
	}
}
