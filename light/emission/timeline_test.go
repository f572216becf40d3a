package emission

import (
	"math"
	"math/rand/v2"
	"testing"
)

// runUp invents a sodium lamp that starts on neon: the neon falls and the
// sodium rises through the same level at 300 s, and nothing changes after 600 s.
func runUp(t *testing.T) []Moment {
	t.Helper()
	neon := [][2]float64{{585.249, 0.5}, {614.306, 0.6}, {633.443, 0.4}, {640.225, 1}, {650.653, 0.6}, {692.947, 0.4}, {703.241, 0.8}, {724.517, 0.5}, {743.89, 0.3}}
	total := 0.0
	for _, l := range neon {
		total += l[1]
	}
	var all []Moment
	for s := 0.0; s <= 900; s += 30 {
		rng := rand.New(rand.NewPCG(5, uint64(s)))
		c := newCurve(400, 800, 0.4, 1.6)
		x := min(s, 600) / 600 // neon 1−x, sodium x
		if s > 0 {
			for _, l := range neon {
				c.line(l[0], 10*(1-x)*l[1]/total, 0)
			}
			c.line(588.995, 10*x*2/3, 0).line(589.592, 10*x/3, 0)
		}
		// Noise of a fixed level, as the same exposure has it.
		for i := range c.y {
			c.y[i] += 0.004 * rng.NormFloat64()
		}
		all = append(all, Moment{s, c.noisy(rng, 0)})
	}
	return all
}

func TestARunUpHasFirstLightATakeoverAndALastChange(t *testing.T) {
	tl, err := Follow(runUp(t), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]struct{ at, within float64 }{
		EventFirstLight: {30, 0}, EventTakeover: {300, 20}, EventLastChange: {590, 41},
	}
	seen := map[string]int{}
	for _, e := range tl.Events {
		seen[e.Kind]++
		if w := want[e.Kind]; math.Abs(e.Seconds-w.at) > w.within {
			t.Errorf("%s at %.0f s (%s), want %.0f ± %.0f s", e.Kind, e.Seconds, e.Text, w.at, w.within)
		}
	}
	for kind := range want {
		if seen[kind] != 1 {
			t.Errorf("%s happens %d times: %v", kind, seen[kind], tl.Events)
		}
	}
	for _, tr := range tl.Tracks {
		switch tr.Spectrum {
		case "Ne I":
			if !(math.Abs(tr.Fall-300) < 40) {
				t.Errorf("neon falls to half at %.0f s, want 300 s", tr.Fall)
			}
		case "Na I":
			if !(math.Abs(tr.Rise-300) < 40) {
				t.Errorf("sodium rises to half at %.0f s, want 300 s", tr.Rise)
			}
			n := len(tr.Power) - 1
			// Closure: 10 units went into the D lines.
			if math.Abs(tr.Power[n]-10) > 0.5 {
				t.Errorf("the sodium lines end at %.2f, want 10", tr.Power[n])
			}
			if !(tr.PowerU[n] > 0 && tr.PowerU[n] < 0.1) {
				t.Errorf("standard deviation %.3g", tr.PowerU[n])
			}
		default:
			t.Errorf("%s has no place in this lamp", tr.Spectrum)
		}
	}
	if len(tl.Tracks) != 2 {
		t.Errorf("%d tracks, want neon and sodium", len(tl.Tracks))
	}
}

func TestASeriesMustBeOneInTime(t *testing.T) {
	m := runUp(t)
	if _, err := Follow(m[:1], Options{}); err == nil {
		t.Error("one spectrum passed for a series")
	}
	if _, err := Follow([]Moment{m[1], m[0]}, Options{}); err == nil {
		t.Error("time ran backwards unnoticed")
	}
}

// Neon has a line at 588.19 nm, in the place of sodium's pair: what stood there
// while there was no sodium is not counted for it.
func TestContestedLinesCountForTheOneThatComesLater(t *testing.T) {
	var all []Moment
	for i := range 21 {
		rng := rand.New(rand.NewPCG(8, uint64(i)))
		c := newCurve(400, 860, 0.4, 1.6)
		x := float64(i) / 20
		for _, l := range [][2]float64{{585.249, 0.5}, {588.19, 0.3}, {594.483, 0.3}, {607.434, 0.3}, {609.616, 0.4}, {614.306, 0.6}, {626.65, 0.35}, {633.443, 0.4}, {638.299, 0.5}, {640.225, 1}, {650.653, 0.6}, {659.895, 0.25}, {667.828, 0.35}, {692.947, 0.3}, {703.241, 0.6}, {724.517, 0.25}, {743.89, 0.15}, {837.761, 0.6}, {849.536, 0.4}} {
			c.line(l[0], 3*(1-x)*l[1], 0)
		}
		sodium := 10 * max(0, x-0.2)
		c.line(588.995, sodium*2/3, 0).line(589.592, sodium/3, 0)
		for i := range c.y {
			c.y[i] += 0.004 * rng.NormFloat64()
		}
		all = append(all, Moment{float64(i), c.noisy(rng, 0)})
	}
	tl, err := Follow(all, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, tr := range tl.Tracks {
		if tr.Spectrum != "Na I" {
			continue
		}
		// Closure: 8 units went into the D lines at last, none at first.
		if n := len(tr.Power) - 1; math.Abs(tr.Power[n]-8) > 0.4 || math.Abs(tr.Power[0]) > 0.2 {
			t.Errorf("sodium runs from %.2f to %.2f, want 0 to 8", tr.Power[0], tr.Power[n])
		}
		return
	}
	t.Errorf("no sodium among %v", tl.Tracks)
}
