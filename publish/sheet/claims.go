package sheet

import (
	"fmt"
	"slices"
	"strings"

	"lampassay/assay/claims"
	"lampassay/publish/figure"
)

// ClaimsPicture draws the claims that were judged, each against its tolerance;
// nil where none was. A claim of zero has no per cent and is left out.
func ClaimsPicture(lamp string, judged []claims.Judgement) (*figure.Picture, error) {
	v := figure.Verdicts{Lamp: lamp}
	var sources []string
	units := 0
	for i := range judged {
		j := &judged[i]
		if j.Verdict == claims.NotJudged || j.Claim.Value == 0 {
			continue
		}
		name := []rune(j.Claim.Name)
		v.Rows = append(v.Rows, figure.VerdictRow{
			Name:     strings.ToUpper(string(name[:1])) + string(name[1:]),
			Declared: j.Claim.Value, DeclaredText: j.Claim.String(),
			Value: j.Measured.Value, Low: min(j.Measured.Low, j.Measured.Value), High: max(j.Measured.High, j.Measured.Value),
			ValueText: j.Reading(), ToleranceLow: j.Low, ToleranceHigh: j.High, Words: j.Words(),
		})
		units = j.Measured.Units
		source := j.Table.Source
		if n := j.MeanOf(); n > 0 {
			source += fmt.Sprintf(" (for the mean of %d)", n)
		}
		if !slices.Contains(sources, source) {
			sources = append(sources, source)
		}
	}
	if len(v.Rows) == 0 {
		return nil, nil
	}
	v.Note = fmt.Sprintf("n = %d; ± is U (k = %d), bars are 95 %% intervals; bands are the tolerances of %s. No conformity test.",
		units, claims.CoverageFactor, strings.Join(sources, "; "))
	return v.Picture()
}

// boxClaims judges what the lamp's box says, nil where it says nothing that can
// be judged: each needs an uncertainty and a tolerance.
func boxClaims(l *Lamp) (*figure.Picture, error) {
	var judged []claims.Judgement
	for _, d := range l.Declared {
		j, err := claims.Hold(l.Result, d.ID, d.Value)
		if err != nil {
			return nil, fmt.Errorf("sheet: %w", err)
		}
		judged = append(judged, j)
	}
	return ClaimsPicture("", judged)
}
