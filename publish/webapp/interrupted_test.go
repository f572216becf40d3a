package webapp

import (
	"testing"
	"time"

	"lampassay/bench/notebook"
)

func TestWhenLightWentOutAndCameBackIsSaidBesideTheVerdict(t *testing.T) {
	b := newBench(t)
	sit := b.sit(notebook.SetUp{})
	start := time.Now().UTC().Add(-time.Hour)
	var readings []notebook.Reading
	for s := 0; s <= 1200; s += 10 {
		lux, watts := 420.0, 58.0
		if s >= 600 && s < 660 { // a minute without mains, and two until the lamp strikes again
			watts = 0
		}
		if s >= 600 && s < 780 {
			lux = 0
		}
		at := start.Add(time.Duration(s) * time.Second)
		readings = append(readings,
			notebook.Reading{At: at, Channel: "lux", Values: []notebook.Value{{Key: "illuminance", V: &lux, Unit: "lx"}}},
			notebook.Reading{At: at, Channel: "mains", Values: []notebook.Value{{Key: "power", V: &watts, Unit: "W"}}})
	}
	if _, err := b.nb.Append(t.Context(), sit, readings); err != nil {
		t.Fatal(err)
	}
	// On the line from 0 W at 650 s to 58 W at 660 s power is back, at a twentieth, at
	// 650.5 s: 129.5 s before the light is.
	want(t, textOf(b.page("/sittings/1")), "Light went out at 10.0 min, was back at 13.0 min; power was lost, and the lamp struck again 2.2 min after it returned.")
}
