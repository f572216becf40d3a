package ingest

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// isZip reports the beginning of a zip archive, which a spreadsheet is too.
func isZip(raw []byte) bool { return bytes.HasPrefix(raw, []byte("PK\x03\x04")) }

// sheetText returns a sheet of a spreadsheet as a text of one row a line, cells
// apart by tabs: numbers as they are stored, whatever format shows them, so that
// dates are serial dates.
func sheetText(raw []byte, o *Options, r *Report) ([]byte, *Problem) {
	archive, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return nil, &Problem{Found: "a spreadsheet or zip archive that is damaged", Want: "save it again"}
	}
	if problem := checkArchive(archive, o); problem != nil {
		return nil, problem
	}
	if _, err := archive.Open("xl/workbook.xml"); err != nil {
		if len(archive.File) == 1 {
			return nil, &Problem{Found: "a zip archive of 1 file", Want: "unpack it, or read it as a batch", kind: ErrArchive}
		}
		return nil, &Problem{Found: fmt.Sprintf("a zip archive of %d files", len(archive.File)), Want: "unpack it, or read it as a batch", kind: ErrArchive}
	}
	r.Encoding = "a spreadsheet"
	text, err := sheetRows(raw, o, r)
	var problem *Problem
	switch {
	case err == nil:
		return text, nil
	case errors.As(err, &problem):
		return nil, problem
	}
	return nil, &Problem{Found: "a spreadsheet that cannot be opened", Want: "save it again, without a password"}
}

// sheetRows reads the chosen sheet. The library is not proof against every
// damaged workbook: where it panics, that is what the error says.
func sheetRows(raw []byte, o *Options, r *Report) (text []byte, err error) {
	defer func() {
		if recover() != nil {
			text, err = nil, errors.New("the workbook is damaged")
		}
	}()
	book, err := excelize.OpenReader(bytes.NewReader(raw), excelize.Options{
		RawCellValue: true, UnzipSizeLimit: o.maxBytes(), UnzipXMLSizeLimit: o.maxBytes(), // in memory, nothing in a folder
	})
	if err != nil {
		return nil, err
	}
	defer book.Close()
	names := book.GetSheetList()
	if o.Sheet != "" {
		if !slices.Contains(names, o.Sheet) {
			return nil, &Problem{Found: "no sheet " + Quote(o.Sheet), Want: "it has " + listed(names)}
		}
		names = []string{o.Sheet}
	}
	var filled []string
	for _, name := range names {
		t, err := oneSheet(book, name, o)
		if err != nil {
			return nil, err
		}
		if len(bytes.TrimSpace(t)) > 0 {
			filled, text = append(filled, name), t
		}
	}
	switch {
	case len(filled) > 1:
		return nil, &Problem{Found: fmt.Sprintf("a spreadsheet of %d sheets", len(filled)), Want: "choose one: " + listed(filled)}
	case len(filled) == 0:
		return nil, &Problem{Found: "an empty spreadsheet", Want: "a spectrum is rows of wavelength and value"}
	}
	r.Sheet = filled[0]
	return text, nil
}

// oneSheet writes a sheet as text.
func oneSheet(book *excelize.File, name string, o *Options) ([]byte, error) {
	rows, err := book.Rows(name)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	flat := strings.NewReplacer("\t", " ", "\r", " ", "\n", " ")
	var b bytes.Buffer
	for rows.Next() {
		cells, err := rows.Columns()
		if err != nil {
			return nil, err
		}
		for i, c := range cells {
			if i > 0 {
				b.WriteByte('\t')
			}
			b.WriteString(flat.Replace(c))
		}
		b.WriteByte('\n')
		if int64(b.Len()) > o.maxBytes() {
			return nil, &Problem{Found: fmt.Sprintf("a sheet of more than %d MB", o.maxBytes()>>20), Want: "check that this is the right file"}
		}
	}
	return b.Bytes(), rows.Error()
}

// listed quotes the first of some names.
func listed(names []string) string {
	var out []string
	for _, n := range names[:min(len(names), mostMentioned)] {
		out = append(out, Quote(n))
	}
	if len(names) > mostMentioned {
		out = append(out, "…")
	}
	return strings.Join(out, ", ")
}

// Limits of an archive. Text of numbers shrinks five- or tenfold; what shrinks
// more than a hundredfold, beyond a megabyte, is no measurement.
const (
	maxEntries = 10000
	maxRatio   = 100
	freeRatio  = 1 << 20
)

// checkArchive refuses an archive by what its directory says. What a reader
// takes out of it is bounded again: the directory may lie.
func checkArchive(archive *zip.Reader, o *Options) *Problem {
	if len(archive.File) > maxEntries {
		return &Problem{Found: fmt.Sprintf("an archive of %d files", len(archive.File)), Want: fmt.Sprintf("split it: %d are read at most", maxEntries)}
	}
	total := uint64(0)
	for _, e := range archive.File {
		if size := e.UncompressedSize64; size > freeRatio && size/maxRatio > e.CompressedSize64 {
			return &Problem{Found: "an archive that unpacks to more than a hundred times its size", Want: "check that this is the right file"}
		}
		if total += min(e.UncompressedSize64, 1<<60); total > uint64(o.maxBytes()) {
			return &Problem{Found: fmt.Sprintf("an archive of more than %d MB unpacked", o.maxBytes()>>20), Want: "split it, or check that this is the right file"}
		}
	}
	return nil
}

// readEntry unpacks one file of an archive, at most limit bytes.
func readEntry(e *zip.File, limit int64) ([]byte, error) {
	f, err := e.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	limit = min(limit, max(freeRatio, int64(min(e.CompressedSize64, 1<<50))*maxRatio))
	return readAll(struct{ io.Reader }{f}, limit)
}
