package tidewater

import (
	"fmt"

	"lampassay/light/spectrum"
)

// About says what the lamps are, for whoever finds the files.
const About = `The lamps of the Tidewater Model Railway Club

The club, its lamps and every figure here are invented. The spectra are
computed from a model of each technology, seen through a modelled instrument;
atomic lines are at their published wavelengths, everything else is chosen to
be plausible. No maker's lamp was measured, and nothing here says anything about
one. Flux and power are what the club would have read; the declared values are
what the box would have said.

Each file is written as another instrument would write it: separators, decimal
marks, encodings, order and units differ on purpose.
`

// Lamp is one of the club's lamps, with what was read of it and what its box
// says.
type Lamp struct {
	Slug       string // for file names and addresses
	Name       string
	Place      string // layout room, workshop or yard
	Technology string
	Note       string // where it hangs and what it is for

	FluxLm      float64 // luminous flux as read, lm
	PowerMainsW float64 // active power at the mains, W
	PowerLampW  float64 // at the lamp's terminals, W; 0 where there is no gear between
	Declared    Declared

	FileName   string
	Instrument Instrument

	model model
	shape shape
	seed  uint64
}

// Declared is what a box says; 0 where it says nothing.
type Declared struct {
	FluxLm, PowerW float64
	CCT            float64 // K
	Ra             float64
}

// String returns the declared values as a box would print them.
func (d Declared) String() string {
	s := ""
	for _, v := range []struct {
		value  float64
		format string
	}{{d.FluxLm, "%g lm"}, {d.PowerW, "%g W"}, {d.CCT, "%g K"}, {d.Ra, "Ra %g"}} {
		if v.value == 0 {
			continue
		}
		if s != "" {
			s += ", "
		}
		s += fmt.Sprintf(v.format, v.value)
	}
	return s
}

// Lamps returns the club's lamps, place by place. The slice is the caller's.
func Lamps() []Lamp {
	return []Lamp{
		{
			Slug: "halogen", Name: "Station spotlight", Place: "layout room", Technology: "tungsten halogen",
			Note:   "Mains-voltage halogen over the terminus, kept because everyone knows what things look like under it.",
			FluxLm: 1164, PowerMainsW: 70.6,
			Declared: Declared{FluxLm: 1180, PowerW: 70, CCT: 2900, Ra: 100},
			FileName: "halogen.csv",
			Instrument: Instrument{
				FromNm: 350.21, ToNm: 1020, PitchNm: 0.46, Sag: 0.14, BandwidthNm: 1.6,
				Quantity: spectrum.Irradiance, DistanceM: 1.5, Noise: 2e-4,
			},
			model: halogen(), shape: commaMetadata, seed: 1,
		},
		{
			Slug: "high-cri-led", Name: "Harbour panel", Place: "layout room", Technology: "LED, several phosphors",
			Note:   "Warm panel over the harbour scene, bought for painting backdrops by.",
			FluxLm: 652, PowerMainsW: 8.1,
			Declared: Declared{FluxLm: 650, PowerW: 8, CCT: 3000, Ra: 97},
			FileName: "high-cri-led.txt",
			Instrument: Instrument{
				FromNm: 380, ToNm: 780, PitchNm: 1, BandwidthNm: 4,
				Quantity: spectrum.Flux, Noise: 1e-4,
			},
			model: highCRILED(), shape: spacesUnitsRow, seed: 2,
		},
		{
			Slug: "red-line-led", Name: "Goods shed bulb", Place: "layout room", Technology: "LED, narrow red phosphor",
			Note:   "Filament-style bulb in the goods shed; its red comes in lines.",
			FluxLm: 824, PowerMainsW: 7.4,
			Declared: Declared{FluxLm: 806, PowerW: 7.5, CCT: 3000, Ra: 90},
			FileName: "red-line-led.dat",
			Instrument: Instrument{
				FromNm: 200.4, ToNm: 1100, PitchNm: 0.48, Sag: 0.09, BandwidthNm: 1.3,
				Quantity: spectrum.Irradiance, DistanceM: 0.8, Noise: 1e-4,
			},
			model: redLineLED(), shape: latinExponents, seed: 3,
		},
		{
			Slug: "triphosphor-tube", Name: "Bench tube", Place: "workshop", Technology: "fluorescent, three phosphors",
			Note:   "Tube of 1.2 m over the workbench, on its original wire-wound ballast.",
			FluxLm: 3230, PowerMainsW: 45.2, PowerLampW: 35.6,
			Declared: Declared{FluxLm: 3350, PowerW: 36, CCT: 4000, Ra: 80},
			FileName: "triphosphor-tube.csv",
			Instrument: Instrument{
				FromNm: 380, ToNm: 780, PitchNm: 0.5, BandwidthNm: 1.2, Noise: 1e-4,
			},
			model: triphosphorTube(), shape: semicolonComma, seed: 4,
		},
		{
			Slug: "phosphor-led", Name: "Lathe bulb", Place: "workshop", Technology: "LED, one phosphor",
			Note:   "Cold white bulb in the lamp of the lathe. The box promises more than it gives.",
			FluxLm: 712, PowerMainsW: 9.3,
			Declared: Declared{FluxLm: 806, PowerW: 9, CCT: 6500, Ra: 80},
			FileName: "phosphor-led.asc",
			Instrument: Instrument{
				FromNm: 380, ToNm: 780, PitchNm: 0.8, BandwidthNm: 2.4, Noise: 1e-4,
			},
			model: phosphorLED(), shape: spacesDescending, seed: 5,
		},
		{
			Slug: "mercury", Name: "Coal stage lantern", Place: "yard", Technology: "high-pressure mercury, clear",
			Note:   "Clear lamp in the oldest lantern of the yard.",
			FluxLm: 5640, PowerMainsW: 137.5, PowerLampW: 124.1,
			Declared: Declared{FluxLm: 5700, PowerW: 125, CCT: 6000},
			FileName: "mercury.txt",
			Instrument: Instrument{
				FromNm: 339.91, ToNm: 850, PitchNm: 0.38, Sag: 0.08, BandwidthNm: 1.5, Noise: 5e-5,
			},
			model: mercury(), shape: tabComma, seed: 6,
		},
		{
			Slug: "high-pressure-sodium", Name: "Turntable lantern", Place: "yard", Technology: "high-pressure sodium",
			Note:   "On the mast by the turntable.",
			FluxLm: 5880, PowerMainsW: 82.4, PowerLampW: 69.3,
			Declared: Declared{FluxLm: 6000, PowerW: 70, CCT: 2000, Ra: 25},
			FileName: "high-pressure-sodium.txt",
			Instrument: Instrument{
				FromNm: 349.7, ToNm: 1000, PitchNm: 0.63, Sag: 0.11, BandwidthNm: 1.5, Noise: 1e-4,
			},
			model: highPressureSodium(), shape: utf16Tabs, seed: 7,
		},
		{
			Slug: "low-pressure-sodium", Name: "Level crossing lamp", Place: "yard", Technology: "low-pressure sodium",
			Note:   "The last of its kind in the yard: all but one colour, and more light to the watt than the lantern beside it.",
			FluxLm: 4480, PowerMainsW: 46.3, PowerLampW: 36.1,
			Declared: Declared{FluxLm: 4550, PowerW: 35, CCT: 1800},
			FileName: "low-pressure-sodium.spdx",
			Instrument: Instrument{
				FromNm: 380, ToNm: 850, PitchNm: 0.3, BandwidthNm: 0.9, Noise: 2e-5,
			},
			model: lowPressureSodium(), shape: tm27, seed: 8,
		},
	}
}
