package calibration_test

import (
	"fmt"
	"math"

	"lampassay/light/calibration"
)

// A line 2 nm wide, picked at single points every 5 nm, can all but vanish or
// more than double.
func ExampleSamplingError() {
	least, greatest := calibration.SamplingError(2.0 / 5)
	fmt.Printf("%+.0f %% to %+.0f %%\n", 100*least, 100*greatest)
	// Output: -94 % to +135 %
}

// Light that pulses at 100 Hz, seen for 15 ms: a fifth of its depth is left to
// chance. For 20 ms nothing is.
func ExampleMainsResidue() {
	fmt.Printf("%.2f %.2f\n", calibration.MainsResidue(15, 50), calibration.MainsResidue(20, 50))
	// Output: 0.21 0.00
}

// A filament that looks like 2856 K is cooler than that.
func ExampleFilamentTemperature() {
	fmt.Printf("%.0f K\n", calibration.FilamentTemperature(2856))
	// Output: 2792 K
}

// Gates say what is wrong, how bad it is and what to do.
func ExampleInspect() {
	e := calibration.Evidence{FullScale: 4095, MainsHz: 50}
	frame := calibration.Frame{ExposureMs: 20}
	dark := calibration.Frame{ExposureMs: 20}
	for nm := 400.0; nm <= 700; nm += 2 {
		e.Axis = append(e.Axis, nm)
		frame.Counts = append(frame.Counts, math.Min(4095, 100+6000*math.Exp(-math.Pow((nm-550)/50, 2))))
		dark.Counts = append(dark.Counts, 100)
	}
	e.Frames, e.Dark = []calibration.Frame{frame}, &dark
	for _, f := range calibration.Inspect(&e) {
		fmt.Printf("%s, %v: %s\n", f.Gate, f.Severity, f.Text)
	}
	// Output:
	// saturation, refusal: 33 pixels (518 nm) are at full scale in 1 of 1 frames: what lay above is lost
}
