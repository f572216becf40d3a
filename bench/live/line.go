package live

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"lampassay/bench/notebook"
)

// Line reads a meter that sends lines. A regular expression (RE2 syntax) has to
// match a whole line, spaces about it aside; each of its named groups is a value
// of that name. A group whose name ends in "_unit" gives the unit of the value
// named before that ending.
//
//	(?P<illuminance>\S+) (?P<illuminance_unit>lx|klx)
type Line struct {
	Name       string      `json:"channel"`
	Instrument notebook.ID `json:"instrument,omitempty"`
	Port
	Pattern string            `json:"pattern"`
	Units   map[string]string `json:"units,omitempty"`   // by the name of the value
	Decimal string            `json:"decimal,omitempty"` // "." (empty is that) or ","
	End     string            `json:"end,omitempty"`     // of a line: "lf" (empty is that; a CR before it is dropped) or "cr"
	// Ask is sent every EveryS seconds, to a meter that speaks only when asked. It
	// may hold \r, \n and \xhh.
	Ask    string  `json:"ask,omitempty"`
	EveryS float64 `json:"every_s,omitempty"` // 0 is 1 s
	// SilentS is after how long without a line the log says so; 0 is 10 s.
	SilentS float64 `json:"silent_s,omitempty"`
}

const unitSuffix = "_unit"

// Channel returns the name.
func (m *Line) Channel() string { return m.Name }

// Check looks at port and pattern.
func (m *Line) Check() error {
	bad := func(err error) error { return fmt.Errorf("live: %s: %w", m.Name, err) }
	if err := m.check(); err != nil {
		return bad(err)
	}
	re, err := m.compile()
	if err != nil {
		return bad(fmt.Errorf("the pattern %s cannot be used: %w", short(m.Pattern), err))
	}
	names := map[string]bool{}
	for _, n := range re.SubexpNames() {
		names[n] = true
	}
	delete(names, "")
	values := 0
	for n := range names {
		if key, isUnit := strings.CutSuffix(n, unitSuffix); !isUnit {
			values++
		} else if !names[key] {
			return bad(fmt.Errorf("the pattern has a unit %q but no value %q", n, key))
		}
	}
	if values == 0 {
		return bad(errors.New("the pattern names no value: write one as (?P<illuminance>...)"))
	}
	for key := range m.Units {
		if !names[key] {
			return bad(fmt.Errorf("there is a unit for %q, but the pattern has no such value", key))
		}
	}
	switch {
	case m.Decimal != "" && m.Decimal != "." && m.Decimal != ",":
		return bad(fmt.Errorf("the decimal mark is . or a comma, not %q", m.Decimal))
	case m.End != "" && m.End != "lf" && m.End != "cr":
		return bad(fmt.Errorf("a line ends with lf or cr, not %q", m.End))
	case !(m.EveryS >= 0 && m.EveryS < 1e6) || !(m.SilentS >= 0 && m.SilentS < 1e6):
		return bad(errors.New("times are seconds from 0 up"))
	}
	if _, err := m.question(); err != nil {
		return bad(fmt.Errorf("what is asked cannot be read: %s", short(m.Ask)))
	}
	return nil
}

func (m *Line) compile() (*regexp.Regexp, error) {
	if _, err := regexp.Compile(m.Pattern); err != nil {
		return nil, err
	}
	return regexp.Compile(`^\s*(?:` + m.Pattern + `)\s*$`)
}

func (m *Line) question() (string, error) {
	return strconv.Unquote(`"` + strings.ReplaceAll(m.Ask, `"`, `\"`) + `"`)
}

// longestLine is how long a line of a meter may be before it is taken for noise.
const longestLine = 4096

// Flags of lines.
const (
	firstLine  = "first line, may be a part"
	notMatched = "line not understood"
	unreadable = "unreadable bytes"
	noEnd      = "line without end"
)

// noiseLines is after how many lines that cannot be read the log asks about the
// baud rate.
const noiseLines = 5

// Run reads until the context ends.
func (m *Line) Run(ctx context.Context, d *Desk) error {
	re, err := m.compile()
	if err != nil {
		return err
	}
	question, err := m.question()
	if err != nil {
		return err
	}
	end := byte('\n')
	if m.End == "cr" {
		end = '\r'
	}
	return m.stay(ctx, d, end, longestLine, func(ctx context.Context, l *link) error {
		silence := seconds(m.SilentS, 10)
		quiet := time.NewTimer(silence)
		defer quiet.Stop()
		var ask <-chan time.Time
		if question != "" {
			t := time.NewTicker(seconds(m.EveryS, 1))
			defer t.Stop()
			ask = t.C
		}
		first, noise := question == "", 0
		for {
			select {
			case one, open := <-l.lines:
				if !open {
					return l.gone()
				}
				quiet.Reset(silence)
				if strings.TrimSpace(one.text) == "" && !one.cut {
					continue
				}
				r := m.read(re, one, first)
				first = false
				if noise++; !flagged(&r, unreadable) && !flagged(&r, noEnd) {
					noise = 0
				}
				if noise == noiseLines {
					d.Trouble("the last %d lines cannot be read: is the baud rate right?", noiseLines)
				}
				if err := d.Post(ctx, r); err != nil {
					return err
				}
			case <-ask:
				d.Sent(m.Ask)
				if _, err := l.port.Write([]byte(question)); err != nil {
					return fmt.Errorf("%s could not be sent: %w", m.Ask, err)
				}
			case <-quiet.C:
				d.Trouble("no line for %s", silence)
				quiet.Reset(silence)
			case <-ctx.Done():
				return nil
			}
		}
	})
}

func flagged(r *notebook.Reading, flag string) bool {
	for _, f := range r.Flags {
		if f == flag {
			return true
		}
	}
	return false
}

// read makes a reading of a line. Of the first line after connecting nobody knows
// whether it is whole ("23.4" may be the end of "1023.4"), so its numbers are not
// taken; the line itself is kept.
func (m *Line) read(re *regexp.Regexp, one line, first bool) notebook.Reading {
	r := notebook.Reading{At: one.at, Instrument: m.Instrument, Raw: readable(one.text)}
	switch {
	case one.cut:
		r.Flags = []string{noEnd}
		return r
	case first:
		r.Flags = []string{firstLine}
		return r
	case r.Raw != one.text:
		r.Flags = []string{unreadable}
		return r
	}
	match := re.FindStringSubmatch(one.text)
	if match == nil {
		r.Flags = []string{notMatched}
		return r
	}
	named := map[string]string{}
	for i, name := range re.SubexpNames() {
		if name != "" && match[i] != "" {
			named[name] = match[i]
		}
	}
	for _, name := range re.SubexpNames() {
		text, given := named[name]
		if name == "" || !given || strings.HasSuffix(name, unitSuffix) {
			continue // of an alternative that did not match
		}
		unit := m.Units[name]
		if u := named[name+unitSuffix]; u != "" {
			unit = u
		}
		r.Values = append(r.Values, valueOf(name, unit, text, m.Decimal == ","))
		delete(named, name)
	}
	return r
}

// readable returns text as it came where a person can read it, and else quoted.
func readable(text string) string {
	if utf8.ValidString(text) && !strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) && r != '\t' }) {
		return text
	}
	return strconv.Quote(text)
}
