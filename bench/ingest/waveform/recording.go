package waveform

import (
	"fmt"
	"math"

	"lampassay/bench/ingest"
)

// Recording is evenly spaced samples of one or more channels.
type Recording struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"` // of the file's bytes, hexadecimal
	Format string `json:"format"` // in words

	Start float64 `json:"start_s"` // of the first sample; often negative: before the trigger
	Step  float64 `json:"step_s"`
	// Jitter is the largest distance of a time in the file from its even place, as
	// a share of the step; 0 where the file has no times.
	Jitter   float64       `json:"jitter"`
	Channels []Channel     `json:"channels"`
	Metadata []ingest.Pair `json:"metadata,omitempty"`
	Warnings []string      `json:"warnings,omitempty"`
}

// Channel is the samples of one input.
type Channel struct {
	Name    string    `json:"name"`
	Unit    string    `json:"unit"`    // as the file has it; "1" for shares of full scale
	Samples []float64 `json:"samples"` // in Unit
	Mean    float64   `json:"mean"`
	Min     float64   `json:"min"`
	Max     float64   `json:"max"`
	// Clipped counts the samples at full scale; 0 too where the file does not tell
	// what that is, as a table does not.
	Clipped int `json:"clipped"`
}

// Options bound what is read and tell what a file leaves open.
type Options struct {
	MaxBytes   int64   // of the file; 0 is [DefaultMaxBytes]
	MaxSamples int     // of all channels together; 0 is [DefaultMaxSamples]
	Step       float64 // seconds from sample to sample, for a table that does not say; 0 refuses one
}

// The limits: 256 MB of file, and 512 MB of samples in memory.
const (
	DefaultMaxBytes   = 256 << 20
	DefaultMaxSamples = 64 << 20
)

func (o *Options) maxBytes() int64 {
	if o.MaxBytes > 0 {
		return o.MaxBytes
	}
	return DefaultMaxBytes
}

func (o *Options) maxSamples() int {
	if o.MaxSamples > 0 {
		return o.MaxSamples
	}
	return DefaultMaxSamples
}

func (r *Recording) warn(format string, a ...any) {
	r.Warnings = append(r.Warnings, fmt.Sprintf(format, a...))
}

// coupled is how small a share of its extremes the mean of a channel is that has
// gone through a capacitor (common practice, no source).
const coupled = 0.02

// describe fills in the channels' mean and extremes and warns of what these tell.
func (r *Recording) describe() {
	for i := range r.Channels {
		c := &r.Channels[i]
		c.Min, c.Max = math.Inf(1), math.Inf(-1)
		// A running mean stays finite whatever the samples are.
		for k, v := range c.Samples {
			c.Min, c.Max = min(c.Min, v), max(c.Max, v)
			c.Mean += v/float64(k+1) - c.Mean/float64(k+1)
		}
		name := ingest.Quote(c.Name)
		switch {
		case c.Min == c.Max:
			r.warn("channel %s is constant", name)
		case c.Min < 0 && math.Abs(c.Mean) <= coupled*max(-c.Min, c.Max):
			r.warn("channel %s has no mean: it is AC-coupled, and the depth of a modulation cannot be had from it", name)
		}
		if c.Clipped > 0 {
			r.warn("channel %s has %d of %d samples at full scale: what exceeded it is lost", name, c.Clipped, len(c.Samples))
		}
	}
}
