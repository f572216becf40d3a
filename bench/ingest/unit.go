package ingest

import (
	"strings"

	"lampassay/light/spectrum"
)

// unit is a parsed unit of a value column. A value times 10^ten is in the SI
// unit of its quantity, or in µmol/s in place of W where it counts photons.
type unit struct {
	text     string // as the file has it
	quantity spectrum.Quantity
	ten      int
	photons  bool
	perNm    bool // the file says “per nanometre”, or per another wavelength unit
}

// Dimensions of a factor of a unit.
type dimension uint8

const (
	dimWatt dimension = iota
	dimMicromole
	dimSecond
	dimMetre
	dimSteradian
	dimNanometre
	dimensions
)

// factors are the units that spectral densities are made of, in powers of ten
// of W, µmol, s, m, sr and nm.
var factors = map[string]struct {
	dim dimension
	ten int
}{
	"W": {dimWatt, 0}, "mW": {dimWatt, -3}, "uW": {dimWatt, -6}, "nW": {dimWatt, -9}, "pW": {dimWatt, -12}, "kW": {dimWatt, 3},
	"watt": {dimWatt, 0}, "watts": {dimWatt, 0}, "Watt": {dimWatt, 0}, "Watts": {dimWatt, 0},
	"umol": {dimMicromole, 0}, "nmol": {dimMicromole, -3}, "mmol": {dimMicromole, 3}, "mol": {dimMicromole, 6},
	"s": {dimSecond, 0}, "sec": {dimSecond, 0},
	"m": {dimMetre, 0}, "cm": {dimMetre, -2}, "mm": {dimMetre, -3}, "sqm": {dimMetre, 0},
	"sr": {dimSteradian, 0},
	"nm": {dimNanometre, 0}, "um": {dimNanometre, 3}, "angstrom": {dimNanometre, -1},
}

var plainUnit = strings.NewReplacer(
	"µ", "u", "μ", "u", "²", "2", "¹", "1", "⁻", "-", "−", "-", "^", "", "·", " ", "⋅", " ", "*", " ", "×", " ",
	"Å", "angstrom", "Å", "angstrom", "{", "", "}", "", "(", " ", ")", " ", ".", " ", "sq m", "m2",
)

// Words for values without a radiometric scale, in lower case.
var scaleless = map[string]spectrum.Quantity{
	"counts": spectrum.Counts, "count": spectrum.Counts, "cts": spectrum.Counts, "adu": spectrum.Counts, "dn": spectrum.Counts,
	"a.u.": spectrum.Relative, "a.u": spectrum.Relative, "au": spectrum.Relative, "arb.": spectrum.Relative, "arb. u.": spectrum.Relative,
	"arb. units": spectrum.Relative, "arb.units": spectrum.Relative, "arb units": spectrum.Relative, "arbitrary units": spectrum.Relative,
	"rel": spectrum.Relative, "rel.": spectrum.Relative, "relative": spectrum.Relative, "rel. units": spectrum.Relative,
	"normalized": spectrum.Relative, "normalised": spectrum.Relative, "norm": spectrum.Relative, "norm.": spectrum.Relative,
	"%": spectrum.Relative,
}

// parseUnit reads the unit of a value column, such as mW/m²/nm, W m-2 nm-1,
// µW/(cm²·nm), µmol/s/nm, counts or a.u.; ok is false for anything else. A
// unit that lacks “per nanometre” is understood with perNm false.
func parseUnit(s string) (u unit, ok bool) {
	s = strings.TrimSpace(s)
	if len(s) > 64 {
		return unit{}, false
	}
	u.text = s
	if q, ok := scaleless[strings.ToLower(s)]; ok {
		u.quantity, u.perNm = q, true
		return u, true
	}
	var power [dimensions]int
	plain := plainUnit.Replace(s)
	below := false // after a slash everything stands in the denominator
	for plain != "" {
		switch c := plain[0]; {
		case c == '/':
			below, plain = true, plain[1:]
			continue
		case c == ' ' || c == '\t':
			plain = plain[1:]
			continue
		}
		n := strings.IndexAny(plain, " \t/-0123456789")
		if n < 0 {
			n = len(plain)
		}
		f, known := factors[plain[:n]]
		if !known {
			return unit{}, false
		}
		plain = plain[n:]
		exponent := 1
		switch {
		case len(plain) >= 2 && plain[0] == '-' && (plain[1] == '1' || plain[1] == '2'):
			exponent, plain = -int(plain[1]-'0'), plain[2:]
		case plain != "" && (plain[0] == '1' || plain[0] == '2'):
			exponent, plain = int(plain[0]-'0'), plain[1:]
		case plain != "" && strings.IndexByte(" \t/", plain[0]) < 0:
			return unit{}, false
		}
		if below && exponent > 0 {
			exponent = -exponent
		}
		power[f.dim] += exponent
		u.ten += exponent * f.ten
	}
	switch {
	case power[dimWatt] == 1 && power[dimMicromole] == 0 && power[dimSecond] == 0:
	case power[dimMicromole] == 1 && power[dimWatt] == 0 && power[dimSecond] == -1:
		u.photons = true
	default:
		return unit{}, false
	}
	switch [2]int{power[dimMetre], power[dimSteradian]} {
	case [2]int{0, 0}:
		u.quantity = spectrum.Flux
	case [2]int{-2, 0}:
		u.quantity = spectrum.Irradiance
	case [2]int{-2, -1}:
		u.quantity = spectrum.Radiance
	case [2]int{0, -1}:
		u.quantity = spectrum.Intensity
	default:
		return unit{}, false
	}
	u.perNm = power[dimNanometre] == -1
	return u, u.perNm || power[dimNanometre] == 0
}

// unitIn looks for a value unit inside a heading or a line: all of it, what
// stands in brackets, what follows a slash or the word “in”.
func unitIn(s string) (unit, bool) {
	for _, part := range parts(s) {
		if u, ok := parseUnit(part); ok {
			return u, true
		}
	}
	return unit{}, false
}

// wavelengthUnits are the spellings of units of the axis, in lower case.
var wavelengthUnits = map[string]WavelengthUnit{
	"nm": Nanometre, "nanometer": Nanometre, "nanometers": Nanometre, "nanometre": Nanometre, "nanometres": Nanometre,
	"å": Angstrom, "a": Angstrom, "angstrom": Angstrom, "angstroms": Angstrom, "ångström": Angstrom, "ångstrom": Angstrom,
	"µm": Micrometre, "μm": Micrometre, "um": Micrometre, "micron": Micrometre, "microns": Micrometre, "micrometer": Micrometre, "micrometre": Micrometre,
	"cm-1": Wavenumber, "cm^-1": Wavenumber, "cm⁻¹": Wavenumber, "1/cm": Wavenumber, "wavenumber": Wavenumber, "wavenumbers": Wavenumber,
}

// isPixel reports a heading that counts the detector's elements.
func isPixel(name string) bool {
	low := strings.ToLower(strings.Trim(strings.TrimSpace(name), "[]()"))
	for _, word := range []string{"pixel", "pixels", "pix", "px", "channel", "index", "pixel number", "pixel index", "pixel no.", "pixel #"} {
		if low == word {
			return true
		}
	}
	return false
}

// wavelengthUnitIn looks for the unit of the axis inside a heading.
func wavelengthUnitIn(s string) WavelengthUnit {
	for _, part := range parts(s) {
		if u, ok := wavelengthUnits[strings.ToLower(part)]; ok {
			return u
		}
	}
	return AutoUnit
}

// parts lists the pieces of a heading that can be a unit.
func parts(s string) []string {
	s = strings.TrimSpace(s)
	out := []string{s}
	for _, pair := range []string{"[]", "()", "{}"} {
		open, end := strings.IndexByte(s, pair[0]), strings.LastIndexByte(s, pair[1])
		if open >= 0 && end > open {
			out = append(out, strings.TrimSpace(s[open+1:end]))
		}
	}
	for _, before := range []string{" in ", ":", "=", "/", "_", " "} {
		if _, after, ok := strings.Cut(s, before); ok {
			after = strings.TrimSpace(after)
			out = append(out, after)
			if t, found := strings.CutPrefix(after, "("); found {
				out = append(out, strings.TrimSuffix(t, ")"))
			}
		}
	}
	return out
}

// isWavelength reports a heading that names the axis.
func isWavelength(name string) bool {
	low := strings.ToLower(strings.TrimSpace(name))
	for _, word := range []string{"wavelength", "wellenlänge", "longueur d'onde", "lambda", "λ"} {
		if strings.HasPrefix(low, word) {
			return true
		}
	}
	_, ok := wavelengthUnits[low]
	return ok && low != "a" || low == "wl"
}
