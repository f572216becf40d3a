package ingest

import (
	"fmt"
	"math"
)

// long is a table whose rows hold a time, a wavelength and a value.
type long struct {
	dialect
	head  int // index of the line of headings, −1 without one
	first int // index of the first row
	wave  int // indices of columns
	value int
	pick  timePicker
	names []string
}

// findLong looks for a long table: by its headings, or, without any, by three
// columns of which one runs through the wavelengths while another stands still.
// Either way a wavelength has to come twice.
func findLong(lines []line, o *Options) (long, bool) {
	all := dialects(lines, o)
	for _, d := range all {
		for i := range lines[:min(len(lines), maxHeader)] {
			if t, ok := d.longHeading(lines, i, o); ok && t.repeats(lines) {
				return t, true
			}
		}
	}
	for _, d := range all {
		if t, ok := d.longBare(lines); ok && t.repeats(lines) {
			return t, true
		}
	}
	return long{}, false
}

// longHeading takes line i as the headings of a long table.
func (d dialect) longHeading(lines []line, i int, o *Options) (long, bool) {
	t := long{dialect: d, head: i, first: i + 1, wave: -1, value: -1}
	timed := false
	for _, c := range d.split(uncomment(lines[i].text, d.sep), nil, maxShape) {
		name := toText(c)
		if t.wave < 0 && isWavelength(name) {
			t.wave = len(t.names)
		}
		timed = timed || isTime(name)
		t.names = append(t.names, name)
	}
	if len(t.names) < 3 || t.wave < 0 || !timed {
		return t, false
	}
	for ; t.first < min(len(lines), i+8); t.first++ {
		cells := d.split(lines[t.first].text, nil, maxShape)
		if len(cells) < 3 || t.wave >= len(cells) {
			continue
		}
		if _, kind := parseCell(cells[t.wave], d.mark); kind != cellNumber {
			continue // units
		}
		t.pick = pickTime(cells, t.names)
		t.value = t.valueColumn(cells, o)
		return t, t.value >= 0
	}
	return t, false
}

// valueColumn chooses the values: as asked, a column headed with a unit of
// light, or the first with a number that is neither time nor wavelength.
func (t *long) valueColumn(cells [][]byte, o *Options) int {
	if c := o.Column - 1; o.Column != 0 {
		if c < 0 || c >= len(cells) || t.taken(c) {
			return -1
		}
		return c
	}
	chosen := -1
	for c, cell := range cells {
		if _, kind := parseCell(cell, t.mark); t.taken(c) || kind != cellNumber && kind != cellGrouped && kind != cellMissing {
			continue
		}
		if c < len(t.names) {
			if _, ok := unitIn(t.names[c]); ok {
				return c
			}
			if isTime(t.names[c]) {
				continue
			}
		}
		if chosen < 0 {
			chosen = c
		}
	}
	return chosen
}

// taken reports a column that holds the wavelength or the time.
func (t *long) taken(c int) bool {
	return c == t.wave || c == t.pick.at || t.pick.joined && c == t.pick.at+1
}

// longBare looks for a long table without headings.
func (d dialect) longBare(lines []line) (long, bool) {
	t := long{dialect: d, head: -1}
	var rows [][3]string
	for i, l := range lines {
		cells := d.split(l.text, nil, 4)
		if len(cells) != 3 {
			if len(rows) == 0 {
				continue
			}
			break
		}
		if len(rows) == 0 {
			t.first, t.head = i, i-1
		}
		rows = append(rows, [3]string{toText(cells[0]), toText(cells[1]), toText(cells[2])})
		if len(rows) > 2*fewestAcross && rows[len(rows)-1] == rows[0] || len(rows) > 1<<14 {
			break
		}
	}
	for wave := range 3 {
		for at := range 3 {
			if at != wave && d.cycles(rows, wave, at) {
				t.wave, t.pick, t.value = wave, timePicker{at: at}, 3-wave-at
				return t, true
			}
		}
	}
	return t, false
}

// cycles reports that column wave runs through wavelengths in one direction
// while the time stands still, and begins again when it moves.
func (d dialect) cycles(rows [][3]string, wave, at int) bool {
	last, up := 0.0, false
	for i, row := range rows {
		v, ok := d.wavelength([]byte(row[wave]))
		if _, time := parseInstant(row[at], 1); !ok || !time {
			return false
		}
		if i >= fewestAcross && row[wave] == rows[0][wave] {
			return row[at] != rows[0][at]
		}
		if row[at] != rows[0][at] || i > 0 && v == last || i > 1 && (v > last) != up {
			return false
		}
		last, up = v, i > 0 && v > last
	}
	return false
}

// repeats reports that a wavelength of the table comes twice.
func (t *long) repeats(lines []line) bool {
	seen := map[string]bool{}
	var cells [][]byte
	for _, l := range lines[t.first:] {
		if cells = t.split(l.text, cells, t.wave+1); len(cells) <= t.wave {
			continue
		}
		if seen[string(cells[t.wave])] {
			return true
		}
		seen[string(cells[t.wave])] = true
	}
	return false
}

// refusal says that a file read as one spectrum is a table of this kind.
func (t *long) refusal() *Problem {
	return &Problem{Line: t.first + 1, Found: "a long table, with a time and a wavelength in each row", Want: "read it as a series of spectra", kind: ErrSeries}
}

// entry is one row of a long table.
type entry struct {
	time, wave int
	v          float64
	line       int
}

// readLong reads the rows and sorts them into spectra.
func (s *Series) readLong(lines []line, t *long, o *Options) *Problem {
	r := &s.Report
	r.Format = formatLong
	u, from, known := s.around(lines, t.dialect, t.head, t.value)
	if t.value < len(t.names) {
		if in, ok := unitIn(t.names[t.value]); ok {
			u, from, known = in, fmt.Sprintf("the heading of column %d", t.value+1), true
		}
	}
	r.FirstLine, r.Column, r.Columns = t.first+1, t.value+1, t.names
	u = chooseUnit(u, from, known, o, r)
	entries, stamps, x, problem := t.entries(lines, o, r)
	if problem != nil {
		return problem
	}
	heading := AutoUnit
	if t.wave < len(t.names) {
		heading = wavelengthUnitIn(t.names[t.wave])
	}
	axis, problem := s.settle(x, heading, u, o)
	if problem != nil {
		return problem
	}
	values := make([]float64, len(stamps)*len(x))
	for i := range values {
		values[i] = math.NaN()
	}
	lineAt := make([]int, len(values)) // the line of each value
	for _, e := range entries {
		at := e.time*len(x) + e.wave
		switch {
		case lineAt[at] == 0:
			values[at], lineAt[at] = e.v, e.line
		case values[at] == e.v:
			r.Merged++
		default:
			return &Problem{Line: e.line, Found: fmt.Sprintf("the time %s and its wavelength a second time, with the value %g where line %d has %g", Quote(stamps[e.time].text), e.v, lineAt[at], values[at]),
				Want: "remove the wrong row"}
		}
	}
	if r.Merged > 0 {
		r.warn(fmt.Sprintf("%s of a time and wavelength with the same value merged", count(r.Merged, "repetition")))
	}
	var kept []stamp
	for i, st := range stamps {
		if s.keep(values[i*len(x):(i+1)*len(x)], &axis, u) {
			kept = append(kept, st)
		} else {
			r.skip(st.line, "the spectrum that begins there lacks a value")
		}
	}
	r.warnSkipped()
	r.Rows = len(entries)
	return s.finish(kept, t.pick.heading, o)
}

// entries reads the rows; times and wavelengths come in the order in which they
// first occur. Missing values are left out.
func (t *long) entries(lines []line, o *Options, r *Report) (all []entry, stamps []stamp, x []sample, problem *Problem) {
	times, waves := map[string]int{}, map[float64]int{}
	need := max(t.wave, t.value, t.pick.at) + 1
	var cells [][]byte
	for i, l := range lines[t.first:] {
		at := t.first + i + 1
		text := t.body(l.text)
		if len(text) == 0 || isComment(text, t.sep) {
			continue
		}
		if cells = t.split(text, cells, maxShape); len(cells) < need || t.pick.joined && len(cells) < t.pick.at+2 {
			r.skip(at, fmt.Sprintf("it has %s of %d", count(len(cells), "cell"), max(need, 3)))
			continue
		}
		nm, kind := parseCell(cells[t.wave], t.mark)
		if kind != cellNumber {
			return nil, nil, nil, &Problem{Line: at, Found: Quote(toText(cells[t.wave])) + " where a wavelength should be", Want: "correct or remove the line"}
		}
		v, kind := parseCell(cells[t.value], t.mark)
		if kind == cellOther {
			return nil, nil, nil, &Problem{Line: at, Found: Quote(toText(cells[t.value])) + " where a value should be", Want: "correct or remove the line"}
		}
		when := t.pick.text(cells)
		e := entry{v: v, line: at}
		known := false
		if e.time, known = times[when]; !known {
			e.time = len(stamps)
			times[when] = e.time
			stamps = append(stamps, stamp{text: when, line: at})
		}
		if e.wave, known = waves[nm]; !known {
			e.wave = len(x)
			waves[nm] = e.wave
			x = append(x, sample{nm, 1, at})
		}
		if len(stamps) > o.maxValues()/len(x) {
			return nil, nil, nil, tooManyValues(o)
		}
		if kind != cellMissing {
			all = append(all, e)
		}
	}
	if len(x) < 2 {
		return nil, nil, nil, &Problem{Found: count(len(x), "wavelength"), Want: "a spectrum needs at least two"}
	}
	return all, stamps, x, nil
}
