package appearance

import (
	"fmt"
	"image/color"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Samples are the colours of the test-colour samples of CIE 13.3-1995, in their
// order.
type Samples struct {
	Daylight []color.NRGBA // under D65
	Light    []color.NRGBA // under the light, to an eye used to daylight
	Adapted  []color.NRGBA // under the light, to an eye wholly used to it
}

// TestColours shows the samples in daylight and under a light. The error is
// [ErrDark] for a light that has no luminance to see by.
func TestColours(light *spectrum.Projected) (out Samples, err error) {
	d65, err := standards.IlluminantByName("D65")
	if err != nil {
		return out, fmt.Errorf("appearance: %w", err)
	}
	daylight, err := d65.Spectrum.Project(spectrum.Sampled)
	if err != nil {
		return out, fmt.Errorf("appearance: %w", err)
	}
	samples := standards.TCS()
	for _, row := range []struct {
		to    *[]color.NRGBA
		under *spectrum.Projected
		eye   Options
	}{
		{&out.Daylight, daylight, Options{}},
		{&out.Light, light, Options{}},
		{&out.Adapted, light, Options{Adapted: true}},
	} {
		scene, err := New(row.under, row.eye)
		if err != nil {
			return Samples{}, err
		}
		for _, r := range samples.R {
			*row.to = append(*row.to, scene.Surface(samples.First, samples.Step, r))
		}
	}
	return out, nil
}
