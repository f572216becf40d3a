package live

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"regexp"
	"strings"

	"lampassay/bench/notebook"
)

// Typed takes what a person types, line by line. "illuminance 1234 lx" is a reading;
// any other line is a remark. Programs with a page of their own use
// [Session.Enter].
type Typed struct {
	Name string
	From io.Reader
}

// Channel returns the name.
func (t *Typed) Channel() string { return t.Name }

// Check has nothing to refuse.
func (t *Typed) Check() error { return nil }

var typedForm = regexp.MustCompile(`^([\pL][\pL\pN_]*)\s*[ =]\s*(\S+)(?:\s+(\S+))?$`)

// ParseTyped makes a reading of a line: a value with a name and perhaps a unit, or
// else a remark. It fails on an empty line.
func ParseTyped(text string) (notebook.Reading, error) {
	text = strings.TrimSpace(readable(text))
	if text == "" {
		return notebook.Reading{}, fmt.Errorf("live: the line is empty")
	}
	if m := typedForm.FindStringSubmatch(text); m != nil {
		v := valueOf(m[1], m[3], m[2], strings.Contains(m[2], ",") && !strings.Contains(m[2], "."))
		if v.V != nil || words[strings.ToUpper(m[2])] != "" {
			return notebook.Reading{Values: []notebook.Value{v}, Raw: text}, nil
		}
	}
	return notebook.Reading{Note: text}, nil
}

// Run reads lines to the end of the input. A line that comes after the context
// has ended is not taken.
func (t *Typed) Run(ctx context.Context, d *Desk) error {
	d.Connected(true)
	lines := make(chan string)
	var err error
	go func() {
		defer close(lines)
		s := bufio.NewScanner(t.From)
		for s.Scan() {
			select {
			case lines <- s.Text():
			case <-ctx.Done():
				return
			}
		}
		err = s.Err()
	}()
	for {
		select {
		case text, open := <-lines:
			if !open {
				return err
			}
			r, parseErr := ParseTyped(text)
			if parseErr != nil {
				continue
			}
			if _, err := d.s.Enter(ctx, notebook.Reading{Channel: t.Name, Values: r.Values, Note: r.Note, Raw: r.Raw}); err != nil && ctx.Err() == nil {
				d.Trouble("%q was not kept: %v", text, err)
			}
		case <-ctx.Done():
			return nil
		}
	}
}
