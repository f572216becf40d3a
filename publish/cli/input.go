package cli

import (
	"errors"
	"io"
	"os"

	"lampassay/bench/ingest"
)

// input is a file that has been opened and read as what it is: one spectrum, a
// series, or a batch or an archive that is still to be read.
type input struct {
	*source
	file    *ingest.File
	wide    *ingest.Wide
	series  *ingest.Series
	archive bool
}

// readInput reads a file's one spectrum, or opens it as a batch.
func readInput(s streams, name string, read ingest.Options) (*input, error) {
	src, err := openSource(s, name)
	if err != nil {
		return nil, err
	}
	in, err := src.read(read)
	if err != nil {
		return nil, errors.Join(err, src.Close())
	}
	return in, nil
}

// read reads the file's one spectrum, or opens it as a batch.
func (s *source) read(read ingest.Options) (in *input, err error) {
	in = &input{source: s}
	in.wide, err = ingest.OpenWide(s.name, s.f, s.size, read)
	if errors.Is(err, ingest.ErrSingle) {
		in.file, err = s.single(read)
	}
	if err != nil {
		return nil, err
	}
	return in, nil
}

// readAny is read for callers that also take a series or an archive.
func (s *source) readAny(read ingest.Options) (*input, error) {
	in, err := s.read(read)
	switch {
	case errors.Is(err, ingest.ErrArchive):
		return &input{source: s, archive: true}, nil
	case errors.Is(err, ingest.ErrSeries):
		series, err := s.series(read)
		if err != nil {
			return nil, err
		}
		return &input{source: s, series: series}, nil
	}
	return in, err
}

// report is how the file was read; nil of an archive.
func (in *input) report() *ingest.Report {
	switch {
	case in.file != nil:
		return &in.file.Report
	case in.wide != nil:
		return &in.wide.Report
	case in.series != nil:
		return &in.series.Report
	}
	return nil
}

// sum is the SHA-256 of the file; empty of an archive.
func (in *input) sum() string {
	switch {
	case in.file != nil:
		return in.file.SHA256
	case in.wide != nil:
		return in.wide.SHA256
	case in.series != nil:
		return in.series.SHA256
	}
	return ""
}

// source is an input file that can be read twice.
type source struct {
	name string
	f    *os.File
	size int64
	temp bool
}

// openSource opens a file, or spools standard input to a temporary one.
func openSource(s streams, name string) (*source, error) {
	if name == "-" {
		return spool(s.in)
	}
	f, info, err := openFile(name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() { // a pipe or a device
		defer f.Close()
		return spool(f)
	}
	return &source{name: name, f: f, size: info.Size()}, nil
}

// openFile opens a file, and not a folder.
func openFile(name string) (*os.File, os.FileInfo, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, nil, err
	}
	info, err := f.Stat()
	if err == nil && info.IsDir() {
		err = badInput("%s is a folder: name the files in it", name)
	}
	if err != nil {
		f.Close()
		return nil, nil, err
	}
	return f, info, nil
}

// readBounded reads a whole file of at most so many bytes; a longer one is no such
// thing as what it is wanted for.
func readBounded(name string, limit int64, wanted string) ([]byte, error) {
	f, _, err := openFile(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err == nil && int64(len(data)) > limit {
		err = badInput("%s is over %d MiB, more than %s needs", name, limit>>20, wanted)
	}
	return data, err
}

// only is the input's one spectrum, and an error where it holds several.
func (in *input) only() (*ingest.File, error) {
	if in.wide != nil {
		return nil, badInput("%s holds %d spectra: choose one with --column", in.name, in.wide.Columns())
	}
	return in.file, nil
}

// readOnly reads the one spectrum of a file.
func readOnly(s streams, name string, read ingest.Options) (*ingest.File, error) {
	in, err := readInput(s, name, read)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return in.only()
}

// single reads the file's one spectrum from its beginning.
func (s *source) single(read ingest.Options) (*ingest.File, error) {
	if _, err := s.f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	return ingest.Read(s.name, s.f, read)
}

// series reads the file as spectra over time, from its beginning.
func (s *source) series(read ingest.Options) (*ingest.Series, error) {
	if _, err := s.f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	return ingest.ReadSeries(s.name, s.f, read)
}

// look shows the file's beginning.
func (s *source) look(read ingest.Options) (*ingest.Preview, error) {
	if _, err := s.f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	return ingest.Look(s.name, s.f, read)
}

// spoolLimit is how much is taken from a pipe, which may never end.
const spoolLimit = 4 << 30

func spool(r io.Reader) (*source, error) {
	f, err := os.CreateTemp("", "lampassay-*")
	if err != nil {
		return nil, err
	}
	src := &source{name: "standard input", f: f, temp: true}
	src.size, err = io.Copy(f, io.LimitReader(r, spoolLimit+1))
	if err == nil && src.size > spoolLimit {
		err = badInput("standard input is over %d GiB: write it to a file and name that", spoolLimit>>30)
	}
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		src.Close()
		return nil, err
	}
	return src, nil
}

// Close closes the file, and removes it if it was a spool.
func (s *source) Close() error {
	err := s.f.Close()
	if s.temp {
		err = errors.Join(err, os.Remove(s.f.Name()))
	}
	return err
}
