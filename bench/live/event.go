package live

import (
	"context"
	"sync"
	"time"

	"lampassay/bench/notebook"
)

// Kind is what an event tells of.
type Kind string

// The kinds of an [Event].
const (
	Read    Kind = "reading" // a reading was kept
	Shown   Kind = "shown"   // a reading came while recording was paused, and was not kept
	Sent    Kind = "sent"    // a command went to an instrument
	Got     Kind = "got"     // what an instrument answered
	Note    Kind = "note"
	State   Kind = "state" // connected, disconnected, paused, going on
	Trouble Kind = "trouble"
)

// Event is one thing that happened in a session.
type Event struct {
	N       int64     `json:"n"` // from 1, without gaps
	At      time.Time `json:"at"`
	Kind    Kind      `json:"kind"`
	Channel string    `json:"channel,omitempty"`
	Text    string    `json:"text,omitempty"`
	// Reading is not to be changed. Its curve is only there in the latest events.
	Reading *notebook.Reading `json:"reading,omitempty"`
}

// How many events are there to be looked back on, and how many with their curves,
// which are large.
const (
	mostEvents = 4096
	mostCurves = 64
)

// feed keeps the latest events. Who follows it asks for what came after a number
// and holds nobody up: the slow miss events (and can tell, since numbers have no
// gaps), not the bench.
type feed struct {
	mu    sync.Mutex
	ring  [mostEvents]Event
	n     int64
	fresh chan struct{} // closed at the next event
}

func newFeed() *feed { return &feed{fresh: make(chan struct{})} }

func (f *feed) add(e Event) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.n++
	e.N = f.n
	f.ring[f.n%mostEvents] = e
	if old := &f.ring[(f.n+mostEvents-mostCurves)%mostEvents]; old.Reading != nil && old.Reading.Curve != nil {
		bare := *old.Reading // others may hold the reading itself
		bare.Curve = nil
		old.Reading = &bare
	}
	close(f.fresh)
	f.fresh = make(chan struct{})
}

// since returns the events after a number, waiting for the first.
func (f *feed) since(ctx context.Context, after int64) ([]Event, error) {
	for {
		f.mu.Lock()
		n, fresh := f.n, f.fresh
		var all []Event
		for k := max(after, n-mostEvents) + 1; k <= n; k++ {
			all = append(all, f.ring[k%mostEvents])
		}
		f.mu.Unlock()
		if len(all) > 0 {
			return all, nil
		}
		select {
		case <-fresh:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}
