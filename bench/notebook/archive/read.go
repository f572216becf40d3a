package archive

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"strings"

	"lampassay/bench/notebook"
)

// Limits hold an archive within what a notebook can be. A field that is 0 has the
// value of [DefaultLimits].
type Limits struct {
	Files     int   // entries of the zip
	JSONBytes int64 // of one record or journal line
	Bytes     int64 // unfolded, in all
}

// DefaultLimits allow a bench that has recorded for years.
var DefaultLimits = Limits{Files: 1 << 20, JSONBytes: 64 << 20, Bytes: 64 << 30}

// invalid says what is wrong with an archive.
func invalid(format string, args ...any) error {
	return notebook.Errorf(notebook.Invalid, "the archive cannot be read: "+format, args...)
}

// reader reads an archive into a blank notebook. Every entry of the zip is used
// once; one that nothing asks for is refused.
type reader struct {
	entries map[string]*zip.File
	left    int64 // bytes that may still unfold
	limits  Limits
	into    notebook.Blank
}

// Read reads an archive into a blank notebook.
func Read(ctx context.Context, from io.ReaderAt, size int64, l Limits, into notebook.Blank) error {
	if l.Files == 0 {
		l.Files = DefaultLimits.Files
	}
	if l.JSONBytes == 0 {
		l.JSONBytes = DefaultLimits.JSONBytes
	}
	if l.Bytes == 0 {
		l.Bytes = DefaultLimits.Bytes
	}
	z, err := zip.NewReader(from, size)
	if err != nil {
		return invalid("this is no zip file: %w", err)
	}
	if len(z.File) > l.Files {
		return invalid("it has %d entries: %d are read", len(z.File), l.Files)
	}
	r := &reader{entries: make(map[string]*zip.File, len(z.File)), left: l.Bytes, limits: l, into: into}
	for _, f := range z.File {
		if r.entries[f.Name] != nil {
			return invalid("it has %q twice", f.Name)
		}
		r.entries[f.Name] = f
	}
	for _, part := range []func(context.Context) error{r.files, r.records, r.journal} {
		if err := part(ctx); err != nil {
			return err
		}
	}
	for name := range r.entries {
		return invalid("%q belongs to no notebook: take it out", name)
	}
	return nil
}

// open opens an entry and strikes it off; nil where there is none.
func (r *reader) open(name string) (io.ReadCloser, error) {
	f := r.entries[name]
	if f == nil {
		return nil, nil
	}
	delete(r.entries, name)
	c, err := f.Open()
	if err != nil {
		return nil, invalid("%s cannot be unfolded: %w", name, err)
	}
	return &limited{c, r, name}, nil
}

// limited counts what unfolds.
type limited struct {
	io.ReadCloser
	r    *reader
	name string
}

func (l *limited) Read(p []byte) (int, error) {
	n, err := l.ReadCloser.Read(p)
	if l.r.left -= int64(n); l.r.left < 0 {
		return 0, invalid("it unfolds to more than %d bytes at %s: it is no notebook, or its limits have to be raised", l.r.limits.Bytes, l.name)
	}
	if err != nil && err != io.EOF && notebook.CodeOf(err) == notebook.Internal {
		err = invalid("%s cannot be unfolded: %w", l.name, err)
	}
	return n, err
}

// all reads a whole entry of limited size; nil where there is none.
func (r *reader) all(name string, most int64) ([]byte, error) {
	f, err := r.open(name)
	if f == nil || err != nil {
		return nil, err
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(b)) > most {
		err = invalid("%s is larger than %d bytes", name, most)
	}
	return b, err
}

// decode reads JSON of one value with no fields that are not known.
func decode(name string, b []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	err := d.Decode(into)
	if err == nil {
		if _, more := d.Token(); more != io.EOF {
			err = errors.New("something follows the value")
		}
	}
	if err != nil {
		return invalid("%s: %s", name, strings.TrimPrefix(err.Error(), "json: "))
	}
	return nil
}

// files reads the head and the files it lists.
func (r *reader) files(ctx context.Context) error {
	b, err := r.all(headName, r.limits.JSONBytes)
	if err != nil {
		return err
	}
	if b == nil {
		return invalid("it has no %s, so it is no archive of a notebook", headName)
	}
	// The version first: a later one may have further fields.
	var version struct {
		Format  string
		Version int
	}
	if err := json.Unmarshal(b, &version); err != nil {
		return invalid("%s: %w", headName, err)
	}
	if version.Format != Format {
		return invalid("%s says %q where %q should stand", headName, version.Format, Format)
	}
	if version.Version != Version {
		return notebook.Errorf(notebook.Newer, "the archive cannot be read: it is of version %d and this program reads %d", version.Version, Version)
	}
	var h headJSON
	if err := decode(headName, b, &h); err != nil {
		return err
	}
	for _, f := range h.Files {
		if !f.SHA256.Valid() {
			return invalid("%s: %q is no checksum", headName, f.SHA256)
		}
		name := fileName(f.SHA256, f.Media)
		b, err := r.all(name, notebook.MostFileBytes)
		if err != nil {
			return err
		}
		if b == nil {
			return invalid("%s is missing", name)
		}
		if err := r.into.PutFile(ctx, &notebook.KeptFile{SHA256: f.SHA256, Media: f.Media, Bytes: b}); err != nil {
			return invalid("%s: %w", name, err)
		}
	}
	return nil
}

// records reads the records of every kind, by number, and their readings.
func (r *reader) records(ctx context.Context) error {
	for _, k := range notebook.Kinds() {
		for id := notebook.ID(1); ; id++ {
			name := entryName(k, id)
			b, err := r.all(name, r.limits.JSONBytes)
			if err != nil {
				return err
			}
			if b == nil {
				break // numbers have no gaps; what is left over is refused in the end
			}
			var j entryJSON
			if err := decode(name, b, &j); err != nil {
				return err
			}
			if j.ID != id {
				return invalid("%s: its id is %d", name, j.ID)
			}
			e := notebook.Entry{ID: id, Revision: j.Revision}
			if j.Trashed != nil {
				e.Trashed = *j.Trashed
			}
			if e.Body, err = compact(j.Record); err == nil {
				err = r.into.PutEntry(ctx, k, &e)
			}
			if err != nil {
				return invalid("%s: %w", name, err)
			}
			if k == notebook.KindSitting {
				if err := r.readings(ctx, id, &j); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func compact(j json.RawMessage) ([]byte, error) {
	if len(j) == 0 {
		return nil, nil
	}
	var b bytes.Buffer
	err := json.Compact(&b, j)
	return b.Bytes(), err
}

// journal reads the changes.
func (r *reader) journal(ctx context.Context) error {
	f, err := r.open(journalName)
	if err != nil {
		return err
	}
	if f == nil {
		return invalid("%s is missing", journalName)
	}
	defer f.Close()
	l := newLines(f, journalName, int(min(r.limits.JSONBytes, 1<<30)))
	for l.next() {
		var j journalJSON
		if err := decode(l.where(), l.text, &j); err != nil {
			return err
		}
		before, err := compact(j.Before)
		if err != nil {
			return invalid("%s: %w", l.where(), err)
		}
		after, err := compact(j.After)
		if err != nil {
			return invalid("%s: %w", l.where(), err)
		}
		if err := r.into.PutJournal(ctx, &notebook.JournalEntry{Change: j.Change, Before: before, After: after}); err != nil {
			return invalid("%s: %w", l.where(), err)
		}
	}
	return l.err
}

// together is how many readings go into the notebook at once.
const together = 256

// readings reads the tables of a sitting and holds them to its sum.
func (r *reader) readings(ctx context.Context, sitting notebook.ID, j *entryJSON) error {
	name := tableName(sitting, readingsTable)
	f, err := r.open(name)
	if err != nil {
		return err
	}
	if f == nil {
		if j.Readings > 0 {
			return invalid("%s is missing", name)
		}
		return nil
	}
	defer f.Close()
	t, err := newReadings(f, name)
	if err != nil {
		return err
	}
	curves := map[string]*curves{}
	for _, c := range []struct{ sort, table string }{{"spectrum", spectraTable}, {"waveform", waveformsTable}} {
		name := tableName(sitting, c.table)
		f, err := r.open(name)
		if err != nil {
			return err
		}
		if f != nil {
			defer f.Close()
			curves[c.sort] = newCurves(f, name)
		}
	}
	var chain [32]byte
	var n int64
	batch := make([]notebook.Reading, 0, together)
	for {
		one, sort, err := t.next()
		if err != nil {
			return err
		}
		if one != nil {
			n++
			if one.N != n {
				return invalid("%s: reading %d stands where %d belongs", t.where(), one.N, n)
			}
			if sort != "" {
				c := curves[sort]
				if c == nil {
					return invalid("%s: a %s has no table", t.where(), sort)
				}
				if err := c.next(one); err != nil {
					return err
				}
			}
			if err := one.Check(); err != nil {
				return invalid("%s: %w", t.where(), err)
			}
			line, err := one.Encode()
			if err != nil {
				return invalid("%s: %w", t.where(), err)
			}
			var nm, samples []byte
			if one.Curve != nil {
				nm, samples = notebook.Bytes(nil, one.Curve.Axis), notebook.Bytes(nil, one.Curve.Samples)
			}
			chain = notebook.Link(chain, n, line, nm, samples)
			batch = append(batch, *one)
		}
		if len(batch) == together || one == nil && len(batch) > 0 {
			if err := r.into.PutReadings(ctx, sitting, batch); err != nil {
				return err
			}
			batch = batch[:0]
		}
		if one == nil {
			break
		}
	}
	for sort, c := range curves {
		if c.l.next() {
			return invalid("%s: no reading of a %s belongs to it", c.l.where(), sort)
		}
		if c.l.err != nil {
			return c.l.err
		}
	}
	var sum notebook.Sum
	if n > 0 {
		sum = notebook.HexOf(chain)
	}
	if n != j.Readings || sum != j.Chain {
		return invalid("the readings of sitting %d do not add up to the sum in %s: something was changed or left out", sitting, entryName(notebook.KindSitting, sitting))
	}
	return nil
}
