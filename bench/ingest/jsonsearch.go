package ingest

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// How many curves are looked for in a document, and how many a sentence names.
const (
	mostCurves    = 1000
	mostMentioned = 6
)

// curve is a place in a JSON document that can hold a spectrum.
type curve struct {
	path  string // keys and indices, apart by points; what Options.Path chooses
	wave  string // key of the wavelengths, where they have one
	name  string // key of the values, where they have one
	n     int
	at    func(i int) (x, v any)
	wider bool // rows of more than two numbers
}

// jsonSearch collects the curves of a document.
type jsonSearch struct {
	column int
	under  string // only what lies at or under this path, or leads to it
	found  []curve
}

// leads reports that a path can lead to what is looked for, or lies within it.
func (s *jsonSearch) leads(path string) bool {
	return s.under == "" || path == "" || path == s.under ||
		strings.HasPrefix(path, s.under+".") || strings.HasPrefix(s.under, path+".")
}

func (s *jsonSearch) add(c curve) {
	if s.under == "" || c.path == s.under || strings.HasPrefix(c.path, s.under+".") {
		s.found = append(s.found, c)
	}
}

// visit looks at one node and, where it is no curve, at its children.
func (s *jsonSearch) visit(node any, path string, depth int) {
	if len(s.found) >= mostCurves || !s.leads(path) {
		return
	}
	switch node := node.(type) {
	case []any:
		if s.pairs(node, path) || s.objects(node, path) {
			return
		}
		for i, child := range node {
			s.visit(child, join(path, strconv.Itoa(i)), depth+1)
		}
	case map[string]any:
		if s.byWavelength(node, path) {
			return
		}
		s.arrays(node, path)
		for _, key := range slices.Sorted(maps.Keys(node)) {
			s.visit(node[key], join(path, key), depth+1)
		}
	}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// pairs takes [[380, 0.1], [390, 0.2], …].
func (s *jsonSearch) pairs(rows []any, path string) bool {
	column := max(s.column-1, 1)
	width := 0
	for _, r := range rows {
		row, ok := r.([]any)
		if !ok || len(row) < 2 || column >= len(row) || !isNumber(row[0]) {
			return false
		}
		width = max(width, len(row))
	}
	if len(rows) < 2 {
		return false
	}
	s.add(curve{path: path, n: len(rows), wider: width > 2, at: func(i int) (x, v any) {
		row := rows[i].([]any)
		return row[0], row[column]
	}})
	return true
}

// objects takes [{"nm": 380, "value": 0.1}, …]: a curve for each key beside the
// wavelength that the first object has a number under.
func (s *jsonSearch) objects(rows []any, path string) bool {
	if len(rows) < 2 {
		return false
	}
	first, ok := rows[0].(map[string]any)
	if !ok {
		return false
	}
	wave := waveKey(first, isNumber)
	if wave == "" {
		return false
	}
	for _, r := range rows {
		if row, ok := r.(map[string]any); !ok || row[wave] == nil {
			return false
		}
	}
	some := false
	for _, key := range slices.Sorted(maps.Keys(first)) {
		if key == wave || isTime(key) || !isNumber(first[key]) && first[key] != nil {
			continue
		}
		some = true
		s.add(curve{path: join(path, key), wave: wave, name: key, n: len(rows), at: func(i int) (x, v any) {
			row := rows[i].(map[string]any)
			return row[wave], row[key]
		}})
	}
	return some
}

// arrays takes {"nm": [380, 390, …], "value": [0.1, 0.2, …]}.
func (s *jsonSearch) arrays(node map[string]any, path string) {
	wave := waveKey(node, isNumbers)
	if wave == "" {
		return
	}
	x := node[wave].([]any)
	for _, key := range slices.Sorted(maps.Keys(node)) {
		v, ok := node[key].([]any)
		if key == wave || !ok || len(v) != len(x) || isTime(key) || !isNumbers(node[key]) {
			continue
		}
		s.add(curve{path: join(path, key), wave: wave, name: key, n: len(x), at: func(i int) (any, any) { return x[i], v[i] }})
	}
}

// byWavelength takes {"380": 0.1, "390": 0.2, …}.
func (s *jsonSearch) byWavelength(node map[string]any, path string) bool {
	if len(node) < 2 {
		return false
	}
	for key, v := range node {
		if !isNumber(key) || !isNumber(v) && v != nil {
			return false
		}
	}
	keys := slices.Sorted(maps.Keys(node))
	s.add(curve{path: path, n: len(keys), at: func(i int) (x, v any) { return keys[i], node[keys[i]] }})
	return true
}

// waveKey returns the key that names wavelengths and holds what they
// should be; “x” and pixels serve where none does.
func waveKey(node map[string]any, fits func(any) bool) string {
	for _, names := range []func(string) bool{isWavelength, func(s string) bool { return s == "x" }, isPixel} {
		for _, key := range slices.Sorted(maps.Keys(node)) {
			if names(key) && fits(node[key]) {
				return key
			}
		}
	}
	return ""
}

// choose returns the only curve, or asks for a path.
func (s *jsonSearch) choose() (*curve, *Problem) {
	where := ""
	if s.under != "" {
		where = " at " + Quote(s.under)
	}
	switch len(s.found) {
	case 0:
		return nil, &Problem{Found: "JSON without a spectrum" + where, Want: "it can be pairs, objects with a wavelength and a value, or arrays of both"}
	case 1:
		return &s.found[0], nil
	}
	var names []string
	for _, c := range s.found[:min(len(s.found), mostMentioned)] {
		names = append(names, Quote(c.path))
	}
	if len(s.found) > mostMentioned {
		names = append(names, "…")
	}
	return nil, &Problem{Found: fmt.Sprintf("JSON with %d curves%s", len(s.found), where), Want: "choose by its path: " + strings.Join(names, ", ")}
}
