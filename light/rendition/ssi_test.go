package rendition

import (
	"fmt"
	"math"
	"testing"

	"lampassay/light/spectrum"
)

func TestIlluminantCResemblesD65AsPublished(t *testing.T) {
	// SMPTE ST 2122, published value, second-hand: 94, a whole number.
	c, _ := illuminant(t, "C")
	d65, _ := illuminant(t, "D65")
	near(t, "SSI of C against D65", math.Round(New().SSIAgainst(c, d65)), 94, 0)
}

func TestALightResemblesItselfEntirely(t *testing.T) {
	e := New()
	for _, name := range []string{"FL2", "HP1", "LED-B3"} {
		p, _ := illuminant(t, name)
		near(t, name+" against itself", e.SSIAgainst(p, p), 100, 0)
	}
}

func TestSSIAgainstItsReferenceIsSSI(t *testing.T) {
	e := New()
	for _, name := range []string{"FL4", "FL2", "FL1"} { // blackbody, and twice daylight
		p, cct := illuminant(t, name)
		f := blackbody(cct)
		if cct >= 4000 {
			f = daylight(cct)
		}
		ref, err := curve(t, 350, 800, 5, f).Project(spectrum.Tabulated)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name, e.SSI(p, cct), e.SSIAgainst(p, ref), 1e-9)
	}
}

func TestBinsAreTrapeziumSumsOfTheInterpolatedTable(t *testing.T) {
	// SMPTE ST 2122 brings a table to 1 nm by straight lines and sums 10 nm
	// with half weights at the ends.
	shape := func(nm float64) float64 { return 3 + math.Sin(nm/17) + math.Cos(nm/5) }
	for _, step := range []int{1, 2, 5, 10, 20} {
		for _, from := range []float64{340, 343} {
			s := curve(t, from, 720, float64(step), shape)
			p, err := s.Project(spectrum.Tabulated)
			if err != nil {
				t.Fatal(err)
			}
			var bins [ssiBins]float64
			gatherFrom(p, &bins)
			for i := range bins {
				want, centre := 0.0, float64(ssiFirst+ssiWidth*i)
				for d := -5.0; d <= 5; d++ {
					w := 1.0
					if math.Abs(d) == 5 {
						w = 0.5
					}
					want += w * straight(s, centre+d)
				}
				near(t, fmt.Sprintf("bin at %g nm, table at %d nm from %g nm", centre, step, from), bins[i], want, 1e-10)
			}
		}
	}
}

func TestUncoveredEndsAreLeftOutOfTheComparison(t *testing.T) {
	e := New()
	for _, r := range [][2]float64{{380, 780}, {400, 700}, {390.5, 640.25}} {
		p, err := curve(t, r[0], r[1], 0.25, daylight(6500)).Project(spectrum.Sampled)
		if err != nil {
			t.Fatal(err)
		}
		if got := e.SSI(p, 6500); got < 99 {
			t.Errorf("daylight known from %g to %g nm scores %g", r[0], r[1], got)
		}
	}
}

func gatherFrom(p *spectrum.Projected, bins *[ssiBins]float64) {
	gather(from(p, lightFirst), p.Step, bins)
}

// straight is the spectrum between its samples.
func straight(s *spectrum.Spectrum, nm float64) float64 {
	x, y := s.Axis(), s.Values()
	for i := 1; i < len(x); i++ {
		if nm <= x[i] {
			f := (nm - x[i-1]) / (x[i] - x[i-1])
			return y[i-1]*(1-f) + y[i]*f
		}
	}
	return math.NaN()
}
