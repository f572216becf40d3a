package live

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"lampassay/bench/notebook"
)

// parsePush reads one reading or a list of them.
func parsePush(body []byte) ([]notebook.Reading, error) {
	body = bytes.TrimSpace(body)
	if len(body) == 0 {
		return nil, errors.New("the request is empty: send a reading or a list of readings")
	}
	var rows []json.RawMessage
	if body[0] != '[' {
		rows = []json.RawMessage{body}
	} else if err := json.Unmarshal(body, &rows); err != nil {
		return nil, fmt.Errorf("this is no JSON: %w", err)
	}
	if len(rows) == 0 || len(rows) > MostPushReadings {
		return nil, fmt.Errorf("a request holds 1 to %d readings, not %d", MostPushReadings, len(rows))
	}
	all := make([]notebook.Reading, len(rows))
	for i, row := range rows {
		r, err := parseReading(row)
		if err != nil {
			return nil, fmt.Errorf("reading %d: %w", i+1, err)
		}
		all[i] = r
	}
	return all, nil
}

// parseReading reads one reading. JSON knows no NaN: a value may be a text, and is
// then read as a meter's is. The reading keeps what was sent.
func parseReading(row json.RawMessage) (notebook.Reading, error) {
	no := func(err error) (notebook.Reading, error) {
		return notebook.Reading{}, fmt.Errorf("this is no reading: %w", err)
	}
	sent, err := members(row, "channel", "at", "values", "note")
	if err != nil {
		return no(err)
	}
	r := notebook.Reading{Raw: string(row)}
	var at *time.Time
	for _, m := range sent {
		switch m.name {
		case "channel":
			if json.Unmarshal(m.value, &r.Channel) != nil {
				err = errors.New("the channel is no text")
			}
		case "note":
			if json.Unmarshal(m.value, &r.Note) != nil {
				err = errors.New("the note is no text")
			}
		case "at":
			if json.Unmarshal(m.value, &at) != nil {
				err = errors.New("the time is not written as 2026-11-25T09:00:00Z")
			}
		case "values":
			r.Values, err = parseValues(m.value)
		}
		if err != nil {
			return no(err)
		}
	}
	if len(r.Values) == 0 && r.Note == "" {
		return notebook.Reading{}, errors.New("there are neither values nor a note")
	}
	if at != nil {
		// A clock that was never set may say year 1, which here is no time at all.
		r.At = later(*at, time.Unix(0, 0))
	}
	return r, nil
}

// parseValues reads the values of a reading, in the order of their names.
func parseValues(raw json.RawMessage) ([]notebook.Value, error) {
	sent, err := members(raw)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(sent, func(a, b member) int { return strings.Compare(a.name, b.name) })
	var all []notebook.Value
	for _, m := range sent {
		v, err := parseValue(m)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, nil
}

func parseValue(m member) (notebook.Value, error) {
	v := notebook.Value{Key: m.name}
	sent, err := members(m.value, "value", "unit")
	if err != nil {
		return v, fmt.Errorf("%s: %w", short(m.name), err)
	}
	var given json.RawMessage
	for _, one := range sent {
		if one.name == "value" {
			given = one.value
		} else if err := json.Unmarshal(one.value, &v.Unit); err != nil {
			return v, fmt.Errorf("the unit of %s is no text", short(m.name))
		}
	}
	var text string
	var x float64
	switch {
	case given == nil:
		return v, fmt.Errorf("%s has no value: send null where there is none", short(m.name))
	case string(given) == "null":
		v.Flag = noReading
	case json.Unmarshal(given, &text) == nil:
		v = valueOf(v.Key, v.Unit, text, false)
	case json.Unmarshal(given, &x) == nil:
		v.V, v.Flag = number(x)
	default:
		return v, fmt.Errorf("the value of %s is neither a number nor a text nor null", short(m.name))
	}
	return v, nil
}

// member is a name and its value in a JSON object.
type member struct {
	name  string
	value json.RawMessage
}

// members takes a JSON object apart. A name that comes twice is refused, since one of
// the two values would be lost, and so is one that is not known where any are listed:
// names are as they are written, small letters and capitals told apart.
func members(raw json.RawMessage, known ...string) ([]member, error) {
	d := json.NewDecoder(bytes.NewReader(raw))
	if open, err := d.Token(); err != nil {
		return nil, err
	} else if open != json.Delim('{') {
		return nil, errors.New("an object in braces is wanted")
	}
	var all []member
	seen := map[string]bool{}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return nil, err
		}
		m := member{name: name.(string)} // JSON has no other names
		if err := d.Decode(&m.value); err != nil {
			return nil, err
		}
		switch {
		case len(known) > 0 && !slices.Contains(known, m.name):
			return nil, fmt.Errorf("unknown field %s: there are %s", short(m.name), strings.Join(known, ", "))
		case seen[m.name]:
			return nil, fmt.Errorf("%s comes twice: send two readings", short(m.name))
		}
		seen[m.name] = true
		all = append(all, m)
	}
	if _, err := d.Token(); err != nil {
		return nil, err
	}
	if d.More() {
		return nil, errors.New("something follows the reading: send a list as [...]")
	}
	return all, nil
}

func later(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}
