package notebook

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"
)

// slow is a notebook whose disk takes its time.
type slow struct {
	Notebook
	mu      sync.Mutex
	n       int64
	batches []int
	holding int // readings with the disk
	free    chan struct{}
	fail    error
}

func (s *slow) Append(_ context.Context, _ ID, readings []Reading) (int64, error) {
	s.mu.Lock()
	s.holding = len(readings)
	s.mu.Unlock()
	<-s.free
	s.mu.Lock()
	defer s.mu.Unlock()
	s.batches = append(s.batches, len(readings))
	if s.fail != nil {
		return 0, s.fail
	}
	s.n += int64(len(readings))
	return s.n, nil
}

func mark(text string) Reading {
	return Reading{At: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC), Channel: "bench", Note: text}
}

func TestWhatWaitsIsWrittenTogether(t *testing.T) {
	disk := &slow{free: make(chan struct{})}
	r := NewRecorder(disk, 1)
	const readings = 600
	numbers := make(chan int64, readings)
	var wait sync.WaitGroup
	for range readings {
		wait.Go(func() {
			n, err := r.Record(t.Context(), mark("x"))
			if err != nil {
				t.Error(err)
			}
			numbers <- n
		})
	}
	// The disk holds the first few; all others come to wait behind them, and
	// fit into two batches.
	for deadline := time.Now().Add(5 * time.Second); ; time.Sleep(time.Millisecond) {
		r.mu.Lock()
		waiting := len(r.waiting)
		r.mu.Unlock()
		disk.mu.Lock()
		waiting += disk.holding
		disk.mu.Unlock()
		if waiting == readings {
			break
		}
		if time.Now().After(deadline) {
			t.Fatalf("only %d readings wait", waiting)
		}
	}
	if len(numbers) > 0 {
		t.Error("a reading was acknowledged before the disk had it")
	}
	close(disk.free)
	wait.Wait()
	seen := map[int64]bool{}
	for range readings {
		seen[<-numbers] = true
	}
	if len(seen) != readings || seen[0] {
		t.Errorf("%d different numbers for %d readings", len(seen), readings)
	}
	total := 0
	for _, n := range disk.batches {
		if total += n; n > MostTogether {
			t.Errorf("%d readings were written at once", n)
		}
	}
	if total != readings || len(disk.batches) > 3 {
		t.Errorf("%d readings were written in %d batches", total, len(disk.batches))
	}
}

func TestARecorderTellsEveryoneOfAFailure(t *testing.T) {
	full := Errorf(Full, "there is no room")
	disk := &slow{free: make(chan struct{}), fail: full}
	close(disk.free)
	r := NewRecorder(disk, 1)
	if _, err := r.Record(t.Context(), mark("x")); !errors.Is(err, full) {
		t.Errorf("the reading was answered by %v", err)
	}
	disk.fail = nil
	if n, err := r.Record(t.Context(), mark("x")); n != 1 || err != nil {
		t.Errorf("once there is room the reading is number %d (%v)", n, err)
	}
	if _, err := r.Record(t.Context(), Reading{}); CodeOf(err) != Invalid {
		t.Errorf("an empty reading was answered by %v", err)
	}
}

func TestARecorderDoesNotHoldWhoGivesUp(t *testing.T) {
	disk := &slow{free: make(chan struct{})}
	r := NewRecorder(disk, 1)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := r.Record(ctx, mark("x")); !errors.Is(err, context.Canceled) {
		t.Errorf("who gave up was told %v", err)
	}
	close(disk.free)
	// What was on its way is written, and numbers go on.
	if n, err := r.Record(t.Context(), mark("y")); n != 2 || err != nil {
		t.Errorf("the next reading is number %d (%v)", n, err)
	}
}
