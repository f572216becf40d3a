package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"iter"
	"time"

	"lampassay/bench/notebook"
	"lampassay/bench/notebook/archive"
)

// Snapshot shows everything in the notebook as it is when it begins.
func (s *Store) Snapshot(ctx context.Context, show func(notebook.Whole) error) error {
	tx, err := s.reader.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return s.fail(err)
	}
	return errors.Join(show(snapshot{s, tx}), rollback(tx))
}

// Export writes everything, as it is when it begins, as an open archive.
func (s *Store) Export(ctx context.Context, to io.Writer) error {
	return s.Snapshot(ctx, func(all notebook.Whole) error { return archive.Write(ctx, to, all) })
}

// Import makes a notebook in a new file from an archive, and verifies it. Where
// anything is wrong no file stays.
func Import(ctx context.Context, path string, from io.ReaderAt, size int64, l archive.Limits) (verdict *notebook.Verdict, err error) {
	s, err := Create(ctx, path)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err = errors.Join(err, s.Close()); err != nil {
			remove(path)
		}
	}()
	if err := s.Fill(ctx, func(b notebook.Blank) error { return archive.Read(ctx, from, size, l, b) }); err != nil {
		return nil, err
	}
	if verdict, err = s.Verify(ctx); err != nil {
		return nil, err
	}
	if len(verdict.Faults) > 0 {
		return nil, notebook.Errorf(notebook.Invalid, "the archive does not hold together: %s", verdict.Faults[0])
	}
	return verdict, nil
}

// snapshot is a notebook within a transaction.
type snapshot struct {
	s  *Store
	tx *sql.Tx
}

// rows yields what scan makes of each row of a query.
func rows[T any](ctx context.Context, s *Store, q queryer, scan func(*sql.Rows) (*T, error), query string, args ...any) iter.Seq2[*T, error] {
	return func(yield func(*T, error) bool) {
		rows, err := q.QueryContext(ctx, query, args...)
		if err != nil {
			yield(nil, s.fail(err))
			return
		}
		defer rows.Close()
		for rows.Next() {
			one, err := scan(rows)
			if err != nil {
				yield(nil, s.fail(err))
				return
			}
			if !yield(one, nil) {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(nil, s.fail(err))
		}
	}
}

// Entries yields the records of a kind.
func (v snapshot) Entries(ctx context.Context, k notebook.Kind) iter.Seq2[*notebook.Entry, error] {
	tally := "0, NULL"
	if k == notebook.KindSitting {
		tally = "readings, chain"
	}
	return rows(ctx, v.s, v.tx, func(from *sql.Rows) (*notebook.Entry, error) {
		var r row
		var e notebook.Entry
		var chain []byte
		if err := from.Scan(&r.id, &r.revision, &r.trashed, &r.body, &e.Readings, &chain); err != nil {
			return nil, err
		}
		h := r.head()
		e.ID, e.Revision, e.Trashed, e.Body = h.ID, h.Revision, h.Trashed, []byte(r.body)
		if len(chain) == 32 {
			e.Chain = notebook.HexOf([32]byte(chain))
		}
		return &e, nil
	}, fmt.Sprintf("SELECT id, revision, trashed, body, %s FROM %s ORDER BY id", tally, k))
}

// Journal yields the changes.
func (v snapshot) Journal(ctx context.Context) iter.Seq2[*notebook.JournalEntry, error] {
	return rows(ctx, v.s, v.tx, func(from *sql.Rows) (*notebook.JournalEntry, error) {
		var e notebook.JournalEntry
		var at int64
		err := from.Scan(&e.Seq, &at, &e.Action, &e.Kind, &e.ID, &e.Before, &e.After, &e.Undoes)
		e.At = time.UnixMicro(at).UTC()
		return &e, err
	}, "SELECT seq, at, action, kind, id, before, after, ifnull(undoes, 0) FROM change ORDER BY seq")
}

// Files yields the files.
func (v snapshot) Files(ctx context.Context) iter.Seq2[*notebook.KeptFile, error] {
	return rows(ctx, v.s, v.tx, func(from *sql.Rows) (*notebook.KeptFile, error) {
		var f notebook.KeptFile
		return &f, from.Scan(&f.SHA256, &f.Media, &f.Bytes)
	}, "SELECT sha256, media, bytes FROM file ORDER BY sha256")
}

// Readings yields readings of a sitting.
func (v snapshot) Readings(ctx context.Context, q notebook.Readings) iter.Seq2[*notebook.Reading, error] {
	return v.s.yieldReadings(ctx, v.tx, q)
}

// Fill fills an empty notebook, all or not at all.
func (s *Store) Fill(ctx context.Context, fill func(notebook.Blank) error) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		var last int64
		if err := tx.QueryRowContext(ctx, "SELECT ifnull(max(seq), 0) FROM change").Scan(&last); err != nil {
			return err
		}
		if last > 0 {
			return notebook.Errorf(notebook.Invalid, "%s is not empty: an archive is read into a new notebook", s.path)
		}
		// A lamp may name an assay that names the lamp.
		if _, err := tx.ExecContext(ctx, "PRAGMA defer_foreign_keys = 1"); err != nil {
			return err
		}
		return fill(blank{s, tx})
	})
}

type blank struct {
	s  *Store
	tx *sql.Tx
}

// PutEntry keeps a record. A sitting's tally comes with its readings.
func (b blank) PutEntry(ctx context.Context, k notebook.Kind, e *notebook.Entry) error {
	if _, err := notebook.Unmarshal(k, e.Body); err != nil {
		return err
	}
	trashed := sql.NullInt64{Int64: e.Trashed.UnixMicro(), Valid: !e.Trashed.IsZero()}
	_, err := b.tx.ExecContext(ctx, fmt.Sprintf("INSERT INTO %s (id, revision, trashed, body) VALUES (?, ?, ?, ?)", k), e.ID, e.Revision, trashed, string(e.Body))
	return err
}

// PutJournal keeps a change.
func (b blank) PutJournal(ctx context.Context, e *notebook.JournalEntry) error {
	text := func(body []byte) sql.NullString { return sql.NullString{String: string(body), Valid: body != nil} }
	return write(ctx, b.tx, &entry{e.Change, text(e.Before), text(e.After)})
}

// PutFile keeps a file.
func (b blank) PutFile(ctx context.Context, f *notebook.KeptFile) error {
	if notebook.SumOf(f.Bytes) != f.SHA256 {
		return notebook.Errorf(notebook.Damaged, "the file %s does not have its checksum", f.SHA256)
	}
	return keep(ctx, b.tx, f.SHA256, f.Media, f.Bytes)
}

// PutReadings appends readings, also to a sitting in the trash.
func (b blank) PutReadings(ctx context.Context, sitting notebook.ID, readings []notebook.Reading) error {
	all, err := prepareAll(readings)
	if err != nil {
		return err
	}
	_, err = b.s.append(ctx, b.tx, sitting, all)
	return err
}
