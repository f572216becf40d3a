package live

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"lampassay/bench/notebook"
)

// Sink keeps readings: all of those given or none. It returns the number of the
// last once they are safe. It is called by one goroutine at a time.
type Sink interface {
	Append(ctx context.Context, readings []notebook.Reading) (last int64, err error)
}

// Into keeps readings in a sitting of a notebook.
func Into(nb notebook.Notebook, sitting notebook.ID) Sink { return sitter{nb, sitting} }

type sitter struct {
	nb      notebook.Notebook
	sitting notebook.ID
}

func (s sitter) Append(ctx context.Context, readings []notebook.Reading) (int64, error) {
	return s.nb.Append(ctx, s.sitting, readings)
}

// parcel is readings on their way to the sink. Where done is nil nobody waits.
type parcel struct {
	readings []notebook.Reading
	source   string // whose clock stamps them, "" for each reading's own channel
	done     chan receipt
	stated   bool             // their times are by a clock that is not ours
	kept     func(last int64) // told the number of the last once they are kept; nil for nobody
}

type receipt struct {
	last int64
	err  error
}

const (
	mostQueued   = 4096 // parcels on their way
	mostTogether = 512  // readings in one write
)

// flags that a session itself gives.
const (
	clockBack   = "clock jumped back"
	clockAhead  = "clock ahead"
	clockBehind = "clock behind"
)

// How far a stated time may be from what is possible, and isn't questioned: ahead
// of ours, where clocks that the network sets differ by less, and before the session
// began, where a board sends what it had already.
const (
	soon    = 2 * time.Second
	earlier = time.Minute
)

// stamp gives a reading its time: its own, with the source's offset, or now. A
// time by another clock is taken where it can be right; otherwise the reading is of
// now, with a flag. s.mu is held.
func (s *Session) stamp(r *notebook.Reading, source string, stated bool) {
	now := s.clock.Now()
	at := r.At
	if at.IsZero() {
		at, stated = now, false
	}
	at = at.Add(s.offsets[cmp.Or(source, r.Channel)])
	if flag := s.doubt(r.Channel, at, now); stated && flag != "" {
		r.Flags, at = append(slices.Clone(r.Flags), flag), now
	} else if stated {
		s.latest[r.Channel] = at
	}
	r.At = at.UTC().Truncate(time.Microsecond)
}

// doubt says why a stated time cannot be right, "" where it can. It is compared
// with those that were believed alone: after one that was wrong those that are right
// are taken again. s.mu is held.
func (s *Session) doubt(channel string, at, now time.Time) string {
	latest, seen := s.latest[channel]
	switch {
	case at.After(now.Add(s.clock.scaled(soon))):
		return clockAhead
	case at.Before(s.clock.Start().Add(-earlier)):
		return clockBehind
	case seen && at.Before(latest):
		return clockBack
	}
	return ""
}

// put is what a source gives and waits for, with times by a clock of its own.
func (s *Session) put(ctx context.Context, source string, all []notebook.Reading) (int64, error) {
	if s.Paused() {
		return 0, ErrPaused
	}
	return s.deliver(ctx, parcel{readings: all, source: source, stated: true})
}

// deliver hands readings to the sink and waits for its receipt.
func (s *Session) deliver(ctx context.Context, p parcel) (int64, error) {
	p.done = make(chan receipt, 1)
	if err := s.take(ctx, p); err != nil {
		return 0, err
	}
	select {
	case r := <-p.done:
		return r.last, r.err
	case <-ctx.Done():
		return 0, ctx.Err()
	}
}

// take checks and stamps a parcel and queues it.
func (s *Session) take(ctx context.Context, p parcel) error {
	if len(p.readings) == 0 {
		return fmt.Errorf("live: there are no readings to keep")
	}
	s.mu.Lock()
	if s.closed && p.done != nil {
		s.mu.Unlock()
		return ErrClosed
	}
	hold := s.paused && p.done == nil
	for i := range p.readings {
		s.stamp(&p.readings[i], p.source, p.stated)
	}
	s.takers.Add(1)
	s.mu.Unlock()
	defer s.takers.Done()
	for i := range p.readings {
		if err := p.readings[i].Check(); err != nil {
			return err
		}
	}
	if hold {
		s.show(p.readings, Shown)
		return nil
	}
	select {
	case s.queue <- p:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// keep writes what is queued, as much together as there is.
func (s *Session) keep(ctx context.Context) {
	defer close(s.kept)
	var next *parcel // taken from the queue but too long for the batch before
	for {
		var batch []parcel
		if next != nil {
			batch, next = append(batch, *next), nil
		} else if p, open := <-s.queue; open {
			batch = append(batch, p)
		} else {
			return
		}
		n := len(batch[0].readings)
	gather:
		for n < mostTogether {
			select {
			case p, open := <-s.queue:
				if !open {
					break gather
				}
				if n += len(p.readings); n > mostTogether {
					next = &p
					break gather
				}
				batch = append(batch, p)
			default:
				break gather
			}
		}
		s.write(ctx, batch)
	}
}

// write hands a batch to the sink. While that fails, those who wait are told and
// the rest is tried again, together with what comes meanwhile, until the session
// is over.
func (s *Session) write(ctx context.Context, batch []parcel) {
	var failed error
	for len(batch) > 0 {
		var all []notebook.Reading
		for _, p := range batch {
			all = append(all, p.readings...)
		}
		last, err := s.sink.Append(ctx, all)
		if err == nil {
			s.receipts(batch, all, last)
			return
		}
		if failed == nil {
			s.say(Event{Kind: Trouble, Text: "readings cannot be kept: " + plain(err.Error()) + "; trying again until they can"})
		}
		failed = err
		if batch = refuse(batch, err); len(batch) == 0 {
			return
		}
		if s.ctx.Err() != nil {
			s.lost = fmt.Errorf("live: not every reading was kept: %w", err)
			return
		}
		batch = s.linger(batch, err)
	}
}

// receipts numbers what was kept, lets it be seen and tells those who wait.
func (s *Session) receipts(batch []parcel, all []notebook.Reading, last int64) {
	n := last - int64(len(all))
	for i := range all {
		all[i].N = n + int64(i) + 1
	}
	s.show(all, Read)
	for _, p := range batch {
		n += int64(len(p.readings))
		if p.kept != nil {
			p.kept(n)
		}
		if p.done != nil {
			p.done <- receipt{last: n}
		}
	}
}

// refuse tells those who wait of a failure and returns the parcels of the others.
func refuse(batch []parcel, err error) []parcel {
	return slices.DeleteFunc(batch, func(p parcel) bool {
		if p.done != nil {
			p.done <- receipt{err: err}
		}
		return p.done != nil
	})
}

// linger waits before the sink is tried again, and sees to what comes meanwhile:
// nobody is left waiting for a sink that fails.
func (s *Session) linger(batch []parcel, err error) []parcel {
	again := time.After(s.o.Retry)
	queue := s.queue
	for {
		if len(batch) >= mostQueued {
			queue = nil // sources have to wait now
		}
		select {
		case p, open := <-queue:
			if !open {
				return batch
			}
			batch = append(batch, refuse([]parcel{p}, err)...)
		case <-s.ctx.Done():
			return batch
		case <-again:
			return batch
		}
	}
}
