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

// Repeats are spectra of one lamp on one axis that were averaged: for each, by
// how much it departs from their mean, in the unit of the spectrum. They bring
// noise, what taking the lamp out and putting it back does, and everything else
// that was undone between them, as it goes together over the wavelengths.
type Repeats struct {
	Departures [][]float64
}

// FewestRepeats is how many spectra make repeats. With fewer a t distribution has
// no standard deviation (JCGM 101:2008 6.4.9.4).
const FewestRepeats = 4

// RepeatedSpectra returns the mean of repeated spectra and their departures from
// it. Where the scale of the spectra means nothing each is first brought to the
// mean's total.
func RepeatedSpectra(spectra [][]float64, scaled bool) (mean []float64, r Repeats, err error) {
	n := len(spectra)
	if n < FewestRepeats {
		return nil, r, fmt.Errorf("uncertainty: %d spectra are too few for their scatter to say anything: take %d or more", n, FewestRepeats)
	}
	mean = make([]float64, len(spectra[0]))
	var totals []float64
	all := 0.0
	for k, s := range spectra {
		if len(s) != len(mean) {
			return nil, r, fmt.Errorf("uncertainty: spectrum %d has %d samples and the first has %d", k+1, len(s), len(mean))
		}
		total := 0.0
		for _, v := range s {
			total += v
		}
		if !(total > 0) {
			return nil, r, fmt.Errorf("uncertainty: spectrum %d holds no light", k+1)
		}
		totals = append(totals, total)
		all += total / float64(n)
	}
	for k, s := range spectra {
		d := make([]float64, len(s))
		for i, v := range s {
			d[i] = v
			if !scaled {
				d[i] *= all / totals[k]
			}
			mean[i] += d[i] / float64(n)
		}
		r.Departures = append(r.Departures, d)
	}
	for _, d := range r.Departures {
		for i := range d {
			d[i] -= mean[i]
		}
	}
	return mean, r, nil
}

func (r *Repeats) check(samples int) error {
	if n := len(r.Departures); n != 0 && n < FewestRepeats {
		return fmt.Errorf("uncertainty: %d spectra are too few for their scatter to say anything: take %d or more", n, FewestRepeats)
	}
	for _, d := range r.Departures {
		if len(d) != samples {
			return fmt.Errorf("uncertainty: repeats of %d samples, but the spectrum has %d", len(d), samples)
		}
	}
	return nil
}

// draws is how many standard normal values a draw of the repeats takes: one for
// each spectrum, and as many as there are degrees of freedom for its scale.
func (r *Repeats) draws() int { return max(2*len(r.Departures)-1, 0) }

// add adds a draw of the error of the mean: Σ zₖ dₖ / √(n(n−1)) has the sample
// covariance of the mean, and √(ν/χ²) over it makes it Student's t with ν = n − 1
// at all wavelengths together.
func (r *Repeats) add(dst, z []float64, light float64) {
	n := len(r.Departures)
	chi := 0.0
	for _, v := range z[n : 2*n-1] {
		chi += v * v
	}
	scale := light / math.Sqrt(float64(n)*float64(n-1))
	if chi > 0 { // 0 at the estimates, where nothing is drawn
		scale *= math.Sqrt(float64(n-1) / chi)
	}
	for k, d := range r.Departures {
		e := scale * z[k]
		for i, v := range d {
			dst[i] += e * v
		}
	}
}
