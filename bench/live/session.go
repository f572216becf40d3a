package live

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"lampassay/bench/notebook"
)

// Options of a session; the zero value is right at a bench.
type Options struct {
	// Rate makes the clock go faster, for simulated instruments; 0 is 1.
	Rate float64
	// Look computes values from a reading's curve for [Session.Trace] and
	// [Session.RunUp]; they are not kept. nil computes none. See [Photometer].
	Look func(*notebook.Reading) []notebook.Value
	// Retry is how soon a sink that failed is tried again; 0 is a second.
	Retry time.Duration
}

// Session is one sitting at the bench. Its methods may be called from any
// goroutine.
type Session struct {
	clock  *Clock
	sink   Sink
	o      Options
	feed   *feed
	traces *traces

	ctx     context.Context // of sources
	stop    context.CancelFunc
	sources sync.WaitGroup
	takers  sync.WaitGroup // who puts into the queue
	queue   chan parcel
	kept    chan struct{} // closed when the queue is kept and closed
	lost    error         // what the sink said of what it never took; read after kept

	mu       sync.Mutex
	running  map[string]*running
	statuses map[string]*Status
	order    []string
	paused   bool
	closed   bool
	offsets  map[string]time.Duration
	latest   map[string]time.Time // of the times that each channel stated and that were believed
	on       time.Time            // when the lamp was switched on, as marked
}

type running struct {
	cancel context.CancelFunc
	ended  chan struct{}
}

// Status is how a source stands.
type Status struct {
	Channel   string            `json:"channel"`
	Running   bool              `json:"running"`
	Connected bool              `json:"connected"`
	Since     time.Time         `json:"since"` // connected, or not
	Readings  int64             `json:"readings"`
	Flagged   int64             `json:"flagged"` // readings with a flag
	Last      *notebook.Reading `json:"last,omitempty"`
	Trouble   string            `json:"trouble,omitempty"` // what stands in its way
	Offset    time.Duration     `json:"offset_ns,omitempty"`
}

// Errors of a session that a caller decides by.
var (
	ErrPaused = errors.New("live: recording is paused: readings are not kept until it goes on")
	ErrClosed = errors.New("live: the session has ended")
)

// Open begins a session, which ends with the context or by [Session.Close].
// Close must be called in either case.
func Open(ctx context.Context, to Sink, o Options) *Session {
	if o.Retry == 0 {
		o.Retry = time.Second
	}
	s := &Session{
		clock: NewClock(o.Rate), sink: to, o: o, feed: newFeed(), traces: newTraces(),
		queue: make(chan parcel, mostQueued), kept: make(chan struct{}),
		running: map[string]*running{}, statuses: map[string]*Status{},
		offsets: map[string]time.Duration{}, latest: map[string]time.Time{},
	}
	s.ctx, s.stop = context.WithCancel(ctx)
	go s.keep(context.WithoutCancel(ctx))
	return s
}

// Clock is the session's clock.
func (s *Session) Clock() *Clock { return s.clock }

// Start starts a source. It fails where the source cannot work as it is, or its
// channel is taken.
func (s *Session) Start(src Source) error {
	if err := src.Check(); err != nil {
		return err
	}
	name := src.Channel()
	probe := notebook.Reading{Channel: name, At: s.clock.Now()}
	if err := probe.Check(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return ErrClosed
	}
	if s.running[name] != nil {
		return fmt.Errorf("live: the channel %q is taken: give each source a name of its own", name)
	}
	ctx, cancel := context.WithCancel(s.ctx)
	one := &running{cancel, make(chan struct{})}
	s.running[name] = one
	s.statusOf(name).Running = true
	s.sources.Go(func() {
		defer close(one.ended)
		defer cancel()
		d := &Desk{s, name}
		if err := src.Run(ctx, d); err != nil && ctx.Err() == nil {
			d.Trouble("%v", err)
		}
		s.mu.Lock()
		delete(s.running, name)
		st := s.statusOf(name)
		st.Running, st.Connected = false, false
		s.mu.Unlock()
	})
	return nil
}

// Stop ends a source and waits until it has ended. A channel that does not run is
// nothing to stop.
func (s *Session) Stop(channel string) {
	s.mu.Lock()
	one := s.running[channel]
	s.mu.Unlock()
	if one != nil {
		one.cancel()
		<-one.ended
	}
}

// Wait waits until every source that was started has ended by itself.
func (s *Session) Wait() { s.sources.Wait() }

// Close ends the sources, waits until what they read is kept and returns why not
// all of it is, if so.
func (s *Session) Close() error {
	s.stop()
	s.mu.Lock()
	first := !s.closed
	s.closed = true
	s.mu.Unlock()
	s.sources.Wait()
	s.takers.Wait()
	if first {
		close(s.queue)
	}
	<-s.kept
	return s.lost
}

// Since returns the events after a number, at least one: it waits for it. Of events
// long past only the last few thousand are there.
func (s *Session) Since(ctx context.Context, after int64) ([]Event, error) {
	return s.feed.since(ctx, after)
}

// Statuses tells how the sources stand, in the order they were first started.
func (s *Session) Statuses() []Status {
	s.mu.Lock()
	defer s.mu.Unlock()
	all := make([]Status, len(s.order))
	for i, name := range s.order {
		all[i] = *s.statuses[name]
		all[i].Offset = s.offsets[name]
	}
	return all
}

// statusOf returns a channel's status; s.mu is held.
func (s *Session) statusOf(channel string) *Status {
	st := s.statuses[channel]
	if st == nil {
		st = &Status{Channel: channel}
		s.statuses[channel], s.order = st, append(s.order, channel)
	}
	return st
}

func (s *Session) status(channel string, change func(*Status)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	change(s.statusOf(channel))
}

func (s *Session) say(e Event) {
	e.At = s.clock.Now()
	s.feed.add(e)
}

// bench is the channel of what the person at the bench does.
const bench = "bench"

// Enter keeps a reading that a person makes: a number read off a dial, a mark. Its
// time is now where it has none, and its channel "bench" where it has none. It is
// kept while recording is paused, too.
func (s *Session) Enter(ctx context.Context, r notebook.Reading) (int64, error) {
	if r.Channel == "" {
		r.Channel = bench
	}
	return s.deliver(ctx, parcel{readings: []notebook.Reading{r}})
}

// Mark keeps a remark. One that begins with "switched on" is when the lamp was:
// see [Session.SwitchedOn].
func (s *Session) Mark(ctx context.Context, text string) (int64, error) {
	return s.Enter(ctx, notebook.Reading{Note: text})
}

// SwitchedOn is when the lamp was switched on last, as marked; zero where nobody
// marked it.
func (s *Session) SwitchedOn() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.on
}

// Pause stops keeping what instruments say, or goes on keeping it; either is
// marked in the record.
func (s *Session) Pause(ctx context.Context, yes bool) error {
	s.mu.Lock()
	changed := s.paused != yes
	s.paused = yes
	s.mu.Unlock()
	if !changed {
		return nil
	}
	text := "recording goes on"
	if yes {
		text = "recording is paused"
	}
	s.say(Event{Kind: State, Text: text})
	_, err := s.Mark(ctx, text)
	return err
}

// Paused reports whether recording is paused.
func (s *Session) Paused() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.paused
}

// show lets readings be seen.
func (s *Session) show(all []notebook.Reading, kind Kind) {
	for i := range all {
		one := all[i] // whoever keeps it is not to keep the whole batch
		r := &one
		var looked []notebook.Value
		if s.o.Look != nil && r.Curve != nil {
			looked = s.o.Look(r)
		}
		seconds := r.At.Sub(s.clock.Start()).Seconds()
		s.traces.add(seconds, r.Channel, r.Values)
		s.traces.add(seconds, r.Channel, looked)
		s.status(r.Channel, func(st *Status) {
			if IsSwitchOn(r.Note) {
				s.on = r.At
			}
			st.Readings++
			st.Last = r
			if odd(r) {
				st.Flagged++
			}
		})
		s.say(Event{Kind: kind, Channel: r.Channel, Reading: r})
	}
}

// odd reports whether anything about a reading is flagged.
func odd(r *notebook.Reading) bool {
	return len(r.Flags) > 0 || slices.ContainsFunc(r.Values, func(v notebook.Value) bool { return v.Flag != "" })
}
