package uncertainty

import (
	"fmt"
	"maps"
	"slices"

	"lampassay/assay"
	"lampassay/assay/jsonfile"
	"lampassay/light/spectrum"
)

// FormatName and FormatVersion stand at the head of a sitting file.
const (
	FormatName    = "lampassay sitting"
	FormatVersion = 1
)

// Conditions is what is known of a sitting: the content of a sitting file.
type Conditions struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	Note    string `json:"note,omitempty"`
	// Defaults name the classes whose usual figures stand for every input that
	// Inputs does not list.
	Defaults Classes `json:"defaults"`
	// Measured are the figures beside the spectrum: "luminous_flux" in lm,
	// "power" and "power_lamp" in W. Readings bring their scatter with them; a
	// stated uncertainty is that of the whole, in place of its parts.
	Measured map[string]Entry `json:"measured,omitempty"`
	Inputs   []Entry          `json:"inputs,omitempty"`
	// Repeats name files with further spectra of the lamp, of which the mean is
	// taken. Reading them is the caller's.
	Repeats      []string      `json:"repeats,omitempty"`
	Correlations []Correlation `json:"correlations,omitempty"`

	// Known is what an instrument's own calibration says of the spectrometer, in
	// place of its class; nil for none. What Inputs lists counts more.
	Known *Spectrometer `json:"-"`
	// Parts are what a measured figure, by its key in Measured, is uncertain by
	// where that was worked out elsewhere. They replace the parts of its class
	// and what the file states of the whole.
	Parts map[string][]Factor `json:"-"`
}

// ParseConditions reads a sitting file.
func ParseConditions(data []byte) (*Conditions, error) {
	c := new(Conditions)
	if err := jsonfile.Decode(data, c); err != nil {
		return nil, fmt.Errorf("uncertainty: the sitting file: %w", err)
	}
	switch {
	case c.Format != FormatName:
		return nil, fmt.Errorf("uncertainty: this is not a sitting: it begins with \"format\": %q", FormatName)
	case c.Version != FormatVersion:
		return nil, fmt.Errorf("uncertainty: version %d of the sitting format is not known here: this program reads %d", c.Version, FormatVersion)
	}
	return c, c.check()
}

// check holds every part to its rules.
func (c *Conditions) check() error {
	if err := c.Defaults.check(); err != nil {
		return err
	}
	seen := map[string]bool{}
	for i := range c.Inputs {
		e := &c.Inputs[i]
		m, err := meaningOf(e.Name)
		if err != nil {
			return err
		}
		if seen[e.Name] {
			return e.fault("it stands twice")
		}
		seen[e.Name] = true
		if err := e.checkUnit(m.Units); err != nil {
			return err
		}
	}
	if _, err := c.measured(); err != nil {
		return err
	}
	// The spectrum is not there yet; what is left to go wrong with it is small.
	lamp, _ := ParseLamp(c.Defaults.Lamp)
	in, err := SpectrometerClass(c.Defaults.Spectrometer)
	if err != nil {
		return err
	}
	if err := c.instrument(&in); err != nil {
		return err
	}
	_, err = c.factors(lamp, assay.Given{Flux: assay.Measured(1), Power: assay.Measured(1), PowerLamp: assay.Measured(1)}, true)
	return err
}

// Sitting joins the conditions to a spectrum and to what was measured beside
// it. What the conditions hold of that is added; what both hold is refused.
func (c *Conditions) Sitting(s *spectrum.Spectrum, kind spectrum.Projection, given assay.Given) (*Sitting, error) {
	if err := c.Defaults.check(); err != nil {
		return nil, err
	}
	lamp, err := ParseLamp(c.Defaults.Lamp)
	if err != nil {
		return nil, err
	}
	out := &Sitting{Spectrum: s, Kind: kind, Given: given, Correlations: c.Correlations}
	measured, err := c.measured()
	if err != nil {
		return nil, err
	}
	for _, m := range measured {
		if to := m.of.in(&out.Given); to.Known {
			return nil, fmt.Errorf("uncertainty: the %s is in the sitting file and given beside it: use one", m.of.says)
		}
		*m.of.in(&out.Given) = assay.Measured(m.value)
	}
	if out.Spectrometer, err = SpectrometerClass(c.Defaults.Spectrometer); err != nil {
		return nil, err
	}
	if c.Known != nil {
		out.Spectrometer = *c.Known
		out.Spectrometer.Sources = maps.Clone(c.Known.Sources)
	}
	if err := c.instrument(&out.Spectrometer); err != nil {
		return nil, err
	}
	out.Factors, err = c.factors(lamp, out.Given, s != nil && s.Quantity().Absolute())
	return out, err
}

// measurement is a figure beside the spectrum.
type measurement struct {
	of    *measurable
	value float64
	whole *Distribution // relative error, where that of all of it is stated
	mean  *Distribution // relative error of a mean of readings
	entry Entry
}

// measurable is what can be measured beside a spectrum.
type measurable struct {
	key, says, unit, whole, repeats string
	in                              func(*assay.Given) *assay.Optional
}

var measurables = []measurable{
	{"luminous_flux", "luminous flux", "lm", FluxAsGiven, FluxRepeats, func(g *assay.Given) *assay.Optional { return &g.Flux }},
	{"power", "power", "W", PowerAsGiven, PowerRepeats, func(g *assay.Given) *assay.Optional { return &g.Power }},
	{"power_lamp", "power at the lamp", "W", LampPowerAsGiven, LampPowerRepeats, func(g *assay.Given) *assay.Optional { return &g.PowerLamp }},
}

// measured reads the figures beside the spectrum.
func (c *Conditions) measured() ([]measurement, error) {
	for key := range c.Measured {
		if !slices.ContainsFunc(measurables, func(m measurable) bool { return m.key == key }) {
			return nil, fmt.Errorf("uncertainty: %q cannot be measured beside a spectrum: it is luminous_flux, power or power_lamp", key)
		}
	}
	var out []measurement
	for i := range measurables {
		of := &measurables[i]
		e, ok := c.Measured[of.key]
		if !ok {
			continue
		}
		e.Name = of.says
		if err := e.checkUnit([]string{of.unit}); err != nil {
			return nil, err
		}
		m := measurement{of: of, value: e.value(), entry: e}
		if e.Readings != nil || e.U != nil || e.Half != nil || e.Expanded != nil || e.Distribution != "" {
			d, err := e.distribution()
			if err != nil {
				return nil, err
			}
			m.value = d.centre
			d.centre = 0
			d = d.scaled(1 / m.value)
			if e.Readings != nil {
				m.mean = &d
			} else {
				m.whole = &d
			}
		}
		if !(m.value > 0) {
			return nil, e.fault("it cannot be %g %s: it must be above zero", m.value, of.unit)
		}
		out = append(out, m)
	}
	return out, nil
}
