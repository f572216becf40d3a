package ingest

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"path"
	"path/filepath"
	"strings"
)

// Archive yields the files of a zip archive in their order, each read as one
// spectrum, with the error of each that is none; its name is the archive's, a
// slash and the entry's. Folders, hidden files and what other programs leave
// beside them are passed over. Nothing is written anywhere, and one file is held
// at a time.
//
// Where the archive itself is at fault the only error is a [*Problem]: a
// damaged one, more than 10 000 files, more than o.MaxBytes unpacked, a file
// that shrank more than a hundredfold. An entry whose name leads out of the
// archive is refused and the others go on.
func Archive(ctx context.Context, name string, f io.ReaderAt, size int64, o Options) iter.Seq2[*File, error] {
	return func(yield func(*File, error) bool) {
		fail := func(p *Problem) { p.File = filepath.Base(name); yield(nil, p) }
		archive, err := zip.NewReader(f, size)
		if err != nil {
			if errors.Is(err, zip.ErrFormat) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
				fail(&Problem{Found: "no zip archive, or a damaged one", Want: "save it again"})
			} else {
				yield(nil, fmt.Errorf("ingest: %s: %w", name, err))
			}
			return
		}
		if p := checkArchive(archive, &o); p != nil {
			fail(p)
			return
		}
		left, some := o.maxBytes(), false
		for _, e := range archive.File {
			if ctx.Err() != nil {
				yield(nil, ctx.Err())
				return
			}
			if passedOver(e.Name) {
				continue
			}
			some = true
			file, err := readFromArchive(name, e, &left, o)
			if !yield(file, err) {
				return
			}
		}
		if !some {
			fail(&Problem{Found: "a zip archive without files", Want: "it has to hold a spectrum in each"})
		}
	}
}

// passedOver reports a folder, a hidden file, or what systems leave in archives.
func passedOver(entry string) bool {
	if strings.HasSuffix(entry, "/") {
		return true
	}
	if strings.Contains(entry, "..") {
		return false // refused, not passed over
	}
	for _, part := range strings.Split(entry, "/") {
		if strings.HasPrefix(part, ".") || part == "__MACOSX" {
			return true
		}
	}
	return path.Base(entry) == "Thumbs.db"
}

// readFromArchive reads one entry; left is what may still be unpacked.
func readFromArchive(name string, e *zip.File, left *int64, o Options) (*File, error) {
	at := &Problem{File: filepath.Base(name)}
	entry := strings.ToValidUTF8(e.Name, "·")
	if !filepath.IsLocal(e.Name) || strings.ContainsAny(e.Name, "\\:\x00") {
		at.Found, at.Want = "an entry "+Quote(entry)+" whose name leads out of the archive", "the other entries are read"
		return nil, at
	}
	if e.Flags&1 != 0 {
		at.Found, at.Want = "an entry "+Quote(entry)+" behind a password", "save the archive without one"
		return nil, at
	}
	raw, err := readEntry(e, *left)
	switch {
	case errors.Is(err, errTooLong):
		at.Found, at.Want = "an entry "+Quote(entry)+" that is larger than it says", "the other entries are read"
		return nil, at
	case err != nil:
		at.Found, at.Want = "a damaged entry "+Quote(entry), "the other entries are read"
		return nil, at
	}
	*left -= int64(len(raw))
	return Read(name+"/"+entry, bytes.NewReader(raw), o)
}
