package ingest

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"lampassay/light/spectrum"
)

// RecipeFormat and RecipeVersion head every recipe. A reader refuses a later
// version than its own.
const (
	RecipeFormat  = "lampassay recipe"
	RecipeVersion = 1
	maxRecipe     = 1 << 20
)

// Recipe is how files of one shape are read: what the reader detected in the
// first of them and what its user fixed. docs/format/recipe.md describes the
// file.
type Recipe struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	Name    string `json:"name"`
	Notes   string `json:"notes,omitempty"`
	Shape   Shape  `json:"shape"`
	Fixed   Fixed  `json:"fixed"`
}

// Shape is what files have to have in common to be read by one recipe.
type Shape struct {
	Format         string   `json:"format"`
	Separator      string   `json:"separator,omitempty"`
	Decimal        string   `json:"decimal,omitempty"`
	Columns        []string `json:"columns,omitempty"` // headings, where they are not the spectra's own
	Column         int      `json:"column,omitempty"`
	Path           string   `json:"path,omitempty"`
	Unit           string   `json:"unit,omitempty"`
	WavelengthUnit string   `json:"wavelength_unit,omitempty"`
	TimeFormat     string   `json:"time_format,omitempty"`
}

// Fixed is what a user decided, as options spell it; what is empty is left to
// the reader.
type Fixed struct {
	Separator      string `json:"separator,omitempty"`
	Decimal        string `json:"decimal,omitempty"`
	WavelengthUnit string `json:"wavelength_unit,omitempty"`
	Column         int    `json:"column,omitempty"`
	Sheet          string `json:"sheet,omitempty"`
	Path           string `json:"path,omitempty"`
	Time           string `json:"time,omitempty"`
	Quantity       string `json:"quantity,omitempty"`
	Photon         bool   `json:"photon,omitempty"`
	Projection     string `json:"projection,omitempty"`
}

// shapeOf takes from a report what files of a kind have in common.
func shapeOf(r *Report) Shape {
	s := Shape{
		Format: r.Format, Separator: r.Separator, Decimal: r.Decimal, Column: r.Column, Path: r.Path,
		Unit: r.Unit, WavelengthUnit: r.WavelengthUnit, TimeFormat: r.TimeFormat,
	}
	if r.Format != formatWide && r.Format != formatColumns {
		s.Columns = slices.Clone(r.Columns)
	}
	return s
}

// NewRecipe makes a recipe of a reading: its report and the options it was made
// with. The limits and the calibration among these are not part of it.
func NewRecipe(name string, r *Report, o *Options) *Recipe {
	f := Fixed{Separator: separatorNames[o.Separator], Decimal: decimalNames[o.Decimal], Column: o.Column, Sheet: o.Sheet, Path: o.Path, Photon: o.Photon}
	if o.WavelengthUnit != AutoUnit {
		f.WavelengthUnit = o.WavelengthUnit.String()
	}
	if o.Time != AutoTime {
		f.Time = o.Time.String()
	}
	if o.Quantity != nil {
		f.Quantity = o.Quantity.String()
	}
	if o.Projection != nil {
		f.Projection = o.Projection.String()
	}
	return &Recipe{Format: RecipeFormat, Version: RecipeVersion, Name: name, Shape: shapeOf(r), Fixed: f}
}

// Options returns what the user fixed as options.
func (r *Recipe) Options() (o Options, err error) {
	f := &r.Fixed
	auto := func(s string) string {
		if s == "" {
			return "auto"
		}
		return s
	}
	var errs [6]error
	o.Separator, errs[0] = ParseSeparator(auto(f.Separator))
	o.Decimal, errs[1] = ParseDecimal(auto(f.Decimal))
	o.WavelengthUnit, errs[2] = ParseWavelengthUnit(auto(f.WavelengthUnit))
	o.Time, errs[3] = ParseTimeFormat(auto(f.Time))
	o.Projection, errs[4] = ParseProjection(auto(f.Projection))
	if f.Quantity != "" {
		q, err := spectrum.ParseQuantity(f.Quantity)
		o.Quantity, errs[5] = &q, err
	}
	o.Column, o.Sheet, o.Path, o.Photon = f.Column, f.Sheet, f.Path, f.Photon
	for _, err := range errs {
		if err != nil {
			return Options{}, fmt.Errorf("ingest: the recipe %s: %w", Quote(r.Name), err)
		}
	}
	return o, nil
}

// Save writes the recipe.
func (r *Recipe) Save(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(r); err != nil {
		return fmt.Errorf("ingest: saving the recipe %s: %w", Quote(r.Name), err)
	}
	return nil
}

// LoadRecipe reads and checks a recipe. Unknown keys are refused: they are a
// slip of the pen or belong to a later version.
func LoadRecipe(rd io.Reader) (*Recipe, error) {
	raw, err := readAll(rd, maxRecipe)
	if errors.Is(err, errTooLong) {
		return nil, errors.New("ingest: this is no recipe: it is larger than 1 MB")
	} else if err != nil {
		return nil, fmt.Errorf("ingest: reading a recipe: %w", err)
	}
	var r Recipe
	if err := json.Unmarshal(raw, &struct {
		Format  *string `json:"format"`
		Version *int    `json:"version"`
	}{&r.Format, &r.Version}); err != nil {
		return nil, errors.New("ingest: this is no recipe: it is not JSON with a format and a version")
	}
	switch {
	case r.Format != RecipeFormat:
		return nil, fmt.Errorf("ingest: this is no recipe: its format is %s and should be %s", Quote(r.Format), Quote(RecipeFormat))
	case r.Version < 1 || r.Version > RecipeVersion:
		return nil, fmt.Errorf("ingest: the recipe is of version %d and this program reads up to %d", r.Version, RecipeVersion)
	}
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	if err := d.Decode(&r); err != nil {
		return nil, fmt.Errorf("ingest: the recipe cannot be read: %s", strings.TrimPrefix(err.Error(), "json: "))
	}
	if strings.TrimSpace(r.Name) == "" {
		return nil, errors.New("ingest: the recipe has no name")
	}
	if r.Shape.Format == "" {
		return nil, fmt.Errorf("ingest: the recipe %s does not say what files it is for", Quote(r.Name))
	}
	if _, err := r.Options(); err != nil {
		return nil, err
	}
	return &r, nil
}

// Read reads a file as [Read] does, by the recipe. o's limits and its
// calibration hold; everything else is the recipe's. A file of another shape is
// refused with a [*Problem] that says what differs.
func (r *Recipe) Read(name string, rd io.Reader, o Options) (*File, error) {
	raw, sum, err := ReadWhole(name, rd, o.maxBytes())
	if err != nil {
		return nil, err
	}
	var f *File
	err = r.apply(name, o, func(o *Options) (*Report, *Problem) {
		f = &File{Name: name, SHA256: sum}
		problem := f.read(raw, o)
		return &f.Report, problem
	})
	if err != nil {
		return nil, err
	}
	return f, nil
}

// ReadSeries is [Recipe.Read] for series.
func (r *Recipe) ReadSeries(name string, rd io.Reader, o Options) (*Series, error) {
	raw, sum, err := ReadWhole(name, rd, o.maxBytes())
	if err != nil {
		return nil, err
	}
	var s *Series
	err = r.apply(name, o, func(o *Options) (*Report, *Problem) {
		s = &Series{Name: name, SHA256: sum}
		problem := s.read(raw, o)
		return &s.Report, problem
	})
	if err != nil {
		return nil, err
	}
	return s, nil
}

// openWide is [OpenWide] by a recipe.
func (r *Recipe) openWide(name string, f io.ReaderAt, size int64, o Options) (*Wide, error) {
	switch r.Shape.Format {
	case formatWide:
	case formatColumns, formatRows, formatLong:
		return nil, &Problem{File: filepath.Base(name), Found: "a recipe for a series of spectra", Want: "read it as one", kind: ErrSeries}
	default:
		return nil, ErrSingle
	}
	o, err := o.plainOptions()
	if err != nil {
		return nil, err
	}
	w, err := OpenWide(name, f, size, o)
	if err != nil {
		return nil, err
	}
	if err := r.Check(name, &w.Report); err != nil {
		return nil, err
	}
	return w, nil
}

// Check returns a [*Problem] that says what differs where a reading of the file
// called name has another shape than the recipe's; nil where it has the same.
func (r *Recipe) Check(name string, report *Report) error {
	shape := shapeOf(report)
	differs := r.Shape.differs(&shape)
	if len(differs) == 0 {
		return nil
	}
	return &Problem{File: filepath.Base(name), Found: "another shape than the recipe " + Quote(r.Name) + " is for: " + strings.Join(differs, ", "),
		Want: "read the file without it, or make a recipe for it"}
}

// apply reads with all that the recipe knows. Where that fails, or gives another
// shape, a reading with only what the user fixed tells what the file is, or one
// with nothing fixed.
func (r *Recipe) apply(name string, o Options, read func(*Options) (*Report, *Problem)) error {
	fixed, err := r.Options()
	if err != nil {
		return err
	}
	fixed.Axis, fixed.MaxBytes, fixed.MaxValues = o.Axis, o.MaxBytes, o.MaxValues
	pinned := r.pin(fixed)
	report, problem := read(&pinned)
	if problem == nil {
		if err = r.Check(name, report); err == nil {
			return nil
		}
	}
	other, failed := read(&fixed)
	if other.Format == "" { // what the user fixed may be what does not fit
		other, failed = read(&Options{Axis: o.Axis, MaxBytes: o.MaxBytes, MaxValues: o.MaxValues})
	}
	if failed != nil { // the report stops where the reading did
		*other = Report{Format: other.Format, Separator: other.Separator, Decimal: other.Decimal, Columns: other.Columns,
			Column: r.Shape.Column, Path: r.Shape.Path, Unit: r.Shape.Unit, WavelengthUnit: r.Shape.WavelengthUnit, TimeFormat: r.Shape.TimeFormat}
	}
	if other.Format != "" {
		if differs := r.Check(name, other); differs != nil {
			return differs
		}
	}
	if problem != nil {
		problem.File = filepath.Base(name)
		return problem
	}
	return err
}

// pin adds to options what the recipe's shape knows. What it does not have is
// found by the reader.
func (r *Recipe) pin(o Options) Options {
	o.Separator, _ = named(separatorNames, r.Shape.Separator)
	o.Decimal, _ = named(decimalNames, r.Shape.Decimal)
	o.Column, o.Path = r.Shape.Column, r.Shape.Path
	return o
}

// plainOptions replaces a recipe in options by what it stands for.
func (o Options) plainOptions() (Options, error) {
	fixed, err := o.Recipe.Options()
	if err != nil {
		return o, err
	}
	fixed.Axis, fixed.MaxBytes, fixed.MaxValues = o.Axis, o.MaxBytes, o.MaxValues
	return o.Recipe.pin(fixed), nil
}

// differs lists how another shape differs from this one.
func (s *Shape) differs(other *Shape) []string {
	var out []string
	for _, c := range []struct{ what, want, got string }{
		{"it is", s.Format, other.Format},
		{"the separator is", s.Separator, other.Separator},
		{"the decimal mark is", s.Decimal, other.Decimal},
		{"the columns are", list(s.Columns), list(other.Columns)},
		{"the column of values is", number(s.Column), number(other.Column)},
		{"the curve is at", s.Path, other.Path},
		{"the unit is", s.Unit, other.Unit},
		{"the wavelengths are in", s.WavelengthUnit, other.WavelengthUnit},
		{"the times are", s.TimeFormat, other.TimeFormat},
	} {
		if c.want != c.got {
			out = append(out, fmt.Sprintf("%s %s and should be %s", c.what, orNone(c.got), orNone(c.want)))
		}
		if len(out) == 1 && s.Format != other.Format {
			break // everything else follows from it
		}
	}
	return out
}

func list(names []string) string { return strings.Join(names, " | ") }

func number(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}

// orNone quotes a property for a sentence.
func orNone(s string) string {
	if s == "" {
		return "not given"
	}
	return Quote(s)
}
