package claims

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"lampassay/assay/jsonfile"
)

// Declared is what a box or a data sheet states.
type Declared struct {
	Lamp   string // may be empty
	Source string // where it is stated: box, data sheet, label; may be empty
	Claims []Claim
}

// DeclaredFormat is the format that ReadDeclared takes as JSON.
const DeclaredFormat = "lampassay declared 1"

// declaredJSON is a file of declared values.
type declaredJSON struct {
	Format string `json:"format"`
	Lamp   string `json:"lamp"`
	Source string `json:"source"`
	Note   string `json:"note"`
	Claims []struct {
		Quantity string          `json:"quantity"`
		Value    json.RawMessage `json:"value"` // a number, or a string for a class
		Unit     string          `json:"unit"`
	} `json:"claims"`
}

// ReadDeclared reads declared values: JSON of [DeclaredFormat], or a table with
// the columns quantity, value and unit separated by commas, semicolons or tabs.
// name is the file's, for messages.
func ReadDeclared(name string, r io.Reader) (*Declared, error) {
	raw, err := io.ReadAll(io.LimitReader(r, jsonfile.Most+1))
	if err != nil {
		return nil, fmt.Errorf("claims: reading %s: %w", name, err)
	}
	text := strings.TrimPrefix(string(raw), "\ufeff")
	switch {
	case len(raw) > jsonfile.Most:
		return nil, fmt.Errorf("claims: %s is over 1 MiB, which no box states", name)
	case !utf8.ValidString(text):
		return nil, fmt.Errorf("claims: %s is not UTF-8 text", name)
	}
	var d *Declared
	if strings.HasPrefix(strings.TrimSpace(text), "{") {
		d, err = declaredFromJSON(text)
	} else {
		d, err = declaredFromTable(text)
	}
	if err != nil {
		return nil, fmt.Errorf("claims: %s: %w", name, unprefixed{err})
	}
	if len(d.Claims) == 0 {
		return nil, fmt.Errorf("claims: %s declares nothing", name)
	}
	return d, nil
}

// unprefixed drops the package's name from an error that gets it anew.
type unprefixed struct{ error }

func (e unprefixed) Error() string { return strings.ReplaceAll(e.error.Error(), "claims: ", "") }
func (e unprefixed) Unwrap() error { return e.error }

// Add adds a claim; the same quantity cannot be claimed twice.
func (d *Declared) Add(c Claim) error {
	if slices.ContainsFunc(d.Claims, func(o Claim) bool { return o.Key == c.Key }) {
		return fmt.Errorf("claims: %s is declared twice", c.Key)
	}
	d.Claims = append(d.Claims, c)
	return nil
}

func declaredFromJSON(text string) (*Declared, error) {
	var j declaredJSON
	if err := jsonfile.Decode([]byte(text), &j); err != nil {
		return nil, err
	}
	if j.Format != DeclaredFormat {
		return nil, fmt.Errorf("the format is %q, and this program reads %q", j.Format, DeclaredFormat)
	}
	d := &Declared{Lamp: j.Lamp, Source: j.Source}
	for _, c := range j.Claims {
		value := string(c.Value)
		var quoted string
		switch {
		case value == "" || value == "null":
			return nil, fmt.Errorf("%s has no value", c.Quantity)
		case json.Unmarshal(c.Value, &quoted) == nil:
			value = quoted
		}
		claim, err := NewClaim(c.Quantity, value, c.Unit)
		if err == nil {
			err = d.Add(claim)
		}
		if err != nil {
			return nil, err
		}
	}
	return d, nil
}

func declaredFromTable(text string) (*Declared, error) {
	var lines []string
	for line := range strings.Lines(text) { // a comment becomes an empty line, so that lines still count
		if strings.HasPrefix(strings.TrimSpace(line), "#") {
			line = "\n"
		}
		lines = append(lines, line)
	}
	text = strings.Join(lines, "")
	r := csv.NewReader(strings.NewReader(text))
	r.TrimLeadingSpace, r.FieldsPerRecord = true, -1
	head, _, _ := strings.Cut(strings.TrimSpace(text), "\n")
	for _, separator := range []rune{';', '\t'} {
		if strings.ContainsRune(head, separator) {
			r.Comma = separator
		}
	}
	d := &Declared{}
	columns := map[string]int{}
	for first := true; ; first = false {
		record, err := r.Read()
		if err == io.EOF {
			break
		}
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			return nil, fmt.Errorf("line %d: %w", parse.Line, parse.Err)
		}
		if err != nil {
			return nil, err
		}
		line, _ := r.FieldPos(0)
		if first {
			for i, name := range record {
				columns[strings.ToLower(strings.TrimSpace(name))] = i
			}
			continue
		}
		claim, err := tableClaim(columns, record, r.Comma != ',')
		if err == nil {
			err = d.Add(claim)
		}
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
	}
	return d, nil
}

// tableClaim reads one line of a table; commas are decimal marks where they do
// not separate.
func tableClaim(columns map[string]int, record []string, decimalComma bool) (Claim, error) {
	cell := func(name string) (string, bool) {
		i, ok := columns[name]
		if !ok || i >= len(record) {
			return "", ok
		}
		return strings.TrimSpace(record[i]), true
	}
	key, hasKey := cell("quantity")
	value, hasValue := cell("value")
	unit, hasUnit := cell("unit")
	if !hasKey || !hasValue || !hasUnit {
		return Claim{}, errors.New("the first line must name the columns quantity, value and unit")
	}
	if decimalComma {
		value = strings.Replace(value, ",", ".", 1)
	}
	return NewClaim(key, value, unit)
}
