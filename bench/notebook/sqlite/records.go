package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"lampassay/bench/notebook"
)

// Lamps are the lamps. The drawers differ in the type alone.
func (s *Store) Lamps() notebook.Pages[notebook.Lamp] { return pages[notebook.Lamp, *notebook.Lamp]{s} }

// Instruments are the instruments.
func (s *Store) Instruments() notebook.Pages[notebook.Instrument] {
	return pages[notebook.Instrument, *notebook.Instrument]{s}
}

// References are the reference lamps.
func (s *Store) References() notebook.Pages[notebook.Reference] {
	return pages[notebook.Reference, *notebook.Reference]{s}
}

// Sittings are the sittings.
func (s *Store) Sittings() notebook.Pages[notebook.Sitting] {
	return pages[notebook.Sitting, *notebook.Sitting]{s}
}

// Comparisons are the comparisons.
func (s *Store) Comparisons() notebook.Pages[notebook.Comparison] {
	return pages[notebook.Comparison, *notebook.Comparison]{s}
}

// Assays are the assays.
func (s *Store) Assays() notebook.Pages[notebook.Assay] {
	return pages[notebook.Assay, *notebook.Assay]{s}
}

// Publications are the publications.
func (s *Store) Publications() notebook.Pages[notebook.Publication] {
	return pages[notebook.Publication, *notebook.Publication]{s}
}

// pages are the records of the kind T, whose methods *T has.
type pages[T any, P interface {
	*T
	notebook.Record
}] struct{ s *Store }

func (p pages[T, P]) kind() notebook.Kind { return P(new(T)).Kind() }

// Get returns a record, also from the trash.
func (p pages[T, P]) Get(ctx context.Context, id notebook.ID) (*T, error) {
	r, err := fetch(ctx, p.s.reader, notebook.Ref{Kind: p.kind(), ID: id})
	if err != nil {
		return nil, p.s.fail(err)
	}
	record := new(T)
	return record, r.into(P(record))
}

// List returns the records that a query chooses.
func (p pages[T, P]) List(ctx context.Context, q notebook.Query) (notebook.List[T], error) {
	var list notebook.List[T]
	where, args, err := conditions(p.kind(), &q)
	if err != nil {
		return list, err
	}
	order, err := ordering(p.kind(), &q, "")
	if err != nil {
		return list, err
	}
	if err := p.s.reader.QueryRowContext(ctx, fmt.Sprintf("SELECT count(*) FROM %s r WHERE %s", p.kind(), where), args...).Scan(&list.Total); err != nil {
		return list, p.s.fail(err)
	}
	rows, err := p.s.reader.QueryContext(ctx, fmt.Sprintf("SELECT id, revision, trashed, body FROM %s r WHERE %s %s", p.kind(), where, order), args...)
	if err != nil {
		return list, p.s.fail(err)
	}
	defer rows.Close()
	for rows.Next() {
		var r row
		if err := rows.Scan(&r.id, &r.revision, &r.trashed, &r.body); err != nil {
			return list, p.s.fail(err)
		}
		record := new(T)
		if err := r.into(P(record)); err != nil {
			return list, err
		}
		list.Items = append(list.Items, record)
	}
	return list, p.s.fail(rows.Err())
}

// Add keeps a new record.
func (p pages[T, P]) Add(ctx context.Context, record T) (*T, error) {
	r := P(&record)
	err := p.s.write(ctx, func(tx *sql.Tx) error {
		body, err := p.s.check(ctx, tx, r)
		if err != nil {
			return err
		}
		e := entry{Change: notebook.Change{Action: notebook.Added, Ref: notebook.Ref{Kind: r.Kind()}}, after: body}
		if err := tx.QueryRowContext(ctx, fmt.Sprintf("SELECT ifnull(max(id), 0) + 1 FROM %s", r.Kind())).Scan(&e.ID); err != nil {
			return err
		}
		if err := p.s.note(ctx, tx, &e); err != nil {
			return err
		}
		*r.GetHead() = notebook.Head{ID: e.ID, Revision: e.Seq}
		_, err = tx.ExecContext(ctx, fmt.Sprintf("INSERT INTO %s (id, revision, body) VALUES (?, ?, ?)", r.Kind()), e.ID, e.Seq, body.String)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &record, nil
}

// Update replaces a record.
func (p pages[T, P]) Update(ctx context.Context, record T) (*T, error) {
	r := P(&record)
	head := r.GetHead()
	err := p.s.write(ctx, func(tx *sql.Tx) error {
		ref := notebook.Ref{Kind: r.Kind(), ID: head.ID}
		current, err := fetch(ctx, tx, ref)
		switch {
		case err != nil:
			return err
		case current.trashed.Valid:
			return notebook.Errorf(notebook.Away, "%s is in the trash: bring it back first", ref)
		case current.revision != head.Revision:
			return notebook.Errorf(notebook.Stale, "%s was changed since you opened it: look at it again", ref)
		}
		e := entry{Change: notebook.Change{Action: notebook.Updated, Ref: ref}}
		return p.s.replace(ctx, tx, r, &e, current)
	})
	if err != nil {
		return nil, err
	}
	return &record, nil
}

// replace writes a record over the current one and notes it in e. What may follow a
// record is a rule for what people write: taking back a change is none of that, and the
// journal shows both states.
func (s *Store) replace(ctx context.Context, tx *sql.Tx, r notebook.Record, e *entry, current row) error {
	if next, has := r.(notebook.Successor); has && e.Undoes == 0 {
		older, err := notebook.Unmarshal(r.Kind(), []byte(current.body))
		if err != nil {
			return err
		}
		if err := next.Follows(older); err != nil {
			return err
		}
	}
	body, err := s.check(ctx, tx, r)
	if err != nil {
		return err
	}
	e.before, e.after = sql.NullString{String: current.body, Valid: true}, body
	if err := s.note(ctx, tx, e); err != nil {
		return err
	}
	*r.GetHead() = notebook.Head{ID: e.ID, Revision: e.Seq}
	_, err = tx.ExecContext(ctx, fmt.Sprintf("UPDATE %s SET body = ?, revision = ? WHERE id = ?", e.Kind), body.String, e.Seq, e.ID)
	return err
}

// check returns a record's body after making sure that it can be kept and that
// what it refers to is there.
func (s *Store) check(ctx context.Context, tx *sql.Tx, r notebook.Record) (sql.NullString, error) {
	if err := r.Check(); err != nil {
		return sql.NullString{}, err
	}
	refs, files := r.Links()
	for _, ref := range refs {
		if _, err := fetch(ctx, tx, ref); err != nil {
			return sql.NullString{}, err
		}
	}
	for _, f := range files {
		var found int
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM file WHERE sha256 = ?", f.SHA256).Scan(&found); err != nil {
			return sql.NullString{}, err
		}
		if found == 0 {
			return sql.NullString{}, notebook.Errorf(notebook.Invalid, "the bytes of %q are not in the notebook: keep them before the record that names them", f.Name)
		}
	}
	body, err := notebook.Marshal(r)
	return sql.NullString{String: string(body), Valid: true}, err
}

// row is a record as the table has it.
type row struct {
	id       notebook.ID
	revision int64
	trashed  sql.NullInt64
	body     string
}

func (r *row) head() notebook.Head {
	h := notebook.Head{ID: r.id, Revision: r.revision}
	if r.trashed.Valid {
		h.Trashed = time.UnixMicro(r.trashed.Int64).UTC()
	}
	return h
}

// into reads the row into a record.
func (r *row) into(record notebook.Record) error {
	if err := json.Unmarshal([]byte(r.body), record); err != nil {
		return notebook.Errorf(notebook.Damaged, "%s %d cannot be read: %w", record.Kind(), r.id, err)
	}
	*record.GetHead() = r.head()
	return nil
}

// queryer is a database or a transaction.
type queryer interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
	QueryRowContext(context.Context, string, ...any) *sql.Row
}

// fetch returns the row of a record.
func fetch(ctx context.Context, q queryer, ref notebook.Ref) (row, error) {
	var r row
	err := q.QueryRowContext(ctx, fmt.Sprintf("SELECT id, revision, trashed, body FROM %s WHERE id = ?", ref.Kind), ref.ID).
		Scan(&r.id, &r.revision, &r.trashed, &r.body)
	if errors.Is(err, sql.ErrNoRows) {
		return r, notebook.Errorf(notebook.NotFound, "there is no %s", ref)
	}
	return r, err
}

// conditions are a query's choices as SQL over the table r.
func conditions(k notebook.Kind, q *notebook.Query) (string, []any, error) {
	all := []string{"r.trashed IS NULL"}
	if q.Trashed {
		all[0] = "r.trashed IS NOT NULL"
	}
	var args []any
	for _, c := range []struct {
		column string
		set    bool
		value  any
		kinds  string
	}{
		{"technology", q.Technology != "", q.Technology, "lamp"},
		{"lamp", q.Lamp != 0, q.Lamp, "sitting assay"},
		{"sitting", q.Sitting != 0, q.Sitting, "assay"},
	} {
		if !c.set {
			continue
		}
		if !strings.Contains(" "+c.kinds+" ", " "+string(k)+" ") {
			return "", nil, notebook.Errorf(notebook.Invalid, "records of the kind %s have no %s to choose by", k, c.column)
		}
		all, args = append(all, "r."+c.column+" = ?"), append(args, c.value)
	}
	for _, word := range strings.Fields(q.Text) {
		all = append(all, `EXISTS (SELECT 1 FROM json_tree(r.body) WHERE type = 'text' AND atom LIKE ? ESCAPE '\')`)
		args = append(args, "%"+strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(word)+"%")
	}
	return strings.Join(all, " AND "), args, nil
}

// ordering is a query's order and page as SQL over the table r. figures names the
// JSON with an assay's figures, "" where there is none.
func ordering(k notebook.Kind, q *notebook.Query, figures string) (string, error) {
	by := ""
	switch {
	case q.Sort == "":
		by = "r.id"
	case q.Sort == "changed":
		by = "r.revision"
	case q.Sort == "name":
		by = "r.name COLLATE NOCASE"
	case q.Sort == "technology" && k == notebook.KindLamp:
		by = "r.technology COLLATE NOCASE"
	case figures != "" && isKey(q.Sort):
		by = fmt.Sprintf("%s ->> '$.%s'", figures, q.Sort)
	default:
		return "", notebook.Errorf(notebook.Invalid, "records of the kind %s cannot be sorted by %q", k, q.Sort)
	}
	direction := ""
	if q.Descending {
		direction = " DESC"
	}
	limit := -1 // all
	if q.Limit > 0 {
		limit = q.Limit
	}
	return fmt.Sprintf("ORDER BY %s%s NULLS LAST, r.id LIMIT %d OFFSET %d", by, direction, limit, max(q.Offset, 0)), nil
}

// isKey reports whether s has the form of a key of assay/quantity, so that it
// can stand in SQL.
func isKey(s string) bool {
	for _, c := range s {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '_' {
			return false
		}
	}
	return s != ""
}

// Shelf lists lamps with the figures of their chosen or latest assay.
func (s *Store) Shelf(ctx context.Context, q notebook.Query) (notebook.List[notebook.Shelved], error) {
	var list notebook.List[notebook.Shelved]
	where, args, err := conditions(notebook.KindLamp, &q)
	if err != nil {
		return list, err
	}
	order, err := ordering(notebook.KindLamp, &q, "a.figures")
	if err != nil {
		return list, err
	}
	if err := s.reader.QueryRowContext(ctx, "SELECT count(*) FROM lamp r WHERE "+where, args...).Scan(&list.Total); err != nil {
		return list, s.fail(err)
	}
	rows, err := s.reader.QueryContext(ctx, `
		SELECT r.id, r.revision, r.trashed, r.body, ifnull(a.id, 0), ifnull(a.name, ''), ifnull(a.figures, 'null'), ifnull(a.strip, 'null'),
			(SELECT count(*) FROM sitting WHERE lamp = r.id AND trashed IS NULL)
		FROM lamp r LEFT JOIN assay a ON a.id = ifnull(
			(SELECT id FROM assay WHERE id = r.assay AND trashed IS NULL),
			(SELECT max(id) FROM assay WHERE lamp = r.id AND trashed IS NULL))
		WHERE `+where+" "+order, args...)
	if err != nil {
		return list, s.fail(err)
	}
	defer rows.Close()
	for rows.Next() {
		var r row
		var made, figures, strip string
		l := new(notebook.Shelved)
		if err := rows.Scan(&r.id, &r.revision, &r.trashed, &r.body, &l.Assay, &made, &figures, &strip, &l.Sittings); err != nil {
			return list, s.fail(err)
		}
		if err := r.into(&l.Lamp); err != nil {
			return list, err
		}
		if l.Assay != 0 {
			if l.Made, err = time.Parse(time.RFC3339Nano, made); err == nil {
				err = errors.Join(json.Unmarshal([]byte(figures), &l.Figures), json.Unmarshal([]byte(strip), &l.Strip))
			}
			if err != nil {
				return list, notebook.Errorf(notebook.Damaged, "assay %d cannot be read: %w", l.Assay, err)
			}
		}
		list.Items = append(list.Items, l)
	}
	return list, s.fail(rows.Err())
}
