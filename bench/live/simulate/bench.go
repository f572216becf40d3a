package simulate

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"

	"lampassay/bench/live"
)

// Options of a [Bench].
type Options struct {
	Rate   float64 // how much faster than time the lamp burns
	Faults bool
	Folder string // for the spectrometer's files; "" leaves the spectrometer out
	Listen string // for the power meter; "" is any port of the loopback
	// NoTerminal leaves the light meter out, where there are no pseudo-terminals.
	NoTerminal bool
	Every      time.Duration // between readings of each instrument; 0 is half a second, of the spectrometer a second
	// OnContact switches the lamp on so long after the power meter is first spoken
	// to; 0 leaves it to [Stage.SwitchOn].
	OnContact time.Duration
}

// Bench is a simulated bench: a lamp, a power meter, a light meter and a
// spectrometer.
type Bench struct {
	Stage *Stage

	o        Options
	meter    net.Listener
	terminal *Terminal
	stop     context.CancelFunc
	parts    sync.WaitGroup
	mu       sync.Mutex
	failed   error
}

// Open sets the bench up and starts its instruments; the lamp is off. It ends with
// the context or by [Bench.Close].
func Open(ctx context.Context, o Options) (*Bench, error) {
	lamp, err := NewLamp()
	if err != nil {
		return nil, err
	}
	if o.Listen == "" {
		o.Listen = "127.0.0.1:0"
	}
	if o.Rate == 0 {
		o.Rate = 1
	}
	b := &Bench{Stage: NewStage(lamp, o.Rate), o: o}
	b.Stage.Faults = o.Faults
	var lc net.ListenConfig
	if b.meter, err = lc.Listen(ctx, "tcp", o.Listen); err != nil {
		return nil, fmt.Errorf("simulate: %w", err)
	}
	if !o.NoTerminal {
		if b.terminal, err = OpenTerminal(); err != nil {
			b.meter.Close()
			return nil, err
		}
	}
	ctx, b.stop = context.WithCancel(ctx)
	var first sync.Once
	contact := func() {
		if o.OnContact > 0 {
			first.Do(func() { time.AfterFunc(o.OnContact, b.Stage.SwitchOn) })
		}
	}
	b.play(func() error { return (&PowerMeter{b.Stage, contact}).Serve(ctx, b.meter) })
	if b.terminal != nil {
		b.play(func() error { return (&LightMeter{b.Stage, o.Every}).Serve(ctx, b.terminal) })
	}
	if o.Folder != "" {
		b.play(func() error { return (&Spectrometer{b.Stage, o.Folder, o.Every}).Serve(ctx) })
	}
	return b, nil
}

func (b *Bench) play(part func() error) {
	b.parts.Go(func() {
		if err := part(); err != nil {
			b.mu.Lock()
			b.failed = errors.Join(b.failed, err)
			b.mu.Unlock()
		}
	})
}

// Close ends the instruments and returns what went wrong with them.
func (b *Bench) Close() error {
	b.stop()
	b.parts.Wait()
	if b.terminal != nil {
		b.terminal.Close()
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.failed
}

// The channels that a simulated bench is read by.
const (
	Mains    = "mains"
	Lux      = "lux"
	Spectrum = "spectrometer"
)

// Watch says what of it is the run-up.
func (b *Bench) Watch() live.Watch {
	w := live.Watch{Light: live.Pick{Channel: Lux, Key: "illuminance"}, Power: live.Pick{Channel: Mains, Key: "power"}}
	if b.terminal == nil {
		w.Light = live.Pick{Channel: Spectrum, Key: live.LightKey}
	}
	return w
}

// Sources are what reads the bench.
func (b *Bench) Sources() []live.Source {
	every := b.o.Every
	if every == 0 {
		every = time.Second / 2
	}
	all := []live.Source{&live.SCPI{
		Name: Mains, Port: live.Port{TCP: b.meter.Addr().String()}, EveryS: every.Seconds(),
		Queries: []live.Query{
			{Send: "MEAS:POW?", Values: []live.Column{{Key: "power", Unit: "W"}}},
			{Send: "MEAS:VOLT?;CURR?", Values: []live.Column{{Key: "voltage", Unit: "V"}, {Key: "current", Unit: "A"}}},
		},
	}}
	if b.terminal != nil {
		all = append(all, &live.Line{Name: Lux, Port: live.Port{Serial: b.terminal.Name}, Pattern: LightPattern})
	}
	if b.o.Folder != "" {
		all = append(all, &live.Folder{Name: Spectrum, Path: b.o.Folder})
	}
	return all
}

// SetUp is the bench as a file that [live.ReadConfig] reads.
func (b *Bench) SetUp() ([]byte, error) {
	file := struct {
		Rate    float64           `json:"rate"`
		Sources []json.RawMessage `json:"sources"`
	}{Rate: b.o.Rate}
	for _, s := range b.Sources() {
		one, err := live.MarshalSource(s)
		if err != nil {
			return nil, err
		}
		file.Sources = append(file.Sources, one)
	}
	text, err := json.MarshalIndent(file, "", "  ")
	return append(text, '\n'), err
}
