package ingest

import (
	"bytes"
	"fmt"
	"math"
)

// Table is a text's table of numbers with the lines above it, for readers of
// what is no spectrum.
type Table struct {
	Above   [][]string  // the cells of each line above that is not blank, the last thousand
	Columns [][]float64 // Columns[c][i] is in row i; NaN where a cell holds no value
	Lines   []int       // of the rows, from 1
}

// ReadTable finds the longest run of rows of numbers in a text, its separator
// and decimal mark, and parses it; a single column will do. maxValues bounds the
// numbers. The problem comes without file name.
func ReadTable(text []byte, maxValues int) (*Table, *Problem) {
	lines, whole := splitLines(text, 8*maxLines)
	if !whole {
		return nil, &Problem{Found: fmt.Sprintf("more than %d lines", 8*maxLines), Want: "cut the file into shorter ones"}
	}
	t, ok := findTable(lines, new(Options), 0)
	if single := singleColumn(lines); !ok || single.rows > t.rows {
		t = single
	}
	if t.rows < 2 {
		return nil, &Problem{Found: "no rows of numbers", Want: "a table has at least two"}
	}
	if t.width > 1 {
		if problem := t.interruption(lines); problem != nil {
			return nil, problem
		}
	}
	out := &Table{Columns: make([][]float64, t.width)}
	for _, l := range lines[max(0, t.first-maxHeader):t.first] {
		if text := uncomment(l.text, t.sep); len(trim(text)) > 0 {
			out.Above = append(out.Above, t.dialect.cells(text, maxShape))
		}
	}
	if t.rows > maxValues/t.width {
		return nil, &Problem{Found: fmt.Sprintf("more than %d numbers", maxValues), Want: "cut the file into shorter ones"}
	}
	var cells [][]byte
	for i, l := range lines[t.first : t.last+1] {
		if s := t.look(l, 0); s.kind == lineBlank && t.width > 1 || len(trim(l.text)) == 0 {
			continue
		}
		cells = t.split(l.text, cells, t.width)
		for c := range out.Columns {
			v := math.NaN()
			if c < len(cells) {
				x, kind := parseCell(cells[c], t.mark)
				switch kind {
				case cellNumber, cellGrouped:
					v = x
				case cellOther:
					return nil, &Problem{Line: t.first + i + 1, Found: Quote(toText(cells[c])) + " where a number should be", Want: "correct or remove the line"}
				}
			}
			out.Columns[c] = append(out.Columns[c], v)
		}
		out.Lines = append(out.Lines, t.first+i+1)
	}
	return out, nil
}

// singleColumn finds the longest run of lines that are one number each.
func singleColumn(lines []line) table {
	best := table{run: run{width: 1}}
	for _, mark := range []byte(".,") {
		now := table{dialect: dialect{sep: '\t', mark: mark}, run: run{width: 1}}
		for i, l := range lines {
			text := trim(l.text)
			if len(text) == 0 {
				continue
			}
			if _, kind := parseCell(text, mark); kind != cellNumber && kind != cellMissing || bytes.IndexByte(text, '\t') >= 0 {
				now.rows = 0
				continue
			}
			if now.rows == 0 {
				now.first = i
			}
			now.last = i
			if now.rows++; now.rows > best.rows {
				best = now
			}
		}
	}
	return best
}
