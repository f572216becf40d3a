package simulate

import (
	"math"
	"math/rand/v2"
	"testing"

	"lampassay/light/temporal"
)

// The simulated lamp is one that no sum of a few exponentials is exactly. Its
// readings are asked each minute how long it may still need.
func TestPredictionsHoldForTheSimulatedLamp(t *testing.T) {
	lamp, err := NewLamp()
	if err != nil {
		t.Fatal(err)
	}
	rule := temporal.Usual()
	rule.Least = 0
	for _, noise := range []float64{0, 0.0003} {
		rng := rand.New(rand.NewPCG(11, 11))
		var light, power temporal.Trace
		holds := math.NaN()
		for s := 5.0; math.IsNaN(holds); s += 5 {
			light.Seconds, light.Values = append(light.Seconds, s), append(light.Values, lamp.Lux(s)*(1+noise*rng.NormFloat64()))
			power.Seconds, power.Values = append(power.Seconds, s), append(power.Values, lamp.Watts(s)*(1+noise*rng.NormFloat64()))
			if s > rule.Window+5 && rule.Judge(light, power, 0, s).Stable {
				holds = s
			}
		}
		asked, inside, refused := 0, 0, 0
		for end := 300.0; end < holds; end += 60 {
			until := func(t temporal.Trace) temporal.Trace { return t.Within(0, end) }
			p, err := temporal.Predict(until(light), until(power), rule, 0)
			if err != nil {
				t.Fatal(err)
			}
			asked++
			truth := holds - end
			switch {
			case p.Why != "":
				refused++
			case p.Low <= truth && truth <= p.High:
				inside++
			default:
				t.Logf("noise %g, at %g min: %.1f (%.1f to %.1f), where %.1f are left", noise, end/60, p.Left/60, p.Low/60, p.High/60, truth/60)
			}
			if ten := truth < 600; ten && !(p.High < 2*truth+60) {
				t.Errorf("noise %g: with %.1f min to go up to %.1f min are said", noise, truth/60, p.High/60)
			}
		}
		t.Logf("noise %g: %d of %d hold, %d refused, the rule at %.1f min", noise, inside, asked-refused, refused, holds/60)
		if answered := asked - refused; inside*10 < answered*8 || answered*2 < asked {
			t.Errorf("noise %g: %d of %d predictions hold, %d were refused", noise, inside, answered, refused)
		}
	}
}
