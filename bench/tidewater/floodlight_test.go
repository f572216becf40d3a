package tidewater

import (
	"bytes"
	"context"
	"math"
	"testing"

	"lampassay/assay/flux"
	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest/photometric"
	"lampassay/light/distribution"
)

// The flux that comes of reading the table as the club would is the lamp's own,
// within what the angles and the wobble of the meter can do.
func TestTheFloodlightsReadingsGiveItsFlux(t *testing.T) {
	var b bytes.Buffer
	if err := WriteFloodlight(&b); err != nil {
		t.Fatal(err)
	}
	table, err := photometric.ReadReadings(Floodlight.FileName, &b)
	if err != nil {
		t.Fatal(err)
	}
	a := flux.Angles{Symmetry: distribution.Quadrant, Meter: flux.MeterFor(uncertainty.White), DistanceU: flux.Estimated(0.01), AngleU: flux.Estimated(0.5)}
	for _, r := range table.Rows {
		a.Readings = append(a.Readings, flux.Reading{Gamma: r.Gamma, Plane: r.Plane, Value: r.Value, Ambient: r.Ambient, Distance: r.Distance})
	}
	r, err := a.Assess(context.Background(), uncertainty.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if truth := FloodlightFlux(); math.Abs(r.Value-truth) > 0.01*truth {
		t.Errorf("%.1f lm, and the lamp gives %.1f", r.Value, truth)
	}
}
