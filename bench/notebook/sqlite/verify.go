package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"mime"
	"os"
	"path/filepath"
	"time"

	"lampassay/bench/notebook"
)

// mostFaults is how many faults are told; a broken disk has thousands.
const mostFaults = 100

// verifier gathers what does not hold.
type verifier struct {
	*Store
	tx *sql.Tx
	v  notebook.Verdict
}

func (v *verifier) fault(format string, args ...any) {
	if len(v.v.Faults) < mostFaults {
		v.v.Faults = append(v.v.Faults, notebook.Errorf(notebook.Damaged, format, args...).Text)
	}
}

// Verify reads everything as it is at one moment and reports what does not hold:
// the file itself, references, the checksums of files, wavelengths and
// readings, the numbering of readings, and records against their journal.
func (s *Store) Verify(ctx context.Context) (*notebook.Verdict, error) {
	tx, err := s.reader.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return nil, s.fail(err)
	}
	defer rollback(tx)
	v := &verifier{Store: s, tx: tx}
	for _, part := range []func(context.Context) error{v.whole, v.files, v.journal, v.records, v.sittings} {
		// What cannot even be read is a fault of the notebook, except where the
		// caller gave up.
		if err := part(ctx); err != nil {
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			v.fault("%w", s.fail(err))
		}
	}
	return &v.v, nil
}

// each runs a query and visits its rows.
func (v *verifier) each(ctx context.Context, query string, visit func(*sql.Rows) error, args ...any) error {
	rows, err := v.tx.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := visit(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// whole lets SQLite look at its own file.
func (v *verifier) whole(ctx context.Context) error {
	err := v.each(ctx, "PRAGMA integrity_check", func(r *sql.Rows) error {
		var said string
		if err := r.Scan(&said); err != nil {
			return err
		}
		if said != "ok" {
			v.fault("the file: %s", said)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return v.each(ctx, "PRAGMA foreign_key_check", func(r *sql.Rows) error {
		var table, parent string
		var row, key sql.NullInt64
		if err := r.Scan(&table, &row, &parent, &key); err != nil {
			return err
		}
		v.fault("%s %d refers to a missing %s", table, row.Int64, parent)
		return nil
	})
}

// files checks attachments against their sums.
func (v *verifier) files(ctx context.Context) error {
	return v.each(ctx, "SELECT sha256, media, bytes FROM file", func(r *sql.Rows) error {
		var sum, media string
		var b sql.RawBytes
		if err := r.Scan(&sum, &media, &b); err != nil {
			return err
		}
		v.v.Files++
		if _, _, err := mime.ParseMediaType(media); err != nil {
			v.fault("the file %s is of the type %q, which is none", sum, media)
		}
		if notebook.SumOf(b) != notebook.Sum(sum) {
			v.fault("the file %s does not have its checksum any more", sum)
		}
		return nil
	})
}

// journal checks changes against their sums.
func (v *verifier) journal(ctx context.Context) error {
	return v.each(ctx, "SELECT seq, at, action, kind, id, before, after, ifnull(undoes, 0), sum FROM change", func(r *sql.Rows) error {
		var e entry
		var at int64
		var sum []byte
		if err := r.Scan(&e.Seq, &at, &e.Action, &e.Kind, &e.ID, &e.before, &e.after, &e.Undoes, &sum); err != nil {
			return err
		}
		if e.At = time.UnixMicro(at); !bytes.Equal(sum, e.sum()) {
			v.fault("change %d does not have its checksum any more", e.Seq)
		}
		return nil
	})
}

// records checks every record: that it can be read and kept, that what it names
// is there, and that it is what its last change made it.
func (v *verifier) records(ctx context.Context) error {
	for _, k := range notebook.Kinds() {
		next := notebook.ID(1)
		query := fmt.Sprintf(`SELECT r.id, r.revision, r.trashed, r.body,
			ifnull(c.kind = '%[1]s' AND c.id = r.id AND c.action <> 'appended' AND r.trashed IS iif(c.action = 'trashed', c.at, NULL), 0),
			ifnull((SELECT after FROM change WHERE kind = '%[1]s' AND id = r.id AND after IS NOT NULL ORDER BY seq DESC LIMIT 1) = r.body, 0)
			FROM %[1]s r LEFT JOIN change c ON c.seq = r.revision ORDER BY r.id`, k)
		err := v.each(ctx, query, func(rows *sql.Rows) error {
			var r row
			var noted, same bool
			if err := rows.Scan(&r.id, &r.revision, &r.trashed, &r.body, &noted, &same); err != nil {
				return err
			}
			v.v.Records++
			ref := notebook.Ref{Kind: k, ID: r.id}
			if r.id != next {
				v.fault("%s %d is missing", k, next)
			}
			next = r.id + 1
			if !noted {
				v.fault("the journal does not know the change %d that made %s", r.revision, ref)
			}
			if !same {
				v.fault("%s is not what the journal says it is", ref)
			}
			record, err := notebook.Unmarshal(k, []byte(r.body))
			if err == nil {
				_, err = v.check(ctx, v.tx, record)
			}
			if err != nil {
				v.fault("%s: %w", ref, err)
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// sittings checks the readings of every sitting: one number after the other, and
// each with the sum over itself and those before.
func (v *verifier) sittings(ctx context.Context) error {
	type tally struct {
		id    notebook.ID
		n     int64
		chain []byte
	}
	var all []tally
	err := v.each(ctx, "SELECT id, readings, chain FROM sitting ORDER BY id", func(r *sql.Rows) error {
		var t tally
		err := r.Scan(&t.id, &t.n, &t.chain)
		all = append(all, t)
		return err
	})
	if err != nil {
		return err
	}
	for _, t := range all {
		var n int64
		var chain [32]byte
		// Samples that cannot be read end the sitting: nothing after them can be
		// summed.
		err := v.readings(ctx, v.tx, &notebook.Readings{Sitting: t.id}, func(r *notebook.Reading, line, kept []byte) bool {
			v.v.Readings++
			if r.N != n+1 {
				v.fault("sitting %d: reading %d is missing", t.id, n+1)
			}
			n = r.N
			var nm, samples []byte
			if r.Curve != nil {
				nm, samples = notebook.Bytes(nil, r.Curve.Axis), notebook.Bytes(nil, r.Curve.Samples)
			}
			if chain = notebook.Link(chain, n, line, nm, samples); !bytes.Equal(chain[:], kept) {
				v.fault("sitting %d: reading %d does not have its checksum", t.id, n)
				copy(chain[:], kept) // so that those after it are judged on their own
			}
			return true
		})
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			v.fault("sitting %d: %w", t.id, err)
		case n != t.n || n > 0 && !bytes.Equal(chain[:], t.chain):
			v.fault("sitting %d ends with reading %d and should end with %d", t.id, n, t.n)
		}
	}
	return nil
}

// Backup writes a copy as of now to a new file while work goes on. The copy
// appears whole or not at all.
func (s *Store) Backup(ctx context.Context, path string) (err error) {
	if _, err := os.Lstat(path); err == nil {
		return notebook.Errorf(notebook.Invalid, "%s is there already: choose another name", path)
	}
	folder, err := os.MkdirTemp(filepath.Dir(path), ".lampassay-*")
	if err != nil {
		return explain(path, err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	copied := filepath.Join(folder, "copy")
	// The reader's own connections refuse to write, be it elsewhere.
	db, err := sql.Open("sqlite", source(s.path, s.mode))
	if err != nil {
		return s.fail(err)
	}
	_, err = db.ExecContext(ctx, "VACUUM INTO ?", copied)
	if err = errors.Join(err, db.Close()); err != nil {
		return explain(path, err)
	}
	if err := onDisk(copied); err != nil {
		return explain(path, err)
	}
	if err := os.Rename(copied, path); err != nil {
		return explain(path, err)
	}
	return explain(path, onDisk(filepath.Dir(path)))
}

// onDisk waits until a file, or the list of a folder, is on the disk.
func onDisk(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
