package sheet

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"lampassay/assay/quantity"
	"lampassay/light/colorimetry"
	"lampassay/light/photometry"
	"lampassay/light/rendition"

	"pgregory.net/rapid"
)

// Closure: the stimulus of a screen colour, seen on the screen, is shown by
// that colour. A step of eight bits either way is the tolerance.
func TestAScreenColourIsItsOwnAppearance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		part := rapid.Float64Range(0.02, 0.95)
		// Amounts of the screen's primaries (IEC 61966-2-1), as X, Y, Z.
		r, g, b := part.Draw(t, "r"), part.Draw(t, "g"), part.Draw(t, "b")
		c := colorimetry.XYZ{
			X: 0.4124*r + 0.3576*g + 0.1805*b,
			Y: 0.2126*r + 0.7152*g + 0.0722*b,
			Z: 0.0193*r + 0.1192*g + 0.9505*b,
		}
		j, a, bb := screen().UCS(c.Scale(100))
		got, ok := screenColour(rendition.UCS{J: j, A: a, B: bb})
		want := colorimetry.Swatch(c)
		if !ok || far(got.R, want.R) || far(got.G, want.G) || far(got.B, want.B) {
			t.Fatalf("%v came back as %v, %v", want, got, ok)
		}
	})
}

func far(a, b uint8) bool { return math.Abs(float64(a)-float64(b)) > 1 }

func TestScreenColourOfNothing(t *testing.T) {
	if c, ok := screenColour(rendition.UCS{J: math.NaN()}); ok {
		t.Errorf("an appearance that is no number got the colour %v", c)
	}
}

// Law: a spectrum per lumen has one lumen.
func TestPerLumenHasOneLumen(t *testing.T) {
	for _, s := range specimens {
		l := lampOf(t, s)
		scaled, err := l.Spectrum.Scale(1000/(photometry.Km*l.Result.XYZ.Y), l.Spectrum.Quantity())
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range perLumen(&l) {
			if v != scaled.Values()[i] {
				t.Fatalf("%s: sample %d is %g, want %g", s.name, i, v, scaled.Values()[i])
			}
		}
		projected, err := scaled.Project(l.Result.Kind)
		if err != nil {
			t.Fatal(err)
		}
		if lm := photometry.LER(projected) * projected.Total / 1000; math.Abs(lm-1) > 1e-12 {
			t.Errorf("%s: %g lm, want 1", s.name, lm)
		}
	}
}

func TestALineDoesNotFlattenTheOthers(t *testing.T) {
	shared, tall, err := multiples(lampsOf(t))
	if err != nil {
		t.Fatal(err)
	}
	if len(shared.Rows) != 5 || len(tall.Rows) != 2 {
		t.Errorf("%d on the shared scale and %d beside it, want 5 and the two line lamps", len(shared.Rows), len(tall.Rows))
	}
	one, none, err := multiples(lampsOf(t)[3:4])
	if err != nil || len(one.Rows) != 1 || none != nil {
		t.Errorf("a line lamp alone: %v, %v, %v; want it on the one scale there is", one, none, err)
	}
}

func TestWattsThatContradictEachOtherAreNotDrawn(t *testing.T) {
	s := specimens[0]
	s.watts = 1 // 806 lm of this light carry 2.5 W
	l := lampOf(t, s)
	p, whyNot, err := whereWattsGo(&l)
	if p != nil || err != nil || !strings.Contains(whyNot, "more than it takes in") {
		t.Errorf("got %v, %q, %v", p, whyNot, err)
	}
	if page := sheetOf(t, l, Options{}); !strings.Contains(page, "With the flux and the power given the lamp would radiate more than it takes in.") {
		t.Error("the page does not say why there is no bar")
	}
}

func TestThePartsOfTheBarAddUpToThePower(t *testing.T) {
	for _, s := range specimens {
		l := lampOf(t, s)
		if !l.Result.Watts.Known {
			continue
		}
		p, _, err := whereWattsGo(&l)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, row := range p.Rows {
			var w float64
			if _, err := fmt.Sscan(row[1], &w); err != nil {
				t.Fatal(err)
			}
			sum += w
		}
		// Each part is read to three figures.
		if math.Abs(sum-s.watts) > 0.005*s.watts {
			t.Errorf("%s: the parts add up to %g W, the lamp takes %g W", s.name, sum, s.watts)
		}
	}
}

func TestWhatHasNoColourTemperatureHasNoReferencePictures(t *testing.T) {
	l := lampOf(t, specimens[6])
	if _, ok := l.Result.Value(quantity.CCT); ok {
		t.Fatal("the green line has a colour temperature, and this test no subject")
	}
	sections, err := sectionsOf(&l)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, p := range sections[1].Pictures {
		if p.Title == "The same samples in daylight and under this lamp" {
			continue // which takes no reference light
		}
		seen++
		if !strings.Contains(p.Absent, "no reference light") {
			t.Errorf("%q: %q", p.Title, p.Absent)
		}
	}
	if seen == 0 {
		t.Error("no picture asks for a reference light")
	}
}

// Whatever a spectrum is, its sheet and a comparison with it are written.
func TestOddSpectraHaveTheirSheets(t *testing.T) {
	for name, curve := range map[string][2][]float64{
		"dark":            {{380, 500, 780}, {0, 0, 0}},
		"negative":        {{380, 500, 780}, {-1, -2, -1}},
		"infrared only":   {{800, 900, 1100}, {1, 2, 1}},
		"ultraviolet":     {{200, 254, 300}, {0, 5, 0}},
		"two samples":     {{555, 556}, {1, 1}},
		"far too wide":    {{1, 500, 20000}, {1, 1, 1}},
		"mostly negative": {{380, 400, 500, 600, 780}, {-3, -3, 1, -3, -3}},
		"huge":            {{380, 500, 780}, {1e300, 1e300, 1e300}},
		"tiny":            {{380, 500, 780}, {1e-300, 1e-300, 1e-300}},
	} {
		for _, given := range []float64{0, 100} {
			l := lampOf(t, specimen{name: name, flux: given, watts: given, curve: curve})
			page := sheetOf(t, l, Options{})
			page += comparisonOf(t, []Lamp{l}, Options{})
			page += comparisonOf(t, []Lamp{lampOf(t, specimens[0]), l}, Options{})
			if strings.Contains(page, ">NaN") || strings.Contains(page, "+Inf") {
				t.Errorf("%s, %g lm: the page prints what is no number", name, given)
			}
		}
	}
}
