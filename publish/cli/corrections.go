package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampassay/bench/instrument"
)

// stepJSON is one step of the correction chain: whether it was made, and its
// curve before and after in three figures. --steps writes the curves whole.
type stepJSON struct {
	Step   string    `json:"step"`
	Made   bool      `json:"made"`
	Note   string    `json:"note"`
	Before curveJSON `json:"before"`
	After  curveJSON `json:"after"`
}

// curveJSON is a curve in figures. At is in pixels until the wavelength step and
// in nm from then on.
type curveJSON struct {
	Samples int     `json:"samples"`
	Peak    float64 `json:"peak"`
	At      float64 `json:"peak_at"`
	Mean    float64 `json:"mean"`
}

func stepRecords(steps []instrument.Step) []stepJSON {
	all := []stepJSON{}
	for _, s := range steps {
		all = append(all, stepJSON{string(s.Name), s.Made, s.Note, curveRecord(s.Before), curveRecord(s.After)})
	}
	return all
}

func curveRecord(c instrument.Curve) curveJSON {
	j := curveJSON{Samples: len(c.Y), Peak: math.Inf(-1)}
	for i, y := range c.Y {
		j.Mean += y / float64(len(c.Y))
		if y > j.Peak {
			j.Peak, j.At = y, c.X[i]
		}
	}
	return j
}

// stepSentence says what a step did, in a line.
func stepSentence(s *instrument.Step) string {
	if !s.Made {
		return fmt.Sprintf("%s: not made (%s)", s.Name, s.Note)
	}
	before, after := curveRecord(s.Before), curveRecord(s.After)
	text := fmt.Sprintf("%s: %s", s.Name, s.Note)
	if before != after {
		text += fmt.Sprintf("; peak %.5g at %.5g → %.5g at %.5g, mean %.4g → %.4g", before.Peak, before.At, after.Peak, after.At, before.Mean, after.Mean)
	}
	return text
}

// steps writes the chain as a short list.
func (v *view) steps(steps []instrument.Step) {
	v.printf("\nWhat was done to the counts\n")
	for i := range steps {
		mark := "  – "
		if steps[i].Made {
			mark = "  + "
		}
		v.wrapped(mark, stepSentence(&steps[i]), "")
	}
}

// skippedSteps reads --skip.
func skippedSteps(names []string) (skip []instrument.StepName, err error) {
	all := instrument.Skippable()
	for _, name := range names {
		step := instrument.StepName(strings.ReplaceAll(strings.TrimSpace(name), "-", " "))
		if !slices.Contains(all, step) {
			var known []string
			for _, s := range all {
				known = append(known, strings.ReplaceAll(string(s), " ", "-"))
			}
			return nil, badInput("--skip %q: it is one or more of %s", name, strings.Join(known, ", "))
		}
		skip = append(skip, step)
	}
	return skip, nil
}
