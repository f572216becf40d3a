package instrument

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"lampassay/light/calibration"
)

// Format and Version head every instrument file. A reader refuses a later
// version than its own.
const (
	Format  = "lampassay instrument"
	Version = 1
)

// Instrument is one spectrometer and what is known of it. A calibration that is
// nil was never made.
type Instrument struct {
	Format  string `json:"format"`
	Version int    `json:"version"`

	Name   string `json:"name"`
	Serial string `json:"serial,omitempty"`
	Notes  string `json:"notes,omitempty"`

	Pixels int `json:"pixels"`
	// FullScale is the count at which the detector saturates; 0 unknown.
	FullScale float64 `json:"full_scale,omitempty"`
	// Backwards tells that the first pixel has the longest wavelength; frames
	// are turned round before anything else.
	Backwards bool `json:"backwards,omitempty"`
	// BlindBelowNm is the wavelength under which no light reaches the detector;
	// 0 unknown.
	BlindBelowNm float64 `json:"blind_below_nm,omitempty"`

	Wavelength  *Dated[calibration.Wavelength]  `json:"wavelength,omitempty"`
	Shift       *Dated[calibration.Shift]       `json:"shift,omitempty"`
	Linearity   *Dated[calibration.Linearity]   `json:"linearity,omitempty"`
	Stray       *Dated[calibration.Stray]       `json:"stray_light,omitempty"`
	SecondOrder *Dated[calibration.SecondOrder] `json:"second_order,omitempty"`
	Response    *Dated[calibration.Response]    `json:"response,omitempty"`
}

// Dated is a calibration with its history.
type Dated[T any] struct {
	Made Day `json:"made"`
	// Days is for how many days it is trusted; 0 means until it is replaced.
	Days  int      `json:"trusted_days,omitempty"`
	Files []string `json:"files,omitempty"` // recordings it was made from
	Notes string   `json:"notes,omitempty"`
	Value T        `json:"value"`
}

// Trusted days for new calibrations: common practice on the bench, without a
// source.
const (
	WavelengthDays = 365
	ShiftDays      = 1
	ResponseDays   = 365
	LinearityDays  = 0
	StrayDays      = 365
)

// Day is a calendar day, written 2026-11-25.
type Day struct{ time.Time }

// DayOf returns the calendar day of a moment where it was taken.
func DayOf(t time.Time) Day {
	y, m, d := t.Date()
	return Day{time.Date(y, m, d, 0, 0, 0, 0, time.UTC)}
}

// Written returns the day as sentences and pages have it: 25 Nov 2026. Its blanks keep
// it on one line.
func (d Day) Written() string { return d.Format("2\u00a0Jan\u00a02006") }

// MarshalJSON writes the day in quotes.
func (d Day) MarshalJSON() ([]byte, error) { return json.Marshal(d.Format(time.DateOnly)) }

// UnmarshalJSON reads what MarshalJSON writes.
func (d *Day) UnmarshalJSON(b []byte) error {
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return errors.New("instrument: a day is written like \"2026-11-25\"")
	}
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return fmt.Errorf("instrument: %q is no day: write it like 2026-11-25", s)
	}
	d.Time = t
	return nil
}

// Overdue lists, in sentences, the calibrations that are missing or past their
// time on a day.
func (in *Instrument) Overdue(today Day) []string {
	var all []string
	if in.Wavelength == nil {
		all = append(all, "the wavelength axis has never been calibrated")
	}
	if in.Response == nil {
		all = append(all, "the response has never been calibrated")
	}
	if w := in.Wavelength; w != nil && !w.Value.Confident {
		all = append(all, "the wavelength calibration was kept although its pairing of peaks and lines is not certain")
	}
	all = append(all, in.Wavelength.overdue("wavelength", today)...)
	all = append(all, in.Shift.overdue("shift", today)...)
	all = append(all, in.Linearity.overdue("linearity", today)...)
	all = append(all, in.Stray.overdue("stray-light", today)...)
	all = append(all, in.SecondOrder.overdue("second-order", today)...)
	return append(all, in.Response.overdue("response", today)...)
}

// overdue says in a sentence that a calibration is past its time, if it is.
func (d *Dated[T]) overdue(name string, today Day) []string {
	if d == nil {
		return nil
	}
	age := int(today.Sub(d.Made.Time).Hours() / 24)
	switch {
	case age < 0:
		return []string{fmt.Sprintf("the %s calibration is dated %s, which has not come yet", name, d.Made.Written())}
	case d.Days > 0 && age > d.Days:
		return []string{fmt.Sprintf("the %s calibration of %s was to be trusted for %d days and is %d days old", name, d.Made.Written(), d.Days, age)}
	}
	return nil
}

// Dispersion returns the wavelength axis with the day's shift, or an error where
// the instrument has none.
func (in *Instrument) Dispersion() (calibration.Dispersion, error) {
	if in.Wavelength == nil {
		return calibration.Dispersion{}, fmt.Errorf("instrument: %s has no wavelength calibration: record a line lamp first", in.Name)
	}
	d := in.Wavelength.Value.Dispersion
	if in.Shift != nil && !in.Shift.Made.Before(in.Wavelength.Made.Time) {
		d = d.Shifted(in.Shift.Value.Pixels)
	}
	return d, nil
}

// Check reports the first thing that is wrong with an instrument: head, pixels,
// or a calibration that contradicts itself or another.
func (in *Instrument) Check() error {
	switch {
	case in.Format != Format:
		return fmt.Errorf("instrument: this is no instrument file: it says %q where %q should stand", in.Format, Format)
	case in.Version < 1 || in.Version > Version:
		return fmt.Errorf("instrument: the file is of version %d and this program reads up to %d", in.Version, Version)
	case in.Name == "":
		return errors.New("instrument: the instrument has no name")
	case in.Pixels < 8 || in.Pixels > calibration.MostPixels:
		return fmt.Errorf("instrument: %s has %d pixels: 8 to %d are possible", in.Name, in.Pixels, calibration.MostPixels)
	case in.FullScale < 0:
		return fmt.Errorf("instrument: %s saturates at %g counts: full scale is positive, or 0 if unknown", in.Name, in.FullScale)
	}
	if w := in.Wavelength; w != nil {
		if err := w.Value.Dispersion.Check(); err != nil {
			return fmt.Errorf("instrument: %s: %w", in.Name, err)
		}
		if w.Value.Dispersion.Pixels != in.Pixels {
			return fmt.Errorf("instrument: %s has %d pixels but its wavelength calibration is for %d", in.Name, in.Pixels, w.Value.Dispersion.Pixels)
		}
	}
	if r := in.Response; r != nil {
		if err := r.Value.Check(); err != nil {
			return fmt.Errorf("instrument: %s: %w", in.Name, err)
		}
	}
	if l := in.Linearity; l != nil && l.Value.FullScale <= 0 {
		return fmt.Errorf("instrument: %s: the linearity has no full scale", in.Name)
	}
	if s := in.Stray; s != nil && s.Value.Matrix != nil && len(s.Value.Matrix) != in.Pixels {
		return fmt.Errorf("instrument: %s has %d pixels but its stray-light matrix is for %d", in.Name, in.Pixels, len(s.Value.Matrix))
	}
	if s := in.SecondOrder; s != nil && len(s.Value.Nm) != len(s.Value.Ratio) {
		return fmt.Errorf("instrument: %s: the second order has %d wavelengths but %d ratios", in.Name, len(s.Value.Nm), len(s.Value.Ratio))
	}
	return nil
}

// Read reads and checks an instrument file. Unknown keys are refused: they are a
// slip of the pen or belong to a later version.
func Read(r io.Reader) (*Instrument, error) {
	raw, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("instrument: reading: %w", err)
	}
	// The head first, so that a file of another kind is called by its name and
	// not by its first unknown key.
	var head struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
	}
	if err := json.Unmarshal(raw, &head); err != nil {
		return nil, fmt.Errorf("instrument: this is no instrument file: %w", err)
	}
	in := &Instrument{Format: head.Format, Version: head.Version, Name: "?", Pixels: 8}
	if err := in.Check(); err != nil {
		return nil, err
	}
	*in = Instrument{}
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	if err := d.Decode(in); err != nil {
		return nil, fmt.Errorf("instrument: %w", err)
	}
	if err := in.Check(); err != nil {
		return nil, err
	}
	return in, nil
}

// Write checks an instrument and writes it, indented, the same bytes for the
// same instrument.
func (in *Instrument) Write(w io.Writer) error {
	in.Format, in.Version = Format, Version
	if err := in.Check(); err != nil {
		return err
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(in); err != nil {
		return fmt.Errorf("instrument: writing %s: %w", in.Name, err)
	}
	return nil
}
