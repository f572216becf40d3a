package waveform

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"lampassay/bench/ingest"
)

// How far times may lie from even places, in steps: what is warned of, and what
// is refused. Times printed with few digits jitter by half their last one.
const (
	jitterWarned  = 0.02
	jitterRefused = 1.5
)

// ReadCSV reads a table from an oscilloscope: one or two rows of headings, then a
// time and the channels in each row; or sample numbers, or nothing, in place of
// the time, and a start and an increment in the headings or the lines above. Any
// separator and decimal mark will do. name is for sentences. The error is an
// [*ingest.Problem] where the file is at fault, and r's own otherwise.
func ReadCSV(name string, r io.Reader, o Options) (*Recording, error) {
	raw, sum, err := ingest.ReadWhole(name, r, o.maxBytes())
	if err != nil {
		return nil, err
	}
	rec := &Recording{Name: name, SHA256: sum}
	if p := rec.csv(raw, &o); p != nil {
		p.File = filepath.Base(name)
		return nil, p
	}
	return rec, nil
}

func (r *Recording) csv(raw []byte, o *Options) *ingest.Problem {
	if len(raw) == 0 {
		return &ingest.Problem{Found: "nothing: the file is empty", Want: "a waveform is rows of times and values"}
	}
	text, encoding, problem := ingest.Decode(raw)
	if problem != nil {
		return problem
	}
	r.Format = "table in " + encoding
	t, problem := ingest.ReadTable(text, o.maxSamples())
	if problem != nil {
		return problem
	}
	h := headingsOf(t)
	r.Metadata = h.pairs
	first := 0 // column of the first channel
	switch n := len(t.Lines); {
	case h.step > 0 || o.Step > 0:
		r.Start, r.Step = h.start, h.step
		if o.Step > 0 {
			r.Step = o.Step
		}
		if isCount(t.Columns[0]) || h.isTime(0) {
			first = 1
		}
	case len(t.Columns) == 1:
		return &ingest.Problem{Found: "a single column without an increment", Want: "say how far apart its samples are"}
	case isCount(t.Columns[0]) && !h.isTime(0):
		return &ingest.Problem{Found: fmt.Sprintf("sample numbers, %g to %g, and no increment", t.Columns[0][0], t.Columns[0][n-1]), Want: "say how far apart the samples are"}
	default:
		if problem := r.times(t, h.timeScale()); problem != nil {
			return problem
		}
		first = 1
	}
	return r.channels(t, &h, first)
}

// times settles start and step from a column of times.
func (r *Recording) times(t *ingest.Table, scale float64) *ingest.Problem {
	times := t.Columns[0]
	for i, v := range times {
		switch {
		case math.IsNaN(v):
			return &ingest.Problem{Line: t.Lines[i], Found: "nothing where a time should be", Want: "correct or remove the line"}
		case i > 0 && v < times[i-1]:
			return &ingest.Problem{Line: t.Lines[i], Found: fmt.Sprintf("the time %g after %g", v, times[i-1]), Want: "times have to rise"}
		}
	}
	last := len(times) - 1
	step := (times[last] - times[0]) / float64(last)
	r.Start, r.Step = times[0]*scale, step*scale
	if !(r.Step > 0) || math.IsInf(r.Step, 0) {
		return &ingest.Problem{Found: fmt.Sprintf("times from %g to %g", times[0], times[last]), Want: "a recording takes time"}
	}
	worst := 0
	for i, v := range times {
		if off := math.Abs(v-times[0]-float64(i)*step) / step; off > r.Jitter {
			r.Jitter, worst = off, i
		}
	}
	switch {
	case r.Jitter > jitterRefused:
		return &ingest.Problem{Line: t.Lines[worst], Found: fmt.Sprintf("the time %g, %.2g steps from its even place", times[worst], r.Jitter), Want: "a waveform needs evenly spaced samples: record it without gaps"}
	case r.Jitter > jitterWarned:
		r.warn("times lie up to %.2g of a step from their even places", r.Jitter)
	}
	return nil
}

// channels takes the columns from first on that mostly hold numbers.
func (r *Recording) channels(t *ingest.Table, h *headings, first int) *ingest.Problem {
	for c := first; c < len(t.Columns); c++ {
		samples := t.Columns[c]
		missing, at := 0, 0
		for i, v := range samples {
			if math.IsNaN(v) {
				if missing == 0 {
					at = i
				}
				missing++
			}
		}
		switch {
		case 2*missing > len(samples) || h.apart(c):
			continue // a remark, or the start and the increment
		case missing > 0:
			return &ingest.Problem{Line: t.Lines[at], Column: h.name(c), Found: fmt.Sprintf("no value, as in %d of %d samples", missing, len(samples)),
				Want: "an over-range or missing sample leaves a hole: record it again in a wider range"}
		}
		r.Channels = append(r.Channels, Channel{Name: h.name(c), Unit: h.unit(c), Samples: samples})
	}
	if len(r.Channels) == 0 {
		return &ingest.Problem{Found: "times without a channel", Want: "a waveform has a column of values at least"}
	}
	r.describe()
	return nil
}

// isCount reports whole numbers one after the other, from 0 or 1.
func isCount(column []float64) bool {
	for i, v := range column {
		if v != column[0]+float64(i) || column[0] != 0 && column[0] != 1 {
			return false
		}
	}
	return true
}

// headings are what the lines above a table say.
type headings struct {
	names, units []string
	start, step  float64 // s; step is 0 where they do not say
	pairs        []ingest.Pair
}

// The words for start and increment, and for times, in lower case.
var (
	startWords = []string{"start", "start time", "t0", "x origin", "xorigin", "xzero", "first sample"}
	stepWords  = []string{"increment", "interval", "sample interval", "sampling interval", "sampling period", "sample period", "dt", "delta t", "x increment", "xincrement", "xincr", "time base step"}
	rateWords  = []string{"sample rate", "sampling rate", "sampling frequency", "samples per second"}
	timeWords  = []string{"time", "t", "second", "seconds", "zeit", "x", "x-axis", "x axis"}
)

// secondsPer are the units of time.
var secondsPer = map[string]float64{
	"s": 1, "sec": 1, "second": 1, "seconds": 1, "ms": 1e-3, "µs": 1e-6, "μs": 1e-6, "us": 1e-6, "ns": 1e-9,
	"hz": 1, "khz": 1e3, "mhz": 1e6, "sa/s": 1, "ksa/s": 1e3, "msa/s": 1e6,
}

// unitWords are the units that a row of units is known by.
var unitWords = []string{"s", "ms", "us", "µs", "μs", "ns", "second", "seconds", "v", "mv", "volt", "volts", "a", "ma", "ampere", "w", "lx", "sequence"}

// headingsOf reads the lines above the table.
func headingsOf(t *ingest.Table) headings {
	var h headings
	rows := t.Above
	if n := len(rows); n > 0 && (len(rows[n-1]) > 1 || len(t.Columns) == 1 && len(keyAndValue(rows[n-1])) == 1) {
		h.names = rows[n-1]
		rows = rows[:n-1]
		if len(rows) > 0 && isUnits(h.names) && len(rows[len(rows)-1]) >= len(h.names)-1 {
			h.units, h.names = h.names, rows[len(rows)-1]
			rows = rows[:len(rows)-1]
		}
	}
	for i, name := range h.names { // a start and an increment below their names
		if i < len(h.units) {
			h.note(name, h.units[i])
		}
	}
	if len(h.names) == 2 && h.units == nil { // or beside one
		h.note(h.names[0], h.names[1])
	}
	for _, row := range rows {
		if row = keyAndValue(row); len(row) > 1 && strings.TrimSpace(row[0]) != "" {
			key, value := strings.Trim(row[0], " :="), strings.TrimSpace(row[1])
			h.note(key, value)
			h.pairs = append(h.pairs, ingest.Pair{Key: key, Value: value})
		}
	}
	return h
}

// keyAndValue parts a line that is one cell at its first mark.
func keyAndValue(row []string) []string {
	if len(row) == 1 {
		if i := strings.IndexAny(row[0], ":=;,"); i > 0 {
			return []string{row[0][:i], row[0][i+1:]}
		}
	}
	return row
}

// note takes a value that is a start, an increment or a rate.
func (h *headings) note(key, value string) {
	key, unit := bare(key)
	number, beside, _ := strings.Cut(strings.TrimSpace(value), " ")
	if beside != "" {
		unit = strings.TrimSpace(beside)
	}
	v, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
	if err != nil || math.IsNaN(v) || math.Abs(v) > 1e15 {
		return
	}
	scale, known := secondsPer[strings.ToLower(unit)]
	if !known {
		scale = 1
	}
	switch {
	case slices.Contains(startWords, key):
		h.start = v * scale
	case slices.Contains(stepWords, key) && v > 0:
		h.step = v * scale
	case slices.Contains(rateWords, key) && v*scale > 1e-9 && h.step == 0:
		h.step = 1 / (v * scale)
	}
}

// bare parts a heading from the unit in brackets behind it.
func bare(s string) (name, unit string) {
	s = strings.Trim(strings.TrimSpace(s), `"':`)
	if i := strings.IndexAny(s, "([/"); i > 0 {
		unit = strings.Trim(s[i:], " ()[]/")
		s = s[:i]
	}
	return strings.ToLower(strings.TrimSpace(s)), unit
}

// isUnits reports a row with a unit and without a heading that is none.
func isUnits(row []string) bool {
	found := false
	for _, c := range row {
		c = strings.ToLower(strings.Trim(c, " ()[]"))
		_, err := strconv.ParseFloat(strings.Replace(c, ",", ".", 1), 64)
		switch {
		case slices.Contains(unitWords, c):
			found = true
		case c != "" && err != nil:
			return false
		}
	}
	return found
}

// isTime reports a column headed as times.
func (h *headings) isTime(c int) bool {
	if c >= len(h.names) {
		return false
	}
	name, unit := bare(h.names[c])
	_, seconds := secondsPer[strings.ToLower(unit)]
	return seconds || slices.Contains(timeWords, name)
}

// timeScale returns the seconds in the unit of the first column.
func (h *headings) timeScale() float64 {
	for _, row := range [][]string{h.names, h.units} {
		if len(row) > 0 {
			name, unit := bare(row[0])
			for _, u := range []string{unit, strings.Trim(name, "()[]")} {
				if s, ok := secondsPer[strings.ToLower(u)]; ok && u != "" {
					return s
				}
			}
		}
	}
	return 1
}

// apart reports a column that holds the start or the increment.
func (h *headings) apart(c int) bool {
	if c >= len(h.names) {
		return false
	}
	name, _ := bare(h.names[c])
	return slices.Contains(startWords, name) || slices.Contains(stepWords, name)
}

func (h *headings) name(c int) string {
	if c < len(h.names) && strings.TrimSpace(h.names[c]) != "" {
		s := strings.TrimSpace(h.names[c])
		if i := strings.IndexAny(s, "(["); i > 0 {
			s = strings.TrimSpace(s[:i])
		}
		return s
	}
	return fmt.Sprintf("column %d", c+1)
}

func (h *headings) unit(c int) string {
	if c < len(h.units) {
		return strings.Trim(h.units[c], " ()[]")
	}
	if c < len(h.names) {
		_, unit := bare(h.names[c])
		return unit
	}
	return ""
}
