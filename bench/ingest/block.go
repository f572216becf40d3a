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
// every byte once; what it holds is one block and some 8 MB read ahead. It ends after the
// first error, which is ctx's or the file's. It panics where n is not positive.
func (w *Wide) Blocks(ctx context.Context, n int) iter.Seq2[*Block, error] {
	if n <= 0 {
		panic("ingest: a block needs at least one column")
	}
	return func(yield func(*Block, error) bool) {
		rows := make([]cursor, len(w.rows))
		for i, r := range w.rows {
			rows[i].stretch = r.stretch
		}
		heading := cursor{stretch: w.heading}
		if _, err := w.take(nil, &heading, w.headingDialect, w.first); err != nil {
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
func (w *Wide) block(ctx context.Context, first, n int, rows []cursor, heading *cursor) (*Block, error) {
	b := &Block{First: first, wide: w, ends: make([]int, len(rows))}
	// Columns are about equally wide, so the block takes their share of what is
	// left, and a little more where they vary.
	total := int64(0)
	for i := range rows {
		total += rows[i].to - rows[i].from + int64(len(rows[i].unread))
	}
	b.raw = make([]byte, 0, int(float64(total)*float64(n)/float64(w.columns-first)*1.02)+64)
	for i := range rows {
		if i%256 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		var err error
		if b.raw, err = w.take(b.raw, &rows[i], w.dialect, n); err != nil {
			return nil, err
		}
		b.ends[i] = len(b.raw)
	}
	names, err := w.take(nil, heading, w.headingDialect, n)
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

// cursor stands in a row: unread is what has been read ahead of it, and the
// stretch what follows in the file.
type cursor struct {
	stretch
	unread []byte
	ahead  []byte // what unread lies in
}

// How much is read ahead of all rows together, and of one row: enough to spare
// most system calls, and no more than a few blocks.
const (
	aheadTotal = 8 << 20
	aheadRow   = 16 << 10
)

// maxCell is how wide a cell can be on average before the file is taken for
// something else.
const maxCell = 4 << 10

func tooLongCell() *Problem {
	return &Problem{Found: "cells of thousands of characters", Want: "check that this is the right file"}
}

// take appends the bytes of the next n cells of a row to buf, fewer where it
// ends, and moves on.
func (w *Wide) take(buf []byte, at *cursor, d dialect, n int) ([]byte, error) {
	for {
		used, cells := d.skip(at.unread, n, at.from == at.to)
		if cells == n || at.from == at.to {
			buf = append(buf, at.unread[:used]...)
			at.unread = at.unread[used:]
			return buf, nil
		}
		have := len(at.unread)
		if have > (n+16)*maxCell {
			p := tooLongCell()
			p.File = filepath.Base(w.Name)
			return nil, p
		}
		want := max(2*have, min(aheadRow, aheadTotal/len(w.rows)), 256)
		if len(at.ahead) < want {
			ahead := make([]byte, want)
			copy(ahead, at.unread)
			at.ahead = ahead
		} else {
			copy(at.ahead, at.unread)
		}
		k := int(min(int64(len(at.ahead)-have), at.to-at.from))
		if m, err := w.file.ReadAt(at.ahead[have:have+k], at.from); m < k {
			if err == io.EOF {
				err = io.ErrUnexpectedEOF // the file has shrunk
			}
			return nil, fmt.Errorf("ingest: %s: %w", w.Name, err)
		}
		at.from += int64(k)
		at.unread = at.ahead[:have+k]
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
		p.Found = Quote(toText(cell)) + ", which stands for no value"
	default:
		p.Found = Quote(toText(cell)) + " where a value should be"
	}
	return p
}
