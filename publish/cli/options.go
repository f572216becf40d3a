package cli

import (
	"fmt"
	"math"
	"strconv"

	"github.com/spf13/pflag"

	"lampassay/bench/ingest"
	"lampassay/light/spectrum"
)

// optionalFloat is a number option that knows whether it was given.
type optionalFloat struct {
	v   float64
	set bool
}

func (o *optionalFloat) String() string {
	if !o.set {
		return ""
	}
	return strconv.FormatFloat(o.v, 'g', -1, 64)
}

func (o *optionalFloat) Set(s string) error {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return fmt.Errorf("%q is not a number", s)
	}
	o.v, o.set = v, true
	return nil
}

func (o *optionalFloat) Type() string { return "number" }

// readOptions override what the reader detects.
type readOptions struct {
	column     int
	separator  string
	decimal    string
	unit       string
	quantity   string
	photons    bool
	projection string
}

func (o *readOptions) register(f *pflag.FlagSet) {
	f.IntVar(&o.column, "column", 0, "take column `N` of the file, counting the wavelengths as 1")
	f.StringVar(&o.separator, "separator", "auto", "between columns: `auto|comma|semicolon|tab|space|pipe`")
	f.StringVar(&o.decimal, "decimal", "auto", "decimal mark: `auto|point|comma`")
	f.StringVar(&o.unit, "wavelength-unit", "auto", "of the first column: `auto|nm|angstrom|micrometre|wavenumber|wavenumber-density`")
	f.StringVar(&o.quantity, "spectrum", "", "what the values are: `relative|counts|flux|irradiance|radiance|intensity`, per nm")
	f.BoolVar(&o.photons, "photons", false, "the values count photons (µmol), not energy")
	f.StringVar(&o.projection, "projection", "auto", "read the samples as a curve or as a table: `auto|sampled|tabulated`")
}

// options turns what was given into the reader's options.
func (o *readOptions) options() (ingest.Options, error) {
	var r ingest.Options
	var err error
	if r.Separator, err = ingest.ParseSeparator(o.separator); err != nil {
		return r, badInput("--separator %q: it is auto, comma, semicolon, tab, space or pipe", o.separator)
	}
	if r.Decimal, err = ingest.ParseDecimal(o.decimal); err != nil {
		return r, badInput("--decimal %q: it is auto, point or comma", o.decimal)
	}
	if r.WavelengthUnit, err = ingest.ParseWavelengthUnit(o.unit); err != nil {
		return r, badInput("--wavelength-unit %q: it is auto, nm, angstrom, micrometre, wavenumber or wavenumber-density", o.unit)
	}
	if r.Projection, err = ingest.ParseProjection(o.projection); err != nil {
		return r, badInput("--projection %q: it is auto, sampled or tabulated", o.projection)
	}
	if o.quantity != "" {
		q, err := spectrum.ParseQuantity(o.quantity)
		if err != nil {
			return r, badInput("--spectrum %q: it is relative, counts, flux, irradiance, radiance or intensity", o.quantity)
		}
		r.Quantity = &q
	}
	if o.column != 0 && o.column < 2 {
		return r, badInput("--column %d: the wavelengths are column 1, so a spectrum is 2 or more", o.column)
	}
	r.Column, r.Photon = o.column, o.photons
	return r, nil
}

// positive is an option that has to be above zero where it is given.
type positive struct {
	name string
	optionalFloat
}

func allPositive(options []positive) error {
	for _, q := range options {
		if q.set && !(q.v > 0) {
			return badInput("--%s is %g: it must be above zero", q.name, q.v)
		}
	}
	return nil
}
