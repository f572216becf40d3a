package uncertainty

import (
	"fmt"
	"math"
)

// FromRepeats is the distribution of a mean of independent readings, by a type
// A evaluation: Student's t about the mean with scale s/√n and n − 1 degrees of
// freedom (JCGM 100:2008 4.2, JCGM 101:2008 6.4.9). Of lamps, readings repeat
// only what was undone between them: without taking the lamp out and putting it
// back they tell of the electronics alone.
func FromRepeats(readings []float64) (Distribution, error) {
	n := float64(len(readings))
	if n < 2 {
		return Distribution{}, fmt.Errorf("uncertainty: %d readings: a spread needs at least two", len(readings))
	}
	mean, squares := 0.0, 0.0
	for _, v := range readings {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Distribution{}, fmt.Errorf("uncertainty: a reading is not a finite number")
		}
		mean += v / n
	}
	for _, v := range readings {
		squares += (v - mean) * (v - mean)
	}
	return StudentT(mean, math.Sqrt(squares/(n*(n-1))), n-1), nil
}

// RelativeFromRepeats splits repeated readings of a positive quantity into
// their mean and the distribution of its relative error about zero, as a
// [Factor] takes it.
func RelativeFromRepeats(readings []float64) (mean float64, d Distribution, err error) {
	d, err = FromRepeats(readings)
	if err != nil {
		return 0, Distribution{}, err
	}
	mean = d.Mean()
	if !(mean > 0) {
		return 0, Distribution{}, fmt.Errorf("uncertainty: readings with the mean %g have no relative spread", mean)
	}
	return mean, StudentT(0, d.width/mean, d.extra), nil
}
