package emission

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"lampassay/light/spectrum"
)

// Long is shared with the external tests.
var Long = flag.Bool("long", false, "many times as many simulated lamps")

// twists are what the recordings of real instruments have beside noise.
var twists = []struct {
	name string
	do   func(c *curve, rng *rand.Rand)
}{
	{"as it is", func(*curve, *rand.Rand) {}},
	{"photons taken for energy", func(c *curve, _ *rand.Rand) { c.times(func(x float64) float64 { return x / 550 }) }},
	{"a pedestal of one per cent", func(c *curve, _ *rand.Rand) {
		top := 0.0
		for _, v := range c.y {
			top = max(top, v)
		}
		for i := range c.y {
			c.y[i] += 0.01 * top
		}
	}},
	{"an axis that is off", func(c *curve, rng *rand.Rand) {
		shift, stretch := rng.Float64()*1.2-0.6, 0.2*(rng.Float64()-0.5)
		for i := range c.x {
			c.x[i] += shift + stretch*(c.x[i]-550)/200
		}
	}},
	{"a response that tilts and ripples", func(c *curve, rng *rand.Rand) {
		ripple, tilt, phase := 0.06*(rng.Float64()-0.5), 0.3*(rng.Float64()-0.5), rng.Float64()*6
		c.times(func(x float64) float64 { return 1 + ripple*math.Sin(x/25+phase) + tilt*(x-550)/200 })
	}},
	{"lines with exponential wings", func(c *curve, _ *rand.Rand) {
		n := len(c.y)
		out := make([]float64, n)
		for i := range c.y {
			sum := 0.0
			for j := max(0, i-40); j < min(n, i+41); j++ {
				w := math.Exp(-math.Abs(c.x[i]-c.x[j]) / (1.2 * c.bandwidth))
				out[i] += w * c.y[j]
				sum += w
			}
			out[i] = 0.85*c.y[i] + 0.15*out[i]/sum
		}
		copy(c.y, out)
	}},
}

// exported turns a recording into what an instrument's program may write:
// whole nanometres by interpolation, negative values cut off.
func exported(c *curve) *spectrum.Spectrum {
	var x, y []float64
	j := 0
	for l := math.Ceil(c.x[0]); l < c.x[len(c.x)-1]; l++ {
		for c.x[j+1] < l {
			j++
		}
		f := (l - c.x[j]) / (c.x[j+1] - c.x[j])
		x = append(x, l)
		y = append(y, max(0, c.y[j]*(1-f)+c.y[j+1]*f))
	}
	s, err := spectrum.New(spectrum.Relative, x, y)
	if err != nil {
		panic(err)
	}
	return s
}

// The aim for real recordings is 95 % right families and no wrong element at
// high confidence. Invented lamps are easier: one in a hundred may be wrong.
func TestInstrumentsDoNotChangeTheVerdict(t *testing.T) {
	instruments := 6
	if *Long {
		instruments = 60
	}
	total, wrong, sure, mistaken := 0, 0, 0, 0
	for _, lamp := range inventedLamps {
		for k := range instruments {
			for _, twist := range twists {
				rng := rand.New(rand.NewPCG(99, uint64(k)))
				from, to := 330+60*rng.Float64(), 760+200*rng.Float64()
				pitch := 0.3 + 1.2*rng.Float64()
				bandwidth := pitch * (1.8 + 2.5*rng.Float64())
				noise := math.Pow(10, -3.5+1.3*rng.Float64())
				if lamp.outOfSight(from, to) || lamp.family[0] == FamilyLaser && bandwidth > 3 ||
					twist.name == "photons taken for energy" && lamp.family[0] == FamilyHalogen { // 240 K cooler by that
					continue
				}
				c := newCurve(from, to, pitch, bandwidth)
				lamp.build(c, rng)
				twist.do(c, rng)
				s := c.noisy(rng, noise)
				if k%3 == 2 {
					s = exported(c)
				}
				r, err := Analyse(s, Options{})
				if err != nil {
					t.Fatal(err)
				}
				total++
				ok := false
				for _, f := range lamp.family {
					ok = ok || r.Family.Key == f
				}
				if !ok {
					wrong++
					t.Logf("%s, %s, %.0f–%.0f nm at %.1f nm, bandwidth %.1f nm, noise %.4f: named %q (%.2f), or %v",
						lamp.name, twist.name, from, to, pitch, bandwidth, noise, r.Family.Name, r.Family.Score, r.Family.Alternatives)
				}
				for _, e := range r.Elements {
					if e.Score < 0.95 {
						continue
					}
					sure++
					if !lamp.contains(e.Spectrum) {
						mistaken++
						t.Logf("%s, %s, bandwidth %.1f nm: %s at %.2f for %v", lamp.name, twist.name, bandwidth, e.Spectrum, e.Score, e.Found)
					}
				}
			}
		}
	}
	t.Logf("%d of %d families wrong; %d of %d sure elements wrong", wrong, total, mistaken, sure)
	if wrong*100 > total || mistaken*1000 > sure {
		t.Errorf("%d of %d families wrong; %d of %d sure elements wrong", wrong, total, mistaken, sure)
	}
}
