package live

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

func TestOurOwnClockIsNotQuestioned(t *testing.T) {
	to := &shelf{}
	s := opened(t, to, Options{})
	if err := s.SetOffset(t.Context(), "meter", time.Hour); err != nil {
		t.Fatal(err)
	}
	var asked []time.Time
	start(t, s, script{"meter", func(ctx context.Context, d *Desk) error {
		for _, ago := range []time.Duration{0, time.Minute, 24 * time.Hour} {
			r := watts(1)
			r.At = d.Now().Add(-ago)
			asked = append(asked, r.At)
			if err := d.Post(ctx, r); err != nil {
				return err
			}
		}
		return nil
	}})
	until(t, "three readings", func() bool { return len(to.of("meter")) == 3 })
	for i, r := range to.of("meter") {
		if d := r.At.Sub(asked[i]); len(r.Flags) > 0 || d.Round(time.Millisecond) != time.Hour {
			t.Errorf("reading %d is moved by %s and flagged %v", i+1, d, r.Flags)
		}
	}
}

func TestAnOffsetMovesLaterReadingsAndIsInTheRecord(t *testing.T) {
	to := &shelf{}
	s := opened(t, to, Options{})
	if err := s.SetOffset(t.Context(), "lux", -2500*time.Millisecond); err != nil {
		t.Fatal(err)
	}
	r := watts(1)
	r.Channel, r.At = "lux", s.Clock().Now()
	asked := r.At
	if _, err := s.Enter(t.Context(), r); err != nil {
		t.Fatal(err)
	}
	if d := to.of("lux")[0].At.Sub(asked); d.Round(time.Millisecond) != -2500*time.Millisecond {
		t.Errorf("the reading was moved by %s", d)
	}
	if note := to.of("bench")[0].Note; note != "times of lux: -2.500 s from here on" {
		t.Errorf("the record says %q", note)
	}
}

func TestAnOffsetIsOfTheSourceThatReadingsComeBy(t *testing.T) {
	to := &shelf{}
	s := opened(t, to, Options{})
	if err := s.SetOffsets(t.Context(), map[string]time.Duration{"board": 30 * time.Second}); err != nil {
		t.Fatal(err)
	}
	began := s.Clock().Start()
	for _, ago := range []time.Duration{40 * time.Second, 10 * time.Second} { // the second would lie ahead
		r := watts(1)
		r.At, r.Channel = began.Add(-ago), "air"
		if _, err := s.put(t.Context(), "board", []notebook.Reading{r}); err != nil {
			t.Fatal(err)
		}
	}
	all := to.of("air")
	if d := all[0].At.Sub(began); d.Round(time.Millisecond) != -10*time.Second || len(all[0].Flags) > 0 {
		t.Errorf("the reading is of %s after the beginning, flagged %v", d, all[0].Flags)
	}
	if strings.Join(all[1].Flags, ", ") != clockAhead {
		t.Errorf("a time that the offset puts ahead is flagged %v", all[1].Flags)
	}
}

func TestAnOffsetThatIsNotInTheRecordIsNotApplied(t *testing.T) {
	to := &shelf{}
	s := opened(t, to, Options{})
	to.setFail(errFull)
	if err := s.SetOffset(t.Context(), "lux", time.Second); !errors.Is(err, errFull) {
		t.Errorf("%v", err)
	}
	to.setFail(nil)
	if d := s.offsets["lux"]; d != 0 {
		t.Errorf("%s is added", d)
	}
}
