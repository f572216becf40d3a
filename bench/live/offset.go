package live

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"
)

// mostOffset is how far off a clock may be for an offset to mend it: by more than a
// day it is not slow but wrong.
const mostOffset = 24 * time.Hour

// ParseOffset makes a clock's offset of seconds, and says in a sentence why not.
func ParseOffset(s float64) (time.Duration, error) {
	if !(math.Abs(s) <= mostOffset.Seconds()) {
		return 0, fmt.Errorf("the offset of a clock is from -%.0[1]f to %.0[1]f s, not %[2]g s", mostOffset.Seconds(), s)
	}
	return time.Duration(math.Round(s * float64(time.Second))), nil
}

// SetOffset sets what is added to the times of a source's readings from now on, for an
// instrument whose clock is known to be off or whose answers are known to be late. It
// is marked in the record first: where that fails nothing is changed. Another offset,
// or 0, takes its place.
func (s *Session) SetOffset(ctx context.Context, channel string, d time.Duration) error {
	if _, err := s.Mark(ctx, fmt.Sprintf("times of %s: %+.3f s from here on", channel, d.Seconds())); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.offsets[channel] = d
	return nil
}

// SetOffsets is [Session.SetOffset] of several channels.
func (s *Session) SetOffsets(ctx context.Context, all map[string]time.Duration) error {
	for _, channel := range slices.Sorted(maps.Keys(all)) {
		if err := s.SetOffset(ctx, channel, all[channel]); err != nil {
			return err
		}
	}
	return nil
}
