package uncertainty

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Entry is one input as a sitting file states it.
type Entry struct {
	Name string `json:"name,omitempty"`
	// Unit is that of every figure of the entry.
	Unit  string   `json:"unit"`
	Value *float64 `json:"value,omitempty"` // the estimate, 0 where left out

	// Distribution is one of exact, normal, rectangular, triangular, arcsine
	// and t. Where left out it is normal if U or Expanded is given and
	// rectangular if Half is.
	Distribution string    `json:"distribution,omitempty"`
	U            *float64  `json:"u,omitempty"`        // standard uncertainty
	Expanded     *float64  `json:"expanded,omitempty"` // K times that, as a certificate states it
	K            *float64  `json:"k,omitempty"`
	DF           *float64  `json:"df,omitempty"`     // degrees of freedom, for t
	Half         *float64  `json:"half,omitempty"`   // half the width of the limits
	Within       *float64  `json:"within,omitempty"` // how far the limits themselves may err
	Readings     []float64 `json:"readings,omitempty"`

	// Of pixel noise.
	Floor *float64 `json:"floor,omitempty"`
	Peak  *float64 `json:"peak,omitempty"`
	// Of a response curve.
	Nm            []float64 `json:"nm,omitempty"`
	UAt           []float64 `json:"u_at,omitempty"`
	CorrelationNm *float64  `json:"correlation_nm,omitempty"`
	// Light and Power are exponents of the supply voltage on either; Light of
	// the air temperature is a share per kelvin.
	Light *float64 `json:"light,omitempty"`
	Power *float64 `json:"power,omitempty"`

	Source string `json:"source,omitempty"`
}

// shapes are the names of distributions with the one figure that sets each.
var shapeByName = map[string]shape{
	"exact": exact, "normal": normal, "rectangular": rectangular, "triangular": triangular, "arcsine": arcsine, "t": student,
}

// fault makes an error that names the entry.
func (e *Entry) fault(format string, args ...any) error {
	return fmt.Errorf("uncertainty: input %q: %s", e.Name, fmt.Sprintf(format, args...))
}

// checkUnit holds the unit to those of the input.
func (e *Entry) checkUnit(units []string) error {
	switch {
	case slices.Contains(units, e.Unit):
		return nil
	case e.Unit == "":
		return e.fault("it has no unit: say %s", either(units))
	}
	return e.fault("its unit cannot be %q: it is %s", e.Unit, either(units))
}

// either lists words for a sentence.
func either(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = fmt.Sprintf("%q", w)
	}
	if len(quoted) == 1 {
		return quoted[0]
	}
	return strings.Join(quoted[:len(quoted)-1], ", ") + " or " + quoted[len(quoted)-1]
}

// value is the estimate.
func (e *Entry) value() float64 { return or(e.Value, 0) }

func or(p *float64, otherwise float64) float64 {
	if p == nil {
		return otherwise
	}
	return *p
}

// distribution reads the entry's distribution, in its own unit.
func (e *Entry) distribution() (Distribution, error) {
	none := Distribution{}
	if e.Readings != nil {
		if e.U != nil || e.Half != nil || e.Expanded != nil || e.Value != nil || e.Distribution != "" && e.Distribution != "t" {
			return none, e.fault("readings give value and scatter by themselves: leave out value, u, half and distribution")
		}
		d, err := FromRepeats(e.Readings)
		if err != nil {
			return none, e.fault("%s", strings.TrimPrefix(err.Error(), "uncertainty: "))
		}
		return d, nil
	}
	kind := normal
	if e.Half != nil {
		kind = rectangular
	}
	if e.Distribution != "" {
		var ok bool
		if kind, ok = shapeByName[e.Distribution]; !ok {
			return none, e.fault("there is no distribution %q: it is exact, normal, rectangular, triangular, arcsine or t", e.Distribution)
		}
	}
	d := Distribution{shape: kind, centre: e.value()}
	var err error
	switch kind {
	case exact:
	case normal, student:
		if e.Half != nil {
			return none, e.fault("a %s distribution takes \"u\", not \"half\"", shapeNames[kind])
		}
		if d.width, err = e.standard(); err != nil {
			return none, err
		}
		if kind == student {
			if e.DF == nil {
				return none, e.fault("a t distribution needs its degrees of freedom, \"df\"")
			}
			d.extra = *e.DF
		}
	default:
		if e.Half == nil || e.U != nil || e.Expanded != nil {
			return none, e.fault("a %s distribution takes \"half\", half the width of its limits, and no \"u\"", shapeNames[kind])
		}
		d.width = *e.Half
	}
	switch {
	case e.DF != nil && kind != student:
		return none, e.fault("degrees of freedom belong to a t distribution")
	case e.Within != nil && kind != rectangular:
		return none, e.fault("\"within\" belongs to a rectangular distribution")
	case e.Within != nil:
		d.shape, d.extra = inexact, *e.Within
	}
	if what := d.problem(); what != "" {
		return none, e.fault("%s", what)
	}
	if d.width == 0 { // said to be exact, whatever its shape
		return Distribution{centre: d.centre}, nil
	}
	return d, nil
}

// standard returns the standard uncertainty, stated as such or expanded.
func (e *Entry) standard() (float64, error) {
	switch {
	case e.U != nil && e.Expanded != nil:
		return 0, e.fault("\"u\" and \"expanded\" both state its uncertainty: use one")
	case e.U != nil:
		return *e.U, nil
	case e.Expanded == nil:
		return 0, e.fault("it says nothing of its uncertainty: give \"u\", \"half\", \"expanded\" with \"k\", or \"readings\"")
	case e.K == nil || !(*e.K > 0):
		return 0, e.fault("an expanded uncertainty needs its coverage factor \"k\", above zero")
	}
	return *e.Expanded / *e.K, nil
}

// entryOf states a distribution as an entry.
func entryOf(name, unit string, d Distribution, source string) Entry {
	e := Entry{Name: name, Unit: unit, Source: source}
	if d.centre != 0 {
		e.Value = &d.centre
	}
	switch d.shape {
	case exact:
		e.Distribution = "exact"
	case normal:
		e.Distribution, e.U = "normal", &d.width
	case student:
		e.Distribution, e.U, e.DF = "t", &d.width, &d.extra
	case inexact:
		e.Distribution, e.Half, e.Within = "rectangular", &d.width, &d.extra
	default:
		e.Distribution, e.Half = shapeNames[d.shape], &d.width
	}
	return e
}

// percent turns shares into per cent without the dust that a multiplication
// leaves behind.
func percent(share float64) float64 { return math.Round(share*1e12) / 1e10 }
