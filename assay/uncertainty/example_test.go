package uncertainty_test

import (
	"context"
	"fmt"
	"math"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/light/spectrum"
)

// An invented lamp on a bench with a compact spectrometer, a light meter on an
// arm and a household power meter.
func ExampleSitting_Assess() {
	var nm, values []float64
	for l := 360.0; l <= 830; l += 0.5 {
		blue, phosphor := (l-452)/20, (l-585)/130
		nm = append(nm, l)
		values = append(values, 0.7*math.Exp(-2.77*blue*blue)+math.Exp(-2.77*phosphor*phosphor))
	}
	sp, err := spectrum.New(spectrum.Relative, nm, values)
	if err != nil {
		fmt.Println(err)
		return
	}
	sitting := uncertainty.Sitting{
		Spectrum:     sp,
		Given:        assay.Given{Flux: assay.Measured(806), Power: assay.Measured(8.5)},
		Spectrometer: uncertainty.CompactArray(),
		Factors: append(append(uncertainty.SetUp(uncertainty.White, 0.01, 2),
			uncertainty.LuxOverAngles(uncertainty.White)...), uncertainty.PlugInMeter(8.5)...),
	}
	report, err := sitting.Assess(context.Background(), uncertainty.Options{Seed: 1, Draws: 2000})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, id := range []quantity.ID{quantity.LuminousEfficacy, quantity.CCT, quantity.Ra} {
		f := report.Figure(id)
		first := f.Law.Budget[0]
		fmt.Printf("%s: %.0f, u = %.2g; improve the %s first (%.0f %%)\n", quantity.Get(id).Key, f.Value(),
			f.StdDev, report.Inputs[first.Input].Name, 100*first.Share)
	}
	// Output:
	// luminous_efficacy: 95, u = 4.9; improve the spectral mismatch first (35 %)
	// cct: 3491, u = 38; improve the response curve first (52 %)
	// ra: 73, u = 0.37; improve the response curve first (87 %)
}
