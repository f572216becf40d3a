package notebook

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// Reference is a lamp whose light is known: a halogen lamp with a stated
// temperature, a line lamp, a lamp with a certificate of its flux.
type Reference struct {
	Head

	Name        string       `json:"name"`
	Sort        string       `json:"sort,omitempty"` // halogen, line lamp, flux standard
	Serial      string       `json:"serial,omitempty"`
	Made        *Day         `json:"made,omitempty"` // day of the calibration
	TrustedDays int          `json:"trusted_days,omitempty"`
	TrustedFor  *float64     `json:"trusted_hours,omitempty"` // hours of burning it is trusted for
	BurnedHours *float64     `json:"burned_hours,omitempty"`  // since the calibration
	Values      []Declared   `json:"values,omitempty"`
	Files       []Attachment `json:"files,omitempty"` // certificate, spectral table
	Notes       string       `json:"notes,omitempty"`
}

// Kind returns [KindReference].
func (*Reference) Kind() Kind { return KindReference }

// Check asks for a name and for numbers that can be.
func (r *Reference) Check() error {
	if strings.TrimSpace(r.Name) == "" {
		return Errorf(Invalid, "the reference lamp has no name")
	}
	if r.TrustedDays < 0 || r.TrustedDays > MostTrustedDays {
		return Errorf(Invalid, "the reference lamp %s is trusted for %d days: from 1 to %d is possible, and 0 means until it is calibrated again", r.Name, r.TrustedDays, MostTrustedDays)
	}
	if h := r.TrustedFor; h != nil && !(*h > 0 && *h < math.Inf(1)) {
		return Errorf(Invalid, "the reference lamp %s is trusted for %g hours of burning: a number above 0 is possible", r.Name, *h)
	}
	if h := r.BurnedHours; h != nil && !(*h >= 0 && *h < math.Inf(1)) {
		return Errorf(Invalid, "the reference lamp %s has burned %g hours since its calibration: a number from 0 up is possible", r.Name, *h)
	}
	for _, v := range r.Values {
		if v.Quantity == "" || math.IsNaN(v.Value) || math.IsInf(v.Value, 0) {
			return Errorf(Invalid, "a value of %s needs a quantity and a number", r.Name)
		}
	}
	return nil
}

// Expires returns the last day on which the calibration is trusted, false where it has
// no day or holds until it is replaced.
func (r *Reference) Expires() (Day, bool) {
	if r.Made == nil || r.TrustedDays == 0 {
		return Day{}, false
	}
	return Day{Time: r.Made.AddDate(0, 0, r.TrustedDays)}, true
}

// Overdue lists, in sentences, why the lamp is not to be trusted on a day: its
// calibration is too old, or it has burned too long since.
func (r *Reference) Overdue(today Day) (all []string) {
	if r.Made != nil && r.Made.After(today.Time) {
		all = append(all, "its calibration is dated "+r.Made.Written()+", which has not come yet")
	}
	if end, ends := r.Expires(); ends && today.Format(time.DateOnly) > end.Format(time.DateOnly) {
		all = append(all, "its calibration was to be trusted until "+end.Written())
	}
	if r.TrustedFor != nil && r.BurnedHours != nil && *r.BurnedHours > *r.TrustedFor {
		all = append(all, fmt.Sprintf("its calibration was to be trusted for %g h of burning, and it has burned %g h since", *r.TrustedFor, *r.BurnedHours))
	}
	return all
}

// Links returns the files.
func (r *Reference) Links() ([]Ref, []Attachment) { return nil, r.Files }
