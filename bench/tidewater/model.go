package tidewater

import (
	"fmt"
	"math"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// A model is what a lamp emits, part by part, in an arbitrary unit of power per
// nanometre.
type model []part

// part is power per nanometre at a wavelength in nm.
type part func(nm float64) float64

func (m model) at(nm float64) (s float64) {
	for _, p := range m {
		s += p(nm)
	}
	return s
}

// gaussian is a line of a given power, at a centre and with a full width at half
// maximum in nm.
func gaussian(power, centre, fwhm float64) part {
	height := power / fwhm * 2 * math.Sqrt(math.Ln2/math.Pi)
	return func(nm float64) float64 {
		z := (nm - centre) / fwhm
		if z*z > 13 { // below 2e-16 of the height
			return 0
		}
		return height * math.Exp(-4*math.Ln2*z*z)
	}
}

// band is a broad emission of about a given power, Gaussian in photon energy as
// phosphors' and diodes' are: peak and full width in nm.
func band(power, peak, fwhm float64) part {
	height := power / fwhm * 2 * math.Sqrt(math.Ln2/math.Pi)
	return func(nm float64) float64 {
		z := (peak/nm - 1) * peak / fwhm
		return height * math.Exp(-4*math.Ln2*z*z)
	}
}

// atom adds the lines of an element near the given wavelengths, each with its
// power: where they are comes from the table of lines. A wavelength with no
// line within 0.05 nm is a mistake in this package.
func atom(element string, fwhm float64, powers map[float64]float64) model {
	var m model
	found := 0
	for _, l := range standards.Lines() { // in their order, not the map's
		for nm, power := range powers {
			if l.Spectrum == element && math.Abs(l.Nm-nm) < 0.05 {
				m = append(m, gaussian(power, l.Nm, fwhm))
				found++
			}
		}
	}
	if found != len(powers) {
		panic(fmt.Sprintf("tidewater: %d of %d lines of %s found", found, len(powers), element))
	}
	return m
}

// The fine grid of a model, nm: narrow enough for its narrowest line (0.15 nm)
// and wider than any instrument's range by more than its bandpass.
const (
	fineFrom = 185.0
	fineTo   = 1115.0
	fineStep = 0.05
)

// fine is a model on the fine grid, scaled so that its luminous flux is a lamp's.
func fine(l Lamp) []float64 {
	values := make([]float64, int(math.Round((fineTo-fineFrom)/fineStep))+1)
	v := standards.V()
	lumens := 0.0
	for i := range values {
		nm := fineNm(i)
		values[i] = l.model.at(nm)
		lumens += 683.002 * values[i] * v.At(nm) * fineStep
	}
	for i := range values {
		values[i] *= l.FluxLm / lumens
	}
	return values
}

func fineNm(i int) float64 { return fineFrom + float64(i)*fineStep }

// Truth returns the model of a lamp without instrument or noise: its spectral
// flux in W/nm at 0.05 nm, over the range of the lamp's file.
func Truth(l Lamp) *spectrum.Spectrum {
	axis := l.Instrument.axis()
	from, to := axis[0], axis[len(axis)-1]
	var x, y []float64
	for i, v := range fine(l) {
		if nm := fineNm(i); nm >= from && nm <= to {
			x, y = append(x, nm), append(y, v)
		}
	}
	s, err := spectrum.New(spectrum.Flux, x, y)
	if err != nil {
		panic(err) // the model is finite and the grid increases
	}
	return s
}
