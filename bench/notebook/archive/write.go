package archive

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/klauspost/compress/flate"

	"lampassay/bench/notebook"
)

// Format and Version head every archive.
const (
	Format  = "lampassay notebook archive"
	Version = 1
)

// The names in an archive, beside those of records and files.
const (
	headName    = "notebook.json"
	journalName = "journal.jsonl"
)

type (
	headJSON struct {
		Format  string     `json:"format"`
		Version int        `json:"version"`
		Files   []fileJSON `json:"files"`
	}
	fileJSON struct {
		SHA256 notebook.Sum `json:"sha256"`
		Media  string       `json:"media"`
	}
	entryJSON struct {
		ID       notebook.ID     `json:"id"`
		Revision int64           `json:"revision"`
		Trashed  *time.Time      `json:"trashed,omitempty"`
		Readings int64           `json:"readings,omitempty"`
		Chain    notebook.Sum    `json:"chain,omitempty"`
		Record   json.RawMessage `json:"record"`
	}
	journalJSON struct {
		notebook.Change
		Before json.RawMessage `json:"before,omitempty"`
		After  json.RawMessage `json:"after,omitempty"`
	}
)

// writer writes the files of an archive one after another.
type writer struct {
	zip *zip.Writer
	all notebook.Whole
}

// Write writes a whole notebook.
func Write(ctx context.Context, to io.Writer, all notebook.Whole) error {
	w := &writer{zip.NewWriter(to), all}
	w.zip.RegisterCompressor(zip.Deflate, func(to io.Writer) (io.WriteCloser, error) { return flate.NewWriter(to, flate.DefaultCompression) })
	for _, part := range []func(context.Context) error{w.head, w.journal, w.files, w.records} {
		if err := part(ctx); err != nil {
			return fmt.Errorf("archive: %w", err)
		}
	}
	return w.zip.Close()
}

// create begins a file. It has no time: the same notebook gives the same bytes.
func (w *writer) create(name string) (io.Writer, error) {
	return w.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
}

// json writes a file of indented JSON.
func (w *writer) json(name string, v any) error {
	to, err := w.create(name)
	if err != nil {
		return err
	}
	e := json.NewEncoder(to)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

func (w *writer) head(ctx context.Context) error {
	h := headJSON{Format: Format, Version: Version, Files: []fileJSON{}}
	for f, err := range w.all.Files(ctx) {
		if err != nil {
			return err
		}
		h.Files = append(h.Files, fileJSON{f.SHA256, f.Media})
	}
	return w.json(headName, &h)
}

// journal writes a change a line.
func (w *writer) journal(ctx context.Context) error {
	to, err := w.create(journalName)
	if err != nil {
		return err
	}
	e := json.NewEncoder(to)
	e.SetEscapeHTML(false)
	for c, err := range w.all.Journal(ctx) {
		if err != nil {
			return err
		}
		if err := e.Encode(&journalJSON{c.Change, c.Before, c.After}); err != nil {
			return err
		}
	}
	return nil
}

// extensions let a computer know what a kept file is.
var extensions = map[string]string{
	"image/jpeg": ".jpg", "image/png": ".png", "image/webp": ".webp", "application/pdf": ".pdf", "application/zip": ".zip",
	"application/xml": ".xml", "application/json": ".json", "text/csv": ".csv", "text/plain": ".txt", "text/html": ".html", "audio/wav": ".wav",
}

func fileName(sum notebook.Sum, media string) string {
	return "files/" + string(sum) + extensions[media]
}

func (w *writer) files(ctx context.Context) error {
	for f, err := range w.all.Files(ctx) {
		if err != nil {
			return err
		}
		to, err := w.create(fileName(f.SHA256, f.Media))
		if err != nil {
			return err
		}
		if _, err := to.Write(f.Bytes); err != nil {
			return err
		}
	}
	return nil
}

func entryName(k notebook.Kind, id notebook.ID) string { return fmt.Sprintf("%s/%d.json", k, id) }

func (w *writer) records(ctx context.Context) error {
	for _, k := range notebook.Kinds() {
		var all []notebook.ID // with readings
		for e, err := range w.all.Entries(ctx, k) {
			if err != nil {
				return err
			}
			j := entryJSON{ID: e.ID, Revision: e.Revision, Readings: e.Readings, Chain: e.Chain, Record: e.Body}
			if !e.Trashed.IsZero() {
				j.Trashed = &e.Trashed
			}
			if err := w.json(entryName(k, e.ID), &j); err != nil {
				return err
			}
			if e.Readings > 0 {
				all = append(all, e.ID)
			}
		}
		for _, id := range all {
			if err := w.readings(ctx, id); err != nil {
				return err
			}
		}
	}
	return nil
}

// The tables of a sitting.
const (
	readingsTable  = "readings.csv"
	spectraTable   = "spectra.csv"
	waveformsTable = "waveforms.csv"
)

func tableName(sitting notebook.ID, table string) string {
	return fmt.Sprintf("%s/%d/%s", notebook.KindSitting, sitting, table)
}

// columns of the table of readings. A reading with several values goes on in
// the next rows, with its number and the columns of a value alone.
var columns = []string{
	"n", "at", "channel", "instrument", "key", "value", "unit", "flag",
	"flags", "note", "raw", "curve", "quantity", "rate_hz", "exposure_ms", "averages",
}

// readings writes the tables of a sitting: one for its readings, and one each for
// spectra and waveforms where there are any.
func (w *writer) readings(ctx context.Context, sitting notebook.ID) error {
	var spectra, waveforms bool
	to, err := w.create(tableName(sitting, readingsTable))
	if err != nil {
		return err
	}
	t := table{to: to}
	t.row(columns...)
	for r, err := range w.all.Readings(ctx, notebook.Readings{Sitting: sitting}) {
		if err != nil {
			return err
		}
		t.reading(r)
		if t.err != nil {
			return t.err
		}
		if c := r.Curve; c != nil {
			spectra, waveforms = spectra || c.Axis != nil, waveforms || c.Axis == nil
		}
	}
	if spectra {
		if err := w.curves(ctx, sitting, spectraTable, func(c *notebook.Curve) bool { return c.Axis != nil }); err != nil {
			return err
		}
	}
	if waveforms {
		return w.curves(ctx, sitting, waveformsTable, func(c *notebook.Curve) bool { return c.Axis == nil })
	}
	return nil
}

// axisMark opens a row of wavelengths, which hold for the rows below it.
const axisMark = "wavelength_nm"

// curves writes a row of samples for each curve of a sort, and a row of
// wavelengths wherever these change.
func (w *writer) curves(ctx context.Context, sitting notebook.ID, name string, sort func(*notebook.Curve) bool) error {
	to, err := w.create(tableName(sitting, name))
	if err != nil {
		return err
	}
	t := table{to: to}
	var axis []float64
	for r, err := range w.all.Readings(ctx, notebook.Readings{Sitting: sitting}) {
		if err != nil {
			return err
		}
		if r.Curve == nil || !sort(r.Curve) {
			continue
		}
		if nm := r.Curve.Axis; nm != nil && !same(nm, axis) {
			t.numbers(axisMark, nm)
			axis = nm
		}
		t.numbers(strconv.FormatInt(r.N, 10), r.Curve.Samples)
		if t.err != nil {
			return t.err
		}
	}
	return t.err
}

// same compares two axes, which are mostly one slice.
func same(a, b []float64) bool {
	if len(a) != len(b) || len(a) == 0 {
		return false
	}
	return &a[0] == &b[0] || bytes.Equal(notebook.Bytes(nil, a), notebook.Bytes(nil, b))
}
