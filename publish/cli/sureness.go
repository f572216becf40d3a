package cli

import (
	"fmt"
	"slices"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
)

// formatSure writes a value, and "± U" where its uncertainty is known.
func formatSure(r *assay.Result, id quantity.ID, x float64) (value, plus string) {
	d, s := quantity.Get(id), r.Spread(id)
	if s == nil {
		return d.Format(x), ""
	}
	if value, plus = d.FormatExpanded(x, s.Expanded()); plus != "" {
		plus = "± " + plus
	}
	return value, plus
}

// lopsided writes the coverage interval where ± U would mislead.
func lopsided(r *assay.Result, id quantity.ID, x float64) string {
	s := r.Spread(id)
	if s == nil || s.U == 0 || !s.Lopsided(x) {
		return ""
	}
	d := quantity.Get(id)
	return fmt.Sprintf("95 %% between %s and %s", d.FormatBeside(s.Low, s.Expanded()), d.FormatBeside(s.High, s.Expanded()))
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
	if assumed := assumedInputs(u); len(assumed) > 0 {
		v.wrapped("", fmt.Sprintf("%d of %d inputs are this project's estimates for a class of instrument, not yours: put what you know into a sitting file (lampassay sitting new).",
			len(assumed), len(u.Inputs)), "")
	}
}

// drawsSentence says what ± means.
func drawsSentence(u *assay.Uncertainty) string {
	b := fmt.Sprintf("± is the expanded uncertainty U = %d u (k = %d, about 95 %%) from %d draws through the whole calculation, seed %d", assay.K, assay.K, u.Draws, u.Seed)
	if !u.Fixed && !u.Stable {
		return b + "; not all had settled to one digit."
	}
	return b + "."
}

// assumedInputs are those that stand at an estimate for the class.
func assumedInputs(u *assay.Uncertainty) []assay.UncertainInput {
	return slices.DeleteFunc(slices.Clone(u.Inputs), func(in assay.UncertainInput) bool { return !in.Assumed })
}
