package ingest

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"unicode/utf8"

	"lampassay/light/spectrum"
)

// The formats of a [Report].
const (
	formatText = "text"
	formatWide = "wide text"
	formatTM27 = "TM-27"
	formatJSON = "JSON"

	formatColumns = "columns over time"
	formatRows    = "rows over time"
	formatLong    = "long table"
)

// File is one spectrum as it was read.
type File struct {
	Name       string
	SHA256     string // of the file's bytes, hexadecimal
	Spectrum   *spectrum.Spectrum
	Projection spectrum.Projection
	Report     Report
	TM27       *TM27 // what a TM-27 file says beside the samples; nil for text
}

// Read reads one spectrum from text or IES TM-27 XML, decided by what the file
// holds and not by its name. name is for sentences. The error is a [*Problem]
// where the file is at fault, and r's own otherwise.
//
// Where the text has several value columns the first is read, with a warning,
// unless o.Column chooses; [OpenWide] reads them all.
func Read(name string, r io.Reader, o Options) (*File, error) {
	if o.Recipe != nil {
		return o.Recipe.Read(name, r, o)
	}
	raw, sum, err := ReadWhole(name, r, o.maxBytes())
	if err != nil {
		return nil, err
	}
	f := &File{Name: name, SHA256: sum}
	if p := f.read(raw, &o); p != nil {
		p.File = filepath.Base(name)
		return nil, p
	}
	return f, nil
}

func (f *File) read(raw []byte, o *Options) *Problem {
	text, problem := textOf(raw, o, &f.Report)
	if problem != nil {
		return problem
	}
	// What begins like XML or JSON is text all the same where it cannot be read
	// as such but can as a table.
	switch begin := bytes.TrimLeft(text, " \t\r\n"); {
	case bytes.HasPrefix(begin, []byte("<")):
		if problem = f.readTM27(text, o); problem == nil || f.TM27 != nil {
			return problem
		}
	case bytes.HasPrefix(begin, []byte("[")), bytes.HasPrefix(begin, []byte("{")):
		if problem = f.readJSON(text, o); problem == nil || f.Report.Format == formatJSON {
			return problem
		}
	default:
		return f.readText(text, o)
	}
	f.Report = Report{Encoding: f.Report.Encoding, Sheet: f.Report.Sheet}
	if f.readText(text, o) != nil {
		return problem
	}
	return nil
}

// ReadWhole reads a file to its end and returns its SHA-256 too, in hexadecimal.
// More than limit bytes are a [*Problem]; name is for sentences.
func ReadWhole(name string, r io.Reader, limit int64) (raw []byte, sum string, err error) {
	raw, err = readAll(r, limit)
	if errors.Is(err, errTooLong) {
		return nil, "", &Problem{File: filepath.Base(name), Found: fmt.Sprintf("more than %d MB", limit>>20), Want: "one measurement is smaller: check that this is the right file"}
	}
	if err != nil {
		return nil, "", fmt.Errorf("ingest: %s: %w", name, err)
	}
	hash := sha256.Sum256(raw)
	return raw, hex.EncodeToString(hash[:]), nil
}

// textOf returns a file's text as UTF-8, of a spreadsheet a sheet's.
func textOf(raw []byte, o *Options, r *Report) ([]byte, *Problem) {
	if len(raw) == 0 {
		return nil, &Problem{Found: "nothing: the file is empty", Want: "a spectrum is rows of wavelength and value"}
	}
	if isZip(raw) {
		text, problem := sheetText(raw, o, r)
		if problem == nil && !utf8.Valid(text) {
			text = bytes.ToValidUTF8(text, []byte("·"))
		}
		return text, problem
	}
	text, encoding, problem := Decode(raw)
	r.Encoding = encoding
	return text, problem
}

var errTooLong = errors.New("too long")

// readAll reads at most limit bytes. Where the size is known beforehand it
// allocates once.
func readAll(r io.Reader, limit int64) ([]byte, error) {
	size := int64(0)
	switch s := r.(type) {
	case interface{ Len() int }:
		size = int64(s.Len())
	case interface{ Stat() (fs.FileInfo, error) }:
		if info, err := s.Stat(); err == nil && info.Mode().IsRegular() {
			size = info.Size()
		}
	}
	if size > limit {
		return nil, errTooLong
	}
	buf := bytes.NewBuffer(make([]byte, 0, size+bytes.MinRead))
	if _, err := buf.ReadFrom(io.LimitReader(r, limit+1)); err != nil {
		return nil, err
	}
	if int64(buf.Len()) > limit {
		return nil, errTooLong
	}
	return buf.Bytes(), nil
}

// finish makes the spectrum of ordered samples: quantity, scale, projection.
func (f *File) finish(s []sample, u unit, o *Options) *Problem {
	axis, values := make([]float64, len(s)), make([]float64, len(s))
	for i, p := range s {
		axis[i], values[i] = p.x, p.v
	}
	r := &f.Report
	q := u.apply(axis, values)
	sp, err := spectrum.New(q, axis, values)
	if err != nil {
		return sampleProblem(err, s)
	}
	kind, problem := chooseProjection(axis, o, r)
	if problem != nil {
		return problem
	}
	f.Spectrum, f.Projection = sp, kind
	r.describe(axis)
	switch lowest, highest := slices.Min(values), slices.Max(values); {
	case lowest == 0 && highest == 0:
		r.warn("every value is zero")
	case highest < 0:
		r.warn("every value is negative")
	}
	return nil
}

// sampleProblem turns an error of package spectrum into a Problem at the
// sample's line.
func sampleProblem(err error, s []sample) *Problem {
	var at *spectrum.SampleError
	if errors.As(err, &at) && at.Index < len(s) {
		return &Problem{Line: s[at.Index].line, Found: fmt.Sprintf("a sample at %g nm of which %s", at.Wavelength, at.Problem), Want: "correct or remove the row"}
	}
	return &Problem{Found: count(len(s), "usable sample"), Want: "a curve needs at least two"}
}

// chooseProjection follows the options, or what the axis suggests.
func chooseProjection(axis []float64, o *Options, r *Report) (spectrum.Projection, *Problem) {
	kind := spectrum.Guess(axis)
	r.ProjectionFrom = "the wavelengths are not those of a published table"
	if kind == spectrum.Tabulated {
		r.ProjectionFrom = "even steps of whole nanometres"
	}
	if o.Projection != nil {
		kind = *o.Projection
		r.ProjectionFrom = "as asked"
		if kind == spectrum.Tabulated {
			if _, err := spectrum.NewProjector(axis, kind); err != nil {
				return kind, &Problem{Found: "wavelengths that are no even run of whole nanometres", Want: "read them as a curve: --projection sampled"}
			}
		}
	}
	r.Projection = kind.String()
	return kind, nil
}

// describe notes what the axis covers.
func (r *Report) describe(axis []float64) {
	r.From, r.To = axis[0], axis[len(axis)-1]
	r.Gaps = gaps(axis)
}

// chooseUnit settles what the values are: the options' word before the file's.
func chooseUnit(u unit, from string, known bool, o *Options, r *Report) unit {
	if !known {
		u = unit{quantity: spectrum.Relative, perNm: true}
		from = "the file does not say what they are"
	}
	r.Unit = u.text
	if known && !u.perNm {
		// W/m² may be a sloppy W/(m²·nm), or power per bin: not ours to guess.
		if o.Quantity == nil || *o.Quantity != u.quantity {
			r.warn(fmt.Sprintf("the unit %s says nothing of “per nm”, so the values are read as relative: if they are per nm, say that they are %s", Quote(u.text), u.quantity))
			u.quantity, u.ten = spectrum.Relative, 0
			from = "the unit is not a spectral one"
		}
	}
	if o.Quantity != nil {
		if known && u.quantity != *o.Quantity {
			if o.Quantity.Absolute() && u.quantity.Absolute() {
				r.warn(fmt.Sprintf("the file gives %s, and the values are read as %s in %s as asked", Quote(u.text), *o.Quantity, o.Quantity.Unit()))
			}
			u.ten = 0
		}
		u.quantity = *o.Quantity
		from = "as asked"
	}
	if o.Photon {
		u.photons = true
	}
	if u.quantity == spectrum.Counts {
		u.photons = false
	}
	r.Quantity, r.QuantityFrom, r.Photons = u.quantity.String(), from, u.photons
	return u
}

// apply scales values to the SI unit and turns photons into energy, in place.
// Dividing by a power of ten rounds once where multiplying by its inverse would
// round twice.
func (u unit) apply(axis, values []float64) spectrum.Quantity {
	if u.ten != 0 {
		for i := range values {
			if u.ten < 0 {
				values[i] /= exactTen[-u.ten]
			} else {
				values[i] *= exactTen[u.ten]
			}
		}
	}
	if u.photons {
		spectrum.EnergyFromPhotons(axis, values)
	}
	return u.quantity
}
