package live

import (
	"math"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

func TestAPhotometerSeesLightAndColour(t *testing.T) {
	look := Photometer()
	axis, blackbody, dark := []float64{}, []float64{}, []float64{}
	for nm := 380.0; nm <= 780; nm++ {
		// Planck's law at 2856 K, c2 = 1.4388e7 nm·K.
		axis, blackbody = append(axis, nm), append(blackbody, 1e15/math.Pow(nm, 5)/math.Expm1(1.4388e7/nm/2856))
		dark = append(dark, 1e-6*math.Sin(nm*nm))
	}
	seen := map[string]float64{}
	for _, v := range look(&notebook.Reading{Curve: &notebook.Curve{Axis: axis, Samples: blackbody}}) {
		seen[v.Key] = *v.V
	}
	if math.Abs(seen[CCTKey]-2856) > 1 || math.Abs(seen[DuvKey]) > 1e-4 || !(seen[LightKey] > 0) {
		t.Errorf("a blackbody of 2856 K is seen as %v", seen)
	}
	twice := make([]float64, len(blackbody))
	for i, v := range blackbody {
		twice[i] = 2 * v
	}
	if v := look(&notebook.Reading{Curve: &notebook.Curve{Axis: axis, Samples: twice}})[0]; math.Abs(*v.V/seen[LightKey]-2) > 1e-12 {
		t.Errorf("twice the spectrum is %g times the light", *v.V/seen[LightKey])
	}
	if got := look(&notebook.Reading{Curve: &notebook.Curve{Axis: axis, Samples: dark}}); len(got) != 1 || got[0].Key != LightKey {
		t.Errorf("noise has no colour: %+v", got)
	}
	dark[100] = math.NaN()
	for name, r := range map[string]*notebook.Reading{
		"a missing sample": {Curve: &notebook.Curve{Axis: axis, Samples: dark}},
		"a waveform":       {Curve: &notebook.Curve{RateHz: 1000, Samples: dark}},
		"no curve":         {},
	} {
		if got := look(r); len(got) != 0 {
			t.Errorf("%s gives %+v", name, got)
		}
	}
}

func TestAMomentOfTheDayIsThatOfTheClock(t *testing.T) {
	c := NewClock(60)
	if d := c.Of(c.Start().Add(2 * time.Second)).Sub(c.Start()); d != 2*time.Minute {
		t.Errorf("2 s are %s", d)
	}
}
