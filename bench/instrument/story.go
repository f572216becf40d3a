package instrument

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
)

// StepRecord is one step of the chain as a record keeps it: whether it was made, and
// its curve before and after in figures. [Applied.WriteSteps] writes the curves whole.
type StepRecord struct {
	Step   string      `json:"step"`
	Made   bool        `json:"made"`
	Note   string      `json:"note"`
	Before CurveRecord `json:"before"`
	After  CurveRecord `json:"after"`
}

// CurveRecord is a curve in figures. At is in pixels until the wavelength step and in
// nm from then on.
type CurveRecord struct {
	Samples int     `json:"samples"`
	Peak    float64 `json:"peak"`
	At      float64 `json:"peak_at"`
	Mean    float64 `json:"mean"`
}

// Records puts steps into the form in which they are kept.
func Records(steps []Step) []StepRecord {
	all := []StepRecord{}
	for _, s := range steps {
		all = append(all, StepRecord{string(s.Name), s.Made, s.Note, s.Before.record(), s.After.record()})
	}
	return all
}

func (c Curve) record() CurveRecord {
	r := CurveRecord{Samples: len(c.Y), Peak: math.Inf(-1)}
	for i, y := range c.Y {
		r.Mean += y / float64(len(c.Y))
		if y > r.Peak {
			r.Peak, r.At = y, c.X[i]
		}
	}
	return r
}

// Sentence says what a step did, in a line without a stop.
func (s *Step) Sentence() string {
	if !s.Made {
		return fmt.Sprintf("%s: not made (%s)", s.Name, s.Note)
	}
	before, after := s.Before.record(), s.After.record()
	text := fmt.Sprintf("%s: %s", s.Name, s.Note)
	if before != after {
		text += fmt.Sprintf("; peak %.5g at %.5g → %.5g at %.5g, mean %.4g → %.4g", before.Peak, before.At, after.Peak, after.At, before.Mean, after.Mean)
	}
	return text
}

// Sentences say what the chain did, a sentence a step.
func (c *Corrected) Sentences() (all []string) {
	for i := range c.Steps {
		all = append(all, "Correction, "+c.Steps[i].Sentence()+".")
	}
	return all
}

// WriteSteps writes every curve of the chain, as JSON.
func (a *Applied) WriteSteps(w io.Writer) error {
	type curve struct {
		X []float64 `json:"x"`
		Y []float64 `json:"y"`
	}
	type step struct {
		Step   string `json:"step"`
		Made   bool   `json:"made"`
		Note   string `json:"note"`
		Before curve  `json:"before"`
		After  curve  `json:"after"`
	}
	var all []step
	for _, s := range a.Steps {
		all = append(all, step{string(s.Name), s.Made, s.Note, curve(s.Before), curve(s.After)})
	}
	return json.NewEncoder(w).Encode(struct {
		Instrument string `json:"instrument"`
		XIs        string `json:"x_is"`
		Steps      []step `json:"steps"`
	}{a.Instrument.Name, "pixels before the wavelength step, nm after it", all})
}
