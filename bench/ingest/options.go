package ingest

import (
	"fmt"

	"lampassay/light/spectrum"
)

// Options override what the reader would detect. The zero value detects
// everything.
type Options struct {
	Separator      rune                 // ',', ';', '\t', '|' or ' ' for any white space; 0 detects it
	Decimal        rune                 // '.' or ','; 0 detects it
	WavelengthUnit WavelengthUnit       // of the wavelength column
	Axis           PixelAxis            // of a file that counts pixels; nil refuses one
	Column         int                  // value column, counting the file's first column as 1; 0 chooses it
	Quantity       *spectrum.Quantity   // what the values are; nil takes the file's word
	Photon         bool                 // the values count photons (µmol), not energy
	Projection     *spectrum.Projection // how the samples are read; nil asks [spectrum.Guess]
	Path           string               // of the curve in a JSON document, such as data.spectrum; "" where there is one
	Sheet          string               // of a spreadsheet; "" where one has content
	Time           TimeFormat           // of a series
	Recipe         *Recipe              // says all of the above but Axis; nil detects it
	MaxBytes       int64                // what [Read] takes at most; 0 is [DefaultMaxBytes]
	MaxValues      int                  // what [ReadSeries] holds at most; 0 is [DefaultMaxValues]
}

// PixelAxis gives the wavelength in nm of a pixel, counted from 0, or an error
// where the detector has no such pixel: an instrument's calibration.
type PixelAxis func(pixel float64) (nm float64, err error)

// DefaultMaxBytes is the largest single-spectrum file that is read.
const DefaultMaxBytes = 512 << 20

func (o *Options) maxBytes() int64 {
	if o.MaxBytes > 0 {
		return o.MaxBytes
	}
	return DefaultMaxBytes
}

// WavelengthUnit is the unit of the wavelength column.
type WavelengthUnit uint8

// The units. A wavenumber axis is turned into wavelengths in air. Wavenumber
// leaves the values as they are, per nanometre or on no scale;
// WavenumberDensity takes them as per cm⁻¹ and makes them per nanometre.
const (
	AutoUnit WavelengthUnit = iota // nanometres, or a [*Problem] where they cannot be
	Nanometre
	Angstrom
	Micrometre
	Wavenumber        // cm⁻¹
	WavenumberDensity // cm⁻¹, and values per cm⁻¹

	pixelUnit // by the heading; nothing to ask for
)

var unitNames = [...]string{"auto", "nm", "angstrom", "micrometre", "wavenumber", "wavenumber-density"}

// String returns the unit's name as options spell it.
func (u WavelengthUnit) String() string {
	if int(u) < len(unitNames) {
		return unitNames[u]
	}
	return fmt.Sprintf("WavelengthUnit(%d)", uint8(u))
}

// ParseWavelengthUnit is the inverse of [WavelengthUnit.String].
func ParseWavelengthUnit(s string) (WavelengthUnit, error) {
	for u, name := range unitNames {
		if s == name {
			return WavelengthUnit(u), nil
		}
	}
	return 0, fmt.Errorf("ingest: unknown wavelength unit %q: use auto, nm, angstrom, micrometre, wavenumber or wavenumber-density", s)
}

// The names of the separators and decimal marks, in reports and options.
var (
	separatorNames = map[rune]string{'\t': "tab", ';': "semicolon", '|': "pipe", ',': "comma", ' ': "space"}
	decimalNames   = map[rune]string{'.': "point", ',': "comma"}
)

// ParseSeparator returns the rune for auto, comma, semicolon, tab, space or pipe.
func ParseSeparator(s string) (rune, error) {
	if r, ok := named(separatorNames, s); ok {
		return r, nil
	}
	return 0, fmt.Errorf("ingest: unknown separator %q: use auto, comma, semicolon, tab, space or pipe", s)
}

// ParseDecimal returns the rune for auto, point or comma.
func ParseDecimal(s string) (rune, error) {
	if r, ok := named(decimalNames, s); ok {
		return r, nil
	}
	return 0, fmt.Errorf("ingest: unknown decimal mark %q: use auto, point or comma", s)
}

func named(names map[rune]string, s string) (rune, bool) {
	if s == "auto" {
		return 0, true
	}
	for r, name := range names {
		if s == name {
			return r, true
		}
	}
	return 0, false
}

// ParseProjection returns nil for auto, else the projection.
func ParseProjection(s string) (*spectrum.Projection, error) {
	for _, p := range []spectrum.Projection{spectrum.Sampled, spectrum.Tabulated} {
		if s == p.String() {
			return &p, nil
		}
	}
	if s == "auto" {
		return nil, nil
	}
	return nil, fmt.Errorf("ingest: unknown projection %q: use auto, sampled or tabulated", s)
}
