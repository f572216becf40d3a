package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/gofrs/flock"
	"github.com/pressly/goose/v3"
	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"lampassay/bench/notebook"
)

// Store is a notebook in a file.
type Store struct {
	path string
	now  func() time.Time
	lock *flock.Flock // nil where it is not ours

	writer *sql.DB // one connection; nil where it is only read
	reader *sql.DB
	mode   string // in which the reader is open

	mu    sync.Mutex    // guards what follows
	fresh chan struct{} // closed and replaced at every change
	axes  map[int64][]float64
}

var _ notebook.Notebook = (*Store)(nil)

// application is the number by which a file says that it is a notebook ("lamp").
const application = 0x6c616d70

// pageBytes is small because what is left of a spectrum after whole pages shares
// a page with few others, so that up to half a page is lost for each.
const pageBytes = 512

//go:embed schema/*.sql
var schema embed.FS

// Create makes a notebook in a new file and opens it. A file that is there is
// left alone.
func Create(ctx context.Context, path string) (*Store, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return nil, notebook.Errorf(notebook.Invalid, "%s is there already: choose another name", path)
	}
	if err == nil {
		err = f.Close()
	}
	if err != nil {
		return nil, explain(path, err)
	}
	var s *Store
	if err = begin(ctx, path); err == nil {
		s, err = Open(ctx, path)
	}
	if err != nil {
		remove(path)
		return nil, explain(path, err)
	}
	return s, nil
}

// begin writes the head of an empty file: what has to be there before the first
// page, and what says that it is a notebook.
func begin(ctx context.Context, path string) error {
	db, err := sql.Open("sqlite", source(path, "rw", fmt.Sprintf("_pragma=page_size(%d)", pageBytes)))
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", application))
	return errors.Join(err, db.Close())
}

// remove takes away a notebook that never came to be.
func remove(path string) {
	for _, end := range []string{"", "-wal", "-shm", "-journal", lockEnd} {
		os.Remove(path + end)
	}
}

// Open opens a notebook to write in it, bringing an older one up to date. The
// error has the code [notebook.Locked] where another process does.
func Open(ctx context.Context, path string) (*Store, error) {
	s := newStore(path)
	if err := s.openToWrite(ctx); err != nil {
		return nil, errors.Join(s.fail(err), s.Close())
	}
	return s, nil
}

func (s *Store) openToWrite(ctx context.Context) (err error) {
	if err := s.openReader(ctx, "ro"); err != nil {
		return err
	}
	if err := s.takeLock(); err != nil {
		return err
	}
	// The log is folded into the file every 16 MiB, and shrinks to that again.
	s.writer, err = sql.Open("sqlite", source(s.path, "rw",
		"_txlock=immediate", "_journal_mode=WAL", "_synchronous=FULL", "_foreign_keys=1",
		fmt.Sprintf("_pragma=wal_autocheckpoint(%d)", 16<<20/pageBytes), fmt.Sprintf("_pragma=journal_size_limit(%d)", 16<<20)))
	if err != nil {
		return err
	}
	s.writer.SetMaxOpenConns(1)
	return s.migrate(ctx)
}

const lockEnd = "-lock"

func newStore(path string) *Store {
	return &Store{path: path, now: time.Now, fresh: make(chan struct{}), axes: map[int64][]float64{}}
}

// OpenReadOnly opens a notebook to look at it, also while another process
// writes in it.
func OpenReadOnly(ctx context.Context, path string) (*Store, error) {
	s := newStore(path)
	// Whoever closes a notebook last takes the files of its log away, which needs
	// writing in the folder. Where nobody can, and there is no log, SQLite has
	// to be told that it will not find one.
	mode := "rw"
	if !writable(filepath.Dir(path)) {
		mode = "ro"
		if _, err := os.Stat(path + "-wal"); errors.Is(err, fs.ErrNotExist) {
			mode = "ro&immutable=1"
		}
	}
	err := s.openReader(ctx, mode)
	var have, want int64
	if err == nil {
		have, want, err = s.versions(ctx, s.reader)
	}
	if err == nil && have != want {
		err = notebook.Errorf(notebook.Newer, "%s is of version %d and this program reads %d: open it to write once, with the later program", path, have, want)
	}
	if err != nil {
		return nil, errors.Join(s.fail(err), s.Close())
	}
	return s, nil
}

// writable tries whether a file can be made in a folder.
func writable(folder string) bool {
	f, err := os.CreateTemp(folder, ".lampassay-*")
	if err != nil {
		return false
	}
	return errors.Join(f.Close(), os.Remove(f.Name())) == nil
}

// openReader opens the file for reading and makes sure that it is a notebook. It
// asks SQLite: a file must not be opened and closed behind its back, which would
// take away the locks that other connections of this process hold on it.
func (s *Store) openReader(ctx context.Context, mode string) error {
	if _, err := os.Stat(s.path); errors.Is(err, fs.ErrNotExist) {
		return notebook.Errorf(notebook.NotFound, "there is no notebook %s: make one with \"lampassay notebook create\"", s.path)
	}
	var err error
	if s.reader, err = sql.Open("sqlite", source(s.path, mode, "_query_only=1")); err != nil {
		return err
	}
	s.mode = mode
	s.reader.SetMaxOpenConns(8)
	var is int
	err = s.reader.QueryRowContext(ctx, "PRAGMA application_id").Scan(&is)
	var e *driver.Error
	if errors.As(err, &e) && e.Code()&0xff == lib.SQLITE_NOTADB || err == nil && is != application {
		return notebook.Errorf(notebook.Damaged, "%s is no notebook", s.path)
	}
	return err
}

// source names a file and its settings for the driver.
func source(path, mode string, settings ...string) string {
	settings = append(settings, "mode="+mode, "_busy_timeout=10000", "_pragma=cache_size(-32768)")
	return "file:" + (&url.URL{Path: filepath.ToSlash(path)}).EscapedPath() + "?" + strings.Join(settings, "&")
}

// takeLock makes this the one process that writes.
func (s *Store) takeLock() error {
	lock := flock.New(s.path + lockEnd)
	ours, err := lock.TryLock()
	if err != nil {
		return err
	}
	if !ours {
		who := "another process"
		if b, err := os.ReadFile(s.path + lockEnd); err == nil {
			if pid, err := strconv.Atoi(strings.TrimSpace(string(b))); err == nil {
				who = fmt.Sprintf("process %d", pid)
			}
		}
		return notebook.Errorf(notebook.Locked, "%s is open in %s, and only one can write in it: close it there first", s.path, who)
	}
	s.lock = lock
	// Who it is is only told to the curious: that it cannot be written, say on
	// a full disk, keeps nobody out.
	_ = os.WriteFile(s.path+lockEnd, []byte(strconv.Itoa(os.Getpid())+"\n"), 0o666)
	return nil
}

// migrate brings the schema up to date.
func (s *Store) migrate(ctx context.Context) error {
	have, want, err := s.versions(ctx, s.writer)
	if err != nil {
		return err
	}
	if have > want {
		return notebook.Errorf(notebook.Newer, "%s was made by a later program: it is of version %d and this one knows %d", s.path, have, want)
	}
	if have == want {
		return nil
	}
	provider, err := s.provider()
	if err != nil {
		return err
	}
	_, err = provider.Up(ctx)
	return err
}

func (s *Store) provider() (*goose.Provider, error) {
	steps, err := fs.Sub(schema, "schema")
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(goose.DialectSQLite3, s.writer, steps)
}

// versions returns the version of the schema in the file, 0 where it has none,
// and that of this program.
func (s *Store) versions(ctx context.Context, db *sql.DB) (have, want int64, err error) {
	steps, err := fs.Glob(schema, "schema/*.sql")
	if err != nil {
		return 0, 0, err
	}
	want = int64(len(steps)) // they are numbered from 1 without a gap
	var tables int
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema WHERE name = 'goose_db_version'").Scan(&tables); err != nil || tables == 0 {
		return 0, want, err
	}
	err = db.QueryRowContext(ctx, "SELECT max(version_id) FROM goose_db_version").Scan(&have)
	return have, want, err
}

// Close ends all work and gives the notebook free.
func (s *Store) Close() error {
	var all []error
	for _, db := range []*sql.DB{s.reader, s.writer} { // the writer last: it folds the log in
		if db != nil {
			all = append(all, db.Close())
		}
	}
	if s.lock != nil {
		all = append(all, s.lock.Unlock())
	}
	return errors.Join(all...)
}

// fail explains an error of this notebook.
func (s *Store) fail(err error) error { return explain(s.path, err) }

// explain turns what the disk or the database said into a sentence.
func explain(path string, err error) error {
	if err == nil {
		return nil
	}
	var ours *notebook.Error
	if errors.As(err, &ours) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	code := 0
	var e *driver.Error
	if errors.As(err, &e) {
		code = e.Code()
	}
	switch {
	case code&0xff == lib.SQLITE_FULL || code == lib.SQLITE_IOERR_WRITE || isFull(err):
		return notebook.Errorf(notebook.Full, "there is no room to write %s: what was acknowledged is kept, make room and go on (%w)", path, err)
	case code&0xff == lib.SQLITE_READONLY || code&0xff == lib.SQLITE_CANTOPEN || errors.Is(err, fs.ErrPermission) || isReadOnly(err):
		return notebook.Errorf(notebook.ReadOnly, "%s cannot be written: allow writing to the file and its folder, or copy it elsewhere (%w)", path, err)
	case code&0xff == lib.SQLITE_BUSY || code&0xff == lib.SQLITE_LOCKED:
		return notebook.Errorf(notebook.Locked, "%s is in use by another program: close it there first (%w)", path, err)
	case code&0xff == lib.SQLITE_CORRUPT || code&0xff == lib.SQLITE_NOTADB:
		return notebook.Errorf(notebook.Damaged, "%s is damaged: go back to a backup (%w)", path, err)
	case code&0xff == lib.SQLITE_CONSTRAINT:
		return notebook.Errorf(notebook.Invalid, "something refers to what is not there, or is there already (%w)", err)
	case code&0xff == lib.SQLITE_INTERRUPT:
		return context.Canceled
	}
	return notebook.Errorf(notebook.Internal, "%s: %w", path, err)
}
