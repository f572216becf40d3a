package simulate

import (
	"bytes"
	"fmt"
	"math"
	"sync/atomic"
	"time"

	"lampassay/bench/ingest"
	"lampassay/bench/tidewater"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Lamp is the Tidewater club's low-pressure sodium lamp from its switch-on: its
// spectra, how much light reaches the meter and what it takes from the mains. All
// of it is invented.
type Lamp struct {
	Name   string
	Axis   []float64 // nm
	step   float64   // s between spectra
	curves [][]float64
	light  []float64 // 1 at the end
}

// What the simulated bench is set up for.
const (
	fullLux    = 356.5 // at the light meter, stabilised: 4480 lm all round at a metre
	fullWatts  = 46.3
	mainsVolts = 230.4
)

// runUpSeconds is how long the lamp is followed; after it, it stays as it is.
const runUpSeconds = 3600

// NewLamp computes the lamp's run-up.
func NewLamp() (*Lamp, error) {
	course := tidewater.RunUp()
	course.Spectra = runUpSeconds/course.StepS + 1
	course.Instrument.Noise = 0 // each instrument has its own
	var table bytes.Buffer
	if err := course.Write(&table); err != nil {
		return nil, err
	}
	series, err := ingest.ReadSeries(course.FileName, &table, ingest.Options{})
	if err != nil {
		return nil, fmt.Errorf("simulate: %w", err)
	}
	onto, err := spectrum.NewProjector(series.Axis, series.Projection)
	if err != nil {
		return nil, fmt.Errorf("simulate: %w", err)
	}
	l := &Lamp{Name: course.Name, Axis: series.Axis, step: float64(course.StepS), curves: series.Values}
	var p spectrum.Projected
	for _, curve := range series.Values {
		onto.Project(&p, curve)
		l.light = append(l.light, standards.V().Of(&p))
	}
	full := l.light[len(l.light)-1]
	for i := range l.light {
		l.light[i] /= full
	}
	return l, nil
}

// between returns the spectra on either side of a time, and how far it is from
// the first to the second.
func (l *Lamp) between(s float64) (i, j int, part float64) {
	at := min(max(s/l.step, 0), float64(len(l.curves)-1))
	i = int(at)
	return i, min(i+1, len(l.curves)-1), at - float64(i)
}

// Spectrum is the lamp's spectrum some seconds after switch-on.
func (l *Lamp) Spectrum(s float64) []float64 {
	i, j, part := l.between(s)
	out := make([]float64, len(l.Axis))
	if s >= 0 {
		for k := range out {
			out[k] = (1-part)*l.curves[i][k] + part*l.curves[j][k]
		}
	}
	return out
}

// Lux is the illuminance at the light meter, in lx.
func (l *Lamp) Lux(s float64) float64 {
	if s < 0 {
		return 0
	}
	i, j, part := l.between(s)
	return fullLux * ((1-part)*l.light[i] + part*l.light[j])
}

// Watts is the active power at the mains.
func (l *Lamp) Watts(s float64) float64 {
	if s < 0 {
		return 0
	}
	return fullWatts * (1 - 0.24*math.Exp(-s/160))
}

// Volts is the mains voltage, which wanders a little.
func (l *Lamp) Volts(s float64) float64 { return mainsVolts + 0.3*math.Sin(s/47) }

// Amperes is the current, at a power factor of 0.87.
func (l *Lamp) Amperes(s float64) float64 { return l.Watts(s) / l.Volts(s) / 0.87 }

// Stage is a lamp that was switched on at a moment.
type Stage struct {
	Lamp *Lamp
	// Faults makes the instruments do now and then what real ones do: markers in
	// place of numbers, noise on the line, a connection that drops.
	Faults bool

	rate float64
	on   atomic.Pointer[time.Time] // nil while it is off
}

// NewStage prepares a lamp that is off. A rate of 60 plays a minute a second.
func NewStage(l *Lamp, rate float64) *Stage { return &Stage{Lamp: l, rate: rate} }

// SwitchOn switches the lamp on, cold.
func (s *Stage) SwitchOn() { now := time.Now(); s.on.Store(&now) }

// SwitchOff switches it off.
func (s *Stage) SwitchOff() { s.on.Store(nil) }

// Seconds is how long the lamp has burned; −1 while it is off.
func (s *Stage) Seconds() float64 {
	on := s.on.Load()
	if on == nil {
		return -1
	}
	return s.rate * time.Since(*on).Seconds()
}
