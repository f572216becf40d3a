package live

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// Config is the set-up of a bench as a file: which sources there are.
type Config struct {
	Rate    float64 // of the clock: above 1 for simulated instruments that are played faster
	Sources []Source
}

const (
	mostConfig = 1 << 20 // bytes
	mostRate   = 1000
)

// ReadConfig reads a set-up: {"rate": 1, "sources": [{"kind": "scpi", "channel":
// "mains", …}, …]}, of which the rate may be left out. The kinds are line, scpi, folder and push; the fields are those of the struct
// of that name. Every source is checked. name is for sentences.
func ReadConfig(name string, r io.Reader) (*Config, error) {
	raw, err := io.ReadAll(io.LimitReader(r, mostConfig+1))
	if err != nil {
		return nil, fmt.Errorf("live: %s: %w", name, err)
	}
	if len(raw) > mostConfig {
		return nil, fmt.Errorf("live: %s: a set-up has at most %d bytes", name, mostConfig)
	}
	var file struct {
		Rate    *float64          `json:"rate"`
		Sources []json.RawMessage `json:"sources"`
	}
	if err := strict(raw, &file); err != nil {
		return nil, fmt.Errorf("live: %s: %s", name, plain(err.Error()))
	}
	if len(file.Sources) == 0 {
		return nil, fmt.Errorf("live: %s: there are no sources in it", name)
	}
	c := &Config{Rate: 1}
	if file.Rate != nil {
		if c.Rate = *file.Rate; !(c.Rate >= 1 && c.Rate <= mostRate) {
			return nil, fmt.Errorf("live: %s: a clock goes 1 to %d times as fast as time, not %g", name, mostRate, c.Rate)
		}
	}
	taken := map[string]bool{}
	for i, one := range file.Sources {
		s, err := ParseSource(one)
		if err != nil {
			return nil, fmt.Errorf("live: %s, source %d: %s", name, i+1, plain(err.Error()))
		}
		if taken[s.Channel()] {
			return nil, fmt.Errorf("live: %s, source %d: the channel %q is taken: give each source a name of its own", name, i+1, s.Channel())
		}
		taken[s.Channel()] = true
		c.Sources = append(c.Sources, s)
	}
	return c, nil
}

// ParseSource makes a source of its JSON object, and checks it.
func ParseSource(raw []byte) (Source, error) {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(raw, &fields); err != nil {
		return nil, fmt.Errorf("a source is an object with its kind and settings: %w", err)
	}
	var kind string
	if err := json.Unmarshal(fields["kind"], &kind); err != nil {
		return nil, errors.New("the source has no kind: it is line, scpi, folder or push")
	}
	delete(fields, "kind")
	var s Source
	switch kind {
	case "line":
		s = &Line{}
	case "scpi":
		s = &SCPI{}
	case "folder":
		s = &Folder{}
	case "push":
		s = &Push{}
	default:
		return nil, fmt.Errorf("there is no source of the kind %q: use line, scpi, folder or push", kind)
	}
	rest, err := json.Marshal(fields)
	if err != nil {
		return nil, err
	}
	if err := strict(rest, s); err != nil {
		return nil, err
	}
	return s, s.Check()
}

// strict decodes one JSON value and refuses what it does not know.
func strict(raw []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return fmt.Errorf("this cannot be read: %w", err)
	}
	if d.More() {
		return errors.New("something follows the end of it")
	}
	return nil
}

// MarshalSource is the inverse of [ParseSource].
func MarshalSource(s Source) ([]byte, error) {
	kind := ""
	switch s.(type) {
	case *Line:
		kind = "line"
	case *SCPI:
		kind = "scpi"
	case *Folder:
		kind = "folder"
	case *Push:
		kind = "push"
	default:
		return nil, fmt.Errorf("live: a %T stands in no file", s)
	}
	body, err := json.Marshal(s)
	if err != nil {
		return nil, err
	}
	return append([]byte(`{"kind":"`+kind+`",`), body[1:]...), nil
}
