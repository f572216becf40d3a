package appearance

import (
	"errors"
	"image/color"
	"slices"
	"testing"

	"lampassay/light/spectrum"
)

func TestDaylightShowsTheSamplesAsDaylightDoes(t *testing.T) {
	near := func(a, b color.NRGBA) bool {
		for _, d := range []int{int(a.R) - int(b.R), int(a.G) - int(b.G), int(a.B) - int(b.B)} {
			if d < -1 || d > 1 { // D65 of the table, and as a curve: a rounding apart
				return false
			}
		}
		return true
	}
	s, err := TestColours(illuminant(t, "D65"))
	if err != nil || len(s.Daylight) != 14 {
		t.Fatalf("%d samples (%v)", len(s.Daylight), err)
	}
	if !slices.EqualFunc(s.Daylight, s.Light, near) || !slices.EqualFunc(s.Daylight, s.Adapted, near) {
		t.Errorf("%+v", s)
	}
}

func TestAnEyeUsedToALampSeesSamplesMoreAsInDaylight(t *testing.T) {
	s, err := TestColours(illuminant(t, "A"))
	if err != nil {
		t.Fatal(err)
	}
	apart := func(other []color.NRGBA) (sum int) {
		for i, a := range s.Daylight {
			b := other[i]
			for _, d := range []int{int(a.R) - int(b.R), int(a.G) - int(b.G), int(a.B) - int(b.B)} {
				sum += d * d
			}
		}
		return sum
	}
	if used, not := apart(s.Adapted), apart(s.Light); used >= not {
		t.Errorf("squares of the steps: %d to an eye used to illuminant A, %d to one that is not", used, not)
	}
}

func TestADarkLightShowsNoSample(t *testing.T) {
	if _, err := TestColours(new(spectrum.Projected)); !errors.Is(err, ErrDark) {
		t.Errorf("%v", err)
	}
}
