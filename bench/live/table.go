package live

import (
	"context"
	"encoding/csv"
	"io"
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

// TableColumns head a table.
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
