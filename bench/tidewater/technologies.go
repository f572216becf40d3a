package tidewater

import (
	"math"
	"slices"

	"lampassay/light/standards"
)

// Powers in one model are relative to each other. Wavelengths of phosphors and
// diodes are the usual ones of the trade; strengths are invented throughout.

// halogen is Planck's law at the filament's temperature, times an emissivity
// that falls mildly with wavelength as tungsten's does.
func halogen() model {
	const kelvin = 2865
	return model{func(nm float64) float64 {
		emissivity := 0.45 - 1.4e-4*(nm-550)
		return emissivity * standards.Planck(nm, kelvin) / standards.Planck(550, kelvin)
	}}
}

// highCRILED is a blue pump under three broad phosphors.
func highCRILED() model {
	return model{
		band(0.18, 448, 22), band(0.276, 497, 60), band(0.79, 552, 90), band(1.81, 640, 112),
	}
}

// redLineLED is a blue pump, a green phosphor, and manganese in a fluoride
// lattice, which emits its red in a few lines.
func redLineLED() model {
	m := model{band(0.18, 451, 20), band(1.0, 554, 98)}
	for _, line := range []struct{ nm, power float64 }{
		{608.8, .032}, {613.4, .118}, {621.8, .007}, {630.8, .285}, {634.7, .11}, {647.8, .054},
	} {
		m = append(m, gaussian(line.power, line.nm, 2.6))
	}
	return m
}

// phosphorLED is a blue pump and one yellow phosphor with cerium.
func phosphorLED() model {
	return model{band(0.60, 452, 21), band(0.74, 540, 95), band(0.72, 585, 115)}
}

// triphosphorTube is low-pressure mercury, a blue band of divalent europium, and
// the narrow groups of terbium and trivalent europium.
func triphosphorTube() model {
	m := model{band(0.60, 451, 52)}
	for _, g := range []struct{ power, nm, fwhm float64 }{
		// Terbium: four groups, the second the strongest.
		{.26, 487.5, 9}, {.05, 497, 9}, {.66, 542.0, 3.6}, {.38, 546.5, 5}, {.15, 584.5, 7}, {.05, 590.5, 5}, {.07, 621, 8},
		// Trivalent europium in yttria.
		{.05, 587.5, 3}, {.07, 593.0, 3.5}, {.06, 599.5, 3.5}, {.89, 611.4, 3.4}, {.08, 616, 5}, {.10, 630.5, 4}, {.04, 650.5, 5}, {.03, 662.5, 5}, {.05, 687.5, 5}, {.09, 708.5, 6},
	} {
		m = append(m, gaussian(g.power, g.nm, g.fwhm))
	}
	return slices.Concat(m, atom("Hg I", 0.15, map[float64]float64{
		365.016: .03, 404.657: .085, 407.784: .006, 435.834: .27, 491.607: .006, 546.075: .19, 576.961: .035, 579.067: .035,
	}))
}

// mercury is the high-pressure arc behind clear glass: pressure-broadened lines
// on a weak continuum.
func mercury() model {
	return slices.Concat(
		model{band(.6, 540, 420)},
		atom("Hg I", 0.6, map[float64]float64{
			365.016: .62, 365.484: .20, 366.328: .14, 390.637: .008, 404.657: .42, 407.784: .04, 433.922: .02, 434.750: .04,
			435.834: .74, 491.607: .018, 546.075: .98, 567.581: .006, 576.961: .44, 578.969: .10, 579.067: .44, 607.264: .006,
			623.436: .006, 671.634: .01, 690.746: .025, 708.190: .012,
		}))
}

// highPressureSodium is sodium vapour dense enough to hide its own D lines:
// broad wings either side, wider to the red, with a dark gap between where the
// cooler vapour at the wall absorbs.
func highPressureSodium() model {
	const d2, d1 = 588.995, 589.5924
	wings := func(nm float64) float64 {
		w := 5.6 // nm, towards the violet
		if nm > 589.3 {
			w = 14
		}
		z := (nm - 589.3) / w
		return .078 / math.Pow(1+z*z, 1.25)
	}
	depth := func(nm float64) float64 { // Lorentzian absorption, two to one
		a, b := (nm-d2)/.45, (nm-d1)/.45
		return 7 * (2/(1+a*a) + 1/(1+b*b)) / 3
	}
	m := model{
		func(nm float64) float64 { return wings(nm) * math.Exp(-depth(nm)) },
		band(.26, 620, 480), // recombination and molecular continuum, together
	}
	return slices.Concat(m,
		atom("Na I", 1.8, map[float64]float64{
			466.481: .008, 466.856: .015, 474.794: .003, 475.182: .005, 497.854: .045, 498.281: .085,
			514.884: .016, 515.340: .03, 568.263: .12, 568.821: .22, 615.423: .05, 616.075: .095,
		}),
		atom("Na I", 2.4, map[float64]float64{818.326: .24, 819.482: .42}),
		atom("Hg I", .5, map[float64]float64{404.657: .006, 435.834: .012, 546.075: .016, 576.961: .006, 579.067: .006}))
}

// lowPressureSodium is the D lines and little else: the pair in the infrared,
// the other sodium lines, and the neon and argon that start the lamp.
func lowPressureSodium() model {
	return slices.Concat(lowPressureSodiumVapour(),
		atom("Ne I", 0.15, map[float64]float64{
			585.249: .0012, 594.483: .0006, 607.434: .0008, 614.306: .0014, 633.443: .0012, 638.299: .0014, 640.225: .0022, 650.653: .0016, 659.895: .001, 667.828: .001, 692.947: .0012, 703.241: .002,
		}),
		atom("Ar I", 0.15, map[float64]float64{763.511: .0008, 811.531: .0012}))
}

func lowPressureSodiumVapour() model {
	return atom("Na I", 0.15, map[float64]float64{
		588.995: .565, 589.592: .325, 568.263: .0012, 568.821: .0022, 615.423: .001, 616.075: .002, 818.326: .033, 819.482: .058,
	})
}

// neonGlow is what the lamp starts on: neon, and the argon that is mixed into it
// to let it strike.
func neonGlow() model {
	return slices.Concat(
		atom("Ne I", 0.15, map[float64]float64{
			585.249: .5, 588.190: .15, 594.483: .3, 597.553: .1, 603.000: .12, 607.434: .3, 609.616: .4, 614.306: .6, 616.359: .25, 621.728: .2,
			626.650: .35, 630.479: .12, 633.443: .4, 638.299: .5, 640.225: 1, 650.653: .6, 653.288: .2, 659.895: .25, 667.828: .35,
			692.947: .3, 703.241: .6, 717.394: .12, 724.517: .25, 743.890: .15, 753.577: .1, 813.641: .1, 830.033: .2, 837.761: .6, 849.536: .4,
		}),
		atom("Ar I", 0.15, map[float64]float64{763.511: .2, 811.531: .25, 750.387: .12, 738.398: .08, 794.818: .08, 801.479: .1, 842.465: .12, 696.543: .08, 706.722: .08}))
}

// planckRatio is Planck's law at one wavelength over another, nm.
func planckRatio(nm, other, kelvin float64) float64 {
	return standards.Planck(nm, kelvin) / standards.Planck(other, kelvin)
}
