package cli

import (
	"fmt"
	"strconv"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
)

// halfOf writes half the 95 % interval for a cell of a run, to one place more
// than its values where there is room.
func halfOf(r *assay.Result, id quantity.ID) string {
	s, d := r.Spread(id), quantity.Get(id)
	if s == nil {
		return "–"
	}
	half := (s.High - s.Low) / 2
	if d.Percent {
		half *= 100
	}
	text := strconv.FormatFloat(half, 'f', d.Decimals+1, 64)
	if len(text) >= runWidth {
		text = strconv.FormatFloat(half, 'f', 0, 64)
	}
	return text
}

// surenessOf are the quantities whose budget the view shows.
var surenessOf = []quantity.ID{
	quantity.LuminousFlux, quantity.Power, quantity.LuminousEfficacy, quantity.LampEfficacy, quantity.CCT, quantity.Duv, quantity.Ra, quantity.Rf,
}

// sureness says where the uncertainty comes from and how far to trust it.
func (v *view) sureness(r *assay.Result) {
	u := r.Uncertainty
	if u == nil {
		v.printf("\nUncertainties were left out.\n")
		return
	}
	head := "\nWhat to improve first, with its share of the variance\n"
	for _, id := range surenessOf {
		s := r.Spread(id)
		if s == nil || len(s.Budget) == 0 {
			continue
		}
		v.printf("%s", head)
		head = ""
		var parts []string
		for _, part := range s.Budget[:min(3, len(s.Budget))] {
			if part.Share >= 0.01 {
				parts = append(parts, fmt.Sprintf("%s %.0f %%", u.Inputs[part.Input].Name, 100*part.Share))
			}
		}
		v.wrapped("  "+pad(quantity.Get(id).Symbol, 11), strings.Join(parts, ", "), "")
	}
	v.printf("\n")
	v.wrapped("", drawsSentence(u), "JCGM 101:2008")
	if n := u.Assumed(); n > 0 {
		v.wrapped("", fmt.Sprintf("%d of %d inputs are this project's estimates, not yours: %s. Put what you know into a sitting file: lampassay sitting new.",
			n, len(u.Inputs), u.Basis), "")
	}
}

// drawsSentence says what ± means.
func drawsSentence(u *assay.Uncertainty) string {
	b := fmt.Sprintf("± is the expanded uncertainty U = %d u (k = %d, about 95 %%), from %s draws through the whole calculation (seed %d); “95 %%” is an interval where ± would mislead.",
		assay.CoverageFactor, assay.CoverageFactor, thousands(u.Draws), u.Seed)
	if !u.Fixed && !u.Stable {
		b += " Not all figures had settled to one digit."
	}
	return b
}

// thousands writes a count with a narrow space before its last three digits.
func thousands(n int) string {
	if n < 10_000 {
		return strconv.Itoa(n)
	}
	return fmt.Sprintf("%d\u202f%03d", n/1000, n%1000)
}
