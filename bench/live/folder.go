package live

import (
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
)

// Folder watches a folder into which a program drops spectrum files. A file is read
// once it has stopped growing; each spectrum in it is a reading, of the time at
// which the file was written. A file that is written anew is read anew; where it goes
// on as it began, what was read of it before was a part, and the later reading says so.
type Folder struct {
	Name       string      `json:"channel"`
	Instrument notebook.ID `json:"instrument,omitempty"`
	Path       string      `json:"path"`
	// Existing reads the files that are there at the start, too.
	Existing bool `json:"existing,omitempty"`
	// SettleS is how long a file has to stay as it is; 0 is 0.5 s. One that does not
	// look like a whole one has to stay four times as long.
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
	wasPart   = "file was read before it was whole"
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
	half  bool      // it does not look like a whole file
}

// settled reports whether a file has stayed as it is for long enough.
func (one *drop) settled(settle time.Duration) bool {
	if one.half {
		settle *= patient
	}
	return time.Since(one.since) >= settle
}

// patient is how many times longer a file is waited for that does not look whole: one
// whose last line has no end, or that cannot be read as it is.
const patient = 4

// Intervals of looking. Where the system gives notice of changes, looking is for
// what slips through (a network folder, an overrun queue).
const (
	lookOften  = time.Second
	lookSeldom = 15 * time.Second
)

// watch is one run of a Folder.
type watch struct {
	f       *Folder
	d       *Desk
	known   map[string]print // as it was read, or was there before
	states  map[string]*state
	waits   map[string]*drop // not yet settled
	settle  time.Duration
	failed  bool
	notices chan fsnotify.Event // nil where the system gives none
	every   time.Duration       // from one look at everything to the next
	looked  time.Time           // when the latest was
}

// Run watches until the context ends.
func (f *Folder) Run(ctx context.Context, d *Desk) error {
	w := &watch{
		f: f, d: d, known: map[string]print{}, states: map[string]*state{}, waits: map[string]*drop{},
		settle: seconds(f.SettleS, 0.5), every: lookOften,
	}
	var faults chan error
	if notify, err := fsnotify.NewBufferedWatcher(1024); err == nil && !f.deaf {
		defer notify.Close()
		if err := notify.Add(f.Path); err == nil {
			w.notices, faults, w.every = notify.Events, notify.Errors, lookSeldom
		}
	}
	if w.notices == nil {
		d.Note("the system gives no notice of changes: looking every %s", w.every)
	}
	if !f.Existing {
		for name, p := range w.look() {
			w.known[name] = p
		}
		d.Note("files that were there before and are left alone: %d", len(w.known))
	}
	w.scan()
	d.Connected(!w.failed)

	looks := time.NewTicker(w.every)
	defer looks.Stop()
	soon := time.NewTicker(max(w.settle/2, time.Millisecond))
	defer soon.Stop()
	for {
		select {
		case e, open := <-w.notices:
			if w.hear(e, open); !open {
				looks.Reset(w.every)
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

// hear takes one notice.
func (w *watch) hear(e fsnotify.Event, open bool) {
	if !open {
		w.notices, w.every = nil, lookOften
	} else if e.Has(fsnotify.Create | fsnotify.Write | fsnotify.Rename) {
		w.touch(filepath.Base(e.Name))
	}
}

// keepUp takes what came while files were read, so that each counts as first seen
// when it was there and not when the others were done.
func (w *watch) keepUp() {
	for {
		select {
		case e, open := <-w.notices:
			w.hear(e, open)
			continue
		default:
		}
		break
	}
	if time.Since(w.looked) > w.every {
		w.scan()
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
	w.looked = time.Now()
	all := w.look()
	if all == nil {
		return
	}
	for name := range w.known {
		if _, there := all[name]; !there {
			delete(w.known, name)
			delete(w.states, name)
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
		w.waits[name] = &drop{print: p, since: now, seen: now}
	case one.print != p:
		one.print, one.since, one.half = p, time.Now(), false
	}
}

// ripe reads the files that have settled, in the order they were made.
func (w *watch) ripe(ctx context.Context) error {
	var names []string
	for name, one := range w.waits {
		w.touch(name)
		if one.settled(w.settle) {
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
		w.keepUp()
		one := w.waits[name]
		if !one.settled(w.settle) {
			continue // it has changed meanwhile
		}
		readings, now, err := w.read(name, one)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			delete(w.waits, name)
			continue
		case errors.Is(err, errGrows):
			w.touch(name)
			one.since = time.Now()
			continue
		case errors.Is(err, errHalf):
			one.half = true
			continue
		}
		w.known[name], w.states[name] = one.print, now
		delete(w.waits, name)
		if err := w.d.post(ctx, readings, now.number(len(readings))); err != nil {
			return err
		}
	}
	return nil
}

var (
	errGrows = errors.New("the file is still being written")
	errHalf  = errors.New("the file does not look whole")
)
