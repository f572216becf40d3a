package live

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"lampassay/bench/notebook"
)

// Source is one way by which readings come.
type Source interface {
	// Channel is the name that its readings carry, one to a session.
	Channel() string
	// Check says in a sentence what keeps the source from being started.
	Check() error
	// Run reads until the context ends and then returns nil. What can be tried
	// again it tries again; an error is something that will not mend.
	Run(ctx context.Context, d *Desk) error
}

// Desk is where a source puts what it has. It belongs to one source of one
// session.
type Desk struct {
	s       *Session
	channel string
}

// Now is the time by the session's clock.
func (d *Desk) Now() time.Time { return d.s.clock.Now() }

// Post hands a reading over to be kept and does not wait for that. It waits only
// where too many are on their way already. A reading without a time is of now; one
// that it has is by the session's clock.
func (d *Desk) Post(ctx context.Context, r notebook.Reading) error {
	return d.post(ctx, []notebook.Reading{r}, nil)
}

// post is [Desk.Post] of several; kept, if not nil, is told the number of the last
// once they are kept, which they may never be.
func (d *Desk) post(ctx context.Context, all []notebook.Reading, kept func(last int64)) error {
	for i := range all {
		all[i].Channel = d.channel
	}
	d.eased(all)
	return d.s.take(ctx, parcel{readings: all, source: d.channel, kept: kept})
}

// Put returns when the readings are kept, with the number of the last, or with the
// reason why none is. A reading without a channel is the source's own. The times of
// readings are by a clock that may be wrong; a time that cannot be right is replaced
// by now, with a flag.
func (d *Desk) Put(ctx context.Context, all []notebook.Reading) (int64, error) {
	for i := range all {
		if all[i].Channel == "" {
			all[i].Channel = d.channel
		}
	}
	last, err := d.s.put(ctx, d.channel, all)
	if err == nil {
		d.eased(all)
	}
	return last, err
}

// eased forgets the trouble that stood in the source's way, once it gives a reading
// that nothing is odd about.
func (d *Desk) eased(all []notebook.Reading) {
	if slices.ContainsFunc(all, func(r notebook.Reading) bool { return !odd(&r) }) {
		d.s.status(d.channel, func(s *Status) { s.Trouble = "" })
	}
}

// Sent and Got log what went to the instrument and what came back.
func (d *Desk) Sent(text string) { d.s.say(Event{Kind: Sent, Channel: d.channel, Text: text}) }

// Got logs what came from the instrument.
func (d *Desk) Got(text string) { d.s.say(Event{Kind: Got, Channel: d.channel, Text: text}) }

// Note logs a sentence.
func (d *Desk) Note(format string, args ...any) {
	d.s.say(Event{Kind: Note, Channel: d.channel, Text: fmt.Sprintf(format, args...)})
}

// Trouble logs a sentence and leaves it standing in the source's [Status] until
// it is connected again or a reading comes that nothing is odd about.
func (d *Desk) Trouble(format string, args ...any) {
	text := plain(fmt.Sprintf(format, args...))
	d.s.status(d.channel, func(s *Status) { s.Trouble = text })
	d.s.say(Event{Kind: Trouble, Channel: d.channel, Text: text})
}

// plain is what an error says without the packages that say it, for the log and for
// who sends readings.
func plain(text string) string {
	parts := strings.Split(text, ": ")
	return strings.Join(slices.DeleteFunc(parts, func(part string) bool {
		return slices.Contains([]string{"live", "notebook", "ingest", "json"}, part)
	}), ": ")
}

// Connected says whether the instrument is there.
func (d *Desk) Connected(yes bool) {
	d.s.status(d.channel, func(s *Status) {
		s.Connected, s.Since = yes, d.Now()
		if yes {
			s.Trouble = ""
		}
	})
	text := "connected"
	if !yes {
		text = "disconnected"
	}
	d.s.say(Event{Kind: State, Channel: d.channel, Text: text})
}
