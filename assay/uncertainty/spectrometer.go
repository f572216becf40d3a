package uncertainty

import (
	"fmt"
	"math"
	"slices"

	"lampassay/light/standards"
)

// Spectrometer is what is known of the instrument behind a spectrum. What is
// left at its zero value takes no part.
type Spectrometer struct {
	Name   string
	Source string // where these figures come from
	// Sources says so for single inputs, by name.
	Sources map[string]string

	Offset  Distribution // of every wavelength, nm
	Stretch Distribution // nm at 100 nm from 550 nm, where there is none
	// Bandwidth is the full width at half maximum of a line, nm. Figures stay
	// those of the spectrum as seen at the mean width.
	Bandwidth Distribution
	Noise     Noise
	// Response is the relative error of the response curve.
	Response Response
	// Reference is the colour temperature in K of the lamp that the response was
	// taken from: an error tilts the spectrum as Planck's formula says.
	Reference Distribution
	// Stray is a level under all of the spectrum as a share of its mean, and
	// Dark as a share of its largest sample: what is left of either after
	// correction.
	Stray, Dark Distribution
	// Scale is the relative error of the absolute scale, where the spectrum has
	// one.
	Scale Distribution

	// What only a calibrated instrument knows.

	// Axis is how a fitted wavelength axis may err; Offset and Stretch come on top.
	Axis AxisErrors
	// Curves are errors of one origin each that touch every sample.
	Curves []Curve
	// Repeats are what repeated spectra say, in place of Noise.
	Repeats Repeats
}

// Curve is an error with one cause and a known shape: a draw x of its
// distribution adds x times Values to the spectrum, one value a sample and in its
// unit. An error of a reference lamp's temperature, which tilts all of a spectrum,
// is such a one.
type Curve struct {
	Input
	Values []float64
}

// without takes out what a stated figure replaces as a whole.
func (s *Spectrometer) without(name string) {
	switch name {
	case PixelNoise:
		s.Noise, s.Repeats = Noise{}, Repeats{}
	case WavelengthOffset:
		s.Axis = AxisErrors{}
	case ReferenceLamp:
		s.Curves = slices.DeleteFunc(slices.Clone(s.Curves), func(c Curve) bool { return c.Name == name })
	}
}

// reshape gives a curve a stated distribution in place of its own, and reports
// whether there is one.
func (s *Spectrometer) reshape(name string, d Distribution, source string) bool {
	i := slices.IndexFunc(s.Curves, func(c Curve) bool { return c.Name == name })
	if i < 0 {
		return false
	}
	s.Curves = slices.Clone(s.Curves)
	s.Curves[i].Distribution, s.Curves[i].Source = d, source
	return true
}

// Seen puts the bandwidth that the lines of the spectrum itself show, in nm, in
// place of the class's: as sure as that, relative to its value.
func (s *Spectrometer) Seen(bandwidth float64) {
	if s.Bandwidth.centre > 0 && bandwidth > 0 {
		s.Bandwidth = s.Bandwidth.scaled(bandwidth / s.Bandwidth.centre)
	}
}

// Noise is the standard deviation of a sample, independent from sample to
// sample, as a share of the largest sample: Floor where there is no light and
// Peak at the largest sample, the square growing straight between them as that
// of photon noise does. Samples, where set, holds one standard deviation for
// each sample in the unit of the spectrum on top of that.
type Noise struct {
	Floor, Peak float64
	Samples     []float64
}

// deviations returns the standard deviation of every sample.
func (n *Noise) deviations(values []float64) ([]float64, error) {
	for _, share := range [...]float64{n.Floor, n.Peak} {
		if !(share >= 0) || math.IsInf(share, 0) {
			return nil, fmt.Errorf("uncertainty: noise cannot be %g of the largest sample", share)
		}
	}
	if n.Samples != nil && len(n.Samples) != len(values) {
		return nil, fmt.Errorf("uncertainty: noise is given for %d samples, but the spectrum has %d", len(n.Samples), len(values))
	}
	for i, u := range n.Samples {
		if !(u >= 0) || math.IsInf(u, 0) {
			return nil, fmt.Errorf("uncertainty: noise: sample %d cannot have the uncertainty %g", i+1, u)
		}
	}
	if n.Floor == 0 && n.Peak == 0 {
		return n.Samples, nil
	}
	largest := 0.0
	for _, v := range values {
		largest = max(largest, v)
	}
	floor, slope := n.Floor*n.Floor, n.Peak*n.Peak-n.Floor*n.Floor
	u := make([]float64, len(values))
	for i, v := range values {
		if largest > 0 {
			u[i] = largest * math.Sqrt(max(floor+slope*max(v, 0)/largest, 0))
		}
		if n.Samples != nil {
			u[i] = math.Hypot(u[i], n.Samples[i])
		}
	}
	return u, nil
}

// Response is the relative standard uncertainty of a response curve at some
// wavelengths, straight between them. Errors at two wavelengths a distance d
// apart have the correlation exp(−d/Correlation): neighbours err together, the
// ends of the spectrum hardly.
type Response struct {
	Nm, U       []float64
	Correlation float64 // nm
}

func (r *Response) check() error {
	if len(r.Nm) != len(r.U) {
		return fmt.Errorf("uncertainty: response: %d wavelengths but %d uncertainties", len(r.Nm), len(r.U))
	}
	for k, u := range r.U {
		switch {
		case !(u >= 0) || math.IsInf(u, 0):
			return fmt.Errorf("uncertainty: response: the uncertainty at %g nm cannot be %g", r.Nm[k], u)
		case !(r.Nm[k] > 0) || math.IsInf(r.Nm[k], 0) || k > 0 && r.Nm[k] <= r.Nm[k-1]:
			return fmt.Errorf("uncertainty: response: the wavelengths do not increase at %g nm", r.Nm[k])
		}
	}
	if len(r.Nm) > 0 && !(r.Correlation > 0) {
		return fmt.Errorf("uncertainty: response: a correlation length is positive, not %g nm", r.Correlation)
	}
	return nil
}

// knots are the wavelengths between which the factor on the spectrum is
// straight. Beyond the outer ones it stays as it is there.
type knots struct {
	nm       []float64
	u        []float64 // relative standard uncertainty of the response
	memory   []float64 // correlation with the knot before
	fresh    []float64 // √(1 − memory²)
	segment  []int32   // of each sample, the knot below
	fraction []float64 // of each sample, how far it is to the next
}

// newKnots lays out the knots for an axis.
func newKnots(r *Response, axis []float64) *knots {
	k := &knots{nm: r.Nm, u: r.U}
	if len(k.nm) < 2 { // without a response of its own: enough for Planck's tilt
		level := 0.0
		if len(r.U) == 1 {
			level = r.U[0]
		}
		k.nm, k.u = nil, nil
		for nm := 200.0; nm <= 1400; nm += 25 {
			k.nm, k.u = append(k.nm, nm), append(k.u, level)
		}
	}
	k.memory, k.fresh = make([]float64, len(k.nm)), make([]float64, len(k.nm))
	k.fresh[0] = 1
	for i := 1; i < len(k.nm); i++ {
		k.memory[i] = math.Exp((k.nm[i-1] - k.nm[i]) / max(r.Correlation, math.SmallestNonzeroFloat64))
		k.fresh[i] = math.Sqrt(1 - k.memory[i]*k.memory[i])
	}
	k.segment, k.fraction = make([]int32, len(axis)), make([]float64, len(axis))
	at := 0
	for i, l := range axis {
		for at+2 < len(k.nm) && k.nm[at+1] <= l {
			at++
		}
		k.segment[i] = int32(at)
		k.fraction[i] = min(max((l-k.nm[at])/(k.nm[at+1]-k.nm[at]), 0), 1)
	}
	return k
}

// factors fills dst with the factor of the response at every knot: z are
// independent standard normal values, or none.
func (k *knots) factors(dst, z []float64) {
	for i := range dst {
		dst[i] = 1
	}
	e := 0.0
	for i, v := range z {
		e = k.memory[i]*e + k.fresh[i]*v // a first-order chain has exponential correlation
		dst[i] += k.u[i] * e
	}
}

// tilt multiplies dst by the ratio of a blackbody at kelvin to one at assumed,
// 1 at 560 nm.
func (k *knots) tilt(dst []float64, kelvin, assumed float64) {
	if kelvin == assumed {
		return
	}
	for i, nm := range k.nm {
		dst[i] *= standards.Planck(nm, kelvin) / standards.Planck(nm, assumed) *
			standards.Planck(560, assumed) / standards.Planck(560, kelvin)
	}
}
