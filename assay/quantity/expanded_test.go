package quantity

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The first is the example of JCGM 100:2008 7.2.6, there in ohms.
func TestTwoDigitsOfUncertaintyAndTheValueToMatch(t *testing.T) {
	for _, c := range []struct {
		id          ID
		v, expanded float64
		value, plus string
	}{
		{Power, 10.05762, 0.027, "10.058", "0.027"},
		{CCT, 2998.13, 76.4, "2998", "76"},
		{CCT, 2998.13, 9.96, "2998", "10"},
		{CCT, 2998.13, 9.94, "2998.1", "9.9"},
		{LuminousFlux, 12348, 643, "12350", "640"},
		{ChromaticityX, 0.437123, 0.00083, "0.43712", "0.00083"},
		{Duv, -0.00004, 0.0012, "0.0000", "0.0012"},
		{Ra, -46.23, 1.25, "−46.2", "1.2"},
		{ShareVisible, 0.98341, 0.0021, "98.34", "0.21"},
		{Power, 8.5, 0, "8.50", ""},
		{Power, 8.5, math.NaN(), "8.50", ""},
	} {
		value, plus := Get(c.id).FormatExpanded(c.v, c.expanded)
		if value != c.value || plus != c.plus {
			t.Errorf("%s: %g ± %g reads %q ± %q, want %q ± %q", Get(c.id).Key, c.v, c.expanded, value, plus, c.value, c.plus)
		}
	}
}

func TestRoundingIsWithinHalfOfTheLastPlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := math.Pow(10, rapid.Float64Range(-6, 5).Draw(t, "log u"))
		v := rapid.Float64Range(-1e5, 1e5).Draw(t, "v")
		value, plus := Get(Power).FormatExpanded(v, u)
		got, err := strconv.ParseFloat(strings.Replace(value, "−", "-", 1), 64)
		shown, err2 := strconv.ParseFloat(plus, 64)
		if err != nil || err2 != nil {
			t.Fatalf("%q ± %q", value, plus)
		}
		if math.Abs(got-v) > 0.0501*u || math.Abs(shown-u) > 0.0501*u {
			t.Fatalf("%g ± %g reads %s ± %s", v, u, value, plus)
		}
	})
}
