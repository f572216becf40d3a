package ingest

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// Limits of a JSON document: it is held as a tree, which is some ten times as
// large.
const (
	maxJSON      = 64 << 20
	maxJSONDepth = 64
)

// readJSON reads one spectrum from a JSON document. It can be an array of pairs,
// an array of objects, an object of arrays or an object whose keys are the
// wavelengths, anywhere in the document. Of several, o.Path chooses: it is the
// path of the curve, or of what holds it alone.
func (f *File) readJSON(text []byte, o *Options) *Problem {
	root, problem := parseJSON(text)
	if problem != nil {
		return problem
	}
	s := jsonSearch{column: o.Column, under: o.Path}
	s.visit(root, "", 0)
	c, problem := s.choose()
	if problem != nil {
		return problem
	}
	r := &f.Report
	r.Format, r.Path = formatJSON, c.path
	r.Metadata = metadata(root, c.path)
	if c.wider && o.Column == 0 {
		r.warn("of each row the first two numbers are read: another column can be chosen")
	}
	samples, problem := c.samples(r)
	if problem != nil {
		return problem
	}
	h := header{names: []string{c.wave, c.name}, pairs: r.Metadata}
	u, from, known := h.valueUnit(1)
	if known && strings.HasPrefix(from, "the heading") {
		from = "the key " + Quote(c.name)
	}
	u = chooseUnit(u, from, known, o, r)
	if problem := convertAxis(samples, o, h.axisUnit(0), r); problem != nil {
		return problem
	}
	if samples, problem = order(samples, r); problem != nil {
		return problem
	}
	r.Rows = len(samples)
	return f.finish(samples, u, o)
}

// parseJSON decodes a document, its numbers as they are written.
func parseJSON(text []byte) (any, *Problem) {
	if len(text) > maxJSON {
		return nil, &Problem{Found: fmt.Sprintf("JSON of more than %d MB", maxJSON>>20), Want: "one spectrum is smaller: check that this is the right file"}
	}
	depth, quoted := 0, false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '[' || c == '{':
			if depth++; depth > maxJSONDepth {
				return nil, &Problem{Line: lineOf(text, i), Found: fmt.Sprintf("JSON more than %d deep", maxJSONDepth), Want: "export the spectrum alone"}
			}
		case c == ']' || c == '}':
			depth--
		}
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	var root any
	err := d.Decode(&root)
	if err == nil {
		if d.More() {
			return nil, &Problem{Line: lineOf(text, int(d.InputOffset())), Found: "something behind the end of the JSON document", Want: "one file holds one document"}
		}
		return root, nil
	}
	at := len(text)
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		at = int(syntax.Offset)
	}
	return nil, &Problem{Line: lineOf(text, at), Found: "broken JSON", Want: "export the file again"}
}

// lineOf counts the lines up to an offset.
func lineOf(text []byte, offset int) int {
	return bytes.Count(text[:min(max(offset, 0), len(text))], []byte("\n")) + 1
}

// isNumber reports a number, or a string that holds one.
func isNumber(v any) bool {
	_, kind := jsonNumber(v)
	return kind == cellNumber
}

// isNumbers reports an array of numbers; the first one speaks for it.
func isNumbers(v any) bool {
	all, ok := v.([]any)
	return ok && len(all) > 1 && (isNumber(all[0]) || all[0] == nil)
}

// jsonNumber reads a number as it is written, with or without quotes.
func jsonNumber(v any) (float64, cellKind) {
	switch v := v.(type) {
	case nil:
		return 0, cellMissing
	case json.Number:
		return parseCell([]byte(v), '.')
	case string:
		x, kind := parseCell(trim([]byte(v)), '.')
		if kind == cellGrouped { // "380,500" may mean 380.5
			kind = cellOther
		}
		return x, kind
	}
	return 0, cellOther
}

// samples reads a curve's numbers.
func (c *curve) samples(r *Report) ([]sample, *Problem) {
	missing := 0
	var out []sample
	for i := range c.n {
		rawX, rawV := c.at(i)
		x, kind := jsonNumber(rawX)
		if kind != cellNumber {
			return nil, &Problem{Found: fmt.Sprintf("%s where wavelength %d should be", jsonText(rawX), i+1), Want: "write it as a number in nm"}
		}
		v, kind := jsonNumber(rawV)
		switch kind {
		case cellNumber:
			out = append(out, sample{x: x, v: v})
		case cellMissing:
			missing++
		default:
			return nil, &Problem{Found: fmt.Sprintf("%s where the value at %g should be", jsonText(rawV), x), Want: "write it as a number, with a decimal point"}
		}
	}
	if missing > 0 {
		r.warn(fmt.Sprintf("%s without a value left out", count(missing, "wavelength")))
	}
	if len(out) < 2 {
		return nil, &Problem{Found: count(len(out), "sample"), Want: "a spectrum needs at least two"}
	}
	return out, nil
}

// jsonText quotes a node of a document.
func jsonText(v any) string {
	if s, ok := v.(string); ok {
		return Quote(s)
	}
	text, err := json.Marshal(v)
	if err != nil {
		return "something"
	}
	return Quote(string(text))
}

// metadata lists the single values that stand beside what leads to a path, the
// innermost last.
func metadata(node any, path string) []Pair {
	var out []Pair
	for prefix := ""; ; {
		object, ok := node.(map[string]any)
		if ok {
			for _, key := range slices.Sorted(maps.Keys(object)) {
				switch v := object[key].(type) {
				case string, json.Number, bool:
					if len(out) < maxHeader {
						out = append(out, Pair{join(prefix, key), fmt.Sprint(v)})
					}
				case map[string]any: // such as "meta": {…}
					if strings.HasPrefix(path+".", join(prefix, key)+".") || len(v) > maxNames {
						continue
					}
					for _, inner := range slices.Sorted(maps.Keys(v)) {
						switch v := v[inner].(type) {
						case string, json.Number, bool:
							if len(out) < maxHeader {
								out = append(out, Pair{join(join(prefix, key), inner), fmt.Sprint(v)})
							}
						}
					}
				}
			}
		}
		rest := strings.TrimPrefix(strings.TrimPrefix(path, prefix), ".")
		step := ""
		switch parent := node.(type) {
		case map[string]any:
			for key := range parent { // keys may hold points
				if (rest == key || strings.HasPrefix(rest, key+".")) && len(key) > len(step) {
					step, node = key, parent[key]
				}
			}
		case []any:
			step, _, _ = strings.Cut(rest, ".")
			i, err := strconv.Atoi(step)
			if err != nil || i < 0 || i >= len(parent) {
				return out
			}
			node = parent[i]
		}
		if step == "" {
			return out
		}
		prefix = join(prefix, step)
	}
}
