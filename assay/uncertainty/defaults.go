package uncertainty

import "math"

// OwnEstimate marks figures that nobody measured: this project's own estimates for
// a class of instruments, to be replaced by a certificate or by repeats.
const OwnEstimate = "own estimate for the class"

// HomeGrating is a camera or bare sensor behind a replica grating, its
// wavelengths set by a few lines and its response by a halogen lamp of assumed
// temperature.
func HomeGrating() Spectrometer {
	return Spectrometer{
		Name: "home-made grating spectrometer", Source: OwnEstimate,
		Offset: Normal(0, 0.8), Stretch: Normal(0, 0.5), Bandwidth: Rectangular(4, 1),
		Noise: Noise{Floor: 0.003, Peak: 0.006},
		Response: Response{
			Nm: []float64{350, 400, 430, 480, 560, 650, 700, 780, 850},
			U:  []float64{0.25, 0.15, 0.10, 0.05, 0.03, 0.05, 0.08, 0.15, 0.25}, Correlation: 120,
		},
		Reference: Normal(2856, 70), Stray: Normal(0, 0.01), Dark: Normal(0, 0.001),
		Scale: Normal(0, 0.15),
	}
}

// CompactArray is a small array spectrometer with its maker's calibration.
func CompactArray() Spectrometer {
	return Spectrometer{
		Name: "compact array spectrometer", Source: OwnEstimate,
		Offset: Normal(0, 0.3), Stretch: Normal(0, 0.15), Bandwidth: Rectangular(2, 0.3),
		Noise: Noise{Floor: 0.0007, Peak: 0.002},
		Response: Response{
			Nm: []float64{350, 400, 430, 480, 560, 650, 700, 780, 850},
			U:  []float64{0.15, 0.06, 0.035, 0.02, 0.015, 0.02, 0.03, 0.05, 0.10}, Correlation: 120,
		},
		Reference: Normal(2856, 20), Stray: Normal(0, 0.003), Dark: Normal(0, 0.0003),
		Scale: Normal(0, 0.05),
	}
}

// BenchArray is a larger array spectrometer, calibrated lately against a lamp
// with a certificate and corrected for stray light.
func BenchArray() Spectrometer {
	return Spectrometer{
		Name: "bench array spectrometer", Source: OwnEstimate,
		Offset: Normal(0, 0.1), Stretch: Normal(0, 0.05), Bandwidth: Rectangular(2, 0.1),
		Noise: Noise{Floor: 0.0002, Peak: 0.001},
		Response: Response{
			Nm: []float64{350, 400, 430, 480, 560, 650, 700, 780, 850},
			U:  []float64{0.04, 0.02, 0.014, 0.010, 0.008, 0.008, 0.010, 0.015, 0.03}, Correlation: 150,
		},
		Reference: Normal(2856, 8), Stray: Normal(0, 0.0005), Dark: Normal(0, 0.0001),
		Scale: Normal(0, 0.02),
	}
}

// Lamp is a type of lamp as far as the set-up acts on it.
type Lamp uint8

// The types.
const (
	White          Lamp = iota // phosphor-converted LED with a driver of constant current
	Filament                   // incandescent, halogen
	ChokeDischarge             // discharge lamp on a choke
	ElectronicTube             // fluorescent lamp on electronic gear
	Narrow                     // single lines or narrow bands, whatever the gear
)

// A lamp's response to its surroundings, and how far a light meter without a
// correction errs on it. The exponents of a filament are the usual ones; the
// rest are own estimates.
var habits = [...]struct {
	lightByVoltage, powerByVoltage float64
	lightByAir                     float64 // per kelvin of the air
	mismatch                       float64 // relative standard uncertainty
}{
	White:          {0.1, 0.1, 0.002, 0.03},
	Filament:       {3.4, 1.6, 0, 0.005},
	ChokeDischarge: {1.5, 1.5, 0.002, 0.04},
	ElectronicTube: {0.2, 0.2, 0.01, 0.03},
	Narrow:         {0.3, 0.3, 0.002, 0.08},
}

// estimated makes a factor from a relative standard uncertainty.
func estimated(name string, u float64) Factor {
	return Factor{Input: Input{Name: name, Distribution: Normal(0, u), Source: OwnEstimate}}
}

func onFlux(exponent float64, f Factor) Factor {
	f.Flux = exponent
	return f
}

func onLight(f Factor) Factor {
	f.Light = 1
	return f
}

// SetUp is what acts on the lamp itself by any route: the supply within voltage
// (a relative standard uncertainty), the air within kelvin of what is stated,
// what was left of the run-up, and taking the lamp out and putting it back.
func SetUp(lamp Lamp, voltage, kelvin float64) []Factor {
	h := habits[lamp]
	supply := estimated("supply voltage", voltage)
	supply.Light, supply.Power, supply.Lamp = h.lightByVoltage, h.powerByVoltage, h.powerByVoltage
	drift := onLight(estimated("stabilisation", 0))
	drift.Distribution = Rectangular(0, 0.005)
	return []Factor{
		supply,
		onLight(estimated("air temperature", h.lightByAir*kelvin)),
		drift,
		onLight(estimated("refit", 0.005)),
	}
}

// LuxOverAngles is a light meter at a distance over angles and planes: meter
// scale, mismatch for the lamp, distance (within a centimetre in two metres),
// cosine and alignment, ambient light and gaps between the angles.
func LuxOverAngles(lamp Lamp) []Factor {
	return []Factor{
		onFlux(1, estimated("light meter scale", 0.025)),
		onFlux(1, estimated("spectral mismatch", habits[lamp].mismatch)),
		onFlux(2, estimated("distance", 0.005)),
		onFlux(1, estimated("cosine and alignment", 0.01)),
		onFlux(1, estimated("ambient and reflected light", 0.01)),
		onFlux(1, estimated("angles and planes", 0.02)),
	}
}

// Sphere is substitution in a sphere or a white box that its owner built, with
// a reference lamp of a relative standard uncertainty: about 0.015 with a
// certificate, 0.06 with the label of its box.
func Sphere(lamp Lamp, reference float64) []Factor {
	return []Factor{
		onFlux(1, estimated("reference lamp", reference)),
		onFlux(1, estimated("spectral mismatch and colour of the wall", habits[lamp].mismatch)),
		onFlux(1, estimated("self-absorption", 0.015)),
		onFlux(1, estimated("uniformity of the sphere", 0.02)),
	}
}

// OneDirection is a single reading of illuminance and an assumed beam, which is
// most of the uncertainty.
func OneDirection(lamp Lamp) []Factor {
	return []Factor{
		onFlux(1, estimated("assumed beam", 0.15)),
		onFlux(1, estimated("light meter scale", 0.025)),
		onFlux(1, estimated("spectral mismatch", habits[lamp].mismatch)),
		onFlux(2, estimated("distance", 0.005)),
		onFlux(1, estimated("ambient and reflected light", 0.02)),
	}
}

// PowerMeter is a meter with a relative limit of error, a floor in watts that
// counts at low load, and a display step in watts, at a load in watts. The limits are
// rectangular.
func PowerMeter(class, floor, step, watts float64) []Factor {
	limit := func(name string, half float64) Factor {
		return Factor{Input: Input{Name: name, Distribution: Rectangular(0, half), Source: OwnEstimate}, Power: 1}
	}
	if !(watts > 0) {
		watts = math.NaN() // refused with the model, by the name of the input
	}
	return []Factor{
		limit("power meter class", class),
		limit("power meter at low load", floor/watts),
		limit("power meter display", step/2/watts),
	}
}

// PlugInMeter is a household meter: 2 %, 0.2 W, display in 0.1 W.
func PlugInMeter(watts float64) []Factor { return PowerMeter(0.02, 0.2, 0.1, watts) }

// PowerAnalyser is a bench instrument: 0.2 %, 0.01 W, display in 0.01 W.
func PowerAnalyser(watts float64) []Factor { return PowerMeter(0.002, 0.01, 0.01, watts) }
