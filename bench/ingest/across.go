package ingest

import (
	"bytes"
	"fmt"
	"slices"
)

// A table whose wavelengths run across is known by its heading: at least
// fewestAcross numbers one after the other that rise or fall all the way, within
// the published tables' range.
const (
	fewestAcross = 4
	mostAcross   = 1 << 16
	mostLead     = 4 // columns before the values
)

// across is a table with a row of wavelengths and below it a row a spectrum.
type across struct {
	dialect
	head  int      // index of the line of wavelengths
	first int      // index of the first row
	lead  int      // cells of a row before the values
	tail  int      // and behind them
	names []string // of the columns before the values, as far as the heading has them
	nm    []float64
}

// findAcross looks for a table whose wavelengths run across: the longest row of
// them in any dialect. It refuses one whose columns could be the spectra as
// well.
func findAcross(lines []line, o *Options) (best across, found bool, problem *Problem) {
	var cells [][]byte
	for _, d := range dialects(lines, o) {
		for i, l := range lines[:min(len(lines), maxHeader)] {
			if len(l.text) < 4*fewestAcross-1 {
				continue
			}
			cells = d.split(uncomment(l.text, d.sep), cells, mostAcross+mostLead)
			if l.cut {
				cells = cells[:max(0, len(cells)-1)]
			}
			t, ok := d.ramp(cells)
			if !ok || found && len(t.nm) <= len(best.nm) {
				continue
			}
			t.head = i
			// Of a line that is cut the heading of the times has to do.
			if l.cut && len(t.names) > 0 && isTime(t.names[0]) || !l.cut && t.fitsBelow(lines) {
				best, found = t, true
			}
		}
	}
	if found && best.couldBeColumns(lines) {
		return best, false, &Problem{Line: best.head + 1, Found: "a table whose first row and first column can both be wavelengths",
			Want: "head the first column “nm” or “time”"}
	}
	return best, found, nil
}

// ramp takes a line's cells as a heading of wavelengths.
func (d dialect) ramp(cells [][]byte) (across, bool) {
	if len(cells) < fewestAcross {
		return across{}, false
	}
	from, best := 0, [2]int{}
	values := make([]float64, len(cells))
	for i, c := range cells {
		v, ok := d.wavelength(c)
		values[i] = v
		switch n := i - from; {
		case !ok:
			from = i + 1
			continue
		case n > 1 && (v > values[i-1]) != (values[i-1] > values[i-2]), n > 0 && v == values[i-1]:
			from = i - 1
			if v == values[i-1] {
				from = i
			}
		}
		if i+1-from > best[1]-best[0] {
			best = [2]int{from, i + 1}
		}
	}
	if best[1]-best[0] < fewestAcross || best[0] > mostLead {
		return across{}, false
	}
	t := across{dialect: d, tail: len(cells) - best[1], nm: values[best[0]:best[1]]}
	for _, c := range cells[:best[0]] {
		if _, kind := parseCell(c, d.mark); kind == cellNumber || isWavelength(toText(c)) {
			return across{}, false // a row of values, or a column of wavelengths
		}
		t.names = append(t.names, toText(c))
	}
	return t, true
}

// wavelength reads a heading such as 380, 380.5 nm or 380nm.
func (d dialect) wavelength(cell []byte) (float64, bool) {
	v, kind := parseCell(trim(bytes.TrimSuffix(cell, []byte("nm"))), d.mark)
	return v, kind == cellNumber && v >= tablesFrom && v <= tablesTo
}

// fitsBelow finds the first row below the heading: as many cells as it has
// wavelengths, behind a time.
func (t *across) fitsBelow(lines []line) bool {
	for i := t.head + 1; i < min(len(lines), t.head+8); i++ {
		text := t.body(lines[i].text)
		if len(text) == 0 || isComment(text, t.sep) {
			continue
		}
		cells := t.split(text, nil, mostAcross+2*mostLead)
		t.lead = len(cells) - len(t.nm) - t.tail
		if t.lead < 1 || t.lead > mostLead {
			continue // units, or something else
		}
		if slices.ContainsFunc(cells[:t.lead], func(c []byte) bool { return isWavelength(toText(c)) }) {
			return false // headings of columns, below a row of something else
		}
		for _, c := range cells[t.lead : t.lead+len(t.nm)] {
			if _, kind := parseCell(c, t.mark); kind == cellOther {
				return false
			}
		}
		t.first = i
		return true
	}
	return false
}

// couldBeColumns reports that the first column looks like wavelengths too, and
// that nothing over it says that it is times.
func (t *across) couldBeColumns(lines []line) bool {
	if t.lead != 1 || len(t.names) > 0 && isTime(t.names[0]) {
		return false
	}
	var cells [][]byte
	n, last, up := 0, 0.0, false
	for _, l := range lines[t.first:] {
		if cells = t.split(l.text, cells, 2); len(cells) < 2 {
			continue
		}
		v, ok := t.wavelength(cells[0])
		if !ok || n > 0 && v == last || n > 1 && (v > last) != up {
			return false
		}
		n, last, up = n+1, v, v > last
	}
	return n >= fewestAcross
}

// refusal says that a file read as one spectrum is a table of this kind.
func (t *across) refusal() *Problem {
	return &Problem{Line: t.head + 1, Found: fmt.Sprintf("wavelengths that run across, %g to %g nm, with a spectrum in each row below", t.nm[0], t.nm[len(t.nm)-1]),
		Want: "read it as a series of spectra", kind: ErrSeries}
}

// readAcross reads the rows.
func (s *Series) readAcross(lines []line, t *across, o *Options) *Problem {
	r := &s.Report
	r.Format = formatRows
	u, from, known := s.around(lines, t.dialect, t.head, 0)
	r.FirstLine = t.first + 1
	r.Columns = t.names
	u = chooseUnit(u, from, known, o, r)
	x := make([]sample, len(t.nm))
	for i, v := range t.nm {
		x[i] = sample{v, 1, t.head + 1}
	}
	axis, problem := s.settle(x, Nanometre, u, o)
	if problem != nil {
		return problem
	}
	var stamps []stamp
	var pick timePicker
	width := t.lead + len(t.nm)
	var cells [][]byte
	values := make([]float64, len(t.nm))
	for i, l := range lines[t.first:] {
		at := t.first + i + 1
		text := t.body(l.text)
		if len(text) == 0 || isComment(text, t.sep) {
			continue
		}
		if cells = t.split(text, cells, width+t.tail+1); len(cells) < width {
			r.skip(at, fmt.Sprintf("it has %s of %d", count(len(cells), "cell"), width))
			continue
		}
		problem, whole := t.row(cells[t.lead:width], values)
		switch {
		case problem != nil:
			problem.Line = at
			return problem
		case !whole:
			r.skip(at, "it lacks a value")
			continue
		case len(s.Values) >= o.maxValues()/len(t.nm):
			return tooManyValues(o)
		case !s.keep(values, &axis, u):
			r.skip(at, "a value is too large for its unit")
			continue
		}
		if stamps == nil {
			pick = pickTime(cells[:t.lead], t.names)
		}
		stamps = append(stamps, stamp{text: pick.text(cells), line: at})
	}
	r.warnSkipped()
	r.Rows = len(stamps)
	return s.finish(stamps, pick.heading, o)
}

// row parses the values of a row; whole is false where one is missing.
func (t *across) row(cells [][]byte, into []float64) (problem *Problem, whole bool) {
	whole = true
	for i, c := range cells {
		v, kind := parseCell(c, t.mark)
		switch kind {
		case cellOther:
			return &Problem{Column: fmt.Sprint(t.nm[i]), Found: Quote(toText(c)) + " where a value should be", Want: "correct or remove the line"}, false
		case cellMissing:
			whole = false
		}
		into[i] = v
	}
	return nil, whole
}

// around notes a series' dialect and the text above its heading, and finds the
// unit of its values there or in the heading of a column.
func (s *Series) around(lines []line, d dialect, head, column int) (unit, string, bool) {
	t := table{dialect: d, run: run{first: head + 1, last: len(lines) - 1, width: 2}}
	h := readHeader(lines, &t, maxShape)
	if column == 0 {
		h.names, h.units = nil, nil
	}
	s.Report.layout(lines, &t, &h)
	return h.valueUnit(column)
}

// timePicker finds the time among the cells of a row.
type timePicker struct {
	at      int
	joined  bool // date and clock stand in neighbouring cells
	heading string
}

// pickTime chooses the cell of the first row that holds its time: a date with
// the clock beside it, what its heading calls a time, or the first that reads as
// one.
func pickTime(cells [][]byte, names []string) timePicker {
	named := func(at int) string {
		if at < len(names) {
			return names[at]
		}
		return ""
	}
	for i := range len(cells) - 1 {
		if in, ok := parseInstant(toText(cells[i]), 1); ok && in.form == Calendar {
			if clock, ok := parseInstant(toText(cells[i+1]), 1); ok && clock.form == Clock {
				return timePicker{at: i, joined: true}
			}
		}
	}
	for i := range cells {
		if isTime(named(i)) {
			return timePicker{at: i, heading: named(i)}
		}
	}
	for i, c := range cells {
		if _, ok := parseInstant(toText(c), 1); ok {
			return timePicker{at: i, heading: named(i)}
		}
	}
	return timePicker{}
}

func (p timePicker) text(cells [][]byte) string {
	if p.joined {
		return toText(cells[p.at]) + "T" + toText(cells[p.at+1])
	}
	return toText(cells[p.at])
}
