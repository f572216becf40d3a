package cli

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

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

func (o *optionalFloat) Set(s string) (err error) {
	o.v, err = parseNumber(s)
	o.set = err == nil
	return err
}

func (o *optionalFloat) Type() string { return "number" }

// parseNumber reads a number, which has an end.
func parseNumber(s string) (float64, error) {
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is not a number", s)
	}
	return v, nil
}

// numberList is an option of numbers with commas between; what is given again is
// added.
type numberList []float64

func (l *numberList) String() string {
	texts := make([]string, len(*l))
	for i, v := range *l {
		texts[i] = strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strings.Join(texts, ",")
}

func (l *numberList) Set(s string) error {
	for part := range strings.SplitSeq(s, ",") {
		v, err := parseNumber(part)
		if err != nil {
			return err
		}
		*l = append(*l, v)
	}
	return nil
}

func (l *numberList) Type() string { return "numbers" }

// readOptions override what the reader detects.
type readOptions struct {
	column     int
	separator  string
	decimal    string
	unit       string
	quantity   string
	photons    bool
	projection string
	worksheet  string
	path       string
	times      string
	recipe     string
	saveRecipe string
}

// register offers them, with --save-recipe for the commands that keep one.
func (o *readOptions) register(f *pflag.FlagSet) {
	o.registerReading(f)
	f.StringVar(&o.saveRecipe, "save-recipe", "", "keep how the file was read as a recipe `FILE`, .json")
}

// registerReading offers them to commands that only read.
func (o *readOptions) registerReading(f *pflag.FlagSet) {
	f.IntVar(&o.column, "column", 0, "take column `N` of the file, counting the wavelengths as 1")
	f.StringVar(&o.separator, "separator", "auto", "between columns: `auto|comma|semicolon|tab|space|pipe`")
	f.StringVar(&o.decimal, "decimal", "auto", "decimal mark: `auto|point|comma`")
	f.StringVar(&o.unit, "wavelength-unit", "auto", "of the first column: `auto|nm|angstrom|micrometre|wavenumber|wavenumber-density`")
	f.StringVar(&o.quantity, "spectrum", "", "what the values are: `relative|counts|flux|irradiance|radiance|intensity`, per nm")
	f.BoolVar(&o.photons, "photons", false, "the values count photons (µmol), not energy")
	f.StringVar(&o.projection, "projection", "auto", "read the samples as a curve or as a table: `auto|sampled|tabulated`")
	f.StringVar(&o.worksheet, "worksheet", "", "take this sheet of a spreadsheet, by its `name`")
	f.StringVar(&o.path, "path", "", "where the curve is in a JSON document, like `data.spectrum`")
	f.StringVar(&o.times, "times", "auto", "how a series writes its times: `auto|elapsed|clock|iso8601|serial|epoch|epoch-ms`")
	f.StringVar(&o.recipe, "recipe", "", "read the file as this recipe `FILE` says, and refuse one of another shape")
}

// options turns what was given into the reader's options.
func (o *readOptions) options() (ingest.Options, error) {
	var r ingest.Options
	var err error
	if o.saveRecipe != "" && !strings.EqualFold(filepath.Ext(o.saveRecipe), ".json") {
		return r, badInput("--save-recipe %s: its name has to end in .json", o.saveRecipe)
	}
	if o.recipe != "" {
		return o.byRecipe()
	}
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
	if r.Time, err = ingest.ParseTimeFormat(o.times); err != nil {
		return r, badInput("--times %q: it is auto, elapsed, clock, iso8601, serial, epoch or epoch-ms", o.times)
	}
	r.Column, r.Photon, r.Sheet, r.Path = o.column, o.photons, o.worksheet, o.path
	return r, nil
}

// byRecipe loads a recipe, which has to be the only word on how to read.
func (o *readOptions) byRecipe() (r ingest.Options, err error) {
	alone := readOptions{separator: "auto", decimal: "auto", unit: "auto", projection: "auto", times: "auto", recipe: o.recipe, saveRecipe: o.saveRecipe}
	if *o != alone {
		return r, badInput("--recipe says how the file is read: leave the other reading options out, or make a new recipe with --save-recipe")
	}
	f, err := os.Open(o.recipe)
	if err != nil {
		return r, err
	}
	defer f.Close()
	if r.Recipe, err = ingest.LoadRecipe(f); err != nil {
		return r, badInput("%s: %s", filepath.Base(o.recipe), strings.TrimPrefix(err.Error(), "ingest: "))
	}
	return r, nil
}

// keep saves how a file was read as a recipe, where that was asked for; of what was
// not read as one file of spectra the report is nil.
func (o *readOptions) keep(s streams, report *ingest.Report, read *ingest.Options) error {
	if o.saveRecipe == "" {
		return nil
	}
	if report == nil {
		return badInput("--save-recipe needs a file of spectra: a table of readings, a notebook or an archive has no recipe")
	}
	recipe := read.Recipe
	if recipe == nil {
		name := strings.TrimSuffix(filepath.Base(o.saveRecipe), filepath.Ext(o.saveRecipe))
		recipe = ingest.NewRecipe(name, report, read)
	}
	if err := createFile(o.saveRecipe, recipe.Save); err != nil {
		return err
	}
	_, err := fmt.Fprintf(s.err, "lampassay: wrote %s\n", o.saveRecipe)
	return err
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
