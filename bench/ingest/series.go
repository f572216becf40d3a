package ingest

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"time"

	"lampassay/light/spectrum"
)

// Series is several spectra of one lamp over time, on one axis.
type Series struct {
	Name   string
	SHA256 string // of the file's bytes, hexadecimal

	Axis   []float64   // nm, increasing
	Times  []float64   // seconds from the first, never decreasing
	Start  time.Time   // of the first; zero where the file does not tell
	Values [][]float64 // Values[i] is the spectrum at Times[i], in the SI unit of Quantity

	Quantity   spectrum.Quantity
	Projection spectrum.Projection
	Report     Report
}

// DefaultMaxValues is how many numbers a series holds at most: 512 MB of them.
const DefaultMaxValues = 64 << 20

func (o *Options) maxValues() int {
	if o.MaxValues > 0 {
		return o.MaxValues
	}
	return DefaultMaxValues
}

func tooManyValues(o *Options) *Problem {
	return &Problem{Found: fmt.Sprintf("more than %d values", o.maxValues()), Want: "a series is held in memory: cut it into shorter ones"}
}

// ReadSeries reads spectra over time from a text or a spreadsheet in one of
// three layouts, told apart by what they hold:
//
//   - a column of wavelengths and one of values for each time, which heads it;
//   - a row of wavelengths, and below it a row for each time, which opens it;
//   - a long table, in whose rows stand a time, a wavelength and a value, in
//     columns of any order.
//
// Times are dates in ISO 8601, a spreadsheet's serial dates, seconds or
// milliseconds since 1970, readings of a clock, or elapsed seconds; o.Time
// settles what the numbers leave open. A spectrum that lacks a value is left
// out with a warning. The error is a [*Problem] where the file is at fault, and
// r's own otherwise.
func ReadSeries(name string, r io.Reader, o Options) (*Series, error) {
	if o.Recipe != nil {
		return o.Recipe.ReadSeries(name, r, o)
	}
	raw, sum, err := ReadWhole(name, r, o.maxBytes())
	if err != nil {
		return nil, err
	}
	s := &Series{Name: name, SHA256: sum}
	if p := s.read(raw, &o); p != nil {
		p.File = filepath.Base(name)
		return nil, p
	}
	return s, nil
}

// Spectrum returns the spectrum at Times[i].
func (s *Series) Spectrum(i int) (*spectrum.Spectrum, error) {
	return spectrum.New(s.Quantity, s.Axis, s.Values[i])
}

func (s *Series) read(raw []byte, o *Options) *Problem {
	text, problem := textOf(raw, o, &s.Report)
	if problem != nil {
		return problem
	}
	// Only a table with a row for each time and wavelength has so many lines, and its
	// beginning shows it.
	if countLines(bytes.NewReader(text), int64(len(text))) != nil {
		begin, _ := splitLines(text, maxLines/8)
		if _, found := findLong(begin, o); !found {
			return tooManyLines()
		}
	}
	lines, whole := splitLines(text, 4*maxLines)
	if !whole {
		return tooManyLines()
	}
	if t, found, problem := findAcross(lines, o); problem != nil {
		return problem
	} else if found {
		return s.readAcross(lines, &t, o)
	}
	if t, found := findLong(lines, o); found {
		return s.readLong(lines, &t, o)
	}
	return s.readColumns(text, o)
}

// readColumns reads a table with a column for each time.
func (s *Series) readColumns(text []byte, o *Options) *Problem {
	w := &Wide{Name: s.Name, file: bytes.NewReader(text)}
	encoding, sheet := s.Report.Encoding, s.Report.Sheet
	switch err := w.open(int64(len(text)), o); e := err.(type) {
	case nil:
	case *Problem:
		return e
	default: // ErrSingle: reading from memory does not fail
		return &Problem{Found: "a single spectrum", Want: "a series has several, each with its time"}
	}
	s.Axis, s.Quantity, s.Projection, s.Report = w.Axis, w.Quantity, w.Projection, w.Report
	r := &s.Report
	r.Encoding, r.Sheet, r.Format = encoding, sheet, formatColumns
	if w.heading.from == w.heading.to {
		return &Problem{Found: fmt.Sprintf("%s without a time over each", count(w.columns, "column")), Want: "a series has a row of times above its columns"}
	}
	if w.columns > o.maxValues()/len(w.Axis) {
		return tooManyValues(o)
	}
	var stamps []stamp
	for b, err := range w.Blocks(context.Background(), 64) {
		if err != nil {
			return &Problem{Found: "columns that cannot be read", Want: err.Error()}
		}
		values, errs := make([]float64, b.Columns()*len(w.Axis)), make([]error, b.Columns())
		b.Parse(values, errs)
		for c, name := range b.Names {
			if errs[c] != nil {
				r.warn(fmt.Sprintf("the spectrum in column %s is left out: it lacks a value", Quote(name)))
				continue
			}
			stamps = append(stamps, stamp{text: timeIn(name), column: name})
			s.Values = append(s.Values, values[c*len(w.Axis):(c+1)*len(w.Axis)])
		}
	}
	return s.finish(stamps, "", o)
}

// timeIn returns the part of a column's heading that is a time; all of it where
// none is.
func timeIn(name string) string {
	for _, p := range parts(name) {
		if _, ok := parseInstant(p, 1); ok {
			return p
		}
	}
	return name
}

// finish turns the stamps into times and puts the spectra in their order.
func (s *Series) finish(stamps []stamp, heading string, o *Options) *Problem {
	r := &s.Report
	if len(stamps) == 0 {
		return &Problem{Found: "no spectrum that has a value at every wavelength", Want: "a series needs complete spectra"}
	}
	times, start, problem := seconds(stamps, heading, o, r)
	if problem != nil {
		return problem
	}
	order := make([]int, len(times))
	for i := range order {
		order[i] = i
	}
	if !slices.IsSorted(times) {
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(times[a], times[b]) })
		r.warn("the spectra were not in order of time and have been sorted")
	}
	values, first, same := s.Values, times[order[0]], 0
	s.Times, s.Values = make([]float64, len(order)), make([][]float64, len(order))
	for i, k := range order {
		s.Times[i], s.Values[i] = times[k]-first, values[k]
		if i > 0 && s.Times[i] == s.Times[i-1] {
			same++
		}
	}
	if same > 0 {
		r.warn(fmt.Sprintf("%d of the spectra have the time of the one before", same))
	}
	if !start.IsZero() {
		s.Start = start.Add(time.Duration(math.Round(first*1e3)) * time.Millisecond)
		r.Start = s.Start.Format(time.RFC3339Nano)
	}
	r.Spectra, r.Duration = len(s.Times), s.Times[len(s.Times)-1]
	return nil
}

// keep takes one spectrum, values in the file's order, onto the axis. It
// reports whether every value is finite in its unit.
func (s *Series) keep(values []float64, axis *settledAxis, u unit) bool {
	out := make([]float64, len(values))
	for i, v := range values {
		if axis.factor != nil {
			v *= axis.factor[i]
		}
		out[axis.place[i]] = v
	}
	u.apply(s.Axis, out)
	if slices.ContainsFunc(out, func(v float64) bool { return math.IsInf(v, 0) || math.IsNaN(v) }) {
		return false
	}
	s.Values = append(s.Values, out)
	return true
}

// settle fixes axis, quantity and projection of a series.
func (s *Series) settle(x []sample, heading WavelengthUnit, u unit, o *Options) (axis settledAxis, problem *Problem) {
	r := &s.Report
	if axis, problem = settleAxis(x, o, heading, r); problem != nil {
		return axis, problem
	}
	s.Axis, s.Quantity = axis.nm, u.quantity
	if s.Projection, problem = chooseProjection(s.Axis, o, r); problem != nil {
		return axis, problem
	}
	r.describe(s.Axis)
	return axis, nil
}
