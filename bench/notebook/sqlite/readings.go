package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"time"

	"lampassay/bench/notebook"
)

// prepared is a reading with all done that needs no transaction.
type prepared struct {
	line        []byte
	nm, samples []byte // as the sum takes them
	axis        []float64
	packed      []byte
}

func prepare(r *notebook.Reading) (p prepared, err error) {
	if err := r.Check(); err != nil {
		return p, err
	}
	if c := r.Curve; c != nil {
		p.samples = notebook.Bytes(nil, c.Samples)
		p.packed = pack(notebook.Floats(p.samples)) // each NaN the same
		if c.Axis != nil {
			p.nm, p.axis = notebook.Bytes(nil, c.Axis), c.Axis
		}
	}
	p.line, err = r.Encode()
	return p, err
}

func prepareAll(readings []notebook.Reading) ([]prepared, error) {
	all := make([]prepared, len(readings))
	for i := range readings {
		var err error
		if all[i], err = prepare(&readings[i]); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// Append adds readings to a sitting, all or none.
func (s *Store) Append(ctx context.Context, sitting notebook.ID, readings []notebook.Reading) (int64, error) {
	all, err := prepareAll(readings)
	if err != nil {
		return 0, err
	}
	var n int64
	err = s.write(ctx, func(tx *sql.Tx) (err error) {
		var trashed int
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM sitting WHERE id = ? AND trashed IS NOT NULL", sitting).Scan(&trashed); err != nil {
			return err
		}
		if trashed > 0 {
			return notebook.Errorf(notebook.Away, "sitting %d is in the trash: bring it back first", sitting)
		}
		if n, err = s.append(ctx, tx, sitting, all); err != nil || len(all) == 0 {
			return err
		}
		e := entry{Change: notebook.Change{Action: notebook.Appended, Ref: notebook.Ref{Kind: notebook.KindSitting, ID: sitting}}}
		if _, err := tx.ExecContext(ctx, "DELETE FROM change WHERE action = 'appended' AND id = ?", sitting); err != nil {
			return err
		}
		return s.note(ctx, tx, &e)
	})
	return n, err
}

// append writes readings and the sitting's tally.
func (s *Store) append(ctx context.Context, tx *sql.Tx, sitting notebook.ID, all []prepared) (int64, error) {
	var n int64
	var last []byte
	err := tx.QueryRowContext(ctx, "SELECT readings, chain FROM sitting WHERE id = ?", sitting).Scan(&n, &last)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, notebook.Errorf(notebook.NotFound, "there is no sitting %d", sitting)
	}
	if err != nil {
		return 0, err
	}
	var chain [32]byte
	copy(chain[:], last)
	insert, err := tx.PrepareContext(ctx, "INSERT INTO reading (id, chain, axis, body, packed) VALUES (?, ?, ?, ?, ?)")
	if err != nil {
		return 0, err
	}
	defer insert.Close()
	for i := range all {
		p := &all[i]
		var axis sql.NullInt64
		if p.axis != nil {
			if axis, err = keepAxis(ctx, tx, notebook.SumOf(p.nm), p.axis); err != nil {
				return 0, err
			}
		}
		n++
		chain = notebook.Link(chain, n, p.line, p.nm, p.samples)
		if _, err := insert.ExecContext(ctx, readingID(sitting, n), chain[:], axis, string(p.line), p.packed); err != nil {
			return 0, err
		}
	}
	if len(all) == 0 {
		return n, nil
	}
	_, err = tx.ExecContext(ctx, "UPDATE sitting SET readings = ?, chain = ? WHERE id = ?", n, chain[:], sitting)
	return n, err
}

// readingID puts the readings of a sitting together and in order.
func readingID(sitting notebook.ID, n int64) int64 { return int64(sitting)<<32 | n }

// keepAxis returns the number of an axis, which it stores where it is new.
func keepAxis(ctx context.Context, tx *sql.Tx, sum notebook.Sum, nm []float64) (id sql.NullInt64, err error) {
	err = tx.QueryRowContext(ctx, "SELECT id FROM axis WHERE sha256 = ?", sum).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		err = tx.QueryRowContext(ctx, "INSERT INTO axis (sha256, packed) VALUES (?, ?) RETURNING id", sum, pack(nm)).Scan(&id)
	}
	return id, err
}

// axis returns the wavelengths under a number. All readings with one axis share
// the slice.
func (s *Store) axis(ctx context.Context, q queryer, id int64, n int) ([]float64, error) {
	s.mu.Lock()
	nm := s.axes[id]
	s.mu.Unlock()
	if nm == nil {
		var packed []byte
		var sum notebook.Sum
		if err := q.QueryRowContext(ctx, "SELECT sha256, packed FROM axis WHERE id = ?", id).Scan(&sum, &packed); err != nil {
			return nil, err
		}
		var err error
		if nm, err = unpack(packed, n); err != nil {
			return nil, err
		}
		if notebook.SumOf(notebook.Bytes(nil, nm)) != sum {
			return nil, notebook.Errorf(notebook.Damaged, "wavelengths do not have their checksum any more: go back to a backup")
		}
		s.mu.Lock()
		s.axes[id] = nm
		s.mu.Unlock()
	}
	if len(nm) != n {
		return nil, notebook.Errorf(notebook.Damaged, "a spectrum of %d samples has %d wavelengths", n, len(nm))
	}
	return nm, nil
}

// Tally says how much was read in a sitting.
func (s *Store) Tally(ctx context.Context, sitting notebook.ID) (notebook.Tally, error) {
	var t notebook.Tally
	var chain []byte
	err := s.reader.QueryRowContext(ctx, "SELECT readings, chain FROM sitting WHERE id = ?", sitting).Scan(&t.Readings, &chain)
	if errors.Is(err, sql.ErrNoRows) {
		return t, notebook.Errorf(notebook.NotFound, "there is no sitting %d", sitting)
	}
	if err != nil {
		return t, s.fail(err)
	}
	if len(chain) == 32 {
		t.Chain = notebook.HexOf([32]byte(chain))
	}
	channels, from, to, err := s.channels(ctx, s.reader, sitting)
	t.Channels = channels
	if len(channels) > 0 {
		t.From, t.To = time.UnixMicro(from).UTC(), time.UnixMicro(to).UTC()
	}
	return t, err
}

// channels lists the channels of a sitting and the time of all of them, by
// jumping from one to the next in the index.
func (s *Store) channels(ctx context.Context, q queryer, sitting notebook.ID) (all []string, from, to int64, err error) {
	last := ""
	for {
		var name sql.NullString
		if err := q.QueryRowContext(ctx, "SELECT min(channel) FROM reading WHERE sitting = ? AND channel > ?", sitting, last).Scan(&name); err != nil {
			return nil, 0, 0, s.fail(err)
		}
		if !name.Valid {
			return all, from, to, nil
		}
		last = name.String
		var first, end int64
		err := q.QueryRowContext(ctx, "SELECT (SELECT min(at) FROM reading WHERE sitting = ?1 AND channel = ?2), (SELECT max(at) FROM reading WHERE sitting = ?1 AND channel = ?2)", sitting, last).Scan(&first, &end)
		if err != nil {
			return nil, 0, 0, s.fail(err)
		}
		if len(all) == 0 {
			from, to = first, end
		}
		all, from, to = append(all, last), min(from, first), max(to, end)
	}
}

// Readings yields readings of a sitting in their order.
func (s *Store) Readings(ctx context.Context, q notebook.Readings) iter.Seq2[*notebook.Reading, error] {
	return func(yield func(*notebook.Reading, error) bool) {
		// One connection for rows and wavelengths: readers that each waited for a
		// second one could wait for each other.
		conn, err := s.reader.Conn(ctx)
		if err != nil {
			yield(nil, s.fail(err))
			return
		}
		defer conn.Close()
		s.yieldReadings(ctx, conn, q)(yield)
	}
}

func (s *Store) yieldReadings(ctx context.Context, from queryer, q notebook.Readings) iter.Seq2[*notebook.Reading, error] {
	return func(yield func(*notebook.Reading, error) bool) {
		if err := s.readings(ctx, from, &q, func(r *notebook.Reading, _, _ []byte) bool { return yield(r, nil) }); err != nil {
			yield(nil, s.fail(err))
		}
	}
}

// readings visits readings with the line and the chain as they are kept, until
// visit has enough.
func (s *Store) readings(ctx context.Context, from queryer, q *notebook.Readings, visit func(r *notebook.Reading, line, chain []byte) bool) error {
	packed := "packed"
	if q.NoCurves {
		packed = "NULL"
	}
	where := "id > ? AND id <= ?"
	args := []any{readingID(q.Sitting, q.After), readingID(q.Sitting, 1<<32-1)}
	if q.Channel != "" {
		where, args = where+" AND channel = ?", append(args, q.Channel)
	}
	if q.Decimate > 0 {
		thin, more, err := s.thin(ctx, from, q)
		if err != nil || thin == "" {
			return err
		}
		where, args = where+" AND id IN ("+thin+")", append(args, more...)
	}
	limit := -1
	if q.Limit > 0 {
		limit = q.Limit
	}
	rows, err := from.QueryContext(ctx, fmt.Sprintf("SELECT id, chain, axis, body, %s FROM reading WHERE %s ORDER BY id LIMIT %d", packed, where, limit), args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		var axis sql.NullInt64
		var chain, line, packed sql.RawBytes
		if err := rows.Scan(&id, &chain, &axis, &line, &packed); err != nil {
			return err
		}
		r := &notebook.Reading{N: id & (1<<32 - 1)}
		if len(chain) == 32 {
			r.Chain = notebook.HexOf([32]byte(chain))
		}
		samples, err := r.Decode(line)
		if err != nil {
			return err
		}
		if r.Curve != nil && !q.NoCurves {
			if r.Curve.Samples, err = unpack(packed, samples); err != nil {
				return notebook.Errorf(notebook.CodeOf(err), "reading %d of sitting %d: %w", r.N, q.Sitting, err)
			}
			if axis.Valid {
				if r.Curve.Axis, err = s.axis(ctx, from, axis.Int64, samples); err != nil {
					return err
				}
			}
		}
		if !visit(r, line, chain) {
			return nil
		}
	}
	return rows.Err()
}

// thin chooses the readings to draw: SQL for their ids, "" where there are none.
func (s *Store) thin(ctx context.Context, q queryer, o *notebook.Readings) (string, []any, error) {
	channels, from, to, err := s.channels(ctx, q, o.Sitting)
	if err != nil || len(channels) == 0 {
		return "", nil, err
	}
	width := (to-from)/int64(o.Decimate) + 1
	// In SQLite a column beside the only min() or max() of a query is that of the
	// row that has it.
	part := func(choose, where string) string {
		return fmt.Sprintf(`SELECT id FROM (SELECT id, %s FROM reading INDEXED BY reading_drawn
			WHERE sitting = ?%s GROUP BY channel, (at - ?) / ?)`, choose, where)
	}
	sql := part("min(at)", " AND (axis IS NOT NULL OR value IS NULL)") +
		" UNION " + part("min(value)", " AND value IS NOT NULL") + " UNION " + part("max(value)", " AND value IS NOT NULL") +
		" UNION SELECT id FROM reading WHERE marked AND id > ? AND id <= ?"
	var args []any
	for range 3 {
		args = append(args, o.Sitting, from, width)
	}
	return sql, append(args, readingID(o.Sitting, 0), readingID(o.Sitting, 1<<32-1)), nil
}
