package live

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"lampassay/bench/notebook"
)

// Table is a sink that writes CSV: a row for each value, and for a reading without
// any. Spectra are left out.
type Table struct {
	w *csv.Writer
	n int64
}

// tableColumns head a table.
var tableColumns = []string{"n", "at", "channel", "key", "value", "unit", "flag", "flags", "note", "raw"}

// NewTable writes the head of a table.
func NewTable(w io.Writer) (*Table, error) {
	t := &Table{w: csv.NewWriter(w)}
	t.w.Write(tableColumns)
	t.w.Flush()
	return t, t.w.Error()
}

// Append writes readings and hands them to the writer below.
func (t *Table) Append(_ context.Context, readings []notebook.Reading) (int64, error) {
	n := t.n
	for i := range readings {
		r := &readings[i]
		n++
		row := []string{strconv.FormatInt(n, 10), r.At.Format(time.RFC3339Nano), r.Channel, "", "", "", "", strings.Join(r.Flags, "; "), r.Note, r.Raw}
		if len(r.Values) == 0 {
			t.w.Write(row)
		}
		for _, v := range r.Values {
			row[3], row[4], row[5], row[6] = v.Key, "", v.Unit, v.Flag
			if v.V != nil {
				row[4] = strconv.FormatFloat(*v.V, 'g', -1, 64)
			}
			t.w.Write(row)
		}
	}
	t.w.Flush()
	if err := t.w.Error(); err != nil {
		return t.n, err
	}
	t.n = n
	return n, nil
}

// Errors of [ReadTable] that a caller decides by.
var ErrNoTable = errors.New("live: this is no table of readings")

// ReadTable reads readings in time from CSV, in one of two forms, into a record:
// the one that a [Table] writes, and a plain table whose first column is the time,
// in seconds or as a date and time of day, and whose others are values, each named
// by its head, such as "power (W)", of the channel "table", "table 2" and so on. What opens like neither is [ErrNoTable].
func ReadTable(name string, r io.Reader, into *Record) error {
	c := csv.NewReader(r)
	c.FieldsPerRecord, c.ReuseRecord, c.TrimLeadingSpace, c.Comment = -1, true, true, '#'
	head, err := c.Read()
	if err != nil {
		return ErrNoTable
	}
	head = slices.Clone(head)
	head[0] = strings.TrimPrefix(head[0], "\ufeff")
	t := &tableReader{name: name, csv: c, head: head, into: into}
	if slices.Equal(head, tableColumns) {
		return t.long()
	}
	first, _ := columnOf(head[0])
	if len(head) < 2 || !slices.Contains([]string{"time", "seconds", "s", "t", "date", "clock"}, strings.ToLower(first)) {
		return ErrNoTable
	}
	return t.plain()
}

type tableReader struct {
	name string
	csv  *csv.Reader
	head []string
	into *Record
}

// columnOf takes a head such as "power (W)" apart.
func columnOf(head string) (key, unit string) {
	head = strings.TrimSpace(head)
	if open := strings.IndexAny(head, "([/"); open > 0 {
		return strings.TrimSpace(head[:open]), strings.Trim(head[open:], "()[]/ ")
	}
	return head, ""
}

func (t *tableReader) fault(format string, args ...any) error {
	line, _ := t.csv.FieldPos(0)
	return fmt.Errorf("live: %s, line %d: %s", t.name, line, fmt.Sprintf(format, args...))
}

// row reads the next row, nil at the end.
func (t *tableReader) row() ([]string, error) {
	row, err := t.csv.Read()
	switch {
	case errors.Is(err, io.EOF):
		return nil, nil
	case err != nil:
		return nil, fmt.Errorf("live: %s: %w", t.name, err)
	case len(row) != len(t.head):
		return nil, t.fault("%d cells, where the head has %d", len(row), len(t.head))
	}
	return row, nil
}

// long reads what a Table wrote.
func (t *tableReader) long() error {
	for {
		row, err := t.row()
		if row == nil || err != nil {
			return err
		}
		at, err := time.Parse(time.RFC3339Nano, row[1])
		if err != nil {
			return t.fault("%s is no time: write 2026-11-25T09:00:00Z", short(row[1]))
		}
		r := notebook.Reading{At: at, Channel: row[2], Note: row[8]}
		if row[3] != "" && row[4] != "" {
			x, err := strconv.ParseFloat(row[4], 64)
			if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
				return t.fault("%s is no number", short(row[4]))
			}
			r.Values = []notebook.Value{{Key: row[3], V: &x, Unit: row[5]}}
		}
		t.into.Add(&r)
	}
}

// plain reads a table with a column for each value.
func (t *tableReader) plain() error {
	t.into.tables++
	channel := "table"
	if t.into.tables > 1 {
		channel = fmt.Sprintf("table %d", t.into.tables)
	}
	for {
		row, err := t.row()
		if row == nil || err != nil {
			return err
		}
		r := notebook.Reading{Channel: channel}
		for i, cell := range row[1:] {
			key, unit := columnOf(t.head[i+1])
			if cell = strings.TrimSpace(cell); cell != "" && key != "" {
				v := valueOf(strings.ToLower(key), unit, cell, false)
				if strings.HasPrefix(v.Flag, "not a number:") {
					return t.fault("%s under %s is no number", short(cell), short(t.head[i+1]))
				}
				r.Values = append(r.Values, v)
			}
		}
		if x, err := strconv.ParseFloat(strings.TrimSpace(row[0]), 64); err == nil && !math.IsNaN(x) && !math.IsInf(x, 0) {
			t.into.AddAt(x, &r)
			continue
		}
		if r.At, err = parseMoment(row[0]); err != nil {
			return t.fault("%s is no time: write seconds, or 2026-11-25 09:00:00", short(row[0]))
		}
		t.into.Add(&r)
	}
}

// parseMoment reads a date and a time of day.
func parseMoment(s string) (time.Time, error) {
	for _, form := range []string{time.RFC3339Nano, time.DateTime, "2006-01-02T15:04:05", "15:04:05", "15:04"} {
		if at, err := time.Parse(form, strings.TrimSpace(s)); err == nil {
			return at, nil
		}
	}
	return time.Time{}, errors.New("no time")
}
