package ingest

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"iter"
	"math"
	"path/filepath"
	"slices"
)

// Block is a run of neighbouring columns of a [Wide] file, read but not yet
// parsed. Blocks are independent of each other: each can be parsed in its own
// goroutine.
type Block struct {
	First int      // index of its first spectrum, from 0
	Names []string // the columns' headings, or “column 7” where the file has none

	wide *Wide
	raw  []byte
	ends []int // of each row in raw
}

// Blocks yields the file's spectra in order, n columns at a time. It reads
// every byte about once, and what it holds is one block. It ends after the
// first error, which is ctx's or the file's. It panics where n is not positive.
func (w *Wide) Blocks(ctx context.Context, n int) iter.Seq2[*Block, error] {
	if n <= 0 {
		panic("ingest: a block needs at least one column")
	}
	return func(yield func(*Block, error) bool) {
		rows := slices.Clone(w.rows)
		heading := w.heading
		if _, err := w.take(nil, &heading, w.headingDialect, w.first, 0); err != nil {
			yield(nil, err)
			return
		}
		for first := 0; first < w.columns; first += n {
			b, err := w.block(ctx, first, min(n, w.columns-first), rows, &heading)
			if !yield(b, err) || err != nil {
				return
			}
		}
	}
}

// block reads the next n columns of every row and moves the rows on.
func (w *Wide) block(ctx context.Context, first, n int, rows []row, heading *stretch) (*Block, error) {
	// Columns are about equally wide: a little more than their share of what is
	// left rarely needs a second look.
	share := func(at stretch) int {
		return int(float64(at.to-at.from)*float64(n)/float64(w.columns-first)*1.02) + 16
	}
	b := &Block{First: first, wide: w, ends: make([]int, len(rows))}
	total := 0
	for i := range rows {
		total += share(rows[i].stretch)
	}
	b.raw = make([]byte, 0, total)
	for i := range rows {
		if i%256 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		var err error
		b.raw, err = w.take(b.raw, &rows[i].stretch, w.dialect, n, share(rows[i].stretch))
		if err != nil {
			return nil, err
		}
		b.ends[i] = len(b.raw)
	}
	names, err := w.take(nil, heading, w.headingDialect, n, share(*heading))
	if err != nil {
		return nil, err
	}
	b.Names = make([]string, n)
	for c, more := 0, len(names) > 0; c < n; c++ {
		var cell []byte
		if more {
			cell, names, more = w.headingDialect.next(names)
		}
		if b.Names[c] = toText(cell); len(cell) == 0 {
			b.Names[c] = fmt.Sprintf("column %d", w.first+first+c+1)
		}
	}
	return b, nil
}

// maxCell is how wide a cell can be on average before the file is taken for
// something else.
const maxCell = 4 << 10

func tooLongCell() *Problem {
	return &Problem{Found: "cells of thousands of characters", Want: "check that this is the right file"}
}

// take appends the bytes of n cells at the beginning of a stretch to buf and
// moves the stretch on; fewer where it ends. guess is how many bytes to try.
func (w *Wide) take(buf []byte, at *stretch, d dialect, n, guess int) ([]byte, error) {
	start := len(buf)
	for want := max(guess, 64); ; want *= 2 {
		left := at.to - at.from
		k := int(min(int64(want), left))
		if k > (n+16)*maxCell {
			p := tooLongCell()
			p.File = filepath.Base(w.Name)
			return nil, p
		}
		buf = slices.Grow(buf[:start], k)[:start+k]
		if _, err := w.file.ReadAt(buf[start:], at.from); err != nil && (err != io.EOF || k > 0) {
			if err == io.EOF {
				err = io.ErrUnexpectedEOF // the file has shrunk
			}
			return nil, fmt.Errorf("ingest: %s: %w", w.Name, err)
		}
		used, cells := d.skip(buf[start:], n, int64(k) == left)
		if cells == n || int64(k) == left {
			at.from += int64(used)
			return buf[:start+used], nil
		}
	}
}

// skip returns how many bytes of b the first n cells take, each with the
// separator behind it, and how many cells there are, if fewer. last says that b
// reaches to the end of its row, which ends a cell too.
func (d dialect) skip(b []byte, n int, last bool) (used, cells int) {
	if d.quoted || d.sep == ' ' {
		return d.skipSlowly(b, n, last)
	}
	const stride = 512
	sep := []byte{d.sep}
	for at := 0; at < len(b) && cells < n; at += stride {
		chunk := b[at:min(at+stride, len(b))]
		switch c := bytes.Count(chunk, sep); {
		case c == 0:
		case cells+c < n:
			cells += c
			used = at + bytes.LastIndexByte(chunk, d.sep) + 1
		default:
			used = at
			for ; cells < n; cells++ {
				used += bytes.IndexByte(b[used:], d.sep) + 1
			}
		}
	}
	if last && cells < n && used < len(b) {
		return len(b), cells + 1
	}
	return used, cells
}

func (d dialect) skipSlowly(b []byte, n int, last bool) (used, cells int) {
	for cells < n && used < len(b) {
		cell := b[used:]
		if d.quoted && !last {
			if t := bytes.TrimLeft(cell, " \t"); len(t) > 0 && t[0] == '"' && closingQuote(t) == 0 {
				break // the quote may close beyond b
			}
		}
		_, rest, more := d.next(cell)
		if !more {
			if last {
				used, cells = len(b), cells+1
			}
			break
		}
		used = len(b) - len(rest)
		cells++
	}
	return used, cells
}

// Columns returns how many spectra the block has.
func (b *Block) Columns() int { return len(b.Names) }

// Parse parses the block's numbers into dst, one spectrum after the other: the
// value of column c at Axis[i] goes to dst[c*len(Axis)+i], in the SI unit of
// the file's Quantity. errs[c] becomes nil, or a [*Problem] where column c has a
// cell that holds no value; its numbers then mean nothing. It allocates only to
// tell of a problem. dst must have len(Axis) elements per column and errs one, or
// Parse panics.
func (b *Block) Parse(dst []float64, errs []error) {
	w := b.wide
	n, size := len(b.Names), len(w.Axis)
	if len(dst) != n*size || len(errs) != n {
		panic("ingest: the destination does not match the block")
	}
	clear(errs)
	sep, mark := w.dialect.sep, w.dialect.mark
	start := 0
	for i := range w.rows {
		rest := b.raw[start:b.ends[i]]
		start = b.ends[i]
		at := w.rows[i].place
		for c := range n {
			for len(rest) > 0 && rest[0] == ' ' {
				rest = rest[1:]
			}
			v, k := scanFloat(rest, mark)
			switch {
			case k == 0 || k < len(rest) && rest[k] != sep || math.Abs(v) > 9e37:
				var cell []byte
				var kind cellKind
				cell, rest, _ = w.dialect.next(rest)
				if v, kind = parseCell(cell, mark); kind >= cellMissing && errs[c] == nil {
					errs[c] = b.problem(c, &w.rows[i], cell, kind)
				}
			case k == len(rest):
				rest = nil
			default:
				rest = rest[k+1:]
			}
			dst[c*size+at] = v
		}
	}
	for c := range n {
		values := dst[c*size : (c+1)*size]
		for i, f := range w.factor {
			values[i] *= f
		}
		w.unit.apply(w.Axis, values)
		if i := slices.IndexFunc(values, func(v float64) bool { return math.IsInf(v, 0) }); i >= 0 && errs[c] == nil {
			errs[c] = &Problem{File: filepath.Base(w.Name), Column: b.Names[c], Found: fmt.Sprintf("a value at %g nm too large for its unit", w.Axis[i]), Want: "the other columns are read"}
		}
	}
}

func (b *Block) problem(column int, at *row, cell []byte, kind cellKind) error {
	p := &Problem{File: filepath.Base(b.wide.Name), Line: at.line, Column: b.Names[column], Want: "the other columns are read"}
	switch {
	case len(cell) == 0:
		p.Found = "nothing where a value should be"
	case kind == cellMissing:
		p.Found = quote(toText(cell)) + ", which stands for no value"
	default:
		p.Found = quote(toText(cell)) + " where a value should be"
	}
	return p
}
