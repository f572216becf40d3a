package claims

import (
	"embed"
	"fmt"
	"io"
	"io/fs"
	"math"
	"strings"
	"sync"
	"time"

	"lampassay/assay/jsonfile"
)

// Side says on which side of the declared value a measured one may not stray.
type Side string

// The sides.
const (
	NotLess Side = "not less" // flux, efficacy, indices
	NotMore Side = "not more" // power, flicker
	Both    Side = "both"     // colour temperature, beam angle
)

// Table is the tolerances of one rule.
type Table struct {
	Format string `json:"format"` // [TableFormat]
	Key    string `json:"key"`    // short name, for options
	Title  string `json:"title"`
	Source string `json:"source"` // publication and clause
	// From and Until bound the dates on which the rule holds, as 2021-09-01; an
	// empty Until is open.
	From  string `json:"from"`
	Until string `json:"until,omitempty"`
	// Units is how many lamps the rule takes the mean of, 0 where it does not say.
	Units int    `json:"units"`
	Note  string `json:"note,omitempty"`
	Rows  []Row  `json:"rows"`
}

// Row is the tolerance of one parameter.
type Row struct {
	Parameter string `json:"parameter"`
	Unit      string `json:"unit"`
	Side      Side   `json:"side"`
	Bands     []Band `json:"bands"`
	Clause    string `json:"clause,omitempty"` // the parameter as the rule names it
	Units     int    `json:"units,omitempty"`  // where the row has its own
}

// Band is the tolerance for declared values up to and including To, which is
// absent in the last. One of Absolute, in the row's unit, and Relative, a
// fraction of the declared value, is given.
type Band struct {
	To       *float64 `json:"to,omitempty"`
	Absolute float64  `json:"absolute,omitempty"`
	Relative float64  `json:"relative,omitempty"`
}

// TableFormat is the format that ReadTable takes.
const TableFormat = "lampassay tolerances 1"

// ReadTable reads a table of tolerances and checks it: every parameter known,
// every unit the parameter's, a source given.
func ReadTable(r io.Reader) (*Table, error) {
	t := new(Table)
	if err := jsonfile.Read(r, t); err != nil {
		return nil, fmt.Errorf("claims: not a table of tolerances: %w", err)
	}
	if t.Format != TableFormat {
		return nil, fmt.Errorf("claims: tolerances: the format is %q, and this program reads %q", t.Format, TableFormat)
	}
	return t, t.check()
}

func (t *Table) check() error {
	fault := func(format string, args ...any) error {
		return fmt.Errorf("claims: tolerances %q: %s", t.Key, fmt.Sprintf(format, args...))
	}
	if strings.TrimSpace(t.Source) == "" {
		return fault("no source is named: a tolerance without a source is refused")
	}
	if t.Key == "" || t.Title == "" || len(t.Rows) == 0 {
		return fault("key, title and rows are needed")
	}
	if t.Units < 0 {
		return fault("a mean of %d units", t.Units)
	}
	for _, date := range []string{t.From, t.Until} {
		if _, err := time.Parse(time.DateOnly, date); err != nil && (date != "" || t.From == "") {
			return fault("%q is not a date such as 2021-09-01", date)
		}
	}
	seen := map[string]bool{}
	for _, r := range t.Rows {
		p, err := Find(r.Parameter)
		if err != nil {
			return fault("there is no quantity %q", r.Parameter)
		}
		if seen[r.Parameter] {
			return fault("%s stands twice", r.Parameter)
		}
		seen[r.Parameter] = true
		if r.Unit != p.Unit {
			return fault("%s is in %s, not in %q", r.Parameter, orOne(p.Unit), r.Unit)
		}
		if r.Side != NotLess && r.Side != NotMore && r.Side != Both {
			return fault("%s: side %q is not one of \"not less\", \"not more\" and \"both\"", r.Parameter, r.Side)
		}
		if what := r.bandProblem(); what != "" {
			return fault("%s: %s", r.Parameter, what)
		}
	}
	return nil
}

func orOne(unit string) string {
	if unit == "" {
		return "a pure number"
	}
	return unit
}

func (r *Row) bandProblem() string {
	last := math.Inf(-1)
	for i, b := range r.Bands {
		switch {
		case !(b.Absolute >= 0 && b.Relative >= 0 && (b.Absolute > 0) != (b.Relative > 0)):
			return "a band has either an absolute or a relative tolerance, above zero"
		case b.Relative >= 1:
			return fmt.Sprintf("a relative tolerance is a fraction below 1, not %g", b.Relative)
		case (b.To == nil) != (i == len(r.Bands)-1):
			return "every band but the last says up to where it reaches"
		case b.To != nil && !(*b.To > last):
			return "the bands are not in rising order"
		}
		if b.To != nil {
			last = *b.To
		}
	}
	if len(r.Bands) == 0 {
		return "no tolerance is given"
	}
	return ""
}

// Row returns the tolerance of a parameter, nil where the rule has none.
func (t *Table) Row(parameter string) *Row {
	for i := range t.Rows {
		if t.Rows[i].Parameter == parameter {
			return &t.Rows[i]
		}
	}
	return nil
}

// HoldsOn reports whether the rule holds on a date.
func (t *Table) HoldsOn(date time.Time) bool {
	day := date.Format(time.DateOnly)
	return day >= t.From && (t.Until == "" || day <= t.Until)
}

// band returns the band of a declared value.
func (r *Row) band(declared float64) Band {
	for _, b := range r.Bands {
		if b.To == nil || declared <= *b.To {
			return b
		}
	}
	return r.Bands[len(r.Bands)-1]
}

// Limits returns the tolerance limits about a declared value, infinite on a
// side that is open.
func (r *Row) Limits(declared float64) (low, high float64) {
	b := r.band(declared)
	width := b.Absolute + b.Relative*math.Abs(declared)
	low, high = math.Inf(-1), math.Inf(1)
	if r.Side != NotMore {
		low = declared - width
	}
	if r.Side != NotLess {
		high = declared + width
	}
	return low, high
}

//go:embed tables/*.json
var tableFiles embed.FS

// Tables returns the tables that come with the program, the first the one that
// serves where nobody chooses. They must not be changed.
func Tables() []*Table { return tables() }

var tables = sync.OnceValue(func() []*Table {
	names, err := fs.Glob(tableFiles, "tables/*.json")
	if err != nil || len(names) == 0 {
		panic("claims: no tolerance tables")
	}
	var list []*Table
	for _, name := range names { // sorted by name
		f, err := tableFiles.Open(name)
		if err != nil {
			panic(err) // embedded
		}
		t, err := ReadTable(f)
		if err != nil {
			panic(fmt.Sprintf("claims: %s: %v", name, err)) // a test reads every one
		}
		list = append(list, t)
	}
	return list
})
