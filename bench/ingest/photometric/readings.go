package photometric

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"lampassay/bench/ingest"
)

// Reading is one row of a bench's own table: what a meter showed in a direction.
type Reading struct {
	Line    int
	Gamma   float64 // degrees from the axis, −180 to 180: below zero on the other side, C + 180°
	Plane   float64 // degrees round it
	Value   float64 // lx or cd
	Ambient float64 // lx with the direct light blocked; to be taken off
	// Distance in metres, 0 where the table has none.
	Distance float64
}

// Readings is a bench's own table as it was read.
type Readings struct {
	Name, SHA256 string
	Candela      bool // the values are in cd, else in lx
	Planes       bool // the table has half-planes
	Distances    bool // the table has distances
	Rows         []Reading
}

// field is what a column holds.
type field int

const (
	unknown field = iota
	gamma
	plane
	lux
	candela
	value
	unitOfValue
	ambient
	distance
	fields
)

// headings are the names that a column goes by.
var headings = map[string]field{
	"angle": gamma, "gamma": gamma, "γ": gamma, "plane": plane, "c": plane, "c-plane": plane,
	"lux": lux, "lx": lux, "illuminance": lux, "e": lux, "cd": candela, "candela": candela, "intensity": candela, "i": candela,
	"value": value, "reading": value, "unit": unitOfValue,
	"ambient": ambient, "dark": ambient, "blocked": ambient, "distance": distance, "d": distance,
}

// units that a heading may carry, and what they are in degrees, lx, cd or m.
var headingUnits = map[string]float64{
	"deg": 1, "°": 1, "degrees": 1, "lx": 1, "lux": 1, "cd": 1, "m": 1, "cm": 0.01, "mm": 0.001, "klx": 1000, "kcd": 1000,
}

// ReadReadings reads a table with a heading: angle and lux or cd, and where there
// are such plane, distance (m, cm or mm by the heading), and ambient, the reading
// with the direct light blocked; or value with a unit in a column of its own.
// Columns lie between commas, semicolons or tabs; with the latter two a decimal
// comma may be used. Lines that begin with # are passed over. The error is an
// [*ingest.Problem] where the file is at fault, and r's own otherwise.
func ReadReadings(name string, r io.Reader) (*Readings, error) {
	raw, sum, err := ingest.ReadWhole(name, r, maxBytes)
	if err != nil {
		return nil, err
	}
	t := &Readings{Name: name, SHA256: sum}
	if p := t.read(raw); p != nil {
		p.File = filepath.Base(name)
		return nil, p
	}
	return t, nil
}

func (t *Readings) read(raw []byte) *ingest.Problem {
	if len(bytes.TrimSpace(raw)) == 0 {
		return &ingest.Problem{Found: "nothing: the file is empty", Want: "a heading and rows of angle and lux are needed"}
	}
	text, _, problem := ingest.Decode(raw)
	if problem != nil {
		return problem
	}
	c := csv.NewReader(bytes.NewReader(text))
	c.Comment, c.FieldsPerRecord, c.TrimLeadingSpace, c.LazyQuotes = '#', -1, true, true
	c.Comma = separator(text)
	head, err := c.Read()
	if err != nil {
		return rowProblem(err)
	}
	line, _ := c.FieldPos(0)
	columns, problem := t.columns(head)
	if problem != nil {
		problem.Line = line
		return problem
	}
	for {
		cells, err := c.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return rowProblem(err)
		}
		line, _ := c.FieldPos(0)
		if problem := t.row(cells, columns, c.Comma != ','); problem != nil {
			problem.Line = line
			return problem
		}
		t.Rows[len(t.Rows)-1].Line = line
	}
	if len(t.Rows) == 0 {
		return &ingest.Problem{Line: line, Found: "a heading and no row below it", Want: "rows of angle and lux are needed"}
	}
	return nil
}

func rowProblem(err error) *ingest.Problem {
	p := &ingest.Problem{Found: "a row that cannot be cut into columns", Want: "check its quotation marks"}
	var parse *csv.ParseError
	if errors.As(err, &parse) {
		p.Line = parse.Line
	}
	return p
}

// separator is what the first line that is no comment is cut by.
func separator(text []byte) rune {
	for line := range bytes.Lines(text) {
		if line = bytes.TrimSpace(line); len(line) == 0 || line[0] == '#' {
			continue
		}
		for _, sep := range ";\t" {
			if bytes.ContainsRune(line, sep) {
				return sep
			}
		}
		break
	}
	return ','
}

// column is where a field stands and what its unit is of the field's own.
type column struct {
	at    int // −1 where there is none
	scale float64
	name  string
}

// columns reads the heading.
func (t *Readings) columns(head []string) (c [fields]column, problem *ingest.Problem) {
	for f := range c {
		c[f].at = -1
	}
	for i, cell := range head {
		f, scale := heading(cell)
		if f == unknown {
			continue // such as a column of remarks
		}
		if c[f].at >= 0 {
			return c, &ingest.Problem{Column: cell, Found: "a second column of the same kind as " + ingest.Quote(c[f].name), Want: "leave one of them out"}
		}
		c[f] = column{i, scale, cell}
	}
	has := func(f field) bool { return c[f].at >= 0 }
	switch {
	case !has(gamma) && has(plane):
		return c, &ingest.Problem{Found: "a column of planes but none of angles", Want: "add a column headed angle, in degrees from the axis"}
	case !has(gamma):
		return c, &ingest.Problem{Found: "the heading " + ingest.Quote(strings.Join(head, ", ")), Want: "it needs a column headed angle, in degrees from the axis, and one headed lux or cd"}
	case has(lux) && has(candela):
		return c, &ingest.Problem{Found: "columns of lux and of candela", Want: "a table holds one or the other: leave one out"}
	case !has(lux) && !has(candela) && !(has(value) && has(unitOfValue)):
		return c, &ingest.Problem{Found: "no column headed lux or cd", Want: "it needs one, or a column headed value with its unit in one headed unit"}
	}
	t.Candela, t.Planes, t.Distances = has(candela), has(plane), has(distance)
	if has(candela) && has(ambient) {
		return c, &ingest.Problem{Column: c[ambient].name, Found: "ambient light beside candela", Want: "it can be taken off a reading in lux only"}
	}
	return c, nil
}

// heading reads a column's name and the unit behind it, in brackets, behind a
// slash or behind an underscore.
func heading(cell string) (field, float64) {
	cell = strings.ToLower(strings.TrimSpace(cell))
	if f, ok := headings[cell]; ok {
		return f, 1
	}
	cut := strings.LastIndexAny(cell, "([/_ ")
	if cut < 0 {
		return unknown, 1
	}
	f := headings[strings.TrimRight(cell[:cut], "([/_ ")]
	scale, ok := headingUnits[strings.Trim(cell[cut:], "([/_ ])")]
	if !ok {
		return unknown, 1
	}
	return f, scale
}

// row reads one row.
func (t *Readings) row(cells []string, c [fields]column, decimalComma bool) *ingest.Problem {
	var problem *ingest.Problem
	number := func(f field, want string, valid func(float64) bool) float64 {
		if c[f].at < 0 || problem != nil {
			return 0
		}
		cell := ""
		if c[f].at < len(cells) {
			cell = strings.TrimSpace(cells[c[f].at])
		}
		v, ok := plainNumber(cell, decimalComma)
		if v *= c[f].scale; !ok || !valid(v) {
			problem = &ingest.Problem{Column: c[f].name, Found: ingest.Quote(cell), Want: want}
		}
		return v
	}
	within := func(limit float64) func(float64) bool {
		return func(v float64) bool { return math.Abs(v) <= limit }
	}
	notNegative := func(v float64) bool { return v >= 0 }
	r := Reading{
		Gamma:    number(gamma, "an angle lies from −180° to 180°", within(180)),
		Plane:    number(plane, "a half-plane lies from −360° to 360°", within(360)),
		Ambient:  number(ambient, "ambient light is zero lux or more", notNegative),
		Distance: number(distance, "a distance is above zero", func(v float64) bool { return v > 0 }),
	}
	const light = "a light meter reads zero or more"
	switch {
	case c[lux].at >= 0:
		r.Value = number(lux, light, notNegative)
	case c[candela].at >= 0:
		r.Value = number(candela, "it has to be a number of candela", within(1e15))
	default:
		r.Value = number(value, light, notNegative)
		problem = firstOf(problem, t.unit(cells, c))
	}
	t.Rows = append(t.Rows, r)
	return problem
}

func firstOf(first, second *ingest.Problem) *ingest.Problem {
	if first != nil {
		return first
	}
	return second
}

// unit holds the unit of a row to that of the first.
func (t *Readings) unit(cells []string, c [fields]column) *ingest.Problem {
	cell := ""
	if c[unitOfValue].at < len(cells) {
		cell = cells[c[unitOfValue].at]
	}
	f := headings[strings.ToLower(strings.TrimSpace(cell))]
	switch {
	case f != lux && f != candela:
		return &ingest.Problem{Column: c[unitOfValue].name, Found: ingest.Quote(cell), Want: "the unit of a reading is lx or cd"}
	case f == candela && c[ambient].at >= 0:
		return &ingest.Problem{Column: c[ambient].name, Found: "ambient light beside candela", Want: "it can be taken off a reading in lux only"}
	case len(t.Rows) == 0:
		t.Candela = f == candela
	case t.Candela != (f == candela):
		return &ingest.Problem{Column: c[unitOfValue].name, Found: ingest.Quote(cell) + " where the rows above have the other unit", Want: "a table holds lux or candela, not both"}
	}
	return nil
}

func plainNumber(cell string, decimalComma bool) (float64, bool) {
	cell = strings.ReplaceAll(cell, "−", "-")
	if decimalComma {
		cell = strings.Replace(cell, ",", ".", 1)
	}
	if strings.Trim(cell, "0123456789+-.eE") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(cell, 64)
	return v, err == nil && math.Abs(v) <= 1e15
}

// String says what the table is, for reading.
func (t *Readings) String() string {
	unit := "lx"
	if t.Candela {
		unit = "cd"
	}
	return fmt.Sprintf("%d readings in %s", len(t.Rows), unit)
}
