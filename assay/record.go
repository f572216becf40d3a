package assay

import (
	"encoding/json"
	"fmt"
	"strconv"

	"lampassay/assay/quantity"
)

// Input says what was assayed.
type Input struct {
	File       string  `json:"file"`
	Name       string  `json:"name,omitempty"` // the column's heading in a wide file
	SHA256     string  `json:"sha256"`
	Samples    int     `json:"samples"`
	FromNm     float64 `json:"from_nm"`
	ToNm       float64 `json:"to_nm"`
	Quantity   string  `json:"quantity"`
	Projection string  `json:"projection"`
}

// Default returns the quantities that are listed when nobody asks for others.
func Default() []quantity.ID {
	var ids []quantity.ID
	for _, d := range quantity.All() {
		if !d.Detail {
			ids = append(ids, d.ID)
		}
	}
	return ids
}

// Recorder writes results as JSON objects, one a line. It keeps what is the
// same from result to result, and serves one goroutine.
type Recorder struct {
	ids  []quantity.ID
	keys [][]byte // `"key":{"value":`
	tail [][]byte // `,"unit":…,"u":null,"source":…,"why":`
}

// NewRecorder prepares a recorder for a choice of quantities.
func NewRecorder(ids []quantity.ID) *Recorder {
	w := &Recorder{ids: ids}
	for _, id := range ids {
		d := quantity.Get(id)
		unit := d.Unit
		if unit == "" {
			unit = "1"
		}
		w.keys = append(w.keys, fmt.Appendf(nil, "%s:{\"value\":", quote(d.Key)))
		w.tail = append(w.tail, fmt.Appendf(nil, ",\"unit\":%s,\"u\":null,\"source\":%s,\"why\":", quote(unit), quote(d.Source)))
	}
	return w
}

// quote writes a JSON string. Marshalling a string cannot fail.
func quote(s string) []byte {
	b, _ := json.Marshal(s)
	return b
}

// Append adds the object of one result and a newline to dst. Values carry ten
// significant digits, which is more than any instrument earns and few enough
// that every machine writes the same ones. extra are warnings from reading the
// file.
func (w *Recorder) Append(dst []byte, in *Input, r *Result, extra []string) ([]byte, error) {
	head, err := json.Marshal(in)
	if err != nil {
		return dst, fmt.Errorf("assay: record: %w", err)
	}
	dst = append(dst, `{"input":`...)
	dst = append(dst, head...)
	dst = append(dst, `,"methods":"`+MethodVersion+`","quantities":{`...)
	var why []byte // the last sentence, which often serves the next quantity too
	var said Reason
	for i, id := range w.ids {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = append(dst, w.keys[i]...)
		if v, ok := r.Value(id); ok {
			dst = strconv.AppendFloat(dst, v, 'g', 10, 64)
		} else {
			dst = append(dst, "null"...)
		}
		dst = append(dst, w.tail[i]...)
		if r.InScope(id) {
			dst = append(dst, `""}`...)
		} else {
			if reason := r.Reason(id); reason != said || reason.namesQuantity() {
				why, said = quote(r.Why(id)), reason
			}
			dst = append(dst, why...)
			dst = append(dst, '}')
		}
	}
	dst = append(dst, `},"findings":`...)
	rest, err := json.Marshal(orEmpty(r.Findings()))
	if err != nil {
		return dst, fmt.Errorf("assay: record: %w", err)
	}
	dst = append(dst, rest...)
	dst = append(dst, `,"warnings":`...)
	rest, err = json.Marshal(orEmpty(append(append([]string(nil), extra...), r.Warnings()...)))
	if err != nil {
		return dst, fmt.Errorf("assay: record: %w", err)
	}
	dst = append(dst, rest...)
	return append(dst, "}\n"...), nil
}

// orEmpty makes an empty list print as [] and not as null.
func orEmpty[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}
