package cli

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"lampassay/assay/cost"
	"lampassay/bench/tidewater"
)

func TestAValueMayCarryItsUncertainty(t *testing.T) {
	for text, want := range map[string]cost.Value{
		"806": {Value: 806}, "806±20": {Value: 806, U: 20}, " 8.5 +- 2 % ": {Value: 8.5, U: 0.17}, "1e3±1%": {Value: 1000, U: 10}, "-5±1%": {Value: -5, U: 0.05},
	} {
		got, err := parseSure(text)
		if err != nil || math.Abs(got.Value-want.Value) > 1e-12 || math.Abs(got.U-want.U) > 1e-12 {
			t.Errorf("%q: %+v, %v; want %+v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "±3", "8,5", "8±", "8±-1", "NaN", "8±Inf", "8±3±1", "eight"} {
		if got, err := parseSure(text); err == nil {
			t.Errorf("%q: %+v, want an error", text, got)
		}
	}
}

func TestTheClubsPlanIsOne(t *testing.T) {
	var text bytes.Buffer
	if err := tidewater.WritePlan(&text); err != nil {
		t.Fatal(err)
	}
	p, err := parsePlan(&text)
	if err != nil || len(p.Lamps) != 3 {
		t.Fatalf("%+v, %v; want three lamps", p, err)
	}
	for _, l := range p.Lamps {
		if !l.Flux.Given() || !l.Power.Given() || !l.Price.Given() || !l.Life.Given() || l.Spectrum == "" {
			t.Errorf("%+v lacks something", l)
		}
	}
}

// FuzzPlan reads anything for a plan and a lamp; what is taken can be computed
// or is refused, and is never a panic.
func FuzzPlan(f *testing.F) {
	f.Add(`{"schema":"lampassay-cost/1","currency":"EUR","hours_per_year":{"value":1500,"u":50},"lamps":[{"name":"a","flux_lm":800,"power_w":9}]}`, "name=b,flux=806±3%,power=8")
	f.Add(`{"schema":"lampassay-cost/1","hours_per_year":0}`, "flux=1,power")
	f.Add(`[]`, "name=,flux=1e308±1e308,power=1e-308")
	f.Fuzz(func(t *testing.T, text, lamp string) {
		if p, err := parsePlan(strings.NewReader(text)); err == nil && p.Hours.Given() && !(p.Hours.Value > 0) {
			t.Errorf("hours of %g were taken", p.Hours.Value)
		}
		if l, err := parseLamp(lamp, 1); err == nil && (l.Flux.Value < 0 || l.Price.Value < 0 || l.Flux.U < 0) {
			t.Errorf("%q was taken as %+v", lamp, l)
		}
	})
}
