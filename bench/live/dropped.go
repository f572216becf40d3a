package live

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"lampassay/bench/ingest"
	"lampassay/bench/notebook"
	"lampassay/light/spectrum"
)

// late is how long before it was noticed a file may have been made to count as made
// when it says: the clock of a network folder may be another.
const late = 20 * time.Second

// read makes readings of a file, and tells the state of it that they are of. A file
// that cannot be read is a reading with a flag.
func (w *watch) read(name string, one *drop) ([]notebook.Reading, *state, error) {
	at := one.seen
	if w.f.Existing || one.made.After(at.Add(-late)) && one.made.Before(time.Now()) {
		at = one.made
	}
	at = w.d.s.clock.Of(at)
	now := &state{at: at}
	odd := func(flag string, err error) ([]notebook.Reading, *state, error) {
		text := plain(err.Error())
		if !strings.HasPrefix(text, name) {
			text = name + ": " + text
		}
		w.d.Trouble("%s", text)
		return []notebook.Reading{{At: at, Instrument: w.f.Instrument, Flags: []string{flag}, Raw: readable(name)}}, now, nil
	}
	most := w.f.MostBytes
	if most == 0 {
		most = usualMostBytes
	}
	if one.size > most {
		return odd(tooLarge, fmt.Errorf("%d MB are more than the %d MB that a spectrum file may have: it was left unread", one.size>>20, most>>20))
	}
	path := filepath.Join(w.f.Path, name)
	f, err := os.Open(path)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil, nil, err
		}
		return odd(cannotGet, err)
	}
	defer f.Close()
	raw, sum, err := ingest.ReadWhole(name, f, most)
	if err != nil {
		return odd(cannotGet, err)
	}
	if int64(len(raw)) != one.size {
		return nil, nil, errGrows
	}
	read, err := w.spectra(name, raw)
	if !one.half && (err != nil || !bytes.HasSuffix(raw, []byte{'\n'}) && !bytes.HasSuffix(raw, []byte{'\r'})) {
		return nil, nil, errHalf
	}
	now.size, now.sum = len(raw), sha256.Sum256(raw)
	if err != nil {
		return odd(notRead, err)
	}
	// A series was written when its last spectrum was taken.
	at = at.Add(-read[len(read)-1].At.Sub(time.Time{}))
	for i := range read {
		read[i].Instrument = w.f.Instrument
		read[i].Raw = readable(name) + " sha256:" + sum
		read[i].At = at.Add(read[i].At.Sub(time.Time{}))
	}
	if before := w.states[name]; before.partOf(raw) {
		read[0].Flags = append(read[0].Flags, wasPart)
		read[0].Note = before.setAside(name)
		w.d.Trouble("%s", read[0].Note)
	}
	return read, now, nil
}

// spectra reads a file's one spectrum or its series; times are from the first. Of
// several columns that no times head the first is taken, with a warning.
func (w *watch) spectra(name string, raw []byte) ([]notebook.Reading, error) {
	r := bytes.NewReader(raw)
	if _, err := ingest.OpenWide(name, r, r.Size(), w.f.Read); !errors.Is(err, ingest.ErrSingle) {
		series, err := ingest.ReadSeries(name, bytes.NewReader(raw), w.f.Read)
		if err == nil {
			return moments(series), nil
		}
	}
	file, err := ingest.Read(name, bytes.NewReader(raw), w.f.Read)
	if err != nil {
		return nil, err
	}
	c := curve(file.Spectrum.Quantity(), file.Spectrum.Axis(), file.Spectrum.Values())
	return []notebook.Reading{{Curve: c, Flags: slices.Clone(file.Report.Warnings)}}, nil
}

func moments(series *ingest.Series) []notebook.Reading {
	var all []notebook.Reading
	for i, s := range series.Times {
		all = append(all, notebook.Reading{
			At:    time.Time{}.Add(time.Duration(s * float64(time.Second))),
			Curve: curve(series.Quantity, series.Axis, series.Values[i]),
			Flags: slices.Clone(series.Report.Warnings),
		})
	}
	return all
}

func curve(q spectrum.Quantity, nm, values []float64) *notebook.Curve {
	return &notebook.Curve{Quantity: q.String(), Axis: nm, Samples: values}
}

// state is what is remembered of a file as it was read, to tell one that goes on
// from another of the same name.
type state struct {
	at   time.Time
	size int
	sum  [sha256.Size]byte
	from atomic.Int64 // the numbers of its readings, 0 while they are not kept
	to   atomic.Int64
}

// number returns what to call with the number of the last of a state's readings.
func (s *state) number(readings int) func(last int64) {
	return func(last int64) {
		s.from.Store(last - int64(readings) + 1)
		s.to.Store(last)
	}
}

// partOf reports whether a file as it is now is longer and begins with what it was.
// A file is read once it rests, so one that goes on was not whole.
func (s *state) partOf(raw []byte) bool {
	return s != nil && s.size > 0 && s.size < len(raw) && sha256.Sum256(raw[:s.size]) == s.sum
}

// setAside says which readings are of a part of a file. They are not changed: whether
// they are set aside is for a person to decide.
func (s *state) setAside(name string) string {
	which := fmt.Sprintf("what was read of it at %s", s.at.UTC().Format("15:04:05 UTC"))
	switch from, to := s.from.Load(), s.to.Load(); {
	case to == 0:
	case from == to:
		which = fmt.Sprintf("reading %d", to)
	default:
		which = fmt.Sprintf("readings %d to %d", from, to)
	}
	return fmt.Sprintf("%s was not whole when it was first read: set %s aside", readable(name), which)
}
