package live

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

// shelf is a sink in memory.
type shelf struct {
	mu   sync.Mutex
	all  []notebook.Reading
	fail error
}

func (s *shelf) Append(_ context.Context, readings []notebook.Reading) (int64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.fail != nil {
		return 0, s.fail
	}
	s.all = append(s.all, readings...)
	return int64(len(s.all)), nil
}

func (s *shelf) setFail(err error) {
	s.mu.Lock()
	s.fail = err
	s.mu.Unlock()
}

func (s *shelf) of(channel string) []notebook.Reading {
	s.mu.Lock()
	defer s.mu.Unlock()
	var all []notebook.Reading
	for _, r := range s.all {
		if r.Channel == channel {
			all = append(all, r)
		}
	}
	return all
}

var errFull = errors.New("there is no room")

// patience is how long a test waits for what has to come.
const patience = 30 * time.Second

// until waits for a condition.
func until(t testing.TB, what string, holds func() bool) {
	t.Helper()
	for end := time.Now().Add(patience); !holds(); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("waited in vain for %s", what)
		}
	}
}

// opened is a session whose end is part of the test.
func opened(t testing.TB, to Sink, o Options) *Session {
	t.Helper()
	if o.Retry == 0 {
		o.Retry = 5 * time.Millisecond
	}
	s := Open(t.Context(), to, o)
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func start(t testing.TB, s *Session, src Source) {
	t.Helper()
	if err := s.Start(src); err != nil {
		t.Fatal(err)
	}
}

// said reports whether an event of a kind with a text has happened.
func said(s *Session, k Kind, text string) bool {
	s.feed.mu.Lock()
	defer s.feed.mu.Unlock()
	return slices.ContainsFunc(s.feed.ring[:], func(e Event) bool { return e.Kind == k && strings.Contains(e.Text, text) })
}

func valueIn(t testing.TB, r *notebook.Reading, key string) notebook.Value {
	t.Helper()
	for _, v := range r.Values {
		if v.Key == key {
			return v
		}
	}
	t.Fatalf("there is no %s in %+v", key, r)
	return notebook.Value{}
}

// standing is the status of a channel, a zero one before it has any.
func standing(s *Session, channel string) Status {
	for _, st := range s.Statuses() {
		if st.Channel == channel {
			return st
		}
	}
	return Status{}
}
