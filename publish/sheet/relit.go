package sheet

import (
	"errors"
	"fmt"
	"image/color"

	"lampassay/light/appearance"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
	"lampassay/publish/figure"
)

// relit prepares the test-colour samples of CIE 13.3 in daylight and under the
// lamp, to an eye used to daylight and to one used to the lamp; nil for a lamp
// that has no light to see by.
func relit(l *Lamp) (*figure.Picture, error) {
	p, err := l.Spectrum.Project(l.Result.Kind)
	if err != nil {
		return nil, fmt.Errorf("sheet: %w", err)
	}
	daylight, err := standards.IlluminantByName("D65")
	if err != nil {
		return nil, fmt.Errorf("sheet: %w", err)
	}
	d65, err := daylight.Spectrum.Project(spectrum.Sampled)
	if err != nil {
		return nil, fmt.Errorf("sheet: %w", err)
	}
	samples := standards.TCS()
	f := figure.Relit{Note: "Test-colour samples 1–14 of CIE 13.3, from their measured reflectances; full adaptation by CAT02 of CIE 159:2004."}
	for i := range samples.R {
		f.Samples = append(f.Samples, fmt.Sprintf("R%d", i+1))
	}
	for _, row := range []struct {
		name    string
		light   *spectrum.Projected
		adapted bool
	}{
		{"in daylight, D65", d65, false},
		{"under this lamp, to an eye used to daylight", p, false},
		{"under this lamp, to an eye wholly used to it", p, true},
	} {
		scene, err := appearance.New(row.light, appearance.Options{Adapted: row.adapted})
		if errors.Is(err, appearance.ErrDark) {
			return nil, nil
		}
		if err != nil {
			return nil, fmt.Errorf("sheet: %w", err)
		}
		colours := make([]color.NRGBA, len(samples.R))
		for i, r := range samples.R {
			colours[i] = scene.Surface(samples.First, samples.Step, r)
		}
		f.Rows = append(f.Rows, figure.RelitRow{Name: row.name, Colours: colours})
	}
	return f.Picture()
}
