package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"lampassay/bench/notebook"
)

// write runs a transaction of the one writer and wakes those who watch.
func (s *Store) write(ctx context.Context, do func(*sql.Tx) error) error {
	if s.writer == nil {
		return notebook.Errorf(notebook.ReadOnly, "%s is open for reading only", s.path)
	}
	tx, err := s.writer.BeginTx(ctx, nil)
	if err != nil {
		return s.fail(err)
	}
	if err := do(tx); err != nil {
		return errors.Join(s.fail(err), rollback(tx))
	}
	if err := tx.Commit(); err != nil {
		return errors.Join(s.fail(err), rollback(tx))
	}
	s.mu.Lock()
	close(s.fresh)
	s.fresh = make(chan struct{})
	s.mu.Unlock()
	return nil
}

// rollback ends a transaction that may have ended already.
func rollback(tx *sql.Tx) error {
	if err := tx.Rollback(); err != nil && !errors.Is(err, sql.ErrTxDone) {
		return err
	}
	return nil
}

// entry is a change with the bodies that Undo needs.
type entry struct {
	notebook.Change
	before, after sql.NullString
}

// sum is over all of a change, so that Verify sees what happened to it: its numbers
// and words with a space after each, the lengths of the bodies, −1 for none, and
// the bodies.
func (e *entry) sum() []byte {
	length := func(s sql.NullString) int {
		if !s.Valid {
			return -1
		}
		return len(s.String)
	}
	h := sha256.New()
	fmt.Fprintf(h, "%d %d %s %s %d %d %d %d ", e.Seq, e.At.UnixMicro(), e.Action, e.Kind, e.ID, e.Undoes, length(e.before), length(e.after))
	h.Write([]byte(e.before.String + e.after.String))
	return h.Sum(nil)
}

// note numbers a change and writes it into the journal.
func (s *Store) note(ctx context.Context, tx *sql.Tx, e *entry) error {
	e.At = s.now().UTC().Truncate(time.Microsecond)
	// The table remembers the highest number it ever gave, also of a change
	// that has moved up since.
	if err := tx.QueryRowContext(ctx, "SELECT ifnull(max(seq), 0) + 1 FROM sqlite_sequence WHERE name = 'change'").Scan(&e.Seq); err != nil {
		return err
	}
	return write(ctx, tx, e)
}

// write writes a numbered change.
func write(ctx context.Context, tx *sql.Tx, e *entry) error {
	_, err := tx.ExecContext(ctx, "INSERT INTO change (seq, at, action, kind, id, before, after, undoes, sum) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
		e.Seq, e.At.UnixMicro(), e.Action, e.Kind, e.ID, e.before, e.after, sql.NullInt64{Int64: e.Undoes, Valid: e.Undoes != 0}, e.sum())
	return err
}

// Changes lists up to limit changes after one, oldest first.
func (s *Store) Changes(ctx context.Context, after int64, limit int) ([]notebook.Change, error) {
	return s.changes(ctx, "seq > ? ORDER BY seq", after, limit)
}

// ChangesBefore lists up to limit changes before one, newest first.
func (s *Store) ChangesBefore(ctx context.Context, before int64, limit int) ([]notebook.Change, error) {
	return s.changes(ctx, "seq < ? ORDER BY seq DESC", before, limit)
}

func (s *Store) changes(ctx context.Context, which string, from int64, limit int) ([]notebook.Change, error) {
	if limit <= 0 {
		limit = -1
	}
	rows, err := s.reader.QueryContext(ctx, "SELECT seq, at, action, kind, id, ifnull(undoes, 0) FROM change WHERE "+which+" LIMIT ?", from, limit)
	if err != nil {
		return nil, s.fail(err)
	}
	defer rows.Close()
	var all []notebook.Change
	for rows.Next() {
		var c notebook.Change
		var at int64
		if err := rows.Scan(&c.Seq, &at, &c.Action, &c.Kind, &c.ID, &c.Undoes); err != nil {
			return nil, s.fail(err)
		}
		c.At = time.UnixMicro(at).UTC()
		all = append(all, c)
	}
	return all, s.fail(rows.Err())
}

// States returns what a record was before a change and after it.
func (s *Store) States(ctx context.Context, change int64) (before, after notebook.Record, err error) {
	e, err := changed(ctx, s.reader, change)
	if err != nil {
		return nil, nil, s.fail(err)
	}
	read := func(body sql.NullString) (notebook.Record, error) {
		if !body.Valid {
			return nil, nil
		}
		return notebook.Unmarshal(e.Kind, []byte(body.String))
	}
	if before, err = read(e.before); err != nil {
		return nil, nil, err
	}
	after, err = read(e.after)
	return before, after, err
}

// changed fetches a change with its bodies.
func changed(ctx context.Context, q queryer, change int64) (e entry, err error) {
	err = q.QueryRowContext(ctx, "SELECT seq, action, kind, id, before, after FROM change WHERE seq = ?", change).
		Scan(&e.Seq, &e.Action, &e.Kind, &e.ID, &e.before, &e.after)
	if errors.Is(err, sql.ErrNoRows) {
		return e, notebook.Errorf(notebook.NotFound, "there is no change %d", change)
	}
	return e, err
}

// lookAgain is how often a notebook that another process writes in is asked for
// changes.
const lookAgain = 250 * time.Millisecond

// Watch waits until there is a change after the one given and returns the latest.
func (s *Store) Watch(ctx context.Context, after int64) (int64, error) {
	for {
		s.mu.Lock()
		fresh := s.fresh
		s.mu.Unlock()
		var last int64
		if err := s.reader.QueryRowContext(ctx, "SELECT ifnull(max(seq), 0) FROM change").Scan(&last); err != nil {
			return 0, s.fail(err)
		}
		if last > after {
			return last, nil
		}
		var again <-chan time.Time
		if s.writer == nil {
			again = time.After(lookAgain)
		}
		select {
		case <-ctx.Done():
			return 0, ctx.Err()
		case <-fresh:
		case <-again:
		}
	}
}

// Trash puts a record away.
func (s *Store) Trash(ctx context.Context, r notebook.Ref) (int64, error) {
	return s.move(ctx, r, notebook.Trashed)
}

// Restore brings a record back from the trash.
func (s *Store) Restore(ctx context.Context, r notebook.Ref) (int64, error) {
	return s.move(ctx, r, notebook.Restored)
}

func (s *Store) move(ctx context.Context, r notebook.Ref, action notebook.Action) (int64, error) {
	e := entry{Change: notebook.Change{Action: action, Ref: r}}
	err := s.write(ctx, func(tx *sql.Tx) error { return s.moveIn(ctx, tx, &e) })
	return e.Seq, err
}

func (s *Store) moveIn(ctx context.Context, tx *sql.Tx, e *entry) error {
	current, err := fetch(ctx, tx, e.Ref)
	if err != nil {
		return err
	}
	away := e.Action == notebook.Trashed
	if current.trashed.Valid == away {
		where := map[bool]string{true: "in the trash already", false: "not in the trash"}[away]
		return notebook.Errorf(notebook.Stale, "%s is %s", e.Ref, where)
	}
	if err := s.note(ctx, tx, e); err != nil {
		return err
	}
	trashed := sql.NullInt64{Int64: e.At.UnixMicro(), Valid: away}
	_, err = tx.ExecContext(ctx, fmt.Sprintf("UPDATE %s SET trashed = ?, revision = ? WHERE id = ?", e.Kind), trashed, e.Seq, e.ID)
	return err
}
