package live

import (
	"slices"
	"strings"
	"time"

	"lampassay/bench/notebook"
	"lampassay/light/temporal"
)

// Record is what was read in one sitting, gathered for looking at: a trace for each
// value, the marks, and the spectra.
type Record struct {
	Start   time.Time // of the first reading; zero where only seconds are known
	Marks   []Mark
	Spectra []Moment
	look    func(*notebook.Reading) []notebook.Value
	traces  *traces
	tables  int // plain ones read so far
}

// Mark is a remark at a time.
type Mark struct {
	Seconds float64
	Text    string
}

// Moment is a spectrum at a time. The curve is not to be changed.
type Moment struct {
	Seconds float64
	Curve   *notebook.Curve
}

// NewRecord returns an empty record; look is as in [Options].
func NewRecord(look func(*notebook.Reading) []notebook.Value) *Record {
	return &Record{traces: newTraces(), look: look}
}

// Add adds a reading, by its time: those of one channel come in their order.
func (rec *Record) Add(r *notebook.Reading) {
	if rec.Start.IsZero() {
		rec.Start = r.At
	}
	rec.AddAt(r.At.Sub(rec.Start).Seconds(), r)
}

// AddAt adds a reading some seconds after the record's start.
func (rec *Record) AddAt(seconds float64, r *notebook.Reading) {
	rec.traces.add(seconds, r.Channel, r.Values)
	if r.Note != "" {
		rec.Marks = append(rec.Marks, Mark{seconds, r.Note})
	}
	if r.Curve == nil || r.Curve.Axis == nil {
		return
	}
	rec.Spectra = append(rec.Spectra, Moment{seconds, r.Curve})
	if rec.look != nil {
		rec.traces.add(seconds, r.Channel, rec.look(r))
	}
}

// Picks lists the values there are numbers of, in the order they first came.
func (rec *Record) Picks() []Pick { return slices.Clone(rec.traces.keys) }

// Trace returns the numbers of one value.
func (rec *Record) Trace(p Pick) temporal.Trace { return rec.traces.copy(p) }

// Unit returns the unit of a trace.
func (rec *Record) Unit(p Pick) string { return rec.traces.unitOf(p) }

// Find returns what of some values is named by one of several keys, the first key
// that there is. It is false where there is none.
func Find(among []Pick, keys ...string) (Pick, bool) {
	for _, key := range keys {
		for _, p := range among {
			if p.Key == key {
				return p, true
			}
		}
	}
	return Pick{}, false
}

// Names by which light and power are found where
// nobody says, the likeliest first.
var (
	lightKeys = []string{"illuminance", "luminous_flux", "lux", LightKey}
	powerKeys = []string{"power", "power_lamp", "watts"}
)

// FindLight returns what of some values is the lamp's light, and FindPower its
// power, by their names.
func FindLight(among []Pick) (Pick, bool) { return Find(among, lightKeys...) }

// FindPower is the like of [FindLight].
func FindPower(among []Pick) (Pick, bool) { return Find(among, powerKeys...) }

// switchedOn is how a mark of switching on begins.
const switchedOn = "switched on"

// IsSwitchOn reports whether a remark says that the lamp was switched on.
func IsSwitchOn(note string) bool { return strings.HasPrefix(strings.ToLower(note), switchedOn) }

// SwitchedOn returns when the lamp was switched on last, in s, as marked; nil where
// nobody marked it.
func (rec *Record) SwitchedOn() *float64 {
	for _, m := range slices.Backward(rec.Marks) {
		if IsSwitchOn(m.Text) {
			return &m.Seconds
		}
	}
	return nil
}

// ParsePick reads "channel:key".
func ParsePick(s string) (Pick, bool) {
	channel, key, ok := strings.Cut(s, ":")
	return Pick{channel, key}, ok && channel != "" && key != ""
}

func (p Pick) String() string { return p.Channel + ":" + p.Key }
