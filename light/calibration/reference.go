package calibration

import (
	"fmt"
	"math"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Reference is a lamp of known relative spectrum.
type Reference struct {
	Name         string
	FromNm, ToNm float64
	value        func(nm float64) float64
	// tilt is the relative change of the spectrum, normalised at tiltPivot, for
	// one standard uncertainty of the lamp's temperature; nil where there is
	// none.
	tilt func(nm float64) float64
	// u is the relative standard uncertainty beside that.
	u func(nm float64) float64
}

// tiltPivot is the wavelength, nm, at which spectra are compared in shape.
const tiltPivot = 560.0

// At returns the reference's relative spectral power at a wavelength in nm; ok
// is false outside its range.
func (r *Reference) At(nm float64) (value float64, ok bool) {
	if nm < r.FromNm || nm > r.ToNm {
		return 0, false
	}
	return r.value(nm), true
}

// Tilt returns by how much, relative to the value at 560 nm, the reference would
// differ at a wavelength were its temperature one standard uncertainty higher.
// The same temperature holds at every wavelength: these errors go together.
func (r *Reference) Tilt(nm float64) float64 {
	if r.tilt == nil {
		return 0
	}
	return r.tilt(nm)
}

// PlanckReference takes an incandescent lamp for a blackbody at its correlated
// colour temperature, with the standard uncertainty of that, both K. Beside
// [TungstenReference] at 2856 K it has 2.6 % more at 400 nm, 1 % more at 460 nm
// and less than that beyond.
func PlanckReference(cct, u float64) (Reference, error) {
	if err := checkTemperature(cct, u); err != nil {
		return Reference{}, err
	}
	ratio := func(nm, t float64) float64 { return standards.Planck(nm, t) / standards.Planck(tiltPivot, t) }
	return Reference{
		Name: fmt.Sprintf("blackbody at %.0f K", cct), FromNm: 300, ToNm: 1400,
		value: func(nm float64) float64 { return ratio(nm, cct) },
		tilt:  func(nm float64) float64 { return ratio(nm, cct+u)/ratio(nm, cct) - 1 },
	}, nil
}

// TungstenReference is a tungsten filament whose light has the given correlated
// colour temperature, with its standard uncertainty, both K: Planck's law at the
// filament's own temperature times the emissivity of tungsten ([Emissivity]),
// within 350–800 nm.
func TungstenReference(cct, u float64) (Reference, error) {
	if err := checkTemperature(cct, u); err != nil {
		return Reference{}, err
	}
	filament := FilamentTemperature(cct)
	hotter := FilamentTemperature(cct + u)
	glow := func(nm, t float64) float64 { return standards.Planck(nm, t) * Emissivity(nm, t) }
	ratio := func(nm, t float64) float64 { return glow(nm, t) / glow(tiltPivot, t) }
	return Reference{
		Name: fmt.Sprintf("tungsten filament of CCT %.0f K, emissivity after Larrabee (1959)", cct), FromNm: 350, ToNm: 800,
		value: func(nm float64) float64 { return ratio(nm, filament) },
		tilt:  func(nm float64) float64 { return ratio(nm, hotter)/ratio(nm, filament) - 1 },
	}, nil
}

func checkTemperature(cct, u float64) error {
	if !(cct >= 1800 && cct <= 3600) {
		return fmt.Errorf("calibration: %g K is no colour temperature of a filament lamp: 1800 K to 3600 K are", cct)
	}
	if !(u >= 0 && u < 500) {
		return fmt.Errorf("calibration: an uncertainty of %g K is not usable: state 0 K to 500 K", u)
	}
	return nil
}

// CertificateReference is a lamp with a spectral certificate: its values, and
// the relative standard uncertainty of all of them.
func CertificateReference(name string, s *spectrum.Spectrum, u float64) (Reference, error) {
	axis, values := s.Axis(), s.Values()
	for i, v := range values {
		if v <= 0 {
			return Reference{}, fmt.Errorf("calibration: the certificate %s is %g at %g nm: nothing can be calibrated against no light", name, v, axis[i])
		}
	}
	from, to := s.Range()
	return Reference{
		Name: name, FromNm: from, ToNm: to,
		value: func(nm float64) float64 { return logLinear(axis, values, nm) },
		u:     func(float64) float64 { return u },
	}, nil
}

// logLinear interpolates positive values straight in the logarithm, which
// follows a filament's spectrum between the points of a certificate.
func logLinear(axis, values []float64, nm float64) float64 {
	i := 1
	for i+1 < len(axis) && axis[i] < nm {
		i++
	}
	f := (nm - axis[i-1]) / (axis[i] - axis[i-1])
	return math.Exp(math.Log(values[i-1])*(1-f) + math.Log(values[i])*f)
}

// Emissivity returns the spectral emissivity of clean tungsten at a wavelength
// in nm and a true temperature in K: the formulas of R. D. Larrabee, J. Opt. Soc.
// Am. 49 (1959) 619, for 350–800 nm and 1600–2400 K. A hotter filament is given
// the emissivity at 2400 K: continued, the formulas would grow steeper, which the
// values of de Vos, Physica 20 (1954) 690, do not up to 2800 K (compared from
// memory). Only the shape matters for a response.
func Emissivity(nm, kelvin float64) float64 {
	l, t := nm/1000, min(kelvin, 2400)
	switch {
	case nm < 450:
		return 0.6075 - 0.3*l - 0.3265e-4*t + 0.59e-4*l*t
	case nm < 680:
		return 0.4655 + 0.01558*l + 0.2675e-4*t - 0.7305e-4*l*t
	default:
		return 0.6552 - 0.2633*l - 0.7333e-4*t + 0.7417e-4*l*t
	}
}

// FilamentTemperature returns the true temperature in K of a tungsten filament
// whose light has the given correlated colour temperature, K. The emissivity
// falls towards the red, so the filament is cooler than it looks.
func FilamentTemperature(cct float64) float64 {
	lo, hi := cct-200, cct
	for range 40 {
		mid := (lo + hi) / 2
		if tungstenCCT(mid) < cct {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// tungstenCCT returns the CCT of a filament's light. Outside 350–800 nm, where
// the colour-matching functions hold less than 1e-4 of their area, the
// emissivity formulas are continued.
func tungstenCCT(kelvin float64) float64 {
	o := standards.CIE1931()
	var sum colorimetry.XYZ // relative, at 1 nm
	for nm := 360.0; nm <= 830; nm++ {
		s := standards.Planck(nm, kelvin) * Emissivity(nm, kelvin)
		sum.X += s * o.X.At(nm)
		sum.Y += s * o.Y.At(nm)
		sum.Z += s * o.Z.At(nm)
	}
	cct, _, _ := colorimetry.CCT(sum.UV())
	return cct
}
