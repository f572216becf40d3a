package notebook

import (
	"bytes"
	"cmp"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"time"
)

// Sitting is one occasion of measuring one lamp.
type Sitting struct {
	Head

	Lamp        ID           `json:"lamp"`
	Title       string       `json:"title"`
	Started     time.Time    `json:"started"`
	Ended       *time.Time   `json:"ended,omitempty"`
	SetUp       SetUp        `json:"set_up"`
	Instruments []ID         `json:"instruments,omitempty"`
	References  []ID         `json:"references,omitempty"` // reference lamps used
	Checklist   []Step       `json:"checklist,omitempty"`
	Rule        *Rule        `json:"rule,omitempty"` // nil where nobody chose one
	Struck      []Strike     `json:"struck,omitempty"`
	Files       []Attachment `json:"files,omitempty"` // what was imported, pictures of the set-up
	Notes       string       `json:"notes,omitempty"`
}

// SetUp is what a figure has to be read with. A nil number was not written down.
type SetUp struct {
	Geometry  string   `json:"geometry,omitempty"` // sphere, lux at a distance, bounce box, …
	DistanceM *float64 `json:"distance_m,omitempty"`
	Position  string   `json:"position,omitempty"` // burning position, such as base up
	AmbientC  *float64 `json:"ambient_c,omitempty"`
	Supply    string   `json:"supply,omitempty"` // mains, stabiliser, bench supply; the gear is the lamp's
	SupplyV   *float64 `json:"supply_v,omitempty"`
	SupplyHz  *float64 `json:"supply_hz,omitempty"`
	PowerAt   string   `json:"power_at,omitempty"` // where watts are read: mains or lamp terminals
	Remarks   string   `json:"remarks,omitempty"`
}

// Step is a line of a sitting's checklist.
type Step struct {
	Text string     `json:"text"`
	Done *time.Time `json:"done,omitempty"`
}

// Rule says by what numbers the lamp of a sitting is called stable. The numbers
// are kept, not only the name, so that a sitting is judged as it was even where a
// later program lists others under that name. One whose numbers a person changed
// has no name but the one that it was begun from.
type Rule struct {
	Name      string  `json:"name,omitempty"`       // of a published rule with these very numbers
	BegunFrom string  `json:"begun_from,omitempty"` // of one's own: the published rule that was changed
	BurningS  float64 `json:"burning_s"`            // least burning
	WindowS   float64 `json:"window_s"`             // looked back on
	StepS     float64 `json:"step_s,omitempty"`     // between the readings compared, 0 for all
	Spread    float64 `json:"spread"`               // largest (max − min)/min of light and of power, a fraction
	GiveUpS   float64 `json:"give_up_s,omitempty"`  // of burning, 0 for never
}

// Origin is the published rule that a rule is, or was begun from.
func (r *Rule) Origin() string { return cmp.Or(r.Name, r.BegunFrom) }

func (r *Rule) check() error {
	if (r.Name == "") == (r.BegunFrom == "") {
		return Errorf(Invalid, "a rule for stability has the name of a published one, or the name of the one that it was begun from")
	}
	for _, v := range []float64{r.BurningS, r.StepS, r.GiveUpS} {
		if !(v >= 0 && v < math.Inf(1)) {
			return Errorf(Invalid, "a rule for stability has a time of %g s: from 0 s up is possible", v)
		}
	}
	if !(r.WindowS > 0 && r.WindowS < math.Inf(1)) {
		return Errorf(Invalid, "a rule for stability looks back on %g s: a time above 0 s is possible", r.WindowS)
	}
	if !(r.Spread > 0 && r.Spread < 1) {
		return Errorf(Invalid, "a rule for stability allows a spread of %g: a fraction between 0 and 1 is possible", r.Spread)
	}
	return nil
}

// Strike sets readings aside, as a line through an entry does: they stay, legible,
// and are left out of figures for the reason given.
type Strike struct {
	From   int64  `json:"from"` // first and last number, both included
	To     int64  `json:"to"`
	Reason string `json:"reason"`
}

// StruckOut returns the reason for which reading n was set aside, "" where it
// was not.
func (s *Sitting) StruckOut(n int64) string {
	for _, k := range s.Struck {
		if k.From <= n && n <= k.To {
			return k.Reason
		}
	}
	return ""
}

// Kind returns [KindSitting].
func (*Sitting) Kind() Kind { return KindSitting }

// Check asks for a lamp, a beginning and reasons.
func (s *Sitting) Check() error {
	switch {
	case s.Lamp <= 0:
		return Errorf(Invalid, "the sitting belongs to no lamp")
	case s.Started.IsZero():
		return Errorf(Invalid, "the sitting has no beginning")
	case s.Ended != nil && s.Ended.Before(s.Started):
		return Errorf(Invalid, "the sitting ends at %s, before it begins", s.Ended.Format(time.RFC3339))
	}
	for _, k := range s.Struck {
		if k.From < 1 || k.To < k.From || strings.TrimSpace(k.Reason) == "" {
			return Errorf(Invalid, "readings are set aside from one number to another, with a reason")
		}
	}
	if s.Rule != nil {
		if err := s.Rule.check(); err != nil {
			return err
		}
	}
	for _, v := range []*float64{s.SetUp.DistanceM, s.SetUp.AmbientC, s.SetUp.SupplyV, s.SetUp.SupplyHz} {
		if v != nil && (math.IsNaN(*v) || math.IsInf(*v, 0)) {
			return Errorf(Invalid, "a number of the set-up is not finite: leave out what is not known")
		}
	}
	return nil
}

// Links returns the lamp, what it was measured with, and the files.
func (s *Sitting) Links() ([]Ref, []Attachment) {
	all := append(refs(KindLamp, s.Lamp), refs(KindInstrument, s.Instruments...)...)
	return append(all, refs(KindReference, s.References...)...), s.Files
}

// Assay is everything computed from a sitting. It is written once: another
// method or another input is another assay.
type Assay struct {
	Head

	Lamp    ID                `json:"lamp"`
	Sitting ID                `json:"sitting,omitempty"` // 0 where it comes from a file alone
	Made    time.Time         `json:"made"`
	Program string            `json:"program"`           // version
	Methods map[string]string `json:"methods,omitempty"` // versions by name
	Inputs  []Input           `json:"inputs"`
	// Figures are the values that lists show and sort by, by key of
	// assay/quantity; what is undefined is left out.
	Figures map[string]float64 `json:"figures,omitempty"`
	// Strip is the spectrum in brief for a list: values at even steps over the
	// visible range, the largest 1.
	Strip []float64 `json:"strip,omitempty"`
	// Spectrum is the curve that the figures are of, as TM-27.
	Spectrum *Attachment `json:"spectrum,omitempty"`
	// Files are those among the inputs: an instrument's own, a dark, a sitting file.
	Files []Attachment `json:"files,omitempty"`
	// Record is the whole JSON record with units, uncertainties, sources and
	// reasons.
	Record json.RawMessage `json:"record"`
}

// Input is what an assay was computed from. Of readings the sum is
// [Reading.Chain] of the last.
type Input struct {
	What   string `json:"what"` // readings, file, instrument, …
	From   int64  `json:"from,omitempty"`
	To     int64  `json:"to,omitempty"`
	SHA256 Sum    `json:"sha256"`
}

// Kind returns [KindAssay].
func (*Assay) Kind() Kind { return KindAssay }

// Check asks for a lamp, inputs with their sums and a record, which it makes
// compact.
func (a *Assay) Check() error {
	switch {
	case a.Lamp <= 0:
		return Errorf(Invalid, "the assay belongs to no lamp")
	case a.Made.IsZero():
		return Errorf(Invalid, "the assay has no date")
	case len(a.Inputs) == 0:
		return Errorf(Invalid, "the assay names no input")
	}
	for _, in := range a.Inputs {
		if !in.SHA256.Valid() {
			return Errorf(Invalid, "the input %q of the assay has no checksum", in.What)
		}
	}
	var compact bytes.Buffer
	if err := json.Compact(&compact, a.Record); err != nil {
		return Errorf(Invalid, "the record of the assay is no JSON: %w", err)
	}
	a.Record = compact.Bytes()
	return nil
}

// Links returns lamp, sitting, spectrum and the files among the inputs.
func (a *Assay) Links() ([]Ref, []Attachment) {
	all := append(refs(KindLamp, a.Lamp), refs(KindSitting, a.Sitting)...)
	files := slices.Clone(a.Files)
	if a.Spectrum != nil {
		files = append(files, *a.Spectrum)
	}
	return all, files
}

// Follows refuses: an assay is not changed.
func (a *Assay) Follows(Record) error {
	return Errorf(Kept, "an assay is not changed: make another from the same sitting")
}

// Comparison is a choice of lamps beside one another.
type Comparison struct {
	Head

	Title     string `json:"title"`
	Assays    []ID   `json:"assays"`
	Normalise string `json:"normalise,omitempty"` // per lumen, per watt, equal area
	Notes     string `json:"notes,omitempty"`
}

// Kind returns [KindComparison].
func (*Comparison) Kind() Kind { return KindComparison }

// Check asks for two to eight assays.
func (c *Comparison) Check() error {
	if n := len(c.Assays); n < 2 || n > 8 {
		return Errorf(Invalid, "a comparison takes 2 to 8 lamps, this one has %d", n)
	}
	return nil
}

// Links returns the assays.
func (c *Comparison) Links() ([]Ref, []Attachment) { return refs(KindAssay, c.Assays...), nil }
