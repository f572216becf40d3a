package conformity

import (
	"math"
	"testing"
)

// Boundaries and factors: Regulation (EU) 2019/2015 Annex II Tables 1 and 2.
func TestEnergyClassOfTheRegulationsArithmetic(t *testing.T) {
	ndls, dls := LightSource{Mains: true}, LightSource{Directional: true, Mains: true}
	for _, c := range []struct {
		flux, power float64
		source      LightSource
		eta         float64
		letter      string
	}{
		{1055, 5, ndls, 211, "A"},
		{1050, 5, ndls, 210, "A"}, // the boundary belongs to the better class
		{1049.9, 5, ndls, 209.98, "B"},
		{806, 7, ndls, 115.142857, "E"},
		{345, 4, dls, 101.43, "F"},
		{1000, 5, LightSource{}, 185.2, "B"},
		{1000, 5, LightSource{Directional: true}, 217.8, "A"},
		{800, 5, ndls, 160, "C"},
		{675, 5, ndls, 135, "D"},
		{550, 5, ndls, 110, "E"},
		{425, 5, ndls, 85, "F"},
		{424, 5, ndls, 84.8, "G"},
	} {
		got, err := EnergyClass(c.flux, c.power, c.source)
		if err != nil || got.Letter != c.letter || math.Abs(got.EtaTM-c.eta) > 1e-6 {
			t.Errorf("%g lm, %g W, %v: %+v, %v; want %s at %g", c.flux, c.power, c.source, got, err, c.letter, c.eta)
		}
	}
}

func TestAClassBeginsWhereItsTableSays(t *testing.T) {
	for letter, want := range map[string]float64{"A": 210, "B": 185, "C": 160, "D": 135, "E": 110, "F": 85, "G": 0} {
		if got, ok := ClassFloor(letter); !ok || got != want {
			t.Errorf("%s begins at %g, want %g", letter, got, want)
		}
	}
	if _, ok := ClassFloor("H"); ok {
		t.Error("there is no class H")
	}
}

func TestTheDistanceToTheNextClassReachesIt(t *testing.T) {
	s := LightSource{Mains: true}
	for flux := 50.0; flux < 1200; flux += 7 {
		c, err := EnergyClass(flux, 6, s)
		if err != nil {
			t.Fatal(err)
		}
		if c.Next == "" {
			continue
		}
		better, err := EnergyClass(flux, 6*(1-c.LessPower), s)
		if err != nil || better.Letter != c.Next {
			t.Errorf("%g lm: %s less %.3f of the power gives %s, want %s", flux, c.Letter, c.LessPower, better.Letter, c.Next)
		}
	}
}

func TestEnergyClassRefusesWhatIsNotPositive(t *testing.T) {
	for _, v := range [][2]float64{{0, 5}, {-1, 5}, {100, 0}, {100, -2}, {math.NaN(), 5}, {100, math.NaN()}} {
		if c, err := EnergyClass(v[0], v[1], LightSource{}); err == nil {
			t.Errorf("EnergyClass(%v) = %+v, want an error", v, c)
		}
	}
}

// Bounds: Regulation (EU) 2019/2020 Annex I; at illuminant A's x the y bounds
// are 0.37456 and 0.43496.
func TestLightSourceScope(t *testing.T) {
	for _, c := range []struct {
		name           string
		x, y, flux, ra float64
		in             bool
	}{
		{"illuminant A", 0.44758, 0.40745, 800, 100, true},
		{"just under the lower bound", 0.44758, 0.37455, 800, 100, false},
		{"just over the lower bound", 0.44758, 0.37457, 800, 100, true},
		{"just under the upper bound", 0.44758, 0.43495, 800, 100, true},
		{"just over the upper bound", 0.44758, 0.43497, 800, 100, false},
		{"sodium yellow", 0.5690, 0.4302, 4500, -46, false},
		{"an indicator", 0.44758, 0.40745, 60, 100, false},
		{"a floodlight", 0.44758, 0.40745, 82000, 100, false},
		{"no colour rendering", 0.5, 0.415, 8000, 0, false},
	} {
		l := &Lamp{X: c.x, Y: c.y, Flux: c.flux, Measured: map[Figure]float64{"ra": c.ra}}
		if err := labelling().Scope.admits(l); (err == nil) != c.in {
			t.Errorf("%s: %v, want in scope %v", c.name, err, c.in)
		}
	}
}
