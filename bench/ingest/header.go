package ingest

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// Pair is one “key: value” of a file's header.
type Pair struct {
	Key   string `json:"key"`
	Value string `json:"value"`
}

// maxHeader is how many header lines are kept, maxHeaderLine how many bytes of
// each, and maxNames how many column names a report lists.
const (
	maxHeader     = 1000
	maxHeaderLine = 500
	maxNames      = 64
)

// header is what the text around a table says.
type header struct {
	lines []string // non-blank, as written
	pairs []Pair
	names []string // of the columns; nil where there is no such row
	units []string // of the columns, from a row of their own; nil where there is none
	row   int      // index of the line with the names, -1 where there is none
}

// readHeader collects what stands above and below a table, with the headings of
// so many columns at most.
func readHeader(lines []line, t *table, cells int) header {
	h := header{row: -1}
	at, row := above(lines, t, t.first, cells)
	unitsRow := -1
	if isUnitsRow(row) {
		h.units, unitsRow = row, at
		at, row = above(lines, t, at, cells)
	}
	if at >= 0 && isNamesRow(row) {
		h.names, h.row = row, at
	}
	for i, l := range lines {
		if body := trim(l.text); len(body) == 0 || i >= t.first && i <= t.last && !isComment(body, t.sep) {
			continue
		}
		text := strings.TrimSpace(toText(l.text))
		if text == "" {
			continue
		}
		if len(text) > maxHeaderLine {
			text = strings.ToValidUTF8(text[:maxHeaderLine], "") + "…"
		}
		if len(h.lines) < maxHeader {
			h.lines = append(h.lines, text)
			if p, ok := pairOf(text, t.sep); ok && i != h.row && i != unitsRow {
				h.pairs = append(h.pairs, p)
			}
		}
	}
	return h
}

// above returns the nearest line with text above a line, as cells.
func above(lines []line, t *table, below, limit int) (at int, cells []string) {
	for at = below - 1; at >= 0; at-- {
		text := uncomment(lines[at].text, t.sep)
		if len(bytes.Trim(text, " \t-=_*|+")) == 0 {
			continue
		}
		decoded := toText(text)
		if t.sep == ' ' {
			if lines[at].cut || lines[t.first].cut || t.width == maxShape {
				f := strings.Fields(decoded)
				return at, f[:min(len(f), limit)]
			}
			return at, spacedCells(decoded, t.width)
		}
		return at, t.dialect.cells([]byte(decoded), limit)
	}
	return -1, nil
}

// uncomment removes the sign that makes a line a comment.
func uncomment(text []byte, sep byte) []byte {
	text = bytes.TrimLeft(text, " ")
	if len(text) > 0 && isComment(text, sep) {
		text = bytes.TrimLeft(bytes.TrimLeft(text, string(text[:1])), " ")
	}
	return text
}

// spacedCells splits a heading of a table whose columns stand apart by spaces:
// at tabs or wide gaps if that gives the right number, else at every space.
func spacedCells(text string, want int) []string {
	wide := strings.FieldsFunc(strings.ReplaceAll(text, "  ", "\t"), func(r rune) bool { return r == '\t' })
	for i := range wide {
		wide[i] = strings.TrimSpace(wide[i])
	}
	if len(wide) == want {
		return wide
	}
	if f := strings.Fields(text); len(f) == want {
		return f
	}
	return nil
}

// isUnitsRow reports a row that holds units and nothing else.
func isUnitsRow(cells []string) bool {
	found := 0
	for _, c := range cells {
		c = strings.Trim(c, "[]() ")
		if c == "" {
			continue
		}
		if _, ok := wavelengthUnits[strings.ToLower(c)]; ok {
			found++
			continue
		}
		if _, ok := parseUnit(c); !ok {
			return false
		}
		found++
	}
	return found > 0 && len(cells) > 1
}

// isNamesRow reports a row that can head the columns: two cells or more, and
// not a key with its value.
func isNamesRow(cells []string) bool {
	if len(cells) < 2 || strings.HasSuffix(cells[0], ":") {
		return false
	}
	if len(cells) == 2 {
		return cells[1] != "" && !unicode.IsDigit([]rune(cells[1])[0])
	}
	return true
}

// pairOf reads “key: value”, “key=value”, “key<TAB>value”, and the same with
// the table's own separator.
func pairOf(text string, sep byte) (Pair, bool) {
	text = strings.TrimSpace(strings.TrimLeft(text, "#%!/; \t"))
	i := strings.IndexAny(text, ":=\t")
	width := 1
	if i < 0 && sep != ' ' {
		i = strings.IndexByte(text, sep)
	}
	if i <= 0 {
		return Pair{}, false
	}
	clean := func(s string) string { return strings.Trim(s, " \t\"'"+string(rune(sep))) }
	key, value := clean(text[:i]), clean(text[i+width:])
	if key == "" || value == "" || len(key) > 60 || strings.HasPrefix(value, "//") || strings.IndexFunc(key, unicode.IsLetter) < 0 {
		return Pair{}, false
	}
	return Pair{key, value}, true
}

// valueUnit finds the unit of a value column (index, from 0) and says where.
func (h *header) valueUnit(column int) (u unit, from string, ok bool) {
	if column < len(h.names) {
		if u, ok := unitIn(h.names[column]); ok {
			return u, fmt.Sprintf("the heading of column %d", column+1), true
		}
	}
	if column < len(h.units) {
		if u, ok := parseUnit(strings.Trim(h.units[column], "[]() ")); ok {
			return u, "the row of units", true
		}
	}
	for _, p := range h.pairs {
		low := strings.ToLower(p.Key)
		if strings.Contains(low, "unit") || strings.Contains(low, "einheit") || strings.Contains(low, "quantity") {
			if u, ok := unitIn(p.Value); ok {
				return u, "“" + p.Key + "” in the header", true
			}
		}
	}
	// Anywhere else only a spectral density is taken at its word: “counts” or
	// “W” in a header can be about anything.
	for _, l := range h.lines {
		for _, part := range append(parts(l), strings.Fields(l)...) {
			if u, ok := parseUnit(part); ok && u.perNm && u.quantity.Absolute() {
				return u, "the header", true
			}
		}
	}
	return unit{}, "", false
}

// axisUnit finds the unit of the wavelength column.
func (h *header) axisUnit(column int) WavelengthUnit {
	for _, row := range [][]string{h.names, h.units} {
		if column < len(row) {
			if isPixel(row[column]) {
				return pixelUnit
			}
			if u := wavelengthUnitIn(strings.Trim(row[column], "[]() ")); u != AutoUnit {
				return u
			}
		}
	}
	return AutoUnit
}

// axisColumn returns the index of the column whose heading says wavelength: 0
// where the first one does or none.
func (h *header) axisColumn() int {
	for i, n := range h.names {
		if isWavelength(n) {
			return i
		}
	}
	return 0
}

// long reports headings of a time and of a wavelength.
func (h *header) long() bool {
	return slices.ContainsFunc(h.names, isTime) && slices.ContainsFunc(h.names, isWavelength)
}
