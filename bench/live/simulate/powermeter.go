package simulate

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"sync"
	"time"
)

// PowerMeter is a power meter that is asked by SCPI: *IDN?, *CLS, *RST, *OPC?,
// SYSTem:ERRor? and MEASure with POWer?, VOLTage? and CURRent?, several parted by
// semicolons if wished (IEEE 488.2; headers as in SCPI-99, long or short).
type PowerMeter struct {
	Stage *Stage
	// Contact is called when somebody connects; nil for nothing.
	Contact func()
}

// Identity is what the meter answers to *IDN?.
const Identity = "Tidewater,PM-1 simulated,0,1"

// The faults of a bad day, by the number of the measurement.
const (
	everyMarker = 37 // is answered by a marker
	everyHangUp = 211
)

// Serve answers everybody who connects until the context ends.
func (p *PowerMeter) Serve(ctx context.Context, l net.Listener) error {
	var talks sync.WaitGroup
	defer talks.Wait()
	stop := context.AfterFunc(ctx, func() { l.Close() })
	defer stop()
	for {
		c, err := l.Accept()
		if ctx.Err() != nil {
			return nil
		}
		if err != nil {
			return fmt.Errorf("simulate: %w", err)
		}
		if p.Contact != nil {
			p.Contact()
		}
		talks.Go(func() {
			defer c.Close()
			stop := context.AfterFunc(ctx, func() { c.Close() })
			defer stop()
			(&meterTalk{stage: p.Stage}).serve(c)
		})
	}
}

// meterTalk is one connection; each has an error queue of its own.
type meterTalk struct {
	stage    *Stage
	faults   []string
	measured int
}

var errHangUp = errors.New("hang up")

func (t *meterTalk) serve(c io.ReadWriter) {
	for s := bufio.NewScanner(c); s.Scan(); {
		answer, err := t.message(s.Text())
		if err != nil {
			return
		}
		if answer == "" {
			continue
		}
		if _, err := io.WriteString(c, answer+"\n"); err != nil {
			return
		}
	}
}

// message answers one program message. A unit without a leading colon goes on at
// the level of the one before (SCPI-99, volume 1, 6.2.4).
func (t *meterTalk) message(text string) (string, error) {
	level := ""
	var answers []string
	for _, unit := range strings.Split(text, ";") {
		unit = strings.ToUpper(strings.TrimSpace(unit))
		if unit == "" {
			continue
		}
		full := unit
		if !strings.HasPrefix(unit, "*") {
			if full = level + unit; strings.HasPrefix(unit, ":") {
				full = unit[1:]
			}
			level = full[:strings.LastIndex(full, ":")+1]
		}
		answer, err := t.unit(full)
		if err != nil {
			return "", err
		}
		if answer != "" {
			answers = append(answers, answer)
		}
	}
	return strings.Join(answers, ";"), nil
}

// mostFaults is how long the error queue grows.
const mostFaults = 20

func (t *meterTalk) unit(header string) (string, error) {
	seconds := t.stage.Seconds()
	switch header {
	case "*IDN?":
		return Identity, nil
	case "*OPC?":
		return "1", nil
	case "*CLS", "*RST":
		t.faults = nil
		return "", nil
	case "SYST:ERR?", "SYSTEM:ERROR?", "SYST:ERR:NEXT?", "SYSTEM:ERROR:NEXT?":
		if len(t.faults) == 0 {
			return `0,"No error"`, nil
		}
		first := t.faults[0]
		t.faults = t.faults[1:]
		return first, nil
	case "MEAS:POW?", "MEASURE:POWER?":
		return t.number(t.stage.Lamp.Watts(seconds))
	case "MEAS:VOLT?", "MEASURE:VOLTAGE?":
		return t.number(t.stage.Lamp.Volts(seconds))
	case "MEAS:CURR?", "MEASURE:CURRENT?":
		return t.number(t.stage.Lamp.Amperes(seconds))
	}
	if len(t.faults) < mostFaults {
		t.faults = append(t.faults, `-113,"Undefined header"`)
	}
	return "", nil
}

// number is a measurement as the meter sends it: five digits, NR3.
func (t *meterTalk) number(v float64) (string, error) {
	t.measured++
	if t.stage.Faults {
		switch {
		case t.measured%everyHangUp == 0:
			return "", errHangUp
		case t.measured%everyMarker == 0:
			return "9.91E+37", nil
		}
	}
	return fmt.Sprintf("%.4E", v), nil
}

// pause waits and reports whether the context still lasts.
func pause(ctx context.Context, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-ctx.Done():
		return false
	}
}
