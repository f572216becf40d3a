package rendition

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lampassay/light/spectrum"
)

// Two evaluators, one of which has no charts, agree for every way of summing
// and at any temperature: X, Y, Z to 1e-12 on the scale Y = 100, and J′, a′, b′
// and what is made of them to 1e-10.
func TestChartsAgreeWithTheSums(t *testing.T) {
	charted, summed := New(), New()
	summed.reference.all = nil
	ways := shared().charts
	if len(ways) == 0 {
		t.Fatal("there are no charts")
	}
	for s := range ways {
		p := *sampledFL2(t)
		p.Kind, p.Step = s.kind, s.step
		check := func(t reporter, cct float64) {
			t.Helper()
			var f, g TM30
			charted.Fidelity(&p, cct, &f)
			summed.Fidelity(&p, cct, &g)
			worst := 0.0
			for j := range f.Reference {
				worst = max(worst, difference(f.Reference[j], g.Reference[j]))
			}
			var c, d CRI
			charted.CRI(&p, cct, &c)
			summed.CRI(&p, cct, &d)
			for j := range c.R {
				worst = max(worst, math.Abs(c.R[j]-d.R[j]))
			}
			worst = max(worst, math.Abs(c.DeltaC-d.DeltaC), math.Abs(charted.SSI(&p, cct)-summed.SSI(&p, cct)))
			if !(worst <= 1e-10) {
				t.Errorf("%+v at %.17g K: out by %g", s, cct, worst)
			}

			var read, made cesColours
			charted.reference.charts.fidelity.at(cct, read[:])
			summed.fidelityReference(made[:])
			for i := range read {
				near(t, "X, Y or Z", read[i], made[i], 1e-12)
			}
		}
		for k := range len(chartEdges) - 1 {
			hot, cold := chartEdges[k], chartEdges[k+1]
			check(t, hot)
			check(t, math.Nextafter(hot, cold))
			check(t, math.Nextafter(cold, hot))
			check(t, cold)
		}
		rapid.Check(t, func(t *rapid.T) {
			check(t, 1e6/rapid.Float64Range(1e6/daylightTo, 1e6/chartTo).Draw(t, "mired"))
		})
	}
}

func TestChartsReachFrom600KTo25000K(t *testing.T) {
	for s, c := range shared().charts {
		for cct, want := range map[float64]bool{
			chartTo: true, 2700: true, daylightTo: true,
			math.Nextafter(chartTo, 0): false, math.Nextafter(daylightTo, 1e6): false, math.NaN(): false, math.Inf(1): false,
		} {
			var cri criColours
			var ces cesColours
			var ssi [ssiBins]float64
			if c.cri.at(cct, cri[:]) != want || c.fidelity.at(cct, ces[:]) != want || c.ssi.at(cct, ssi[:]) != want {
				t.Errorf("%+v at %g K: want %t", s, cct, want)
			}
		}
	}
	if (*chart)(nil).at(2700, nil) {
		t.Error("there are figures where there is no chart")
	}
}

func TestLikeLightsCountAlikeWhateverCameBefore(t *testing.T) {
	p, cct := illuminant(t, "FL2")
	sampled := sampledFL2(t)
	e := New()
	var first, again TM30
	e.Fidelity(p, cct, &first)
	e.Fidelity(sampled, 3000, &again)
	e.Fidelity(p, 6000, &again)
	e.Fidelity(p, cct, &again)
	if first != again {
		t.Error("the second figures are not the first, to the bit")
	}
	New().Fidelity(p, cct, &again)
	if first != again {
		t.Error("another evaluator has other figures")
	}
}

func BenchmarkPanel(b *testing.B) {
	t := shared()
	s := sums{kind: spectrum.Sampled, step: 1}
	for b.Loop() {
		c := newCharts(t)[s]
		c.cri.panels[3]()
		c.fidelity.panels[3]()
		c.ssi.panels[3]()
	}
}
