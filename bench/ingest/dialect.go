package ingest

import (
	"bytes"
	"math"
)

// dialect is how a text writes a table: what stands between cells, what marks
// the decimals, and whether cells can be quoted.
type dialect struct {
	sep    byte // ' ' is any run of spaces and tabs
	mark   byte
	quoted bool
}

// next cuts the first cell off b. more is false when it was the last. Cells
// come without surrounding spaces and quotes.
func (d dialect) next(b []byte) (cell, rest []byte, more bool) {
	if d.sep == ' ' {
		b = bytes.TrimLeft(b, " \t")
	}
	if d.quoted {
		if t := bytes.TrimLeft(b, " "); len(t) > 0 && t[0] == '"' {
			if end := closingQuote(t); end > 0 {
				_, rest, more = d.cut(t[end:])
				if cell = t[1 : end-1]; bytes.IndexByte(cell, '"') >= 0 {
					cell = bytes.ReplaceAll(cell, []byte(`""`), []byte(`"`))
				}
				return trim(cell), rest, more
			}
		}
	}
	cell, rest, more = d.cut(b)
	return trim(cell), rest, more
}

// cut splits at the first separator.
func (d dialect) cut(b []byte) (cell, rest []byte, more bool) {
	if d.sep != ' ' {
		return bytes.Cut(b, []byte{d.sep})
	}
	i := bytes.IndexAny(b, " \t")
	if i < 0 {
		return b, nil, false
	}
	rest = bytes.TrimLeft(b[i:], " \t")
	return b[:i], rest, len(rest) > 0
}

// body returns what of a line holds cells: no outer spaces, and no outer pipes
// where pipes separate.
func (d dialect) body(text []byte) []byte {
	switch d.sep {
	case '\t': // a tab at the end means a blank cell
		return bytes.Trim(text, " ")
	case '|':
		text = trim(text)
		if bytes.HasPrefix(text, []byte{'|'}) {
			text = bytes.TrimSuffix(text[1:], []byte{'|'})
		}
	}
	return trim(text)
}

// cells returns up to limit cells of a line.
func (d dialect) cells(text []byte, limit int) []string {
	var out []string
	for rest, more := d.body(text), true; more && len(out) < limit; {
		var cell []byte
		cell, rest, more = d.next(rest)
		out = append(out, string(cell))
	}
	return out
}

// maxQuoted is how long a quoted cell can be: a quote that never closes is not
// searched through the whole line for every cell.
const maxQuoted = 1 << 16

// closingQuote returns the index after the quote that ends the cell that
// begins b, 0 where there is none. A doubled quote stands for itself.
func closingQuote(b []byte) int {
	b = b[:min(len(b), maxQuoted)]
	for i := 1; i < len(b); i++ {
		if b[i] != '"' {
			continue
		}
		if i+1 < len(b) && b[i+1] == '"' {
			i++
			continue
		}
		return i + 1
	}
	return 0
}

// trim removes spaces, including the non-breaking one that spreadsheets write.
func trim(b []byte) []byte {
	const space = " \t\u00a0\u202f"
	if len(b) == 0 || b[0] > ' ' && b[0] < 0x80 && b[len(b)-1] > ' ' && b[len(b)-1] < 0x80 {
		return b
	}
	return bytes.Trim(b, space)
}

// A line's part in a table.
type lineKind uint8

const (
	lineData  lineKind = iota // a number, and beside it another or a missing value
	lineGap                   // like data, but the first cell is missing
	lineBlank                 // blank, only separators, or a comment
	lineOther
)

// shape is what a line looks like in a dialect.
type shape struct {
	kind     lineKind
	first    float64 // the number in the axis column
	numbered bool    // there is one
	cells    int     // seen, up to maxShape
	grouped  int     // numbers with thousands marks
	other    int     // cells that are neither numbers nor missing
}

// maxShape is how many cells of a line decide its shape.
const maxShape = 64

// look classifies a line; axis is the index of the wavelength column.
func (d dialect) look(l line, axis int) shape {
	text := d.body(l.text)
	if len(text) == 0 || isComment(text, d.sep) {
		return shape{kind: lineBlank}
	}
	var s shape
	numbers, missing, blank := 0, 0, 0
	first := cellOther
	for rest, more := text, true; more && s.cells < maxShape; {
		var cell []byte
		cell, rest, more = d.next(rest)
		if l.cut && !more {
			break // the cell may go on
		}
		v, kind := parseCell(cell, d.mark)
		if s.cells == axis {
			first, s.first = kind, v
		}
		s.cells++
		switch kind {
		case cellGrouped:
			s.grouped++
			numbers++
		case cellNumber:
			numbers++
		case cellMissing:
			missing++
			if len(cell) == 0 {
				blank++
			}
		default:
			s.other++
		}
	}
	s.numbered = first == cellNumber || first == cellGrouped
	switch {
	case blank == s.cells:
		s.kind = lineBlank
	case s.numbered && numbers+missing > 1:
		s.kind = lineData
	case first == cellMissing && numbers > 0:
		s.kind = lineGap
	case numbers+s.other == 0: // a ruler of dashes
		s.kind = lineBlank
	default:
		s.kind = lineOther
	}
	return s
}

// isComment reports a line that a comment sign opens. A semicolon is one only
// where it does not separate cells.
func isComment(text []byte, sep byte) bool {
	switch text[0] {
	case '#', '%', '!':
		return true
	case ';':
		return sep != ';'
	case '/':
		return len(text) > 1 && text[1] == '/'
	}
	return false
}

// run is a stretch of data lines: indices of its first and last one, and how
// many there are between blank lines and gaps.
type run struct {
	first, last      int
	rows             int
	from, to         float64 // wavelengths of the first and the last row
	width            int     // cells of the first row
	grouped, other   int
	rising, tripping int // steps up, and steps against the majority so far
}

// runs returns the stretches of data lines in a dialect.
func (d dialect) runs(lines []line, axis int) []run {
	var all []run
	open := false
	for i, l := range lines {
		s := d.look(l, axis)
		switch s.kind {
		case lineData:
			if !open {
				all = append(all, run{first: i, from: s.first, width: s.cells})
				open = true
			}
			r := &all[len(all)-1]
			if r.rows > 0 {
				if s.first > r.to {
					r.rising++
				} else {
					r.tripping++
				}
			}
			r.last, r.to = i, s.first
			r.rows++
			r.grouped += s.grouped
			r.other += s.other
		case lineOther:
			open = false
		}
	}
	return all
}

// disorder counts the steps against the run's direction.
func (r *run) disorder() int { return min(r.rising, r.tripping) }

// step returns the mean distance of its rows' wavelengths.
func (r *run) step() float64 {
	if r.rows < 2 {
		return 0
	}
	return math.Abs(r.to-r.from) / float64(r.rows-1)
}

// table is a text's table: the dialect it is written in and where it stands.
type table struct {
	dialect
	run
	axis   int   // index of the wavelength column
	others []run // the other stretches of data lines, in order
}

// dialects lists the ways in which a text can be written, as far as its
// characters and the options allow.
func dialects(lines []line, o *Options) []dialect {
	var present [256]bool
	for _, l := range lines {
		for _, c := range l.text {
			present[c] = true
		}
	}
	var all []dialect
	for _, sep := range []byte("\t;|, ") {
		if o.Separator != 0 && rune(sep) != o.Separator || !present[sep] && !(sep == ' ' && present['\t']) {
			continue
		}
		for _, mark := range []byte(".,") {
			d := dialect{sep, mark, present['"']}
			switch {
			case o.Decimal != 0 && rune(mark) != o.Decimal:
			case mark == ',' && !present[','] && o.Decimal == 0:
			case mark == sep && !d.quoted:
			default:
				all = append(all, d)
			}
		}
	}
	return all
}

// split cuts a line into at most limit cells, reusing into. Blank cells at the
// end are left out.
func (d dialect) split(text []byte, into [][]byte, limit int) [][]byte {
	into = into[:0]
	for rest, more := d.body(text), true; more && len(into) < limit; {
		var cell []byte
		cell, rest, more = d.next(rest)
		into = append(into, cell)
	}
	for len(into) > 0 && len(into[len(into)-1]) == 0 {
		into = into[:len(into)-1]
	}
	return into
}

// findTable decides separator and decimal mark together: the pair whose longest
// run of data lines is the longest, and among equals the one that explains more
// (fewer cells of text, fewer thousands marks, wavelengths in order). ok is false where
// no pair makes a row.
func findTable(lines []line, o *Options, axis int) (t table, ok bool) {
	for _, d := range dialects(lines, o) {
		all := d.runs(lines, axis)
		for i, r := range all {
			if !ok || better(&r, &t.run) {
				t = table{d, r, axis, append(append([]run(nil), all[:i]...), all[i+1:]...)}
				ok = true
			}
		}
	}
	return t, ok
}

// better orders runs of different dialects.
func better(a, b *run) bool {
	for _, c := range [][2]int{
		{a.rows, b.rows},
		{b.other, a.other},
		{b.grouped, a.grouped},
		{b.disorder(), a.disorder()},
	} {
		if c[0] != c[1] {
			return c[0] > c[1]
		}
	}
	return false
}
