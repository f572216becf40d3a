package calibration

import (
	"fmt"
	"math"
)

// Model is the law by which wavelength depends on pixel.
type Model string

const (
	// Polynomial is λ = c₀ + c₁x + c₂x² + …, order 1 to 4.
	Polynomial Model = "polynomial"
	// Grating is the grating equation for a flat detector,
	//
	//	λ = c₀ + (c₁ + c₂u)/√(1 + u²) , u = κx,
	//
	// which is d(sin α + sin β)/m with β = φ + arctan u written out: c₁ and c₂
	// are d/m times the sine and the cosine of the diffraction angle φ at the
	// middle of the detector and κ is half the detector's length over the focal
	// length. It has as many constants as a cubic and none to spend on a shape
	// that no instrument has.
	Grating Model = "grating"
)

// Dispersion gives the wavelength of every pixel. Inside, x = (p − m)/m runs
// from −1 to 1 over the detector, with m the middle pixel, which keeps the
// coefficients of one size.
type Dispersion struct {
	Model        Model     `json:"model"`
	Pixels       int       `json:"pixels"`
	Coefficients []float64 `json:"coefficients_nm"`
	Kappa        float64   `json:"kappa,omitempty"`
	// Shift is added to the pixel before all else: what a day's check found.
	Shift float64 `json:"shift_px,omitempty"`
}

// MostPixels is the largest detector that is believed, so that a slip in a file
// does not fill the memory.
const MostPixels = 1 << 16

// Check reports what is wrong with a dispersion that was read from somewhere:
// its form, or wavelengths that do not rise from pixel to pixel.
func (d *Dispersion) Check() error {
	switch {
	case d.Pixels < 8 || d.Pixels > MostPixels:
		return fmt.Errorf("calibration: a dispersion for %d pixels is none: at least 8 are needed, and no array has more than %d", d.Pixels, MostPixels)
	case d.Model == Polynomial && (len(d.Coefficients) < 2 || len(d.Coefficients) > 5):
		return fmt.Errorf("calibration: a polynomial dispersion has 2 to 5 coefficients, not %d", len(d.Coefficients))
	case d.Model == Grating && len(d.Coefficients) != 3:
		return fmt.Errorf("calibration: a grating dispersion has 3 coefficients, not %d", len(d.Coefficients))
	case d.Model != Polynomial && d.Model != Grating:
		return fmt.Errorf("calibration: unknown dispersion model %q: use polynomial or grating", d.Model)
	}
	before := math.Inf(-1)
	for p := range d.Pixels {
		l := d.At(float64(p))
		if !(l > before) || math.IsInf(l, 0) {
			return fmt.Errorf("calibration: the dispersion does not rise at pixel %d (%.2f nm after %.2f nm): is the sensor read backwards?", p, l, before)
		}
		before = l
	}
	if d.At(0) <= 0 {
		return fmt.Errorf("calibration: the dispersion starts at %.1f nm", d.At(0))
	}
	return nil
}

func (d *Dispersion) x(pixel float64) (x, middle float64) {
	middle = float64(d.Pixels-1) / 2
	return (pixel + d.Shift - middle) / middle, middle
}

// At returns the wavelength in nm at a place in pixels. It extrapolates; the
// range that lines vouch for is the calibration's to say.
func (d *Dispersion) At(pixel float64) float64 {
	x, _ := d.x(pixel)
	if d.Model == Grating {
		u := d.Kappa * x
		return d.Coefficients[0] + (d.Coefficients[1]+d.Coefficients[2]*u)/math.Sqrt(1+u*u)
	}
	return horner(d.Coefficients, x)
}

// Slope returns the dispersion dλ/dp in nm per pixel.
func (d *Dispersion) Slope(pixel float64) float64 {
	x, middle := d.x(pixel)
	if d.Model == Grating {
		u := d.Kappa * x
		return d.Kappa / middle * (d.Coefficients[2] - d.Coefficients[1]*u) / math.Pow(1+u*u, 1.5)
	}
	slope := 0.0
	for k := len(d.Coefficients) - 1; k > 0; k-- {
		slope = slope*x + float64(k)*d.Coefficients[k]
	}
	return slope / middle
}

// PixelAt returns the place of a wavelength in pixels; outside the detector it
// is extrapolated with the slope at the nearer end.
func (d *Dispersion) PixelAt(nm float64) float64 {
	lo, hi := 0.0, float64(d.Pixels-1)
	switch {
	case nm <= d.At(lo):
		return lo + (nm-d.At(lo))/d.Slope(lo)
	case nm >= d.At(hi):
		return hi + (nm-d.At(hi))/d.Slope(hi)
	}
	for range 60 {
		mid := lo + (hi-lo)/2
		if d.At(mid) < nm {
			lo = mid
		} else {
			hi = mid
		}
		if hi-lo < 1e-10 {
			break
		}
	}
	return lo + (hi-lo)/2
}

// Axis returns the wavelength of every pixel in nm.
func (d *Dispersion) Axis() []float64 {
	axis := make([]float64, d.Pixels)
	for p := range axis {
		axis[p] = d.At(float64(p))
	}
	return axis
}

// Shifted returns the same dispersion for a detector on which every line has
// moved up by so many pixels.
func (d Dispersion) Shifted(pixels float64) Dispersion {
	d.Shift -= pixels
	return d
}

// horner returns Σ c[k] x^k.
func horner(c []float64, x float64) float64 {
	y := 0.0
	for k := len(c) - 1; k >= 0; k-- {
		y = y*x + c[k]
	}
	return y
}
