package assay

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"unicode/utf8"

	"lampassay/assay/quantity"
)

// Input says what was assayed.
type Input struct {
	File         string
	Name         string // the column's heading in a wide file; may be empty
	SHA256       string
	Samples      int
	FromNm, ToNm float64
	Quantity     string
	Projection   string
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
	unit [][]byte // `,"unit":…,"u":`
	tail [][]byte // `,"source":…,"why":`
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
		w.unit = append(w.unit, fmt.Appendf(nil, ",\"unit\":%s,\"u\":", quote(unit)))
		w.tail = append(w.tail, fmt.Appendf(nil, ",\"source\":%s,\"why\":", quote(d.Source)))
	}
	return w
}

// quote returns a string as JSON.
func quote(s string) []byte { return appendString(nil, s) }

// appendString appends a string as JSON. Most of ours need no escape, which is
// quicker seen than left to the encoder. Marshalling a string cannot fail.
func appendString(dst []byte, s string) []byte {
	for i := range len(s) {
		if c := s[i]; c < ' ' || c == '"' || c == '\\' || c == 0x7f {
			b, _ := json.Marshal(s)
			return append(dst, b...)
		}
	}
	if !utf8.ValidString(s) {
		b, _ := json.Marshal(s)
		return append(dst, b...)
	}
	dst = append(dst, '"')
	dst = append(dst, s...)
	return append(dst, '"')
}

// appendList appends elements between brackets.
func appendList[T any](dst []byte, list []T, one func([]byte, T) []byte) []byte {
	dst = append(dst, '[')
	for i, v := range list {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = one(dst, v)
	}
	return append(dst, ']')
}

func appendFinding(dst []byte, f Finding) []byte {
	dst = appendString(append(dst, `{"topic":`...), f.Topic)
	dst = appendString(append(dst, `,"text":`...), f.Text)
	dst = appendString(append(dst, `,"source":`...), f.Source)
	return append(dst, '}')
}

func (in *Input) append(dst []byte) []byte {
	dst = appendString(append(dst, `{"file":`...), in.File)
	if in.Name != "" {
		dst = appendString(append(dst, `,"name":`...), in.Name)
	}
	dst = appendString(append(dst, `,"sha256":`...), in.SHA256)
	dst = strconv.AppendInt(append(dst, `,"samples":`...), int64(in.Samples), 10)
	dst = strconv.AppendFloat(append(dst, `,"from_nm":`...), in.FromNm, 'g', -1, 64)
	dst = strconv.AppendFloat(append(dst, `,"to_nm":`...), in.ToNm, 'g', -1, 64)
	dst = appendString(append(dst, `,"quantity":`...), in.Quantity)
	dst = appendString(append(dst, `,"projection":`...), in.Projection)
	return append(dst, '}')
}

// Append adds the object of one result and a newline to dst. Values carry ten
// significant digits, which is more than any instrument earns and few enough
// that every machine writes the same ones. extra are warnings from reading the
// file.
func (w *Recorder) Append(dst []byte, in *Input, r *Result, extra []string) []byte {
	dst = in.append(append(dst, `{"input":`...))
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
		dst = r.appendSpread(append(dst, w.unit[i]...), id)
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
	dst = append(dst, '}')
	if r.Uncertainty != nil {
		dst = r.Uncertainty.append(append(dst, `,"uncertainty":`...))
	}
	dst = appendList(append(dst, `,"findings":`...), r.Findings(), appendFinding)
	warnings := r.Warnings()
	if len(extra) > 0 {
		warnings = append(append([]string(nil), extra...), warnings...)
	}
	dst = appendList(append(dst, `,"warnings":`...), warnings, appendString)
	return append(dst, "}\n"...)
}

// WithKey adds a key to a line of [Recorder.Append]: what only the caller knows of how
// the spectrum came about.
func WithKey(line []byte, key string, value any) ([]byte, error) {
	b, err := json.Marshal(value)
	if err != nil {
		return nil, fmt.Errorf("assay: %s: %w", key, err)
	}
	object := bytes.TrimSuffix(bytes.TrimRight(line, "\n"), []byte("}"))
	return fmt.Appendf(nil, "%s,%q:%s}\n", object, key, b), nil
}
