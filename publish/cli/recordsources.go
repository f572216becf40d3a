package cli

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"lampassay/bench/live"
	"lampassay/bench/live/simulate"
)

// sources are what the options ask for, with the clock's rate.
func (o *recordOptions) sources(ctx context.Context, s streams) (all []live.Source, rate float64, end func() error, err error) {
	rate, end = 1, func() error { return nil }
	o.offsets = map[string]time.Duration{}
	if o.simulate != 0 {
		if o.setUp != "" || o.scpi != "" || o.serial != "" || o.folder != "" {
			return nil, 0, nil, badInput("--simulate is in place of other instruments: leave those out")
		}
		bench, folder, err := simulated(ctx, o.simulate)
		if err != nil {
			return nil, 0, nil, err
		}
		all, rate = bench.Sources(), o.simulate
		end = func() error { return errors.Join(bench.Close(), os.RemoveAll(folder)) }
	}
	if o.setUp != "" {
		f, err := os.Open(o.setUp)
		if err != nil {
			return nil, 0, nil, err
		}
		config, err := live.ReadConfig(o.setUp, f)
		f.Close()
		if err != nil {
			return nil, 0, nil, inputError{err}
		}
		all, rate, o.offsets = config.Sources, config.Rate, config.Offsets
	}
	if o.scpi != "" {
		m := &live.SCPI{Name: "mains", Port: live.Port{TCP: o.scpi}}
		for _, q := range o.queries {
			one, err := parseQuery(q)
			if err != nil {
				return nil, 0, nil, err
			}
			m.Queries = append(m.Queries, one)
		}
		all = append(all, m)
	} else if len(o.queries) > 0 {
		return nil, 0, nil, badInput("--query is for a meter: say with --scpi where it is")
	}
	if o.serial != "" {
		all = append(all, &live.Line{Name: "lux", Port: live.Port{Serial: o.serial, Baud: o.baud}, Pattern: o.pattern})
	}
	if o.folder != "" {
		all = append(all, &live.Folder{Name: "spectrometer", Path: o.folder})
	}
	if o.keyboard {
		all = append(all, &live.Typed{Name: "bench", From: s.in})
	}
	if len(all) == 0 {
		return nil, 0, nil, badInput("there is no instrument to read: name one with --scpi, --serial or --folder, or several with --setup")
	}
	taken := map[string]bool{}
	for _, src := range all {
		if err := src.Check(); err != nil {
			return nil, 0, nil, errors.Join(inputError{err}, end())
		}
		if taken[src.Channel()] {
			return nil, 0, nil, errors.Join(badInput("two instruments are called %q: give each a name of its own in the set-up", src.Channel()), end())
		}
		taken[src.Channel()] = true
	}
	for _, text := range o.offset {
		channel, offset, err := parseOffset(text)
		if err == nil && !taken[channel] {
			err = badInput("--offset %s: no instrument is called %q: there are %s", text, channel, strings.Join(slices.Sorted(maps.Keys(taken)), ", "))
		}
		if err != nil {
			return nil, 0, nil, errors.Join(err, end())
		}
		o.offsets[channel] = offset
	}
	warnOfDoors(s, all)
	return all, rate, end, nil
}

// parseOffset reads "lux=-2.5".
func parseOffset(text string) (channel string, offset time.Duration, err error) {
	channel, seconds, ok := strings.Cut(text, "=")
	x, err := strconv.ParseFloat(seconds, 64)
	if !ok || err != nil {
		return "", 0, badInput("--offset %s: write the instrument and how many seconds are added to its times, such as lux=-2.5", text)
	}
	if offset, err = live.ParseOffset(x); err != nil {
		return "", 0, badInput("--offset %s: %w", text, err)
	}
	return channel, offset, nil
}

// warnOfDoors says of sources that are to be reached from elsewhere what that means.
func warnOfDoors(s streams, all []live.Source) {
	for _, src := range all {
		if p, is := src.(*live.Push); is && p.Listen != "" {
			if own, err := loopback(p.Listen); err == nil && !own {
				fmt.Fprintf(s.err, "lampassay: whoever reaches %s and has the token of %s may add readings. The line is not encrypted: others on the network can read along, the token too.\n", p.Listen, p.Name)
			}
		}
	}
}

// parseQuery reads "MEAS:POW?=power:W" and "MEAS:VOLT?;CURR?=voltage:V,current:A".
func parseQuery(text string) (live.Query, error) {
	send, names, ok := strings.Cut(text, "=")
	q := live.Query{Send: send}
	for name := range strings.SplitSeq(names, ",") {
		key, unit, _ := strings.Cut(name, ":")
		q.Values = append(q.Values, live.Column{Key: strings.TrimSpace(key), Unit: strings.TrimSpace(unit)})
	}
	if !ok || q.Values[0].Key == "" {
		return q, badInput("--query %q: write the query and the names of its values, such as \"MEAS:POW?=power:W\"", text)
	}
	return q, nil
}

// simulated opens a simulated bench with a folder of its own. Where there are no
// pseudo-terminals it has no light meter.
func simulated(ctx context.Context, rate float64) (*simulate.Bench, string, error) {
	if !(rate >= 1 && rate <= 1000) {
		return nil, "", badInput("a simulated lamp burns 1 to 1000 times faster, not %g", rate)
	}
	folder, err := os.MkdirTemp("", "lampassay-simulated-")
	if err != nil {
		return nil, "", err
	}
	o := simulate.Options{Rate: rate, Folder: folder, OnContact: time.Second / 2, Every: simulatedEvery(rate)}
	bench, err := simulate.Open(ctx, o)
	if err != nil {
		o.NoTerminal = true
		if bench, err = simulate.Open(ctx, o); err != nil {
			return nil, "", errors.Join(err, os.RemoveAll(folder))
		}
	}
	return bench, folder, nil
}

// simulatedEvery keeps readings close enough in the lamp's time for a rule to
// look at, down to 20 ms.
func simulatedEvery(rate float64) time.Duration {
	return min(max(time.Duration(float64(20*time.Second)/rate), 20*time.Millisecond), time.Second/2)
}
