package archive

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampassay/bench/notebook"
)

// lines reads lines of limited length.
type lines struct {
	s    *bufio.Scanner
	name string
	most int
	n    int
	text []byte
	err  error
}

func newLines(r io.Reader, name string, most int) *lines {
	s := bufio.NewScanner(r)
	s.Buffer(nil, most)
	return &lines{s: s, name: name, most: most}
}

// next goes to the next line; false at the end or at an error.
func (l *lines) next() bool {
	if l.err != nil {
		return false
	}
	if !l.s.Scan() {
		if l.err = l.s.Err(); errors.Is(l.err, bufio.ErrTooLong) {
			l.n++
			l.err = invalid("%s: the line is longer than %d bytes", l.where(), l.most)
		}
		return false
	}
	l.n++
	l.text = l.s.Bytes()
	return true
}

func (l *lines) where() string { return fmt.Sprintf("%s, line %d", l.name, l.n) }

// readings reads the table of readings.
type readings struct {
	*lines
	cells []string // of the row that comes next; nil at the end
}

// mostRowBytes is the longest row of the table of readings: every text as long as
// it may be, and escaped.
const mostRowBytes = 16 << 20

func newReadings(r io.Reader, name string) (*readings, error) {
	t := &readings{lines: newLines(r, name, mostRowBytes)}
	if err := t.row(); err != nil {
		return nil, err
	}
	if !slices.Equal(t.cells, columns) {
		return nil, invalid("%s: the columns have other names than %s", t.where(), strings.Join(columns, ", "))
	}
	return t, t.row()
}

// row reads the cells of the next row.
func (t *readings) row() error {
	t.cells = nil
	if !t.lines.next() {
		return t.err
	}
	c := csv.NewReader(strings.NewReader(string(t.text)))
	cells, err := c.Read()
	if err != nil || len(cells) != len(columns) {
		return invalid("%s: these are not %d cells: the columns are %s", t.where(), len(columns), strings.Join(columns, ", "))
	}
	t.cells = cells
	return nil
}

// next reads a reading and says which sort of curve it has; nil at the end.
func (t *readings) next() (*notebook.Reading, string, error) {
	if t.cells == nil {
		return nil, "", t.err
	}
	p := parser{cells: t.cells}
	r := &notebook.Reading{N: p.whole(0), Channel: t.cells[2], Instrument: notebook.ID(p.whole(3)), Note: p.text(9), Raw: p.text(10)}
	at, err := parseTime(t.cells[1])
	if err != nil {
		p.fault(1, "a moment such as 2026-11-25T09:00:00.000000Z belongs there")
	}
	r.At = at
	if t.cells[8] != "" {
		var ok bool
		if r.Flags, ok = unescape(t.cells[8]); !ok {
			p.fault(8, "an escape in it is not known")
		}
	}
	sort := t.cells[11]
	switch sort {
	case "spectrum", "waveform":
		r.Curve = &notebook.Curve{Quantity: p.text(12), RateHz: p.number(13), ExposureMs: p.number(14), Averages: int(p.whole(15))}
	case "":
	default:
		p.fault(11, "spectrum, waveform or nothing belongs there")
	}
	where := t.where() // of the first row
	for more := t.cells[4] != "" || t.cells[5] != "" || t.cells[6] != "" || t.cells[7] != ""; ; more = true {
		if more {
			r.Values = append(r.Values, p.value())
		}
		if p.err != nil {
			return nil, "", invalid("%s: %w", where, p.err)
		}
		if len(r.Values) > notebook.MostValues {
			return nil, "", invalid("%s: more than %d values", where, notebook.MostValues)
		}
		first := t.cells[0]
		if err := t.row(); err != nil {
			return nil, "", err
		}
		// A row goes on with a reading where it has its number but no moment.
		if t.cells == nil || t.cells[0] != first || t.cells[1] != "" {
			return r, sort, nil
		}
		p, where = parser{cells: t.cells}, t.where()
		for i := range columns {
			if t.cells[i] != "" && i != 0 && (i < 4 || i > 7) {
				p.fault(i, "a further value has nothing there")
			}
		}
	}
}

// parser reads cells and keeps the first error.
type parser struct {
	cells []string
	err   error
}

func (p *parser) fault(i int, want string) {
	if p.err == nil {
		p.err = fmt.Errorf("%s is %.60q: %s", columns[i], p.cells[i], want)
	}
}

// whole reads a whole number from 1 up, 0 where there is none.
func (p *parser) whole(i int) int64 {
	if p.cells[i] == "" && i != 0 {
		return 0
	}
	n, err := strconv.ParseInt(p.cells[i], 10, 64)
	if err != nil || n < 1 || n >= 1<<32 {
		p.fault(i, "a whole number from 1 up belongs there")
	}
	return n
}

// number reads a number that is not 0, 0 where there is none.
func (p *parser) number(i int) float64 {
	if p.cells[i] == "" {
		return 0
	}
	v, ok := parseNumber(p.cells[i])
	if !ok || math.IsNaN(v) {
		p.fault(i, "a number belongs there")
	}
	return v
}

func (p *parser) text(i int) string {
	parts, ok := unescape(p.cells[i])
	if !ok || len(parts) != 1 {
		p.fault(i, "an escape in it is not known")
		return ""
	}
	return parts[0]
}

func (p *parser) value() notebook.Value {
	v := notebook.Value{Key: p.text(4), Unit: p.text(6), Flag: p.text(7)}
	if p.cells[5] != "" {
		n, ok := parseNumber(p.cells[5])
		if !ok || math.IsNaN(n) {
			p.fault(5, "a number belongs there")
		}
		v.V = &n
	}
	return v
}

// curves reads a table of spectra or waveforms.
type curves struct {
	l    *lines
	axis []float64
}

// mostCurveBytes is the longest row of samples: a number has up to 24 letters.
const mostCurveBytes = 25*notebook.MostSamples + 64

func newCurves(r io.Reader, name string) *curves {
	return &curves{l: newLines(r, name, mostCurveBytes)}
}

// next gives a reading the wavelengths and samples of its row.
func (c *curves) next(r *notebook.Reading) error {
	for {
		if !c.l.next() {
			if c.l.err != nil {
				return c.l.err
			}
			return invalid("%s: reading %d is missing", c.l.name, r.N)
		}
		name, rest, _ := strings.Cut(string(c.l.text), ",")
		v, err := c.numbers(rest)
		if err != nil {
			return err
		}
		if name == axisMark {
			c.axis = v
			continue
		}
		if name != strconv.FormatInt(r.N, 10) {
			return invalid("%s: %.20q stands where reading %d belongs", c.l.where(), name, r.N)
		}
		if r.Curve.RateHz == 0 {
			r.Curve.Axis = c.axis
		}
		r.Curve.Samples = v
		return nil
	}
}

func (c *curves) numbers(s string) ([]float64, error) {
	v := make([]float64, 0, strings.Count(s, ",")+1)
	for more := true; more; {
		var cell string
		cell, s, more = strings.Cut(s, ",")
		x, ok := parseNumber(cell)
		if !ok {
			return nil, invalid("%s: %.40q is no number", c.l.where(), cell)
		}
		v = append(v, x)
	}
	return v, nil
}
