package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"slices"

	"lampassay/bench/notebook"
)

// Undo takes back a change and returns the change that did.
func (s *Store) Undo(ctx context.Context, change int64) (did notebook.Change, err error) {
	err = s.write(ctx, func(tx *sql.Tx) error {
		did, err = s.undo(ctx, tx, change)
		return err
	})
	return did, err
}

// UndoAll takes back changes that were made as one, and returns those that did.
func (s *Store) UndoAll(ctx context.Context, changes []int64) (did []notebook.Change, err error) {
	err = s.write(ctx, func(tx *sql.Tx) error {
		for _, change := range changes {
			one, err := s.undo(ctx, tx, change)
			if err != nil {
				return err
			}
			did = append(did, one)
		}
		for i := range did {
			if did[i].Action != notebook.Trashed {
				continue
			}
			if err := unused(ctx, tx, did[i].Ref, slices.Max(changes)); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return did, nil
}

// undo takes back a change within a transaction.
func (s *Store) undo(ctx context.Context, tx *sql.Tx, change int64) (notebook.Change, error) {
	was, err := changed(ctx, tx, change)
	if err != nil {
		return notebook.Change{}, err
	}
	e := entry{Change: notebook.Change{Ref: was.Ref, Undoes: change}, before: was.after, after: was.before}
	switch was.Action {
	case notebook.Appended:
		return e.Change, notebook.Errorf(notebook.Kept, "readings are not taken back: set them aside in the sitting, with a reason")
	case notebook.Trashed:
		e.Action = notebook.Restored
		err := s.moveIn(ctx, tx, &e)
		return e.Change, err
	case notebook.Restored:
		e.Action = notebook.Trashed
		err := s.moveIn(ctx, tx, &e)
		return e.Change, err
	}
	current, err := fetch(ctx, tx, was.Ref)
	if err != nil {
		return e.Change, err
	}
	if current.trashed.Valid || current.body != was.after.String {
		return e.Change, notebook.Errorf(notebook.Stale, "%s was changed again since: undo the later change first", was.Ref)
	}
	if was.Action == notebook.Added {
		e.Action, e.before, e.after = notebook.Trashed, sql.NullString{}, sql.NullString{}
		err := s.moveIn(ctx, tx, &e)
		return e.Change, err
	}
	e.Action = notebook.Updated
	r, err := notebook.Unmarshal(was.Kind, []byte(was.before.String))
	if err != nil {
		return e.Change, err
	}
	err = s.replace(ctx, tx, r, &e, current)
	return e.Change, err
}

// users are the queries for a record in use that another is part of, and what it has
// of it.
var users = []struct {
	of, by notebook.Kind
	query  string
}{
	{notebook.KindLamp, notebook.KindSitting, "SELECT id FROM sitting WHERE trashed IS NULL AND lamp = ?"},
	{notebook.KindLamp, notebook.KindAssay, "SELECT id FROM assay WHERE trashed IS NULL AND lamp = ?"},
	{notebook.KindSitting, notebook.KindAssay, "SELECT id FROM assay WHERE trashed IS NULL AND sitting = ?"},
	{notebook.KindAssay, notebook.KindLamp, "SELECT id FROM lamp WHERE trashed IS NULL AND assay = ?"},
	{notebook.KindAssay, notebook.KindComparison, "SELECT id FROM comparison WHERE trashed IS NULL AND EXISTS (SELECT 1 FROM json_each(body, '$.assays') WHERE value = ?)"},
	{notebook.KindAssay, notebook.KindPublication, "SELECT id FROM publication WHERE trashed IS NULL AND EXISTS (SELECT 1 FROM json_each(body, '$.assays') WHERE value = ?)"},
	{notebook.KindComparison, notebook.KindPublication, "SELECT id FROM publication WHERE trashed IS NULL AND EXISTS (SELECT 1 FROM json_each(body, '$.comparisons') WHERE value = ?)"},
	{notebook.KindComparison, notebook.KindPublication, "SELECT id FROM publication WHERE trashed IS NULL AND EXISTS (SELECT 1 FROM json_each(body, '$.comparisons') WHERE value = ?)"},
	{notebook.KindInstrument, notebook.KindSitting, "SELECT id FROM sitting WHERE trashed IS NULL AND EXISTS (SELECT 1 FROM json_each(body, '$.instruments') WHERE value = ?)"},
	{notebook.KindReference, notebook.KindSitting, "SELECT id FROM sitting WHERE trashed IS NULL AND EXISTS (SELECT 1 FROM json_each(body, '$.references') WHERE value = ?)"},
}

// unused returns an [notebook.Error] that names what is built on a record, nil where
// nothing is. Of a sitting that is also what was recorded after a change.
func unused(ctx context.Context, tx *sql.Tx, ref notebook.Ref, change int64) error {
	for _, u := range users {
		if u.of != ref.Kind {
			continue
		}
		user := notebook.Ref{Kind: u.by}
		switch err := tx.QueryRowContext(ctx, u.query+" ORDER BY id LIMIT 1", ref.ID).Scan(&user.ID); {
		case err == nil:
			return notebook.Errorf(notebook.Stale, "%s is built on %s: nothing was taken back; put %s into the trash first, or keep both", user, ref, user)
		case !errors.Is(err, sql.ErrNoRows):
			return err
		}
	}
	if ref.Kind != notebook.KindSitting {
		return nil
	}
	var later int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM change WHERE action = ? AND id = ? AND seq > ?", notebook.Appended, ref.ID, change).Scan(&later); err != nil {
		return err
	}
	if later > 0 {
		return notebook.Errorf(notebook.Stale, "%s has readings that were recorded since: nothing was taken back; put it into the trash by itself if they are not wanted", ref)
	}
	return nil
}
