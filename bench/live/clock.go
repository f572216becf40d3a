package live

import "time"

// Clock is the one clock of a session. It starts at a moment of the day and then
// goes by the machine's monotonic clock, so that it never jumps when the day's
// time is set.
type Clock struct {
	start time.Time
	rate  float64
}

// NewClock starts a clock now. A rate of 60 makes a minute of each second, for
// simulated instruments that are played faster; 0 means 1.
func NewClock(rate float64) *Clock {
	if !(rate > 0) {
		rate = 1
	}
	return &Clock{time.Now(), rate}
}

// Start is when the clock started.
func (c *Clock) Start() time.Time { return c.start.Round(0) }

// Rate is how many of its seconds pass in a second.
func (c *Clock) Rate() float64 { return c.rate }

// Now is the time by this clock.
func (c *Clock) Now() time.Time { return c.Start().Add(c.scaled(time.Since(c.start))) }

// Of is the time by this clock of a moment of the day, such as that at which a file
// was written.
func (c *Clock) Of(moment time.Time) time.Time { return c.Start().Add(c.scaled(moment.Sub(c.Start()))) }

// scaled is how long a time of the machine is by this clock.
func (c *Clock) scaled(d time.Duration) time.Duration {
	if c.rate == 1 {
		return d
	}
	return time.Duration(float64(d) * c.rate)
}
