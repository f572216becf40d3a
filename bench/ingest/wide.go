package ingest

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"unicode/utf8"

	"lampassay/light/spectrum"
)

// ErrSingle says that a file holds one spectrum, or is asked for one of its
// columns: [Read] takes it.
var ErrSingle = errors.New("ingest: the file holds one spectrum")

// Wide is a text file with one wavelength column and several spectra beside it.
// It does not change once open.
type Wide struct {
	Name       string
	SHA256     string    // of the file's bytes, hexadecimal
	Axis       []float64 // wavelengths in nm, increasing
	Quantity   spectrum.Quantity
	Projection spectrum.Projection
	Report     Report

	file           io.ReaderAt
	dialect        dialect
	columns        int
	first          int     // index in the file of the first value column
	heading        stretch // the line of names; empty where there is none
	headingDialect dialect
	rows           []row     // in the file's order
	unit           unit      // what Parse applies
	factor         []float64 // per sample, from the axis conversion; nil where it is 1
}

// row is one data row: what is unread of it, its line, and the index of its
// sample on the axis.
type row struct {
	stretch
	line  int
	place int
}

// OpenWide reads the axis of a file with several spectra and where its rows
// stand, in one pass. It returns [ErrSingle] where there is one spectrum or
// o.Column chooses one, and a [*Problem] where the file cannot be read as
// either. f must stay as it is until the last block has been read. UTF-16 and
// spreadsheets are held in memory, up to o.MaxBytes; everything else is not.
//
// A cell without a value fails its column, not the file: see [Block.Parse].
// Repeated wavelengths are refused.
func OpenWide(name string, f io.ReaderAt, size int64, o Options) (*Wide, error) {
	if o.Recipe != nil {
		return o.Recipe.openWide(name, f, size, o)
	}
	if o.Column != 0 {
		return nil, ErrSingle
	}
	w := &Wide{Name: name, file: f}
	if err := w.open(size, &o); err != nil {
		var problem *Problem
		if errors.As(err, &problem) {
			problem.File = filepath.Base(name)
			return nil, problem
		}
		if !errors.Is(err, ErrSingle) {
			err = fmt.Errorf("ingest: %s: %w", name, err)
		}
		return nil, err
	}
	return w, nil
}

// Columns returns the number of spectra.
func (w *Wide) Columns() int { return w.columns }

func (w *Wide) open(size int64, o *Options) error {
	head := make([]byte, min(size, sniffLength))
	if _, err := w.file.ReadAt(head, 0); err != nil && err != io.EOF {
		return err
	}
	begin := int64(0)
	enc := textEncoding{name: "a spreadsheet"}
	if !isZip(head) {
		var problem *Problem
		if enc, problem = sniff(head); problem != nil {
			return problem
		}
		begin = int64(enc.mark)
	}
	w.Report.Encoding = enc.name
	if enc.decoder != nil || isZip(head) {
		raw, err := readAll(io.NewSectionReader(w.file, 0, size), o.maxBytes())
		if errors.Is(err, errTooLong) {
			return &Problem{Found: fmt.Sprintf("more than %d MB of %s", o.maxBytes()>>20, enc.name), Want: "save it as UTF-8"}
		} else if err != nil {
			return err
		}
		sum := sha256.Sum256(raw)
		w.SHA256 = hex.EncodeToString(sum[:])
		text, problem := textOf(raw, o, &w.Report)
		if problem != nil {
			return problem
		}
		w.file, size, begin = bytes.NewReader(text), int64(len(text)), 0
		head = text[:min(len(text), sniffLength)]
	}
	if isTree(head[min(begin, int64(len(head))):]) {
		return ErrSingle
	}
	if err := countLines(w.file, size); err != nil {
		return err
	}
	lines, where, sum, err := scanLines(w.file, begin, size)
	if err != nil {
		return err
	}
	if w.SHA256 == "" {
		w.SHA256 = sum
	}
	return w.layout(lines, where, o)
}

// isTree reports the beginning of an XML or JSON document.
func isTree(head []byte) bool {
	head = bytes.TrimLeft(head, " \t\r\n")
	if len(head) == 0 || head[0] != '[' && head[0] != '{' {
		return len(head) > 0 && head[0] == '<'
	}
	head = bytes.TrimLeft(head[1:], " \t\r\n")
	return len(head) > 0 && bytes.IndexByte([]byte(`"[{-0123456789`), head[0]) >= 0
}

// layout finds the table and prepares the rows.
func (w *Wide) layout(lines []line, where []stretch, o *Options) error {
	for _, l := range lines {
		if l.cut {
			continue
		}
		if !utf8.Valid(l.text) {
			w.Report.Encoding = "Windows-1252"
			break
		}
	}
	if len(lines) == 0 {
		return &Problem{Found: "nothing: the file is empty", Want: "a spectrum is rows of wavelength and value"}
	}
	if p := otherLayout(lines, o); p != nil {
		return p
	}
	t, h, problem := layout(lines, o)
	if problem != nil {
		return problem
	}
	r := &w.Report
	r.Format = formatWide
	w.first = t.axis + 1
	if err := w.count(lines, where, &t); err != nil {
		return err
	}
	if w.columns < 2 {
		return ErrSingle
	}
	r.layout(lines, &t, &h)
	r.Spectra = w.columns
	if t.axis > 0 {
		r.warn(fmt.Sprintf("the wavelengths are in column %d: what stands before is not read", t.axis+1))
	}
	u, from, known := h.valueUnit(w.first)
	w.unit = chooseUnit(u, from, known, o, r)
	w.Quantity = w.unit.quantity
	if problem := w.readAxis(lines, where, &t, &h, o); problem != nil {
		return problem
	}
	w.dialect = t.dialect
	w.dialect.quoted = false // quotes in the headings do not slow the numbers down
	for _, at := range w.rows {
		w.dialect.quoted = w.dialect.quoted || bytes.IndexByte(lines[at.line-1].text, '"') >= 0
	}
	if err := w.findHeading(lines, where, &h, t.dialect); err != nil {
		return err
	}
	kind, problem := chooseProjection(w.Axis, o, r)
	if problem != nil {
		return problem
	}
	w.Projection = kind
	r.describe(w.Axis)
	return nil
}

// findHeading notes where the spectra's names stand, if a line names them all.
func (w *Wide) findHeading(lines []line, where []stretch, h *header, d dialect) error {
	if h.row < 0 {
		return nil
	}
	at := where[h.row]
	text := lines[h.row].text
	at.from += int64(bytes.Index(text, d.body(uncomment(text, d.sep))))
	cells, err := w.countCells(d, at)
	if err != nil || cells < w.first+w.columns {
		return err
	}
	w.heading, w.headingDialect = at, d
	return nil
}

// count finds how many value columns there are: up to the last that holds
// numbers where all rows are short, else as many as the first row has cells.
func (w *Wide) count(lines []line, where []stretch, t *table) error {
	numeric := t.numericColumns(lines)
	spectra := 0
	for c, n := range numeric {
		if c > t.axis && n*2 >= t.rows {
			spectra++
			w.columns = c - t.axis
		}
	}
	if spectra < 2 {
		w.columns = spectra
	}
	// A row whose beginning is all that was kept has more cells than that shows.
	cut := slices.ContainsFunc(lines[t.first:t.last+1], func(l line) bool { return l.cut })
	if !cut && len(numeric) < maxShape {
		return nil
	}
	cells, err := w.countCells(t.dialect, where[t.first])
	if err != nil {
		return err
	}
	if w.columns = cells - t.axis - 1; w.columns < 2 {
		return ErrSingle
	}
	return nil
}

// countCells counts the cells of a row, without blank ones at its end.
func (w *Wide) countCells(d dialect, at stretch) (int, error) {
	buf := make([]byte, 64<<10)
	total := 0
	for at.from < at.to {
		n, err := w.file.ReadAt(buf[:min(at.to-at.from, int64(len(buf)))], at.from)
		if n == 0 && err != nil {
			return 0, err
		}
		used, cells := d.skip(buf[:n], math.MaxInt, at.from+int64(n) == at.to)
		if cells == 0 {
			return 0, tooLongCell()
		}
		total += cells
		if at.from += int64(used); at.from == at.to && d.sep != ' ' {
			tail := bytes.TrimRight(buf[:used], " \t"+string(rune(d.sep)))
			total -= max(0, bytes.Count(buf[len(tail):used], []byte{d.sep})-1)
		}
	}
	return total, nil
}

// readAxis takes the wavelengths from the lines' beginnings and notes where
// each row's first value stands.
func (w *Wide) readAxis(lines []line, where []stretch, t *table, h *header, o *Options) *Problem {
	r := &w.Report
	var samples []sample
	for i := t.first; i <= t.last; i++ {
		s := t.look(lines[i], t.axis)
		switch s.kind {
		case lineGap:
			r.skip(i+1, "the wavelength is missing")
		case lineData:
			samples = append(samples, sample{s.first, 1, i + 1})
		}
	}
	r.warnSkipped()
	axis, problem := settleAxis(samples, o, h.axisUnit(t.axis), r)
	if problem != nil {
		return problem
	}
	w.Axis = axis.nm
	if axis.factor != nil {
		w.factor = make([]float64, len(samples))
	}
	w.rows = make([]row, len(samples))
	for i, s := range samples {
		if w.factor != nil {
			w.factor[axis.place[i]] = axis.factor[i]
		}
		text := lines[s.line-1].text
		body := t.body(text)
		rest := body
		for range t.axis + 1 {
			_, rest, _ = t.next(rest)
		}
		at := where[s.line-1]
		at.from += int64(bytes.Index(text, body) + len(body) - len(rest))
		w.rows[i] = row{at, s.line, axis.place[i]}
	}
	r.Rows = len(w.rows)
	return nil
}
