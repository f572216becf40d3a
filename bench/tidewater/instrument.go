package tidewater

import (
	"math"
	"math/rand/v2"

	"lampassay/light/spectrum"
)

// Instrument is what a lamp was looked at with.
type Instrument struct {
	FromNm, ToNm float64 // first and about the last wavelength
	PitchNm      float64 // distance of the first two samples
	Sag          float64 // the part of it that the pitch has lost at the last sample; 0 for an even axis
	BandwidthNm  float64 // full width at half maximum of the bandpass, at least twice the pitch
	Quantity     spectrum.Quantity
	DistanceM    float64 // for irradiance: from lamp to head, m
	Noise        float64 // standard deviation of the dark, as a part of the highest sample
}

// axis returns the instrument's wavelengths, rounded to what it writes. A diode
// array behind a grating has a pitch that shrinks towards the red.
func (in Instrument) axis() []float64 {
	var x []float64
	for nm, i := in.FromNm, 0; nm <= in.ToNm+1e-9; i++ {
		x = append(x, math.Round(nm*100)/100)
		if in.Sag == 0 {
			nm = in.FromNm + float64(i+1)*in.PitchNm
			continue
		}
		nm += in.PitchNm * (1 - in.Sag*(nm-in.FromNm)/(in.ToNm-in.FromNm))
	}
	return x
}

// read returns the samples of a lamp: the model seen through the bandpass, in
// the unit of the instrument's quantity (W/nm; W/(m²·nm) for a source that
// radiates alike in all directions; a highest sample of 1 for a relative one),
// with noise of the dark and of the light.
func (l Lamp) read() (axis, values []float64) {
	in := l.Instrument
	axis = in.axis()
	values = make([]float64, len(axis))
	model := fine(l)
	peak := 0.0
	for i, nm := range axis {
		values[i] = seen(model, nm, in.BandwidthNm)
		peak = max(peak, values[i])
	}
	scale := 1.0
	switch in.Quantity {
	case spectrum.Irradiance:
		scale = 1 / (4 * math.Pi * in.DistanceM * in.DistanceM)
	case spectrum.Relative:
		scale = 1 / peak
	}
	noise := rand.New(rand.NewPCG(l.seed, 0))
	for i, v := range values {
		dark := in.Noise * peak * noise.NormFloat64()
		light := 4 * in.Noise * math.Sqrt(max(v, 0)*peak) * noise.NormFloat64()
		values[i] = scale * (v + dark + light)
	}
	return axis, values
}

// seen is the model at a wavelength through a Gaussian bandpass: a weighted mean,
// so that no energy is gained or lost.
func seen(model []float64, nm, fwhm float64) float64 {
	reach := 2.5 * fwhm // 3e-8 of the height
	from := int(math.Ceil((nm - reach - fineFrom) / fineStep))
	to := int(math.Floor((nm + reach - fineFrom) / fineStep))
	sum, weights := 0.0, 0.0
	for i := max(from, 0); i <= min(to, len(model)-1); i++ {
		z := (fineNm(i) - nm) / fwhm
		w := math.Exp(-4 * math.Ln2 * z * z)
		sum += w * model[i]
		weights += w
	}
	return sum / weights
}
