package assay

import (
	"fmt"

	"lampassay/assay/quantity"
)

// Reading is a quantity as it is read.
type Reading struct {
	Value string // "–" where there is none
	// Plus is "± U", or Interval the coverage interval where ± would mislead;
	// both are empty where the uncertainty is not known or is nothing.
	Plus, Interval string
}

// Reading rounds a quantity with its uncertainty: two digits of that and the
// value to match, by JCGM 100:2008 7.2.6; without one by the register's rule.
func (r *Result) Reading(id quantity.ID) Reading {
	v, ok := r.Value(id)
	if !ok {
		return Reading{Value: "–"}
	}
	d, s := quantity.Get(id), r.Spread(id)
	switch {
	case s == nil || !(s.U > 0):
		return Reading{Value: d.Format(v)}
	case s.Lopsided(v):
		half := (s.High - s.Low) / 2
		return Reading{Value: d.FormatBeside(v, half),
			Interval: fmt.Sprintf("%s to %s", d.FormatBeside(s.Low, half), d.FormatBeside(s.High, half))}
	}
	value, plus := d.FormatExpanded(v, s.Expanded())
	return Reading{Value: value, Plus: "± " + plus}
}

// Sureness is what stands beside the value: "± 76" or "36.2 to 38.2", "" where
// neither is known.
func (r Reading) Sureness() string { return r.Plus + r.Interval }
