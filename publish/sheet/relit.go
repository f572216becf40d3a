package sheet

import (
	"errors"
	"fmt"

	"lampassay/light/appearance"
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
	seen, err := appearance.TestColours(p)
	if errors.Is(err, appearance.ErrDark) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("sheet: %w", err)
	}
	f := figure.Relit{
		Rows: []figure.RelitRow{
			{Name: "in daylight, D65", Colours: seen.Daylight},
			{Name: "under this lamp, to an eye used to daylight", Colours: seen.Light},
			{Name: "under this lamp, to an eye wholly used to it", Colours: seen.Adapted},
		},
		Note: "Test-colour samples 1–14 of CIE 13.3, from their measured reflectances; full adaptation by CAT02 of CIE 159:2004.",
	}
	for i := range seen.Daylight {
		f.Samples = append(f.Samples, fmt.Sprintf("R%d", i+1))
	}
	return f.Picture()
}
