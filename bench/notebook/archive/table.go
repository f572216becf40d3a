package archive

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"lampassay/bench/notebook"
)

// timeForm is how a table writes a moment: UTC, to the microsecond.
const timeForm = "2006-01-02T15:04:05.000000Z"

// table writes CSV (RFC 4180, but with a line feed alone) and keeps the first
// error.
type table struct {
	to  io.Writer
	buf []byte
	err error
}

// row writes cells.
func (t *table) row(cells ...string) {
	if t.err != nil {
		return
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	_ = w.Write(cells) // to memory
	w.Flush()
	_, t.err = io.WriteString(t.to, b.String())
}

// numbers writes a row of numbers under a name. A missing one is NaN.
func (t *table) numbers(name string, v []float64) {
	if t.err != nil {
		return
	}
	t.buf = append(t.buf[:0], name...)
	for _, x := range v {
		t.buf = append(t.buf, ',')
		t.buf = strconv.AppendFloat(t.buf, x, 'g', -1, 64)
	}
	t.buf = append(t.buf, '\n')
	_, t.err = t.to.Write(t.buf)
}

// reading writes the rows of a reading.
func (t *table) reading(r *notebook.Reading) {
	cells := make([]string, len(columns))
	cells[0] = strconv.FormatInt(r.N, 10)
	cells[1] = r.At.UTC().Format(timeForm)
	cells[2] = r.Channel
	cells[3] = whole(int64(r.Instrument))
	cells[8] = list(r.Flags)
	cells[9], cells[10] = escape(r.Note), escape(r.Raw)
	if c := r.Curve; c != nil {
		cells[11] = "waveform"
		if c.Axis != nil {
			cells[11] = "spectrum"
		}
		cells[12], cells[13], cells[14], cells[15] = escape(c.Quantity), number(c.RateHz), number(c.ExposureMs), whole(int64(c.Averages))
	}
	for i, v := range r.Values {
		if i > 0 {
			clear(cells[1:])
		}
		cells[4], cells[5], cells[6], cells[7] = escape(v.Key), "", escape(v.Unit), escape(v.Flag)
		if v.V != nil {
			cells[5] = strconv.FormatFloat(*v.V, 'g', -1, 64)
		}
		t.row(cells...)
	}
	if len(r.Values) == 0 {
		t.row(cells...)
	}
}

// whole and number write nothing for 0, which is what is not known.
func whole(n int64) string {
	if n == 0 {
		return ""
	}
	return strconv.FormatInt(n, 10)
}

func number(v float64) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// escape keeps a text in one line: a backslash is written \\, a line feed \n, a
// carriage return \r, a tab \t, any other control character \xhh, and the
// semicolon, which parts a list, \;.
func escape(s string) string {
	if !strings.ContainsFunc(s, func(c rune) bool { return c < ' ' || c == 0x7f || c == '\\' || c == ';' }) {
		return s
	}
	var b strings.Builder
	for _, c := range s {
		switch {
		case c == '\\' || c == ';':
			b.WriteByte('\\')
			b.WriteRune(c)
		case c == '\n':
			b.WriteString(`\n`)
		case c == '\r':
			b.WriteString(`\r`)
		case c == '\t':
			b.WriteString(`\t`)
		case c < ' ' || c == 0x7f:
			b.WriteString(`\x` + string("0123456789abcdef"[c>>4]) + string("0123456789abcdef"[c&15]))
		default:
			b.WriteRune(c)
		}
	}
	return b.String()
}

// unescape is the inverse of escape for all parts of a list; a text is a list
// of one. It is false where an escape is none of those.
func unescape(s string) (parts []string, ok bool) {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] == ';':
			parts = append(parts, b.String())
			b.Reset()
		case s[i] != '\\':
			b.WriteByte(s[i])
		case i+1 == len(s):
			return nil, false
		default:
			i++
			switch c := s[i]; c {
			case '\\', ';':
				b.WriteByte(c)
			case 'n':
				b.WriteByte('\n')
			case 'r':
				b.WriteByte('\r')
			case 't':
				b.WriteByte('\t')
			case 'x':
				if i+2 >= len(s) {
					return nil, false
				}
				v, err := strconv.ParseUint(s[i+1:i+3], 16, 8)
				if err != nil {
					return nil, false
				}
				b.WriteByte(byte(v))
				i += 2
			default:
				return nil, false
			}
		}
	}
	return append(parts, b.String()), true
}

// list writes texts, parted by semicolons.
func list(all []string) string {
	parts := make([]string, len(all))
	for i, s := range all {
		parts[i] = escape(s)
	}
	return strings.Join(parts, ";")
}

// parseNumber reads a sample: a finite number or NaN.
func parseNumber(s string) (float64, bool) {
	if s == "NaN" {
		return math.NaN(), true
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// parseTime reads what timeForm writes.
func parseTime(s string) (time.Time, error) { return time.Parse(timeForm, s) }
