package live

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"
)

// Config is the set-up of a bench as a file: which sources there are.
type Config struct {
	Rate    float64 // of the clock: above 1 for simulated instruments that are played faster
	Sources []Source
	Offsets map[string]time.Duration // by channel: for [Session.SetOffsets]
}

const (
	mostConfig = 1 << 20 // bytes
	mostRate   = 1000
)

// ReadConfig reads a set-up: {"rate": 1, "sources": [{"kind": "scpi", "channel":
// "mains", …}, …]}, of which the rate may be left out. The kinds are line, scpi, folder
// and push; the fields are those of the struct of that name, and offset_s beside them.
// Every source is checked. name is for sentences.
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
	c := &Config{Rate: 1, Offsets: map[string]time.Duration{}}
	if file.Rate != nil {
		if c.Rate = *file.Rate; !(c.Rate >= 1 && c.Rate <= mostRate) {
			return nil, fmt.Errorf("live: %s: a clock goes 1 to %d times as fast as time, not %g", name, mostRate, c.Rate)
		}
	}
	taken := map[string]bool{}
	for i, one := range file.Sources {
		s, offset, err := parseSource(one)
		if err != nil {
			return nil, fmt.Errorf("live: %s, source %d: %s", name, i+1, plain(err.Error()))
		}
		if taken[s.Channel()] {
			return nil, fmt.Errorf("live: %s, source %d: the channel %q is taken: give each source a name of its own", name, i+1, s.Channel())
		}
		taken[s.Channel()] = true
		c.Sources = append(c.Sources, s)
		if offset != 0 {
			c.Offsets[s.Channel()] = offset
		}
	}
	return c, nil
}

// parseSource makes a source of its JSON object, and checks it; and tells the offset of
// its clock.
func parseSource(raw []byte) (Source, time.Duration, error) {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(raw, &fields); err != nil {
		return nil, 0, fmt.Errorf("a source is an object with its kind and settings: %w", err)
	}
	var kind string
	if err := json.Unmarshal(fields["kind"], &kind); err != nil {
		return nil, 0, errors.New("the source has no kind: it is line, scpi, folder or push")
	}
	var offset time.Duration
	if text, given := fields["offset_s"]; given {
		var s *float64
		if err := json.Unmarshal(text, &s); err != nil || s == nil {
			return nil, 0, fmt.Errorf("offset_s is %s: it is a number of seconds", short(string(text)))
		}
		var err error
		if offset, err = ParseOffset(*s); err != nil {
			return nil, 0, err
		}
	}
	delete(fields, "kind")
	delete(fields, "offset_s")
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
		return nil, 0, fmt.Errorf("there is no source of the kind %q: use line, scpi, folder or push", kind)
	}
	rest, err := json.Marshal(fields)
	if err != nil {
		return nil, 0, err
	}
	if err := strict(rest, s); err != nil {
		return nil, 0, err
	}
	return s, offset, s.Check()
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

// MarshalSource writes a source as [ReadConfig] reads it among others.
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
