package ingest

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"unicode/utf8"
)

// maxLines is how many lines a text can have.
const maxLines = 1 << 20

func tooManyLines() *Problem {
	return &Problem{Found: fmt.Sprintf("more than %d lines", maxLines), Want: "a spectrum has fewer wavelengths: check that this is the right file"}
}

// readText reads one spectrum from text in UTF-8.
func (f *File) readText(text []byte, o *Options) *Problem {
	lines, whole := splitLines(text, maxLines)
	if !whole {
		return tooManyLines()
	}
	t, h, problem := layout(lines, o)
	if problem != nil || t.width > fewestAcross || h.long() {
		if p := otherLayout(lines, o); p != nil {
			return p
		}
	}
	if problem != nil {
		return problem
	}
	r := &f.Report
	r.Format = formatText
	r.layout(lines, &t, &h)
	column, problem := chooseColumn(lines, &t, o, r)
	if problem != nil {
		return problem
	}
	r.Column = column + 1
	samples, problem := t.samples(lines, column, r)
	if problem != nil {
		return problem
	}
	u, from, known := h.valueUnit(column)
	u = chooseUnit(u, from, known, o, r)
	if problem := convertAxis(samples, o, h.axisUnit(t.axis), r); problem != nil {
		return problem
	}
	if samples, problem = order(samples, r); problem != nil {
		if p := otherLayout(lines, o); p != nil {
			return p
		}
		return problem
	}
	r.Rows = len(samples)
	return f.finish(samples, u, o)
}

// otherLayout says that a text is a series, not a column of wavelengths with a
// column of values; nil where it is not.
func otherLayout(lines []line, o *Options) *Problem {
	if t, found, problem := findAcross(lines, o); found {
		return t.refusal()
	} else if problem != nil {
		return nil // read as columns
	}
	if t, found := findLong(lines, o); found {
		return t.refusal()
	}
	return nil
}

// layout finds the table of a text and what stands around it.
func layout(lines []line, o *Options) (t table, h header, problem *Problem) {
	t, ok := findTable(lines, o, 0)
	if !ok {
		return t, h, noTable(lines)
	}
	h = readHeader(lines, &t, max(maxShape, o.Column))
	if axis := h.axisColumn(); axis > 0 {
		if t, ok = findTable(lines, o, axis); !ok {
			return t, h, noTable(lines)
		}
		h = readHeader(lines, &t, max(maxShape, o.Column))
	}
	if t.rows < 2 {
		return t, h, &Problem{Line: t.first + 1, Found: "the only row of numbers", Want: "a spectrum needs at least two, each a wavelength and a value"}
	}
	return t, h, t.interruption(lines)
}

// noTable says what is missing from a text without rows of two numbers.
func noTable(lines []line) *Problem {
	single, first := 0, 0
	for i, l := range lines {
		for _, mark := range []byte(".,") {
			if _, kind := parseCell(trim(l.text), mark); kind == cellNumber && len(trim(l.text)) > 0 {
				if single == 0 {
					first = i + 1
				}
				single++
				break
			}
		}
	}
	if single > 1 {
		return &Problem{Line: first, Found: "a single column of numbers", Want: "a spectrum needs a column of wavelengths and one of values"}
	}
	return &Problem{Found: "no rows of numbers", Want: "a spectrum is rows of a wavelength and a value"}
}

// interruption reports a line inside the table that is no row of it: text
// where the rows above and below continue each other, or a row at either end
// without a number for a value. Rows that do not continue each other are
// another table.
func (t *table) interruption(lines []line) *Problem {
	near := 20 * t.step()
	for _, o := range t.others {
		switch {
		case o.last < t.first && math.Abs(t.from-o.to) <= near && t.first-o.last <= 4:
			return t.fault(lines, o.last+1)
		case o.first > t.last && math.Abs(o.from-t.to) <= near && o.first-t.last <= 4:
			return t.fault(lines, t.last+1)
		}
	}
	for _, end := range []struct {
		line, cells int
		next        float64
	}{{t.first - 1, 2, t.from}, {t.last + 1, 1, t.to}} {
		if end.line < 0 || end.line >= len(lines) {
			continue
		}
		s := t.look(lines[end.line], t.axis)
		if s.kind == lineOther && s.numbered && s.cells >= end.cells && math.Abs(s.first-end.next) <= near {
			return t.fault(lines, end.line)
		}
	}
	return nil
}

// fault says what is wrong with the first line from at on that is no row.
func (t *table) fault(lines []line, at int) *Problem {
	s := t.look(lines[at], t.axis)
	for s.kind != lineOther {
		at++
		s = t.look(lines[at], t.axis)
	}
	p := &Problem{Line: at + 1, Want: "correct or remove the line"}
	cells := t.cells(lines[at].text, t.axis+2)
	switch {
	case s.numbered && s.cells > t.axis+1:
		p.Found = Quote(cells[t.axis+1]) + " where a value should be"
	case s.numbered:
		p.Found = Quote(cells[t.axis]) + " without a value"
	case s.cells > t.axis:
		p.Found = Quote(cells[t.axis]) + " where a wavelength should be"
	default:
		p.Found = Quote(string(lines[at].text)) + " where a row of numbers should be"
	}
	return p
}

// layout notes the dialect and the text around the table.
func (r *Report) layout(lines []line, t *table, h *header) {
	r.Separator, r.Decimal = separatorNames[rune(t.sep)], decimalNames[rune(t.mark)]
	r.FirstLine = t.first + 1
	r.Header, r.Metadata = h.lines, h.pairs
	r.Columns = h.names[:min(len(h.names), maxNames)]
	if t.grouped > 0 {
		r.warn(fmt.Sprintf("%s with thousands marks, such as 1 234.5", count(t.grouped, "number")))
	}
	if t.sep == ',' && (t.width == 3 || t.width == 4) && !slices.ContainsFunc(lines[t.first:t.last+1], func(l line) bool { return bytes.IndexByte(l.text, '.') >= 0 }) {
		r.warn("the table has commas and no decimal point: if the commas are decimal marks too, save it with another separator")
	}
	for _, o := range t.others {
		if o.rows > 1 {
			r.warn(fmt.Sprintf("lines %d to %d hold another table, which is not read", o.first+1, o.last+1))
		}
	}
}

// chooseColumn returns the index of the value column: the one asked for, or the
// first that mostly holds numbers, behind the wavelengths before those in front.
func chooseColumn(lines []line, t *table, o *Options, r *Report) (int, *Problem) {
	if o.Column != 0 {
		switch {
		case o.Column < 0:
			return 0, &Problem{Found: fmt.Sprintf("a request for column %d", o.Column), Want: "columns count from 1"}
		case o.Column == t.axis+1:
			return 0, &Problem{Found: fmt.Sprintf("wavelengths in column %d", o.Column), Want: "choose a column of values"}
		}
		return o.Column - 1, nil
	}
	numeric := t.numericColumns(lines)
	chosen, also := -1, 0
	for c := range numeric {
		switch {
		case c <= t.axis || numeric[c]*2 < t.rows:
		case chosen < 0:
			chosen = c
		default:
			also++
		}
	}
	for c := 0; c < t.axis && chosen < 0; c++ {
		if c < len(numeric) && numeric[c]*2 >= t.rows {
			chosen = c
		}
	}
	if chosen < 0 {
		chosen = t.axis + 1
	}
	if also > 0 {
		r.warn(fmt.Sprintf("column %d is read and %s beside it not: another can be chosen", chosen+1, count(also, "other")))
	}
	return chosen, nil
}

// numericColumns counts the numbers of each column, up to [maxShape].
func (t *table) numericColumns(lines []line) []int {
	var n []int
	for _, l := range lines[t.first : t.last+1] {
		if t.look(l, t.axis).kind == lineBlank {
			continue
		}
		c := 0
		for rest, more := t.body(l.text), true; more && c < maxShape; c++ {
			var cell []byte
			cell, rest, more = t.next(rest)
			if l.cut && !more {
				break
			}
			if c == len(n) {
				n = append(n, 0)
			}
			if _, kind := parseCell(cell, t.mark); kind == cellNumber || kind == cellGrouped {
				n[c]++
			}
		}
	}
	return n
}

// samples reads the table's rows.
func (t *table) samples(lines []line, column int, r *Report) ([]sample, *Problem) {
	out := make([]sample, 0, t.rows)
	for i := t.first; i <= t.last; i++ {
		switch t.look(lines[i], t.axis).kind {
		case lineBlank:
			continue
		case lineGap:
			r.skip(i+1, "the wavelength is missing")
			continue
		}
		var x, v []byte
		found := false
		c := 0
		for rest, more := t.body(lines[i].text), true; more && c <= max(t.axis, column); c++ {
			var cell []byte
			cell, rest, more = t.next(rest)
			switch c {
			case t.axis:
				x = cell
			case column:
				v, found = cell, true
			}
		}
		if !found {
			if c < column {
				return nil, &Problem{Line: i + 1, Found: count(c, "column"), Want: fmt.Sprintf("column %d was to be read", column+1)}
			}
			r.skip(i+1, "the value is missing")
			continue
		}
		wavelength, _ := parseCell(x, t.mark)
		value, kind := parseCell(v, t.mark)
		switch kind {
		case cellMissing:
			if len(v) == 0 {
				r.skip(i+1, "the value is missing")
			} else {
				r.skip(i+1, Quote(toText(v))+" stands for no value")
			}
		case cellOther:
			return nil, &Problem{Line: i + 1, Found: Quote(toText(v)) + " where a value should be", Want: "correct or remove the line"}
		default:
			out = append(out, sample{wavelength, value, i + 1})
		}
	}
	r.warnSkipped()
	if len(out) < 2 {
		return nil, &Problem{Found: count(len(out), "row") + " with a wavelength and a value", Want: "a spectrum needs at least two"}
	}
	return out, nil
}

func (r *Report) skip(line int, reason string) {
	r.Skipped = append(r.Skipped, Skip{line, reason})
}

func (r *Report) warnSkipped() {
	if n := len(r.Skipped); n > 0 {
		r.warn(fmt.Sprintf("%s skipped, the first at line %d: %s", count(n, "row"), r.Skipped[0].Line, r.Skipped[0].Reason))
	}
}

// toText returns bytes of a file as a string: they are UTF-8, or Windows-1252
// where a wide file was not decoded as a whole.
func toText(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	return string(latin(b))
}
