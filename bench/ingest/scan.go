package ingest

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
)

// stretch is a piece of the file.
type stretch struct{ from, to int64 }

// Limits of what OpenWide keeps of each line to find the table, and of all
// lines together.
const (
	headBytes  = 512
	headsTotal = 64 << 20
)

// countedBytes is how much of a file is looked through for its lines before any is
// taken apart: whole files of one spectrum, and the beginnings of those of many.
const countedBytes = 64 << 20

// countLines refuses a file with too many lines, in little time and room.
func countLines(f io.ReaderAt, size int64) error {
	buf := make([]byte, 1<<20)
	lines := 0
	for at, end := int64(0), min(size, countedBytes); at < end; {
		n, err := f.ReadAt(buf[:min(end-at, int64(len(buf)))], at)
		if n == 0 && err != nil {
			return err
		}
		if lines += bytes.Count(buf[:n], []byte{'\n'}); lines > maxLines {
			return tooManyLines()
		}
		at += int64(n)
	}
	return nil
}

// scanLines goes once through a file and returns the beginning of every line,
// where it stands, and the SHA-256 of it all, which a second goroutine reckons.
func scanLines(f io.ReaderAt, begin, size int64) (lines []line, where []stretch, sum string, err error) {
	hash := sha256.New()
	read, free, hashed := make(chan []byte, 1), make(chan []byte, 2), make(chan struct{})
	go func() {
		defer close(hashed)
		for b := range read {
			hash.Write(b)
			free <- b[:cap(b)]
		}
	}()
	free <- make([]byte, 1<<20)
	free <- make([]byte, 1<<20)
	defer func() {
		close(read)
		<-hashed
		sum = hex.EncodeToString(hash.Sum(nil))
	}()
	var head []byte
	kept := 0
	start := begin
	eol := byte(0)
	final := byte(0) // the line's last byte so far
	finish := func(end int64) {
		if final == '\r' {
			end--
		}
		final = 0
		l := line{text: head[:min(int64(len(head)), end-start)], cut: end-start > headBytes}
		if l.cut { // a character may be cut in two
			l.text = bytes.TrimRightFunc(l.text, func(r rune) bool { return r >= 0x80 })
		}
		lines = append(lines, l)
		where = append(where, stretch{start, end})
		head = nil
	}
	for at := int64(0); at < size; {
		buf := <-free
		n, err := f.ReadAt(buf[:min(size-at, int64(len(buf)))], at)
		if n == 0 && err != nil {
			return nil, nil, "", err
		}
		read <- buf[:n]
		chunk := buf[:n]
		if at == 0 {
			eol = '\n'
			if bytes.IndexByte(chunk, '\n') < 0 && bytes.IndexByte(chunk, '\r') >= 0 {
				eol = '\r'
			}
			chunk = chunk[min(begin, int64(n)):]
		}
		at += int64(n)
		for len(chunk) > 0 {
			end := bytes.IndexByte(chunk, eol)
			piece := chunk
			if end >= 0 {
				piece = chunk[:end]
			}
			if len(piece) > 0 {
				final = piece[len(piece)-1]
			}
			if room := headBytes - len(head); room > 0 && len(piece) > 0 {
				if kept += min(room, len(piece)); kept > headsTotal {
					return nil, nil, "", &Problem{Found: fmt.Sprintf("%d long lines and more", len(lines)), Want: "a table of spectra has a row for each wavelength: check that this is the right file"}
				}
				head = append(head, piece[:min(room, len(piece))]...)
			}
			if end < 0 {
				break
			}
			pos := at - int64(len(chunk)) + int64(end)
			if len(lines) == maxLines {
				return nil, nil, "", tooManyLines()
			}
			finish(pos)
			start = pos + 1
			chunk = chunk[end+1:]
		}
	}
	if start < size {
		finish(size)
	}
	return lines, where, "", nil
}
