package uncertainty

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"lampassay/assay"
)

// Classes name the shipped estimates that hold for whatever nobody states.
type Classes struct {
	Spectrometer string `json:"spectrometer"`
	Lamp         string `json:"lamp"`
	Flux         string `json:"luminous_flux"`
	Power        string `json:"power"`
}

// Class is a shipped set of estimates, and in words what it is for.
type Class struct{ Name, About string }

var (
	spectrometerClasses = []Class{
		{"home", "home-made grating spectrometer"}, {"compact", "compact array spectrometer"},
		{"bench", "bench array spectrometer"}, {"exact", "exact spectrum"},
	}
	fluxClasses = []Class{
		{"unstated", "flux by an unstated route, u = 5 %"}, {"angles", "flux from lux over angles and planes"},
		{"sphere", "flux from a sphere with a certified reference lamp"}, {"sphere-label", "flux from a sphere set with the label of a box"},
		{"direction", "flux from one direction and an assumed beam"}, {"laboratory", "a laboratory's flux, u = 2 %"},
		{"declared", "declared flux, within 10 %"}, {"exact", "exact flux"},
	}
	powerClasses = []Class{
		{"plug-in", "household power meter"}, {"analyser", "power analyser"}, {"exact", "exact power"},
	}
)

// SpectrometerClasses are the classes of spectrometers.
func SpectrometerClasses() []Class { return slices.Clone(spectrometerClasses) }

// FluxClasses are the routes to a luminous flux.
func FluxClasses() []Class { return slices.Clone(fluxClasses) }

// PowerClasses are the meters of a power.
func PowerClasses() []Class { return slices.Clone(powerClasses) }

// Usual are the classes where nobody names any.
func Usual() Classes {
	return Classes{Spectrometer: "compact", Lamp: Unknown.String(), Flux: "unstated", Power: "plug-in"}
}

// check fills in what was left out and refuses what is not there.
func (c *Classes) check() error {
	usual := Usual()
	for _, of := range []struct {
		what    string
		at      *string
		usual   string
		classes []Class
	}{
		{"spectrometer", &c.Spectrometer, usual.Spectrometer, spectrometerClasses},
		{"luminous flux", &c.Flux, usual.Flux, fluxClasses},
		{"power", &c.Power, usual.Power, powerClasses},
	} {
		if *of.at == "" {
			*of.at = of.usual
		}
		if !slices.ContainsFunc(of.classes, func(k Class) bool { return k.Name == *of.at }) {
			return fmt.Errorf("uncertainty: there is no class %q of %s: it is one of %s", *of.at, of.what, names(of.classes))
		}
	}
	if c.Lamp == "" {
		c.Lamp = usual.Lamp
	}
	_, err := ParseLamp(c.Lamp)
	return err
}

// Basis says in a line for which classes the defaults stand.
func (c *Conditions) Basis(given *assay.Given) string {
	about := func(classes []Class, name string) string {
		i := slices.IndexFunc(classes, func(k Class) bool { return k.Name == name })
		return classes[max(i, 0)].About
	}
	lamp, _ := ParseLamp(c.Defaults.Lamp)
	spectrometer := about(spectrometerClasses, c.Defaults.Spectrometer)
	if c.Known != nil {
		spectrometer = "what the file of " + c.Known.Name + " does not tell"
	}
	b := []string{spectrometer, habits[lamp].about}
	if given.Flux.Known && c.Parts["luminous_flux"] == nil {
		b = append(b, about(fluxClasses, c.Defaults.Flux))
	}
	if given.Power.Known && c.Parts["power"] == nil || given.PowerLamp.Known && c.Parts["power_lamp"] == nil {
		b = append(b, about(powerClasses, c.Defaults.Power))
	}
	return strings.Join(b, "; ")
}

// JSON writes the sitting file: rows of numbers on a line each.
func (c *Conditions) JSON() ([]byte, error) {
	data, err := json.MarshalIndent(c, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("uncertainty: %w", err)
	}
	data = numberRow.ReplaceAllFunc(data, func(row []byte) []byte {
		return bytes.ReplaceAll(bytes.Join(bytes.Fields(row), nil), []byte(","), []byte(", "))
	})
	return append(data, '\n'), nil
}

var numberRow = regexp.MustCompile(`\[[-+0-9.eE,\s]+\]`)

func names(classes []Class) string {
	var b []string
	for _, k := range classes {
		b = append(b, k.Name)
	}
	return strings.Join(b, ", ")
}

// SpectrometerClass returns the shipped estimates of a class by name.
func SpectrometerClass(name string) (Spectrometer, error) {
	switch name {
	case "home":
		return HomeGrating(), nil
	case "compact":
		return CompactArray(), nil
	case "bench":
		return BenchArray(), nil
	case "exact":
		return Spectrometer{Name: "exact"}, nil
	}
	return Spectrometer{}, fmt.Errorf("uncertainty: there is no class %q of spectrometer: it is one of %s", name, names(spectrometerClasses))
}

// fluxFactors returns the shipped estimates of a route to the flux.
func fluxFactors(route string, lamp Lamp) []Factor {
	switch route {
	case "angles":
		return LuxOverAngles(lamp)
	case "sphere":
		return Sphere(lamp, 0.015)
	case "sphere-label":
		return Sphere(lamp, 0.06)
	case "direction":
		return OneDirection(lamp)
	case "laboratory":
		return []Factor{estimated(FluxAsGiven, 0.02)}
	case "declared":
		return []Factor{limited(FluxAsGiven, 0.1)}
	case "exact":
		return nil
	}
	return []Factor{estimated(FluxAsGiven, 0.05)}
}

// powerFactors returns the shipped estimates of a power meter at a load.
func powerFactors(meter string, watts float64) []Factor {
	switch meter {
	case "analyser":
		return PowerAnalyser(watts)
	case "exact":
		return nil
	}
	return PlugInMeter(watts)
}

// lampPowerFactors are for a power at the lamp's terminals, which no plug-in
// meter can read.
func lampPowerFactors(meter string) []Factor {
	switch meter {
	case "analyser":
		return []Factor{estimated(LampPowerAsGiven, 0.005)}
	case "exact":
		return nil
	}
	return []Factor{estimated(LampPowerAsGiven, 0.03)}
}

// NewConditions states every input of the classes one by one, for editing.
// watts and lumens are what was measured, 0 where it was not.
func NewConditions(classes Classes, lumens, watts float64) (*Conditions, error) {
	c := &Conditions{Format: FormatName, Version: FormatVersion, Defaults: classes}
	if err := c.Defaults.check(); err != nil {
		return nil, err
	}
	lamp, err := ParseLamp(c.Defaults.Lamp)
	if err != nil {
		return nil, err
	}
	in, err := SpectrometerClass(c.Defaults.Spectrometer)
	if err != nil {
		return nil, err
	}
	c.Inputs = in.entries()
	var factors []Factor
	factors = append(factors, SetUp(lamp, 0.01, 2)...)
	add := func(key, unit string, v float64, f func() []Factor) {
		if v > 0 {
			if c.Measured == nil {
				c.Measured = map[string]Entry{}
			}
			c.Measured[key] = Entry{Value: &v, Unit: unit}
			factors = append(factors, f()...)
		}
	}
	add("luminous_flux", "lm", lumens, func() []Factor { return fluxFactors(c.Defaults.Flux, lamp) })
	add("power", "W", watts, func() []Factor { return powerFactors(c.Defaults.Power, watts) })
	for _, f := range factors {
		c.Inputs = append(c.Inputs, f.entry(lamp, watts))
	}
	return c, nil
}

// entries states what is known of a spectrometer.
func (in *Spectrometer) entries() []Entry {
	var all []Entry
	add := func(name string) {
		d := *in.input(name)
		m, err := meaningOf(name)
		if err != nil || d == (Distribution{}) {
			return
		}
		all = append(all, entryOf(name, m.Units[0], inPercent(d, m.Units[0]), in.Source))
	}
	add(WavelengthOffset)
	add(WavelengthStretch)
	add(Bandwidth)
	if n := in.Noise; n.Floor != 0 || n.Peak != 0 {
		floor, peak := percent(n.Floor), percent(n.Peak)
		all = append(all, Entry{Name: PixelNoise, Unit: "%", Floor: &floor, Peak: &peak, Source: in.Source})
	}
	if r := in.Response; len(r.Nm) > 0 {
		e := Entry{Name: ResponseCurve, Unit: "%", Nm: r.Nm, CorrelationNm: &r.Correlation, Source: in.Source}
		for _, u := range r.U {
			e.UAt = append(e.UAt, percent(u))
		}
		all = append(all, e)
	}
	add(ReferenceLamp)
	add(StrayLight)
	add(DarkLevel)
	add(AbsoluteScale)
	return all
}

// entry states a factor in the unit that its owner would use.
func (f *Factor) entry(lamp Lamp, watts float64) Entry {
	m, err := meaningOf(f.Name)
	if err != nil {
		panic(err) // factors of classes carry names of this package
	}
	h := habits[lamp]
	var e Entry
	switch f.Name {
	case SupplyVoltage:
		e = entryOf(f.Name, "%", inPercent(f.Distribution, "%"), f.Source)
		e.Light, e.Power = &h.lightByVoltage, &h.powerByVoltage
	case AirTemperature:
		e = entryOf(f.Name, "K", Normal(0, 2), f.Source)
		e.Light = &h.lightByAir
	case PowerMeterLowLoad, PowerMeterDisplay:
		d := f.Distribution.scaled(watts)
		d.width = percent(d.width) / 100
		e = entryOf(f.Name, "W", d, f.Source)
	default:
		e = entryOf(f.Name, m.Units[0], inPercent(f.Distribution, "%"), f.Source)
	}
	return e
}

// inPercent turns a share into per cent where that is the unit.
func inPercent(d Distribution, unit string) Distribution {
	if unit != "%" {
		return d
	}
	d.centre, d.width = percent(d.centre), percent(d.width)
	return d
}
