package notebook

import (
	"math"
	"strings"
	"time"

	"lampassay/bench/instrument"
)

// Day is a calendar day, written 2026-11-25.
type Day = instrument.Day

// Lamp is a thing under test: one piece, not a model.
type Lamp struct {
	Head

	Name         string       `json:"name"`
	Maker        string       `json:"maker,omitempty"`
	Model        string       `json:"model,omitempty"`
	Piece        string       `json:"piece,omitempty"`      // which one of several: a serial number, "2 of 4"
	Technology   string       `json:"technology,omitempty"` // such as low-pressure sodium
	Gear         string       `json:"gear,omitempty"`       // ballast, ignitor or driver it is run with
	Base         string       `json:"base,omitempty"`       // cap designation as in IEC 60061, such as E27
	Acquired     *Day         `json:"acquired,omitempty"`
	BurnedHours  *float64     `json:"burned_hours,omitempty"` // at the last entry of its history
	Declared     []Declared   `json:"declared,omitempty"`
	History      []Event      `json:"history,omitempty"`
	Photos       []Attachment `json:"photos,omitempty"`
	Notes        string       `json:"notes,omitempty"`
	Emission     []string     `json:"emission,omitempty"` // elements and phosphors found, by name
	Tags         []string     `json:"tags,omitempty"`
	PrimaryAssay ID           `json:"primary_assay,omitempty"` // the assay the shelf shows; 0 the latest
}

// Declared is a value that the box or the data sheet states.
type Declared struct {
	Quantity string  `json:"quantity"` // key of assay/quantity, such as luminous_flux
	Value    float64 `json:"value"`
	Unit     string  `json:"unit,omitempty"`
	Source   string  `json:"source,omitempty"` // box, data sheet and its date
}

// Event is an entry in a lamp's history.
type Event struct {
	On          Day      `json:"on"`
	Text        string   `json:"text"`
	BurnedHours *float64 `json:"burned_hours,omitempty"`
}

// Kind returns [KindLamp].
func (*Lamp) Kind() Kind { return KindLamp }

// Check asks for a name and for numbers that can be.
func (l *Lamp) Check() error {
	if strings.TrimSpace(l.Name) == "" {
		return Errorf(Invalid, "the lamp has no name")
	}
	if h := l.BurnedHours; h != nil && !(*h >= 0 && *h < math.Inf(1)) {
		return Errorf(Invalid, "the lamp %s has burned %g hours: a number from 0 up is possible", l.Name, *h)
	}
	for _, d := range l.Declared {
		if d.Quantity == "" || math.IsNaN(d.Value) || math.IsInf(d.Value, 0) {
			return Errorf(Invalid, "a declared value of %s needs a quantity and a number", l.Name)
		}
	}
	return nil
}

// Links returns the chosen assay and the photos.
func (l *Lamp) Links() ([]Ref, []Attachment) { return refs(KindAssay, l.PrimaryAssay), l.Photos }

// Instrument is a spectrometer, meter or sphere on the bench.
type Instrument struct {
	Head

	Name   string `json:"name"`
	Maker  string `json:"maker,omitempty"`
	Model  string `json:"model,omitempty"`
	Serial string `json:"serial,omitempty"`
	Sort   string `json:"sort,omitempty"` // spectrometer, power meter, light meter, sphere, thermometer, …
	Notes  string `json:"notes,omitempty"`
	// File is the spectrometer's own file, as package instrument writes it; its
	// calibrations have their dates in there.
	File         *Attachment   `json:"file,omitempty"`
	Calibrations []Calibration `json:"calibrations,omitempty"`
}

// Calibration is one dated calibration or check of an instrument.
type Calibration struct {
	What        string      `json:"what"` // such as illuminance scale
	Made        Day         `json:"made"`
	TrustedDays int         `json:"trusted_days,omitempty"` // 0 until it is replaced
	Result      string      `json:"result,omitempty"`
	Certificate *Attachment `json:"certificate,omitempty"`
}

// MostTrustedDays is the longest that a calibration can be trusted for: a century. What
// holds until it is replaced has 0.
const MostTrustedDays = 36500

// Expires returns the last day on which a calibration is trusted, false where it
// holds until it is replaced.
func (c *Calibration) Expires() (Day, bool) {
	return Day{Time: c.Made.AddDate(0, 0, c.TrustedDays)}, c.TrustedDays > 0
}

// Overdue lists, in sentences, the calibrations past their time on a day. Of
// several of one name only the latest counts. What a spectrometer's own file
// says, [instrument.Instrument.Overdue] tells.
func (in *Instrument) Overdue(today Day) []string {
	latest := map[string]*Calibration{}
	for i := range in.Calibrations {
		c := &in.Calibrations[i]
		if l := latest[c.What]; l == nil || c.Made.After(l.Made.Time) {
			latest[c.What] = c
		}
	}
	var all []string
	for i := range in.Calibrations {
		c := &in.Calibrations[i]
		if end, ends := c.Expires(); latest[c.What] == c && ends && today.Format(time.DateOnly) > end.Format(time.DateOnly) {
			all = append(all, "the calibration of the "+c.What+" was to be trusted until "+end.Written())
		}
	}
	return all
}

// Kind returns [KindInstrument].
func (*Instrument) Kind() Kind { return KindInstrument }

// Check asks for a name and for dated calibrations.
func (in *Instrument) Check() error {
	if strings.TrimSpace(in.Name) == "" {
		return Errorf(Invalid, "the instrument has no name")
	}
	for _, c := range in.Calibrations {
		if c.What == "" || c.Made.IsZero() || c.TrustedDays < 0 || c.TrustedDays > MostTrustedDays {
			return Errorf(Invalid, "a calibration of %s needs what was calibrated, the day, and days of trust from 0 to %d", in.Name, MostTrustedDays)
		}
	}
	return nil
}

// Links returns the instrument's file and the certificates.
func (in *Instrument) Links() ([]Ref, []Attachment) {
	var files []Attachment
	if in.File != nil {
		files = append(files, *in.File)
	}
	for _, c := range in.Calibrations {
		if c.Certificate != nil {
			files = append(files, *c.Certificate)
		}
	}
	return nil, files
}
