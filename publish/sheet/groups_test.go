package sheet

import (
	"strings"
	"testing"

	"lampassay/assay/quantity"
)

func TestLampsThatCannotBeToldApartAreNamedTogether(t *testing.T) {
	led, tube, filament := lampOf(t, specimens[0]), lampOf(t, specimens[1]), lampOf(t, specimens[4])
	twin := led
	twin.Name = "Its twin"
	got := groupsOf([]Lamp{led, filament, twin}, quantity.LuminousEfficacy)
	if want := "Not told apart at 95 %, with nothing taken as shared between the lamps: " + led.Name + " and Its twin."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := groupsOf([]Lamp{led, filament}, quantity.LuminousEfficacy); !strings.Contains(got, "each is told from every other") {
		t.Errorf("%q", got)
	}
	tube.Result.Uncertainty = nil
	if got := groupsOf([]Lamp{led, tube}, quantity.LuminousEfficacy); got != "" {
		t.Errorf("a lamp without uncertainty was told apart: %q", got)
	}
}
