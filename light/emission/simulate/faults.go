package simulate

import (
	"math"
	"math/rand/v2"
	"slices"
)

// Faults are what an instrument does to a spectrum beside spreading it and adding
// noise. The zero value has none.
type Faults struct {
	Photons     bool    // counts photons, and passes them off as energy
	Wings       float64 // share of a line in exponential wings, two bandwidths long
	SecondOrder float64 // share of the light of half the wavelength
	Tilt        float64 // of the response: its natural logarithm grows by this in 200 nm
	Ripple      float64 // of the response, an amplitude
	Period      float64 // of the ripple, nm
	Stray       float64 // a level everywhere, as a share of the largest sample
}

// DrawFaults draws faults, each of which is there one time in three, as large as
// they come in small array spectrometers (judgement).
func DrawFaults(rng *rand.Rand) (f Faults) {
	there := func(from, to float64) float64 {
		v := from + (to-from)*rng.Float64()
		if rng.IntN(3) > 0 {
			return 0
		}
		return v
	}
	f.Photons = rng.IntN(3) == 0
	f.Wings = there(0.02, 0.15)
	f.SecondOrder = there(0.003, 0.02)
	f.Tilt = there(-0.25, 0.25)
	f.Ripple = there(0.003, 0.02)
	f.Period = 4 + 36*rng.Float64()
	f.Stray = there(0.001, 0.01)
	return f
}

// spoil does to the samples y at the wavelengths x what the faults do.
func (f *Faults) spoil(x, y []float64, bandwidth float64) {
	if f.Photons {
		for i, nm := range x {
			y[i] *= nm / 550
		}
	}
	if f.Wings > 0 {
		smear(x, y, f.Wings, 2*bandwidth)
	}
	if f.SecondOrder > 0 {
		first := slices.Clone(y)
		for i, nm := range x {
			if j, _ := slices.BinarySearch(x, nm/2); j > 0 {
				part := (nm/2 - x[j-1]) / (x[j] - x[j-1])
				y[i] += f.SecondOrder * (first[j-1]*(1-part) + first[j]*part)
			}
		}
	}
	for i, nm := range x {
		y[i] *= math.Exp(f.Tilt * (nm - 550) / 200)
		if f.Ripple > 0 {
			y[i] *= 1 + f.Ripple*math.Sin(2*math.Pi*nm/f.Period)
		}
	}
	level := f.Stray * slices.Max(y)
	for i := range y {
		y[i] += level
	}
}

// smear moves a share of every sample into exponential wings around it; the
// samples are evenly spaced. A first-order filter run both ways is such a wing.
func smear(x, y []float64, share, reach float64) {
	keep := math.Exp(-(x[1] - x[0]) / reach)
	there, back := 0.0, 0.0
	wings := make([]float64, len(y))
	for i, v := range y {
		there = keep*there + v
		wings[i] += there
	}
	for i := len(y) - 1; i >= 0; i-- {
		wings[i] += back
		back = keep * (back + y[i])
	}
	norm := (1 - keep) / (1 + keep)
	for i := range y {
		y[i] = (1-share)*y[i] + share*norm*wings[i]
	}
}
