package comparison

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampassay/assay/jsonfile"
	"lampassay/assay/uncertainty"
)

// RecordFormat is the head of a file of figures written by hand. What "assay
// --json" prints is read as well.
const RecordFormat = "lampassay figures 1"

// Record is the figures of one lamp, by the keys of the register.
type Record struct {
	Lamp         string // may be empty
	Figures      map[string]Figure
	Correlations []uncertainty.Correlation
}

// recordJSON is one lamp in a file. Of an assay's record only what is listed
// here counts.
type recordJSON struct {
	Format  string `json:"format"`
	Methods string `json:"methods"`
	Lamp    string `json:"lamp"`
	Input   struct {
		File string `json:"file"`
		Name string `json:"name"`
	} `json:"input"`
	Quantities   map[string]figureJSON `json:"quantities"`
	Correlations []correlationJSON     `json:"correlations"`
}

type correlationJSON struct {
	A string  `json:"a"`
	B string  `json:"b"`
	R float64 `json:"r"`
}

type figureJSON struct {
	Value *float64        `json:"value"`
	Unit  string          `json:"unit"`
	U     json.RawMessage `json:"u"` // a number, or a share such as "4 %"
	Why   string          `json:"why"`
	// Contributions are written by hand, Budget by an assay.
	Contributions []causeJSON `json:"contributions"`
	Budget        []struct {
		Input string  `json:"input"`
		U     float64 `json:"u"`
	} `json:"budget"`
}

type causeJSON struct {
	Name string          `json:"name"`
	U    json.RawMessage `json:"u"`
	Own  bool            `json:"own"`
}

// mostBytes bounds a file of figures.
const mostBytes = 64 << 20

// ReadRecords reads the figures of one lamp or, one object after another, of
// several. name is the file's, for messages.
func ReadRecords(name string, r io.Reader) ([]Record, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("comparison: reading %s: %w", name, err)
	}
	if len(text) > mostBytes {
		return nil, fmt.Errorf("comparison: %s is over %d MiB", name, mostBytes>>20)
	}
	d := json.NewDecoder(bytes.NewReader(text))
	var records []Record
	for {
		var j recordJSON
		err := d.Decode(&j)
		if err == io.EOF {
			break
		}
		if err == nil {
			var rec Record
			if rec, err = j.record(); err == nil {
				records = append(records, rec)
				continue
			}
		}
		what := strings.ReplaceAll(jsonfile.Explain(text, err).Error(), "comparison: ", "") // the name stands once
		return nil, fmt.Errorf("comparison: %s: lamp %d: %s", name, len(records)+1, what)
	}
	if len(records) == 0 {
		return nil, fmt.Errorf("comparison: %s holds no figures", name)
	}
	return records, nil
}

func (j *recordJSON) record() (Record, error) {
	if j.Format != RecordFormat && (j.Format != "" || j.Methods == "") {
		return Record{}, fmt.Errorf("this is neither a record of \"assay --json\" nor a file with \"format\": %q", RecordFormat)
	}
	rec := Record{Lamp: j.Lamp, Figures: map[string]Figure{}}
	if rec.Lamp == "" {
		rec.Lamp = j.Input.Name
	}
	if rec.Lamp == "" {
		rec.Lamp = strings.TrimSuffix(j.Input.File, extension(j.Input.File))
	}
	for _, c := range j.Correlations {
		rec.Correlations = append(rec.Correlations, uncertainty.Correlation(c))
	}
	keys := make([]string, 0, len(j.Quantities))
	for key := range j.Quantities {
		keys = append(keys, key)
	}
	slices.Sort(keys) // the first fault is always the same one
	for _, key := range keys {
		q := j.Quantities[key]
		f, err := q.figure(rec.Lamp)
		if err != nil {
			return Record{}, fmt.Errorf("%s: %w", key, err)
		}
		rec.Figures[key] = f
	}
	return rec, nil
}

func extension(name string) string {
	if i := strings.LastIndexByte(name, '.'); i > 0 {
		return name[i:]
	}
	return ""
}

func (q *figureJSON) figure(lamp string) (Figure, error) {
	f := Figure{Lamp: lamp, Unit: q.Unit, Unranked: q.Why}
	if f.Unit == "1" {
		f.Unit = ""
	}
	if q.Value == nil {
		if f.Unranked == "" {
			f.Unranked = "it has no value"
		}
		return f, nil
	}
	f.Value = *q.Value
	u, stated, err := parseU(q.U, f.Value)
	if err != nil {
		return f, err
	}
	sum := 0.0
	for _, c := range q.Contributions {
		cu, given, err := parseU(c.U, f.Value)
		switch {
		case err != nil:
			return f, fmt.Errorf("contribution %q: %w", c.Name, err)
		case !given || c.Name == "":
			return f, errors.New("a contribution has a name and a u")
		}
		f.Causes = append(f.Causes, Cause{c.Name, cu, c.Own})
		sum += cu * cu
	}
	for _, b := range q.Budget {
		if len(q.Contributions) > 0 {
			return f, errors.New("contributions and a budget: use one")
		}
		// A budget has no signs: only what scales every lamp alike can be taken
		// as shared.
		f.Causes = append(f.Causes, Cause{b.Input, b.U, !slices.Contains(scales(), b.Input)})
		sum += b.U * b.U
	}
	switch {
	case !stated:
	case u < 0:
		return f, fmt.Errorf("the standard uncertainty is negative (%g)", u)
	case len(f.Causes) == 0:
		f.Causes = []Cause{{Name: Stated, U: u, Own: true}}
	case len(q.Budget) > 0 && u*u > sum:
		f.Causes = append(f.Causes, Cause{"what the budget leaves out", math.Sqrt(u*u - sum), true})
	case len(q.Contributions) > 0 && math.Abs(u-math.Sqrt(sum)) > 0.01*u:
		return f, fmt.Errorf("the contributions come to %.4g, and u says %.4g", math.Sqrt(sum), u)
	}
	return f, f.check()
}

// parseU reads a standard uncertainty in the value's unit, or as a share of it.
func parseU(raw json.RawMessage, value float64) (u float64, stated bool, err error) {
	if len(raw) == 0 || string(raw) == "null" {
		return 0, false, nil
	}
	if json.Unmarshal(raw, &u) == nil {
		return u, true, nil
	}
	var text string
	if json.Unmarshal(raw, &text) != nil {
		return 0, false, fmt.Errorf("u is a number or a share such as \"4 %%\", not %s", raw)
	}
	u, err = ParseU(text, value)
	return u, true, err
}

// ParseU reads a standard uncertainty: a number in the value's unit, or a share
// of the value such as "4 %". It is finite and not negative.
func ParseU(text string, value float64) (float64, error) {
	plain, share := strings.CutSuffix(strings.TrimSpace(text), "%")
	u, err := strconv.ParseFloat(strings.TrimSpace(plain), 64)
	if err != nil || !(u >= 0) || math.IsInf(u, 0) {
		return 0, fmt.Errorf("comparison: %q is no standard uncertainty: write a number in the value's unit, or a share such as 4%%", text)
	}
	if share {
		u *= math.Abs(value) / 100
	}
	return u, nil
}
