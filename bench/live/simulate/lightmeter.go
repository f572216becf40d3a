package simulate

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/creack/pty"
	"golang.org/x/term"
)

// LightMeter is a light meter that sends lines such as "  356.5 lx".
type LightMeter struct {
	Stage *Stage
	Every time.Duration // from one line to the next; 0 is half a second
}

// LightPattern reads its lines.
const LightPattern = `(?P<illuminance>\S+) (?P<illuminance_unit>lx)`

// mostLux is the end of the meter's range; above, it shows OL.
const mostLux = 20000

// everyNoise is after how many lines a bad day brings noise.
const everyNoise = 41

// Terminal is a serial port that the meter is at the other end of.
type Terminal struct {
	Name string // to be opened in place of a serial port
	far  *os.File
	near *os.File // held open, so that the port is there while nobody reads it
}

// OpenTerminal makes a pseudo-terminal. It fails where the system has none.
func OpenTerminal() (*Terminal, error) {
	far, near, err := pty.Open()
	if err != nil {
		return nil, fmt.Errorf("simulate: there is no pseudo-terminal for the light meter: %w", err)
	}
	// No echo, no line editing: what is written comes out as it is.
	_, err = term.MakeRaw(int(near.Fd()))
	if err = errors.Join(err, unblocked(far)); err != nil {
		far.Close()
		near.Close()
		return nil, fmt.Errorf("simulate: %w", err)
	}
	return &Terminal{near.Name(), far, near}, nil
}

// Close takes the port away.
func (t *Terminal) Close() error { return errors.Join(t.far.Close(), t.near.Close()) }

// Serve sends lines until the context ends. Like a real one it does not care
// whether anybody listens, and whoever begins to may come in the middle of a line.
func (m *LightMeter) Serve(ctx context.Context, to *Terminal) error {
	every := m.Every
	if every == 0 {
		every = time.Second / 2
	}
	for n := 1; ; n++ {
		text := fmt.Sprintf("%8.1f lx\r\n", m.Stage.Lamp.Lux(m.Stage.Seconds()))
		switch lux := m.Stage.Lamp.Lux(m.Stage.Seconds()); {
		case lux > mostLux:
			text = "      OL lx\r\n"
		case n == 1:
			text = text[4:] // the listener came late
		case m.Stage.Faults && n%everyNoise == 0:
			text = "\x00\xf8\x83" + text[5:]
		}
		// What nobody takes from the port in time is lost, as on a wire.
		if err := to.far.SetWriteDeadline(time.Now().Add(every)); err != nil {
			return fmt.Errorf("simulate: %w", err)
		}
		if _, err := to.far.WriteString(text); err != nil && !errors.Is(err, os.ErrDeadlineExceeded) {
			return fmt.Errorf("simulate: %w", err)
		}
		if !pause(ctx, every) {
			return nil
		}
	}
}
