package spectrum

import (
	"fmt"
	"math"
)

// Quantity says what the ordinate of a spectrum is.
type Quantity uint8

// The quantities a spectrum can carry. Relative and Counts have no scale:
// nothing absolute follows from them.
const (
	Relative   Quantity = iota // proportional to power per nanometre, scale unknown
	Counts                     // raw instrument counts, response not removed
	Flux                       // spectral radiant flux, W/nm
	Irradiance                 // spectral irradiance, W/(m²·nm)
	Radiance                   // spectral radiance, W/(m²·sr·nm)
	Intensity                  // spectral radiant intensity, W/(sr·nm)
)

var quantityNames = [...]struct{ name, unit string }{
	Relative:   {"relative", "1"},
	Counts:     {"counts", "1"},
	Flux:       {"flux", "W/nm"},
	Irradiance: {"irradiance", "W/(m²·nm)"},
	Radiance:   {"radiance", "W/(m²·sr·nm)"},
	Intensity:  {"intensity", "W/(sr·nm)"},
}

// String returns the quantity's name as files and options spell it.
func (q Quantity) String() string {
	if int(q) < len(quantityNames) {
		return quantityNames[q].name
	}
	return fmt.Sprintf("Quantity(%d)", uint8(q))
}

// Unit returns the unit of the ordinate; "1" where it has no scale.
func (q Quantity) Unit() string {
	if int(q) < len(quantityNames) {
		return quantityNames[q].unit
	}
	return ""
}

// Absolute reports whether the ordinate has a radiometric scale.
func (q Quantity) Absolute() bool { return q >= Flux && q <= Intensity }

// ParseQuantity is the inverse of [Quantity.String].
func ParseQuantity(s string) (Quantity, error) {
	for q, n := range quantityNames {
		if s == n.name {
			return Quantity(q), nil
		}
	}
	return 0, fmt.Errorf("spectrum: unknown quantity %q: use relative, counts, flux, irradiance, radiance or intensity", s)
}

// Spectrum is a spectral curve: values at strictly increasing wavelengths, a
// straight line between them, and nothing known outside. It does not change
// once made.
type Spectrum struct {
	axis   []float64
	values []float64
	q      Quantity
}

// SampleError tells which sample of a curve is at fault.
type SampleError struct {
	Index      int     // zero-based
	Wavelength float64 // nm, as given
	Problem    string
}

func (e *SampleError) Error() string {
	return fmt.Sprintf("spectrum: sample %d at %g nm: %s", e.Index+1, e.Wavelength, e.Problem)
}

// New makes a spectrum from wavelengths in nanometres (at least two, finite,
// positive, strictly increasing) and as many finite values. It keeps copies.
// Negative values are data. The error is a [*SampleError] where one sample is
// at fault.
func New(q Quantity, wavelengths, values []float64) (*Spectrum, error) {
	if len(wavelengths) != len(values) {
		return nil, fmt.Errorf("spectrum: %d wavelengths but %d values", len(wavelengths), len(values))
	}
	if err := CheckAxis(wavelengths); err != nil {
		return nil, err
	}
	for i, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, &SampleError{i, wavelengths[i], "the value is not a finite number"}
		}
	}
	return &Spectrum{
		axis:   append([]float64(nil), wavelengths...),
		values: append([]float64(nil), values...),
		q:      q,
	}, nil
}

// CheckAxis reports whether wavelengths can carry a spectrum: at least two,
// finite, positive, strictly increasing.
func CheckAxis(wavelengths []float64) error {
	if len(wavelengths) < 2 {
		return fmt.Errorf("spectrum: %d samples: a curve needs at least two", len(wavelengths))
	}
	for i, l := range wavelengths {
		switch {
		case math.IsNaN(l) || math.IsInf(l, 0) || l <= 0:
			return &SampleError{i, l, "the wavelength is not a positive number"}
		case i > 0 && l <= wavelengths[i-1]:
			return &SampleError{i, l, "the wavelength does not increase"}
		}
	}
	return nil
}

// Len returns the number of samples.
func (s *Spectrum) Len() int { return len(s.axis) }

// Axis returns the wavelengths in nm. The slice is the spectrum's own and must
// not be changed.
func (s *Spectrum) Axis() []float64 { return s.axis }

// Values returns the ordinates in [Quantity.Unit]. The slice is the spectrum's
// own and must not be changed.
func (s *Spectrum) Values() []float64 { return s.values }

// Quantity returns what the ordinate is.
func (s *Spectrum) Quantity() Quantity { return s.q }

// Range returns the first and the last wavelength in nm: what is covered.
func (s *Spectrum) Range() (from, to float64) { return s.axis[0], s.axis[len(s.axis)-1] }

// Scale returns the spectrum with every value multiplied by k and read as q:
// the only way a relative curve becomes an absolute one.
func (s *Spectrum) Scale(k float64, q Quantity) (*Spectrum, error) {
	v := make([]float64, len(s.values))
	for i := range v {
		v[i] = k * s.values[i]
	}
	return New(q, s.axis, v)
}

// Project returns the spectrum's projection onto the grid. For many spectra on
// one axis make one [Projector] instead.
func (s *Spectrum) Project(kind Projection) (*Projected, error) {
	pr, err := NewProjector(s.axis, kind)
	if err != nil {
		return nil, err
	}
	p := new(Projected)
	pr.Project(p, s.values)
	p.Quantity = s.q
	return p, nil
}

// Molar photon energy times wavelength, N_A·h·c, in J·nm/mol (exact SI
// constants of 2019; the refractive index of air, 1.00028, is neglected as in
// CIE and ISO 80000-7 practice).
const photonMoleJouleNm = 6.02214076e23 * 6.62607015e-34 * 299792458 * 1e9

// MicromolPerJoule returns the photons in one joule of light of the given
// wavelength in nm, in µmol: E = hc/λ per photon.
func MicromolPerJoule(lambda float64) float64 { return lambda / photonMoleJouleNm * 1e6 }

// EnergyFromPhotons turns ordinates in µmol/s per nanometre (and per m², per
// sr, as the quantity has it) into watts, in place, by E = hc/λ. A relative
// photon curve keeps its arbitrary scale but takes the shape of an energy
// curve.
func EnergyFromPhotons(wavelengths, values []float64) {
	for i := range values {
		values[i] /= MicromolPerJoule(wavelengths[i])
	}
}
