package live

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"lampassay/bench/notebook"
)

// SCPI asks a meter the same questions over and over (IEEE 488.2 over a raw TCP
// socket or a serial port). Each round is one reading.
type SCPI struct {
	Name       string      `json:"channel"`
	Instrument notebook.ID `json:"instrument,omitempty"`
	Port
	Queries []Query `json:"queries"`
	EveryS  float64 `json:"every_s,omitempty"`   // from one round to the next; 0 is 1 s
	WaitS   float64 `json:"timeout_s,omitempty"` // for an answer; 0 is 3 s
	// Begin is sent once after each connection. A command that is no query, here or
	// among the queries, is refused unless Allow has it, word for word.
	Begin []string `json:"begin,omitempty"`
	Allow []string `json:"allow,omitempty"`
	End   string   `json:"end,omitempty"` // of a command: "lf" (0 is that), "cr" or "crlf"; answers end the same way
	// Anonymous leaves *IDN? out, for meters that do not know it.
	Anonymous bool `json:"anonymous,omitempty"`
}

// Query is a question and what its answer holds.
type Query struct {
	Send   string   `json:"send"`
	Values []Column `json:"values"`
}

// Column is a value of an answer, which parts its values by commas.
type Column struct {
	Key  string `json:"key"`
	Unit string `json:"unit,omitempty"`
}

// Channel returns the name.
func (m *SCPI) Channel() string { return m.Name }

// Check refuses whatever is not a query and not allowed.
func (m *SCPI) Check() error {
	bad := func(err error) error { return fmt.Errorf("live: %s: %w", m.Name, err) }
	if err := m.check(); err != nil {
		return bad(err)
	}
	if len(m.Queries) == 0 {
		return bad(errors.New("there is nothing to ask: list queries, such as MEAS:POW?"))
	}
	if !(m.EveryS >= 0 && m.EveryS < 1e6) || !(m.WaitS >= 0 && m.WaitS < 1e6) {
		return bad(errors.New("times are seconds from 0 up"))
	}
	if !slices.Contains([]string{"", "lf", "cr", "crlf"}, m.End) {
		return bad(fmt.Errorf("a command ends with lf, cr or crlf, not %q", m.End))
	}
	for _, send := range m.Begin {
		if err := m.harmless(send); err != nil {
			return bad(err)
		}
	}
	for _, q := range m.Queries {
		if err := m.harmless(q.Send); err != nil {
			return bad(err)
		}
		if !asks(q.Send) {
			return bad(fmt.Errorf("%s asks nothing: a query ends with a question mark; commands that set something belong in \"begin\"", short(q.Send)))
		}
		if len(q.Values) == 0 {
			return bad(fmt.Errorf("the answer to %s has no values: name them", q.Send))
		}
		for _, c := range q.Values {
			if c.Key == "" {
				return bad(fmt.Errorf("a value of the answer to %s has no name", q.Send))
			}
		}
	}
	return nil
}

// asks reports whether a message holds a query.
func asks(message string) bool {
	return slices.ContainsFunc(units(message), func(u string) bool { return strings.HasSuffix(header(u), "?") })
}

// reporting are the common queries that only report (IEEE 488.2, 10). Of the others
// *TST? tests the instrument and *CAL? adjusts it.
var reporting = []string{"*IDN?", "*ESE?", "*ESR?", "*SRE?", "*STB?", "*OPC?", "*OPT?", "*LRN?", "*PRE?", "*IST?", "*PSC?", "*PUD?", "*RDT?", "*DDT?", "*EMC?", "*GMC?", "*LMC?"}

// acting are the subsystems whose queries do what their commands do (SCPI-99, volume
// 2: CALibration[:ALL]? and TEST? answer when they are done).
var acting = []string{"CAL", "CALIBRATION", "TEST", "DIAG", "DIAGNOSTIC"}

// reports tells a query that only reports from one that makes the instrument act.
func reports(header string) bool {
	header = strings.ToUpper(header)
	if strings.HasPrefix(header, "*") {
		return slices.Contains(reporting, header)
	}
	first, _, _ := strings.Cut(strings.TrimPrefix(header, ":"), ":")
	return strings.HasSuffix(header, "?") && !slices.Contains(acting, strings.TrimRight(first, "?0123456789"))
}

// harmless says why a message must not be sent.
func (m *SCPI) harmless(message string) error {
	if strings.TrimSpace(message) == "" {
		return errors.New("a command is empty")
	}
	if strings.ContainsFunc(message, func(r rune) bool { return r < ' ' || r > '~' }) {
		return fmt.Errorf("%s has a character that no command has", short(message))
	}
	for _, u := range units(message) {
		if reports(header(u)) || slices.ContainsFunc(m.Allow, func(a string) bool { return strings.EqualFold(strings.TrimSpace(a), u) }) {
			continue
		}
		would := "would change the instrument"
		if strings.HasSuffix(header(u), "?") {
			would = "would make the instrument test or adjust itself"
		}
		return fmt.Errorf("%s %s: list it under \"allow\" if that is wanted", short(u), would)
	}
	return nil
}

// units takes a program message apart at the semicolons outside strings
// (IEEE 488.2, 7.3).
func units(message string) []string {
	var all []string
	from, quote := 0, rune(0)
	for i, r := range message {
		switch {
		case quote == 0 && (r == '"' || r == '\''):
			quote = r
		case r == quote:
			quote = 0
		case r == ';' && quote == 0:
			all, from = append(all, message[from:i]), i+1
		}
	}
	all = append(all, message[from:])
	for i, u := range all {
		all[i] = strings.TrimSpace(u)
	}
	return slices.DeleteFunc(all, func(u string) bool { return u == "" })
}

// header is a command without its parameters.
func header(unit string) string {
	if i := strings.IndexAny(unit, " \t"); i >= 0 {
		return unit[:i]
	}
	return unit
}

// Run asks until the context ends.
func (m *SCPI) Run(ctx context.Context, d *Desk) error {
	answerEnd := byte('\n')
	if m.End == "cr" {
		answerEnd = '\r'
	}
	return m.stay(ctx, d, answerEnd, mostLine, func(ctx context.Context, l *link) error {
		t := &talk{m: m, d: d, l: l, wait: seconds(m.WaitS, 3)}
		if err := t.begin(ctx); err != nil {
			return err
		}
		every := time.NewTicker(seconds(m.EveryS, 1))
		defer every.Stop()
		for {
			r, err := t.round(ctx)
			if ctx.Err() != nil {
				return nil
			}
			if postErr := d.Post(ctx, r); postErr != nil {
				return postErr
			}
			if err != nil {
				return err
			}
			select {
			case <-every.C:
			case <-ctx.Done():
				return nil
			}
		}
	})
}

// talk is a conversation over one connection.
type talk struct {
	m    *SCPI
	d    *Desk
	l    *link
	wait time.Duration
}

var errNoAnswer = errors.New("no answer")

// begin makes the acquaintance of the meter.
func (t *talk) begin(ctx context.Context) error {
	if !t.m.Anonymous {
		if _, err := t.ask(ctx, "*IDN?"); err != nil {
			return err
		}
	}
	for _, send := range t.m.Begin {
		if !asks(send) {
			if err := t.send(send); err != nil {
				return err
			}
		} else if _, err := t.ask(ctx, send); err != nil {
			return err
		}
	}
	return nil
}

func (t *talk) send(message string) error {
	t.d.Sent(message)
	end := map[string]string{"": "\n", "lf": "\n", "cr": "\r", "crlf": "\r\n"}[t.m.End]
	if _, err := io.WriteString(t.l.port, message+end); err != nil {
		return fmt.Errorf("%s could not be sent: %w", message, err)
	}
	return nil
}

// ask sends a query and waits for its answer. What came unasked before is logged
// and dropped, so that no answer is taken for that of another query.
func (t *talk) ask(ctx context.Context, message string) (string, error) {
	for {
		select {
		case stray, open := <-t.l.lines:
			if !open {
				return "", t.l.gone()
			}
			t.d.Trouble("unasked: %s", short(stray.text))
			continue
		default:
		}
		break
	}
	if err := t.send(message); err != nil {
		return "", err
	}
	timer := time.NewTimer(t.wait)
	defer timer.Stop()
	select {
	case answer, open := <-t.l.lines:
		if !open {
			return "", t.l.gone()
		}
		t.d.Got(readable(answer.text))
		return answer.text, nil
	case <-timer.C:
		return "", fmt.Errorf("%w to %s in %s", errNoAnswer, message, t.wait)
	case <-ctx.Done():
		return "", ctx.Err()
	}
}

// round asks every query once. The reading's time is the middle of the round. An
// error ends the connection; what was read before it is kept.
func (t *talk) round(ctx context.Context) (notebook.Reading, error) {
	began := t.d.Now()
	r := notebook.Reading{Instrument: t.m.Instrument}
	var answers []string
	var broken error
	strange := false
	for _, q := range t.m.Queries {
		if broken != nil {
			r.Values = append(r.Values, missing(q.Values, noReading)...)
			continue
		}
		answer, err := t.ask(ctx, q.Send)
		if err != nil {
			broken = err
			flag := "connection lost"
			if errors.Is(err, errNoAnswer) {
				flag = errNoAnswer.Error()
			}
			r.Flags = append(r.Flags, flag)
			r.Values = append(r.Values, missing(q.Values, flag)...)
			continue
		}
		answers = append(answers, readable(answer))
		values, ok := q.read(answer)
		strange = strange || !ok
		r.Values = append(r.Values, values...)
	}
	r.Raw = strings.Join(answers, "\n")
	r.At = began.Add(t.d.Now().Sub(began) / 2)
	if strange {
		r.Flags = append(r.Flags, "answer not understood")
		if broken == nil {
			broken = t.errors(ctx)
		}
	}
	return r, broken
}

func missing(columns []Column, flag string) []notebook.Value {
	var all []notebook.Value
	for _, c := range columns {
		all = append(all, notebook.Value{Key: c.Key, Unit: c.Unit, Flag: flag})
	}
	return all
}

// read takes an answer apart; it is not ok where it is not what the query expects.
func (q *Query) read(answer string) (values []notebook.Value, ok bool) {
	fields := strings.FieldsFunc(answer, func(r rune) bool { return r == ',' || r == ';' })
	if len(fields) != len(q.Values) {
		return missing(q.Values, fmt.Sprintf("%d values were expected, %d came", len(q.Values), len(fields))), false
	}
	ok = true
	for i, c := range q.Values {
		v := valueOf(c.Key, c.Unit, fields[i], false)
		ok = ok && !strings.HasPrefix(v.Flag, "not a number:")
		values = append(values, v)
	}
	return values, ok
}

// errors asks the meter what it found wrong, until its queue is empty.
func (t *talk) errors(ctx context.Context) error {
	for range 10 {
		answer, err := t.ask(ctx, "SYST:ERR?")
		if err != nil {
			return err
		}
		if strings.HasPrefix(answer, "0,") || strings.HasPrefix(answer, "+0,") {
			break
		}
		t.d.Trouble("the meter reports %s", short(answer))
	}
	return nil
}
