package ingest

import (
	"errors"
	"io"
)

// ErrSingle says that a file holds one spectrum: [Read] takes it.
var ErrSingle = errors.New("ingest: the file holds one spectrum")

// Wide is a text file with one wavelength column and several spectra.
type Wide struct{ columns int }

// OpenWide opens a batch.
func OpenWide(name string, f io.ReaderAt, size int64, o Options) (*Wide, error) {
	return nil, ErrSingle
}

// Columns returns the number of spectra.
func (w *Wide) Columns() int { return w.columns }
