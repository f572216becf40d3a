package notebook

import (
	"math"
	"testing"
)

func TestNumbersAreBroughtToOneUnit(t *testing.T) {
	for _, c := range []struct {
		v    float64
		unit string
		in   string
		want float64
	}{
		{994, "lx", "lx", 994},
		{1.001, "klx", "lx", 1001},
		{1001, "lx", "klx", 1.001},
		// 1 fc = 10.76391 lx: NIST SP 811 (2008), appendix B.8.
		{93, "fc", "lx", 93 * 10.76391},
		{93, "lm/ft²", "lux", 93 * 10.76391},
		{0.058, "kW", "W", 58},
		{58, "watts", "W", 58},
		{5.2, "klm", "lm", 5200},
		{250, "mA", "A", 0.25},
		{250, "ma", "A", math.NaN()},
		{2, "MW", "W", 2e6},
		{2, "mW", "W", 2e-3},
		{12, "µA", "mA", 0.012},
		{24.6, "°C", "degC", 24.6},
		{24.6, "°F", "°C", math.NaN()},
		{4, "", "", 4},
		{4, "", "lx", math.NaN()},
		{4, "mm", "m", math.NaN()},
		{1, "furlong", "furlong", 1},
		{1e307, "MW", "nW", math.NaN()},
	} {
		v := Value{V: &c.v, Unit: c.unit}
		got, ok := v.In(c.in)
		if ok != !math.IsNaN(c.want) || ok && math.Abs(got-c.want) > 1e-6*math.Abs(c.want) {
			t.Errorf("%g %q is %g %q (%v), want %g", c.v, c.unit, got, c.in, ok, c.want)
		}
	}
	if _, ok := (&Value{Unit: "lx"}).In("lx"); ok {
		t.Error("there is a number where the meter gave none")
	}
}
