package live

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"

	"lampassay/bench/ingest"
	"lampassay/bench/notebook"
	"lampassay/light/spectrum"
)

// Folder watches a folder into which a program drops spectrum files. A file is read
// once it has stopped growing; each spectrum in it is a reading. A file that is
// written anew is read anew.
type Folder struct {
	Name       string      `json:"channel"`
	Instrument notebook.ID `json:"instrument,omitempty"`
	Path       string      `json:"path"`
	// Existing reads the files that are there at the start, too.
	Existing bool `json:"existing,omitempty"`
	// SettleS is how long a file has to stay as it is; 0 is 0.5 s.
	SettleS float64 `json:"settle_s,omitempty"`
	// MostBytes is the size above which a file is refused unread; 0 is 64 MiB.
	MostBytes int64 `json:"most_bytes,omitempty"`
	// Read says how the files are read; the zero value detects everything.
	Read ingest.Options `json:"-"`

	// deaf leaves the operating system's notices out, so that only looking finds
	// files.
	deaf bool
}

const usualMostBytes = 64 << 20

// Channel returns the name.
func (f *Folder) Channel() string { return f.Name }

// Check looks whether the folder is one.
func (f *Folder) Check() error {
	info, err := os.Stat(f.Path)
	switch {
	case f.Path == "":
		return fmt.Errorf("live: %s: there is no folder to watch: give its path", f.Name)
	case err != nil:
		return fmt.Errorf("live: %s: the folder cannot be watched: %w", f.Name, err)
	case !info.IsDir():
		return fmt.Errorf("live: %s: %s is no folder: give the folder that the files are dropped into", f.Name, f.Path)
	case !(f.SettleS >= 0 && f.SettleS < 1e6) || f.MostBytes < 0:
		return fmt.Errorf("live: %s: times and sizes are from 0 up", f.Name)
	}
	return nil
}

// Flags of files.
const (
	tooLarge  = "file refused for its size"
	notRead   = "file not understood"
	cannotGet = "file could not be opened"
)

// print is what tells one state of a file from another.
type print struct {
	size int64
	made time.Time
}

// drop is a file on its way.
type drop struct {
	print
	since time.Time // when it was first seen as it is now
	seen  time.Time // when it was first seen
}

// Intervals of looking. Where the system gives notice of changes, looking is for
// what slips through (a network folder, an overrun queue).
const (
	lookOften  = time.Second
	lookSeldom = 15 * time.Second
)

// watch is one run of a Folder.
type watch struct {
	f      *Folder
	d      *Desk
	known  map[string]print // as it was read, or was there before
	waits  map[string]*drop // not yet settled
	settle time.Duration
	failed bool
}

// Run watches until the context ends.
func (f *Folder) Run(ctx context.Context, d *Desk) error {
	w := &watch{f: f, d: d, known: map[string]print{}, waits: map[string]*drop{}, settle: seconds(f.SettleS, 0.5)}
	var notices chan fsnotify.Event
	var faults chan error
	every := lookOften
	if notify, err := fsnotify.NewBufferedWatcher(1024); err == nil && !f.deaf {
		defer notify.Close()
		if err := notify.Add(f.Path); err == nil {
			notices, faults, every = notify.Events, notify.Errors, lookSeldom
		}
	}
	if notices == nil {
		d.Note("the system gives no notice of changes: looking every %s", every)
	}
	if !f.Existing {
		for name, p := range w.look() {
			w.known[name] = p
		}
		d.Note("files that were there before and are left alone: %d", len(w.known))
	}
	w.scan()
	d.Connected(!w.failed)

	looks := time.NewTicker(every)
	defer looks.Stop()
	soon := time.NewTicker(max(w.settle/2, time.Millisecond))
	defer soon.Stop()
	for {
		select {
		case e, open := <-notices:
			if !open {
				notices = nil
				looks.Reset(lookOften)
				continue
			}
			if e.Has(fsnotify.Create | fsnotify.Write | fsnotify.Rename) {
				w.touch(filepath.Base(e.Name))
			}
		case err, open := <-faults:
			if open {
				d.Note("notices of changes: %v; looking instead", err)
				w.scan()
			} else {
				faults = nil
			}
		case <-looks.C:
			w.scan()
		case <-soon.C:
			if err := w.ripe(ctx); err != nil {
				return err
			}
		case <-ctx.Done():
			return nil
		}
	}
}

// passed reports whether a name is that of something on its way.
func passed(name string) bool {
	lower := strings.ToLower(name)
	return strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~") || strings.HasSuffix(name, "~") ||
		slices.Contains([]string{".tmp", ".part", ".partial", ".crdownload"}, filepath.Ext(lower))
}

// look lists the folder's files.
func (w *watch) look() map[string]print {
	entries, err := os.ReadDir(w.f.Path)
	if err != nil {
		if !w.failed {
			w.failed = true
			w.d.Connected(false)
			w.d.Trouble("the folder cannot be read: %v; trying again", err)
		}
		return nil
	}
	if w.failed {
		w.failed = false
		w.d.Connected(true)
	}
	all := map[string]print{}
	for _, e := range entries {
		if !e.Type().IsRegular() || passed(e.Name()) {
			continue
		}
		if info, err := e.Info(); err == nil {
			all[e.Name()] = print{info.Size(), info.ModTime()}
		}
	}
	return all
}

// scan looks at everything.
func (w *watch) scan() {
	all := w.look()
	if all == nil {
		return
	}
	for name := range w.known {
		if _, there := all[name]; !there {
			delete(w.known, name)
		}
	}
	for name, p := range all {
		w.see(name, p)
	}
}

// touch looks at one file.
func (w *watch) touch(name string) {
	if passed(name) {
		return
	}
	if info, err := os.Lstat(filepath.Join(w.f.Path, name)); err == nil && info.Mode().IsRegular() {
		w.see(name, print{info.Size(), info.ModTime()})
	}
}

// see notes how a file is now.
func (w *watch) see(name string, p print) {
	if k, known := w.known[name]; known && k == p {
		return
	}
	switch one := w.waits[name]; {
	case one == nil:
		now := time.Now()
		w.waits[name] = &drop{p, now, now}
	case one.print != p:
		one.print, one.since = p, time.Now()
	}
}

// ripe reads the files that have settled, in the order they were made.
func (w *watch) ripe(ctx context.Context) error {
	var names []string
	for name, one := range w.waits {
		w.touch(name)
		if time.Since(one.since) >= w.settle {
			names = append(names, name)
		}
	}
	slices.SortFunc(names, func(a, b string) int {
		if c := w.waits[a].made.Compare(w.waits[b].made); c != 0 {
			return c
		}
		return strings.Compare(a, b)
	})
	for _, name := range names {
		one := w.waits[name]
		readings, err := w.read(name, one)
		if errors.Is(err, fs.ErrNotExist) {
			delete(w.waits, name)
			continue
		}
		if errors.Is(err, errGrows) {
			w.touch(name)
			one.since = time.Now()
			continue
		}
		w.known[name] = one.print
		delete(w.waits, name)
		for _, r := range readings {
			if err := w.d.Post(ctx, r); err != nil {
				return err
			}
		}
	}
	return nil
}

var errGrows = errors.New("the file is still being written")

// late is how long before it was noticed a file may have been made to count as made
// when it says: the clock of a network folder may be another.
const late = 20 * time.Second

// read makes readings of a file. A file that cannot be read is a reading with a
// flag.
func (w *watch) read(name string, one *drop) ([]notebook.Reading, error) {
	at := one.seen
	if w.f.Existing || one.made.After(at.Add(-late)) && one.made.Before(time.Now()) {
		at = one.made
	}
	at = w.d.s.clock.Of(at)
	odd := func(flag string, err error) []notebook.Reading {
		w.d.Trouble("%s: %v", name, err)
		return []notebook.Reading{{At: at, Instrument: w.f.Instrument, Flags: []string{flag}, Raw: readable(name)}}
	}
	most := w.f.MostBytes
	if most == 0 {
		most = usualMostBytes
	}
	if one.size > most {
		return odd(tooLarge, fmt.Errorf("%d MB are more than the %d MB that a spectrum file may have: it was left unread", one.size>>20, most>>20)), nil
	}
	path := filepath.Join(w.f.Path, name)
	f, err := os.Open(path)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		return odd(cannotGet, err), nil
	}
	defer f.Close()
	raw, sum, err := ingest.ReadWhole(name, f, most)
	if err != nil {
		return odd(cannotGet, err), nil
	}
	if int64(len(raw)) != one.size {
		return nil, errGrows
	}
	read, err := w.spectra(name, raw)
	if err != nil {
		return odd(notRead, err), nil
	}
	for i := range read {
		read[i].Instrument = w.f.Instrument
		read[i].Raw = readable(name) + " sha256:" + sum
		read[i].At = at.Add(read[i].At.Sub(time.Time{}))
	}
	return read, nil
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
