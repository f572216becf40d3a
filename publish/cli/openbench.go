package cli

import (
	"bytes"
	"context"
	"io"
	"os"

	"lampassay/bench/live"
	"lampassay/bench/live/simulate"
)

// openedBench is the instruments that a notebook is opened with.
type openedBench struct {
	setUp []byte // as live.ReadConfig reads it; nil for none
	began func()
	close func()
}

// mostSetUp is how long a set-up may be.
const mostSetUp = 1 << 20

// bench reads the set-up of the bench, or simulates one.
func (o *openOptions) bench(ctx context.Context, s streams) (*openedBench, error) {
	none := &openedBench{close: func() {}}
	switch {
	case o.instruments != "" && o.simulate.set:
		return nil, badInput("--instruments and --simulate both name instruments: use one")
	case o.simulate.set:
		return o.simulated(ctx)
	case o.instruments == "":
		return none, nil
	}
	f, err := os.Open(o.instruments)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if none.setUp, err = io.ReadAll(io.LimitReader(f, mostSetUp)); err != nil {
		return nil, err
	}
	config, err := live.ReadConfig(o.instruments, bytes.NewReader(none.setUp))
	if err != nil {
		return nil, badInput("%w", spoken(err))
	}
	warnOfDoors(s, config.Sources)
	return none, nil
}

// simulated sets an invented bench up. Its lamp is switched on when a sitting begins
// to read it.
func (o *openOptions) simulated(ctx context.Context) (*openedBench, error) {
	if !(o.simulate.v >= 1 && o.simulate.v <= 600) {
		return nil, badInput("--simulate %g: it is how many times faster than time, 1 to 600", o.simulate.v)
	}
	folder, err := os.MkdirTemp("", "lampassay-bench-*")
	if err != nil {
		return nil, err
	}
	remove := func() { os.RemoveAll(folder) }
	b, err := simulate.Open(ctx, simulate.Options{Rate: o.simulate.v, Folder: folder})
	if err != nil {
		remove()
		return nil, err
	}
	out := &openedBench{began: b.Stage.SwitchOn, close: func() { b.Close(); remove() }}
	if out.setUp, err = b.SetUp(); err != nil {
		out.close()
		return nil, err
	}
	return out, nil
}
