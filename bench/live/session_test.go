package live

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

// script is a source that does what a test says.
type script struct {
	name string
	run  func(context.Context, *Desk) error
}

func (s script) Channel() string                        { return s.name }
func (s script) Check() error                           { return nil }
func (s script) Run(ctx context.Context, d *Desk) error { return s.run(ctx, d) }

func watts(v float64) notebook.Reading {
	return notebook.Reading{Values: []notebook.Value{{Key: "power", V: &v, Unit: "W"}}}
}

func TestReadingsOfManySourcesAllArriveEachInItsOrder(t *testing.T) {
	const sources, each = 8, 500
	to := &shelf{}
	s := Open(t.Context(), to, Options{})
	names := strings.Split("abcdefgh", "")
	for _, name := range names {
		start(t, s, script{name, func(ctx context.Context, d *Desk) error {
			for i := range each {
				if err := d.Post(ctx, watts(float64(i))); err != nil {
					return err
				}
			}
			return nil
		}})
	}
	s.Wait()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		all := to.of(name)
		if len(all) != each {
			t.Errorf("%s: %d readings", name, len(all))
		}
		for i, r := range all {
			if *r.Values[0].V != float64(i) {
				t.Fatalf("%s: reading %d is %g", name, i, *r.Values[0].V)
			}
		}
	}
	if s.Statuses()[0].Readings != each || s.Statuses()[0].Running {
		t.Errorf("%+v", s.Statuses()[0])
	}
}

// slow is a sink whose disk is busy until it is free.
type slow struct {
	free  chan struct{}
	taken atomic.Int64
	parts []int // how many readings came in each write
}

func (s *slow) Append(_ context.Context, readings []notebook.Reading) (int64, error) {
	n := s.taken.Add(int64(len(readings)))
	<-s.free
	s.parts = append(s.parts, len(readings))
	return n, nil
}

func TestWhatWaitsIsWrittenTogetherAndEachIsToldItsNumber(t *testing.T) {
	const readings = 600 // more than one write takes
	disk := &slow{free: make(chan struct{})}
	s := Open(t.Context(), disk, Options{})
	numbers := make(chan int64, readings)
	var wait sync.WaitGroup
	for range readings {
		wait.Go(func() {
			n, err := s.Mark(t.Context(), "x")
			if err != nil {
				t.Error(err)
			}
			numbers <- n
		})
	}
	until(t, "all to wait", func() bool { return int(disk.taken.Load())+len(s.queue) == readings })
	if len(numbers) > 0 {
		t.Error("a reading was acknowledged before the disk had it")
	}
	close(disk.free)
	wait.Wait()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	seen := map[int64]bool{}
	for range readings {
		seen[<-numbers] = true
	}
	if len(seen) != readings || seen[0] || !seen[readings] {
		t.Errorf("%d different numbers for %d readings", len(seen), readings)
	}
	if len(disk.parts) > 3 || slices.Max(disk.parts) > mostTogether {
		t.Errorf("%d readings were written as %v", readings, disk.parts)
	}
}

func TestASinkThatFailsLosesNothingThatNobodyWasToldOf(t *testing.T) {
	to := &shelf{}
	s := opened(t, to, Options{})
	to.setFail(errFull)
	goOn := make(chan struct{})
	start(t, s, script{"meter", func(ctx context.Context, d *Desk) error {
		for i := range 10 {
			if err := d.Post(ctx, watts(float64(i))); err != nil {
				return err
			}
		}
		close(goOn)
		<-ctx.Done()
		return nil
	}})
	<-goOn
	until(t, "a sentence about it", func() bool { return said(s, Trouble, "there is no room") })
	if _, err := s.Mark(t.Context(), "a mark"); !errors.Is(err, errFull) {
		t.Errorf("who waits is told at once: %v", err)
	}
	to.setFail(nil)
	until(t, "all readings", func() bool { return len(to.of("meter")) == 10 })
	if n, err := s.Mark(t.Context(), "another"); n != 11 || err != nil {
		t.Errorf("the mark that failed was not kept behind its author's back: number %d (%v)", n, err)
	}
}

func TestASessionThatEndsWithAFailingSinkSaysSo(t *testing.T) {
	to := &shelf{fail: errFull}
	s := Open(t.Context(), to, Options{Retry: time.Millisecond})
	posted := make(chan struct{})
	start(t, s, script{"meter", func(ctx context.Context, d *Desk) error {
		defer close(posted)
		return d.Post(ctx, watts(1))
	}})
	<-posted
	if err := s.Close(); !errors.Is(err, errFull) {
		t.Errorf("%v", err)
	}
	if _, err := s.Mark(t.Context(), "late"); !errors.Is(err, ErrClosed) {
		t.Errorf("%v", err)
	}
	if err := s.Start(script{name: "x"}); !errors.Is(err, ErrClosed) {
		t.Errorf("%v", err)
	}
}

func TestAStatedTimeThatCannotBeRightIsFlaggedAndItsReadingIsOfNow(t *testing.T) {
	const s, min, h = time.Second, time.Minute, time.Hour
	long := 30 * 24 * h
	for name, tc := range map[string]struct {
		ago   []time.Duration // when each says it was made, before the session began
		flags []string
	}{
		"right":                        {[]time.Duration{10 * s, 5 * s, 0}, []string{"", "", ""}},
		"back once":                    {[]time.Duration{10 * s, 5 * s, 9 * s, 4 * s}, []string{"", "", clockBack, ""}},
		"back for good":                {[]time.Duration{5 * s, 30 * s, 29 * s}, []string{"", clockBack, clockBack}},
		"first one never set":          {[]time.Duration{56 * 365 * 24 * h, 5 * s, 4 * s}, []string{clockBehind, "", ""}},
		"a month late":                 {[]time.Duration{long, long - s}, []string{clockBehind, clockBehind}},
		"just before the session":      {[]time.Duration{50 * s}, []string{""}},
		"50 s ahead, then right":       {[]time.Duration{5 * s, -50 * s, 4 * s, 3 * s}, []string{"", clockAhead, "", ""}},
		"an hour ahead from the start": {[]time.Duration{-h, 2 * s}, []string{clockAhead, ""}},
	} {
		to := &shelf{}
		session := opened(t, to, Options{})
		began := session.Clock().Start()
		for _, ago := range tc.ago {
			r := watts(1)
			r.At, r.Channel = began.Add(-ago), "board"
			if _, err := session.put(t.Context(), "board", []notebook.Reading{r}); err != nil {
				t.Fatal(err)
			}
		}
		for i, r := range to.of("board") {
			if got := strings.Join(r.Flags, ", "); got != tc.flags[i] {
				t.Errorf("%s: reading %d is flagged %q, want %q", name, i+1, got, tc.flags[i])
			}
			as := began.Add(-tc.ago[i]).Truncate(time.Microsecond)
			if believed := r.At.Equal(as); believed != (tc.flags[i] == "") || !believed && r.At.Before(began.Add(-time.Microsecond)) {
				t.Errorf("%s: reading %d of %s before the session is kept as of %s after it began", name, i+1, tc.ago[i], r.At.Sub(began))
			}
		}
	}
}

func TestWhilePausedReadingsAreShownAndNotKept(t *testing.T) {
	to := &shelf{}
	s := opened(t, to, Options{})
	more := make(chan float64)
	start(t, s, script{"meter", func(ctx context.Context, d *Desk) error {
		for v := range more {
			if err := d.Post(ctx, watts(v)); err != nil {
				return err
			}
		}
		return nil
	}})
	if err := s.Pause(t.Context(), true); err != nil {
		t.Fatal(err)
	}
	more <- 1
	until(t, "the reading to be seen", func() bool { return standing(s, "meter").Readings == 1 })
	if _, err := s.put(t.Context(), "meter", []notebook.Reading{watts(3)}); !errors.Is(err, ErrPaused) {
		t.Errorf("who waits for a receipt gets none: %v", err)
	}
	if err := s.Pause(t.Context(), false); err != nil {
		t.Fatal(err)
	}
	more <- 2
	close(more)
	until(t, "the reading after", func() bool { return len(to.of("meter")) == 1 })
	if v := *to.of("meter")[0].Values[0].V; v != 2 {
		t.Errorf("%g was kept", v)
	}
	if marks := to.of("bench"); len(marks) != 2 || marks[0].Note != "recording is paused" || marks[1].Note != "recording goes on" {
		t.Errorf("%+v", marks)
	}
}

func TestWhoFollowsSlowlyMissesEventsAndHoldsNobodyUp(t *testing.T) {
	f := newFeed()
	for range mostEvents + 10 {
		f.add(Event{Kind: Note})
	}
	all, err := f.since(t.Context(), 3)
	if err != nil || len(all) != mostEvents || all[0].N != 11 || all[len(all)-1].N != mostEvents+10 {
		t.Errorf("%d events from %d (%v)", len(all), all[0].N, err)
	}
	for range 2 * mostCurves {
		f.add(Event{Kind: Read, Reading: &notebook.Reading{Curve: &notebook.Curve{}}})
	}
	all, err = f.since(t.Context(), mostEvents+10)
	for i, e := range all {
		if has := e.Reading.Curve != nil; has != (i >= mostCurves) || err != nil {
			t.Errorf("event %d of %d has a curve: %t (%v)", i, len(all), has, err)
		}
	}
	const latest = mostEvents + 10 + 2*mostCurves
	ctx, cancel := context.WithCancel(t.Context())
	var wait sync.WaitGroup
	wait.Go(func() {
		if _, err := f.since(ctx, latest); !errors.Is(err, context.Canceled) {
			t.Error(err)
		}
	})
	wait.Go(func() {
		if all, err := f.since(t.Context(), latest); err != nil || len(all) == 0 {
			t.Errorf("%v %v", all, err)
		}
	})
	cancel()
	time.Sleep(10 * time.Millisecond)
	f.add(Event{Kind: Note})
	wait.Wait()
}

func TestAChannelIsTakenUntilItsSourceHasEnded(t *testing.T) {
	s := opened(t, &shelf{}, Options{})
	waits := script{"meter", func(ctx context.Context, _ *Desk) error { <-ctx.Done(); return nil }}
	start(t, s, waits)
	if err := s.Start(waits); err == nil || !strings.Contains(err.Error(), `"meter" is taken`) {
		t.Errorf("%v", err)
	}
	s.Stop("meter")
	s.Stop("no such")
	start(t, s, waits)
	if err := s.Start(script{name: "no\nname"}); notebook.CodeOf(err) != notebook.Invalid {
		t.Errorf("%v", err)
	}
}

func TestTheClockGoesByItsRate(t *testing.T) {
	c := NewClock(1000)
	// Real time taken outside and inside of the clock's two readings bounds what it
	// may show, however long the machine looks away.
	outer := time.Now()
	a := c.Now()
	inner := time.Now()
	time.Sleep(20 * time.Millisecond)
	least := 1000 * time.Since(inner)
	went := c.Now().Sub(a)
	if most := 1000 * time.Since(outer); went < least || went > most {
		t.Errorf("it went on by %s, between %s and %s is right", went, least, most)
	}
}

func TestALongTraceKeepsItsExtremes(t *testing.T) {
	tr := newTraces()
	for i := range 3 * mostTraced {
		v := 1.0
		if i == 1000 {
			v = 99
		}
		tr.add(float64(i), "lux", []notebook.Value{{Key: "illuminance", V: &v}, {Key: "none"}})
	}
	got := tr.copy(Pick{"lux", "illuminance"})
	most := 0.0
	for _, v := range got.Values {
		most = max(most, v)
	}
	from, to := got.Span()
	if got.Len() > mostTraced || most != 99 || from != 0 || to != 3*mostTraced-1 {
		t.Errorf("%d readings from %g to %g, the largest %g", got.Len(), from, to, most)
	}
	if back := tr.copy(Pick{"lux", "none"}); back.Len() != 0 {
		t.Errorf("%+v", back)
	}
}

func TestATraceKeepsToOneUnit(t *testing.T) {
	tr := newTraces()
	for i, unit := range []string{"lx", "klx", "mlx", "mm", "lx"} {
		v := float64(i + 1)
		tr.add(float64(i), "lux", []notebook.Value{{Key: "illuminance", V: &v, Unit: unit}})
	}
	got := tr.copy(Pick{"lux", "illuminance"})
	if want := []float64{1, 2000, 0.003, 5}; !slices.Equal(got.Values, want) {
		t.Errorf("%v, want %v lx", got.Values, want)
	}
}
