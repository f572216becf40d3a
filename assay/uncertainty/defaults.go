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

// estimated makes a factor from a relative standard uncertainty.
func estimated(name string, u float64) Factor { return factor(name, Normal(0, u), OwnEstimate) }

// limited makes a factor from a relative limit of error.
func limited(name string, half float64) Factor {
	return factor(name, Rectangular(0, half), OwnEstimate)
}

// factor makes a factor of an input in the catalogue from its relative error.
func factor(name string, d Distribution, source string) Factor {
	m, err := meaningOf(name)
	if err != nil {
		panic(err) // a name that is not a constant of this package
	}
	return Factor{
		Input: Input{Name: name, Distribution: d, Source: source},
		Light: m.light, Flux: m.flux, Power: m.power, Lamp: m.lamp,
	}
}

// SetUp is what acts on the lamp itself by any route: the supply within voltage
// (a relative standard uncertainty), the air within kelvin of what is stated,
// what was left of the run-up, and taking the lamp out and putting it back.
func SetUp(lamp Lamp, voltage, kelvin float64) []Factor {
	h := habits[lamp]
	supply, air := estimated(SupplyVoltage, voltage), estimated(AirTemperature, h.lightByAir*kelvin)
	supply.Light, supply.Power, supply.Lamp, supply.Heat = h.lightByVoltage, h.powerByVoltage, h.powerByVoltage, h.heatByVoltage
	air.Light = 1
	return []Factor{supply, air, limited(Stabilisation, 0.005), estimated(Refit, 0.005)}
}

// LuxOverAngles is a light meter at a distance over angles and planes: meter
// scale, mismatch for the lamp, distance (within a centimetre in two metres),
// cosine and alignment, ambient light and gaps between the angles.
func LuxOverAngles(lamp Lamp) []Factor {
	return []Factor{
		estimated(LightMeterScale, 0.025),
		estimated(SpectralMismatch, habits[lamp].mismatch),
		estimated(Distance, 0.005),
		estimated(Cosine, 0.01),
		estimated(Ambient, 0.01),
		estimated(Angles, 0.02),
	}
}

// Sphere is substitution in a sphere or a white box that its owner built, with
// a reference lamp of a relative standard uncertainty: about 0.015 with a
// certificate, 0.06 with the label of its box.
func Sphere(lamp Lamp, reference float64) []Factor {
	return []Factor{
		estimated(ReferenceFlux, reference),
		estimated(SpectralMismatch, habits[lamp].mismatch),
		estimated(SelfAbsorption, 0.015),
		estimated(Uniformity, 0.02),
	}
}

// OneDirection is a single reading of illuminance and an assumed beam, which is
// most of the uncertainty.
func OneDirection(lamp Lamp) []Factor {
	return []Factor{
		estimated(AssumedBeam, 0.15),
		estimated(LightMeterScale, 0.025),
		estimated(SpectralMismatch, habits[lamp].mismatch),
		estimated(Distance, 0.005),
		estimated(Ambient, 0.02),
	}
}

// PowerMeter is a meter with a relative limit of error, a floor in watts that
// counts at low load, and a display step in watts, at a load in watts. The limits are
// rectangular.
func PowerMeter(class, floor, step, watts float64) []Factor {
	if !(watts > 0) {
		watts = math.NaN() // refused with the model, by the name of the input
	}
	return []Factor{
		limited(PowerMeterClass, class),
		limited(PowerMeterLowLoad, floor/watts),
		limited(PowerMeterDisplay, step/2/watts),
	}
}

// PlugInMeter is a household meter: 2 %, 0.2 W, display in 0.1 W.
func PlugInMeter(watts float64) []Factor { return PowerMeter(0.02, 0.2, 0.1, watts) }

// PowerAnalyser is a bench instrument: 0.2 %, 0.01 W, display in 0.01 W.
func PowerAnalyser(watts float64) []Factor { return PowerMeter(0.002, 0.01, 0.01, watts) }
