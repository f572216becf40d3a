package uncertainty

import (
	"fmt"
	"slices"
	"strings"

	"lampassay/light/emission"
)

// Part says what an input belongs to.
type Part string

// The parts of a sitting.
const (
	OfSpectrometer Part = "spectrometer"
	OfLamp         Part = "lamp and its surroundings"
	OfFlux         Part = "luminous flux"
	OfPower        Part = "power"
)

// Names of the inputs of a spectrometer.
const (
	WavelengthOffset  = "wavelength offset"
	WavelengthStretch = "wavelength stretch"
	Bandwidth         = "bandwidth"
	PixelNoise        = "pixel noise"
	ResponseCurve     = "response curve"
	ReferenceLamp     = "temperature of the reference lamp"
	StrayLight        = "stray light"
	DarkLevel         = "dark level"
	AbsoluteScale     = "absolute scale"
)

// Names of the inputs that only an instrument's own calibration or repeated
// spectra give.
const (
	WavelengthAxis = "wavelength axis"
	SecondOrder    = "second order"
	Linearity      = "linearity"
	Repeatability  = "repeats of the spectrum"
)

// Names of the inputs that act on what was measured beside the spectrum.
const (
	SupplyVoltage  = "supply voltage"
	AirTemperature = "air temperature"
	Stabilisation  = "stabilisation"
	Refit          = "refit"

	FluxAsGiven      = "luminous flux as given"
	FluxRepeats      = "repeats of the luminous flux"
	LightMeterScale  = "light meter scale"
	SpectralMismatch = "spectral mismatch"
	Distance         = "distance"
	Cosine           = "cosine and alignment"
	Ambient          = "ambient and reflected light"
	Angles           = "angles and planes"
	AssumedBeam      = "assumed beam"
	ReferenceFlux    = "flux of the reference lamp"
	SelfAbsorption   = "self-absorption"
	Uniformity       = "uniformity of the sphere"

	PowerAsGiven      = "power as given"
	PowerRepeats      = "repeats of the power"
	PowerMeterClass   = "power meter class"
	PowerMeterLowLoad = "power meter at low load"
	PowerMeterDisplay = "power meter display"
	LampPowerAsGiven  = "power at the lamp as given"
	LampPowerRepeats  = "repeats of the power at the lamp"
)

// Meaning says what an input is and in which units its uncertainty may be
// stated, the usual one first.
type Meaning struct {
	Name  string
	Part  Part
	Units []string
	About string

	light, flux, power, lamp float64 // exponents; see [Factor]
}

// relative are the units of a plain relative error.
var relative = []string{"%", "1"}

func relativeOr(units ...string) []string { return append(slices.Clone(relative), units...) }

var meanings = []Meaning{
	{Name: WavelengthOffset, Part: OfSpectrometer, Units: []string{"nm"}, About: "what every wavelength may be off by"},
	{Name: WavelengthStretch, Part: OfSpectrometer, Units: []string{"nm per 100 nm"}, About: "how the wavelengths may err away from 550 nm"},
	{Name: Bandwidth, Part: OfSpectrometer, Units: []string{"nm"}, About: "full width of a line at half maximum; its value is the width that figures are stated for"},
	{Name: PixelNoise, Part: OfSpectrometer, Units: relative, About: "of a sample, as a share of the largest: \"floor\" where there is no light, \"peak\" at the largest"},
	{Name: ResponseCurve, Part: OfSpectrometer, Units: relative, About: "relative error of the response: \"nm\", \"u_at\" and the length \"correlation_nm\" over which neighbours err alike"},
	{Name: ReferenceLamp, Part: OfSpectrometer, Units: []string{"K"}, About: "colour temperature of the lamp that the response was taken from; its value is what was assumed"},
	{Name: StrayLight, Part: OfSpectrometer, Units: relative, About: "level under the spectrum, as a share of its mean"},
	{Name: DarkLevel, Part: OfSpectrometer, Units: relative, About: "level under the spectrum, as a share of its largest sample"},
	{Name: SecondOrder, Part: OfSpectrometer, Units: relative, About: "what the correction of raw counts leaves of the ghosts, as a share of them"},
	{Name: Linearity, Part: OfSpectrometer, Units: relative, About: "of raw counts: departure from proportion at the largest count"},
	{Name: AbsoluteScale, Part: OfSpectrometer, Units: relative, About: "of a spectrum in absolute units"},

	{Name: SupplyVoltage, Part: OfLamp, Units: relativeOr("V"), About: "acts on light and power with exponents of the type of lamp, or \"light\" and \"power\""},
	{Name: AirTemperature, Part: OfLamp, Units: []string{"K"}, About: "acts on the light by a share per kelvin of the type of lamp, or \"light\""},
	{Name: Stabilisation, Part: OfLamp, Units: relativeOr("lx"), About: "what was left of the run-up", light: 1},
	{Name: Refit, Part: OfLamp, Units: relativeOr("lx"), About: "taking the lamp out and putting it back", light: 1},

	{Name: FluxAsGiven, Part: OfFlux, Units: relativeOr("lm"), About: "all of it, where it is not split into parts", flux: 1},
	{Name: FluxRepeats, Part: OfFlux, Units: relativeOr("lm", "lx"), About: "the scatter of its readings", flux: 1},
	{Name: LightMeterScale, Part: OfFlux, Units: relative, About: "calibration of the light meter", flux: 1},
	{Name: SpectralMismatch, Part: OfFlux, Units: relative, About: "of the light meter, for this lamp's spectrum", flux: 1},
	{Name: Distance, Part: OfFlux, Units: relativeOr("m", "cm", "mm"), About: "between lamp and meter: it counts twice", flux: 2},
	{Name: Cosine, Part: OfFlux, Units: relative, About: "of the light meter", flux: 1},
	{Name: Ambient, Part: OfFlux, Units: relative, About: "light that did not come straight from the lamp", flux: 1},
	{Name: Angles, Part: OfFlux, Units: relative, About: "gaps between the directions measured", flux: 1},
	{Name: AssumedBeam, Part: OfFlux, Units: relative, About: "a distribution of light that nobody measured", flux: 1},
	{Name: ReferenceFlux, Part: OfFlux, Units: relative, About: "of the lamp that the sphere was set with", flux: 1},
	{Name: SelfAbsorption, Part: OfFlux, Units: relative, About: "what the lamp itself takes from the sphere", flux: 1},
	{Name: Uniformity, Part: OfFlux, Units: relative, About: "how the reading depends on where the light falls", flux: 1},

	{Name: PowerAsGiven, Part: OfPower, Units: relativeOr("W"), About: "at the mains: all of it, where it is not split into parts", power: 1},
	{Name: PowerRepeats, Part: OfPower, Units: relativeOr("W"), About: "the scatter of its readings", power: 1},
	{Name: PowerMeterClass, Part: OfPower, Units: relative, About: "limit of error in proportion to the reading", power: 1},
	{Name: PowerMeterLowLoad, Part: OfPower, Units: relativeOr("W"), About: "limit of error that does not shrink with the load", power: 1},
	{Name: PowerMeterDisplay, Part: OfPower, Units: relativeOr("W"), About: "half a step of the display", power: 1},
	{Name: LampPowerAsGiven, Part: OfPower, Units: relativeOr("W"), About: "at the lamp's terminals: all of it", lamp: 1},
	{Name: LampPowerRepeats, Part: OfPower, Units: relativeOr("W"), About: "the scatter of its readings", lamp: 1},
}

// Meanings returns every input that a sitting can have. The slice must not be
// changed.
func Meanings() []Meaning { return meanings }

// meaningOf finds an input by its name.
func meaningOf(name string) (*Meaning, error) {
	for i := range meanings {
		if meanings[i].Name == name {
			return &meanings[i], nil
		}
	}
	for _, m := range meanings { // a part of a name is the usual slip
		if word := strings.ToLower(strings.TrimSpace(name)); word != "" && (strings.Contains(m.Name, word) || strings.Contains(word, m.Name)) {
			return nil, fmt.Errorf("uncertainty: there is no input %q: did you mean %q?", name, m.Name)
		}
	}
	return nil, fmt.Errorf("uncertainty: there is no input %q: \"lampassay sitting inputs\" lists them", name)
}

// Lamp is a type of lamp as far as the set-up acts on it.
type Lamp uint8

// The types.
const (
	Unknown        Lamp = iota
	White               // phosphor-converted LED with a driver of constant current
	Filament            // incandescent, halogen
	ChokeDischarge      // discharge lamp on a choke
	ElectronicTube      // fluorescent lamp on electronic gear
	Narrow              // single lines or narrow bands, whatever the gear
)

// habits say how a lamp responds to its surroundings, and how far a light meter
// without a correction errs on it. The exponents of a filament are common
// practice, without a source; the rest are own estimates.
var habits = [...]struct {
	name, about                    string
	lightByVoltage, powerByVoltage float64
	heatByVoltage                  float64
	lightByAir                     float64 // per kelvin of the air
	mismatch                       float64 // relative standard uncertainty
}{
	Unknown:        {"unknown", "lamp of an unknown kind", 1.5, 1.5, 0, 0.005, 0.05},
	White:          {"white", "white LED lamp", 0.1, 0.1, 0, 0.002, 0.03},
	Filament:       {"filament", "filament lamp", 3.4, 1.6, 0.42, 0, 0.005},
	ChokeDischarge: {"choke", "discharge lamp on a choke", 1.5, 1.5, 0, 0.002, 0.04},
	ElectronicTube: {"electronic", "fluorescent lamp on electronic gear", 0.2, 0.2, 0, 0.01, 0.03},
	Narrow:         {"narrow", "lamp of lines or narrow bands", 0.3, 0.3, 0, 0.002, 0.08},
}

// String returns the type's name in a sitting file.
func (l Lamp) String() string { return habits[l].name }

// ParseLamp reads the name of a type.
func ParseLamp(name string) (Lamp, error) {
	var names []string
	for l, h := range habits {
		if h.name == name {
			return Lamp(l), nil
		}
		names = append(names, h.name)
	}
	return Unknown, fmt.Errorf("uncertainty: there is no type of lamp %q: it is one of %s", name, strings.Join(names, ", "))
}

// LampOfFamily returns the type that a lamp of a family of light/emission most
// likely is.
func LampOfFamily(key string) Lamp {
	switch key {
	case emission.FamilyIncandescent, emission.FamilyHalogen:
		return Filament
	case emission.FamilyHPS, emission.FamilyMercury, emission.FamilyMercuryCoated, emission.FamilyMetalHalide:
		return ChokeDischarge
	case emission.FamilyHalophosphate, emission.FamilyTriphosphor, emission.FamilyMultiband:
		return ElectronicTube
	case emission.FamilyLEDPhosphor:
		return White
	case emission.FamilyLPS, emission.FamilyRareGas, emission.FamilyLEDSingle, emission.FamilyLEDMixed, emission.FamilyLaser,
		emission.FamilyGermicidal, emission.FamilyMetalVapour, emission.FamilyHydrogen:
		return Narrow
	}
	return Unknown
}
