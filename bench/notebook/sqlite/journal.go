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
	if limit <= 0 {
		limit = -1
	}
	rows, err := s.reader.QueryContext(ctx, "SELECT seq, at, action, kind, id, ifnull(undoes, 0) FROM change WHERE seq > ? ORDER BY seq LIMIT ?", after, limit)
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

// Undo takes back a change and returns the change that did.
func (s *Store) Undo(ctx context.Context, change int64) (notebook.Change, error) {
	var e entry
	err := s.write(ctx, func(tx *sql.Tx) error {
		var was entry
		var action string
		err := tx.QueryRowContext(ctx, "SELECT seq, action, kind, id, before, after FROM change WHERE seq = ?", change).
			Scan(&was.Seq, &action, &was.Kind, &was.ID, &was.before, &was.after)
		if errors.Is(err, sql.ErrNoRows) {
			return notebook.Errorf(notebook.NotFound, "there is no change %d", change)
		}
		if err != nil {
			return err
		}
		was.Action = notebook.Action(action)
		e = entry{Change: notebook.Change{Ref: was.Ref, Undoes: change}, before: was.after, after: was.before}
		switch was.Action {
		case notebook.Appended:
			return notebook.Errorf(notebook.Kept, "readings are not taken back: set them aside in the sitting, with a reason")
		case notebook.Trashed:
			e.Action = notebook.Restored
			return s.moveIn(ctx, tx, &e)
		case notebook.Restored:
			e.Action = notebook.Trashed
			return s.moveIn(ctx, tx, &e)
		}
		current, err := fetch(ctx, tx, was.Ref)
		if err != nil {
			return err
		}
		if current.trashed.Valid || current.body != was.after.String {
			return notebook.Errorf(notebook.Stale, "%s was changed again since: undo the later change first", was.Ref)
		}
		if was.Action == notebook.Added {
			e.Action, e.before, e.after = notebook.Trashed, sql.NullString{}, sql.NullString{}
			return s.moveIn(ctx, tx, &e)
		}
		e.Action = notebook.Updated
		r, err := notebook.Unmarshal(was.Kind, []byte(was.before.String))
		if err != nil {
			return err
		}
		return s.replace(ctx, tx, r, &e, current)
	})
	return e.Change, err
}
