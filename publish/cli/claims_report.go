package cli

import (
	"fmt"
	"strconv"
	"strings"

	"lampassay/assay/claims"
	"lampassay/publish/figure"
	"lampassay/publish/sheet"
)

// claimsReport is what the command has to say.
type claimsReport struct {
	lamp     string
	units    int
	declared *claims.Declared
	judged   []claims.Judgement
	basis    string // where the uncertainties come from; may be empty
}

// write prints the report for reading.
func (r *claimsReport) write(v *view) {
	v.printf("%s\n", r.lamp)
	v.wrapped("", r.summary(), "")
	if r.basis != "" {
		v.wrapped("", r.basis, "")
	}
	for i := range r.judged {
		j := &r.judged[i]
		v.printf("\n  %s  %s\n", pad(capital(j.Claim.Name), 46), j.Words())
		const indent = "      "
		v.wrapped(indent, r.numbers(j), "")
		if j.Verdict == claims.NotJudged {
			v.wrapped(indent, capital(j.Why)+".", "")
			continue
		}
		more := "Probability of conformity " + probability(j.Conformity, len(j.Measured.Draws)) + "."
		if s := j.Settle(); s != "" {
			more += " " + capital(s) + "."
		}
		v.wrapped(indent, more, j.Rule())
	}
	v.printf("\n")
	v.wrapped("", r.caution(), "")
}

// summary counts the verdicts.
func (r *claimsReport) summary() string {
	count := map[claims.Verdict]int{}
	for i := range r.judged {
		count[r.judged[i].Verdict]++
	}
	var parts []string
	for _, v := range []claims.Verdict{claims.Consistent, claims.Inconclusive, claims.Outside, claims.NotJudged} {
		if count[v] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", count[v], v))
		}
	}
	what := "claims"
	if len(r.judged) == 1 {
		what = "claim"
	}
	from := ""
	if r.declared.Source != "" {
		from = ", as declared on the " + r.declared.Source
	}
	return fmt.Sprintf("%d %s%s, n = %d: %s.", len(r.judged), what, from, r.units, strings.Join(parts, ", "))
}

// numbers writes declared and measured value and the tolerance.
func (r *claimsReport) numbers(j *claims.Judgement) string {
	s := "Declared " + j.Claim.String()
	m := &j.Measured
	if m.Why == "" {
		s += "; measured " + j.Reading()
		s += fmt.Sprintf(", n = %d", m.Units)
		if span := m.Range(); span != "" {
			s += ", from " + span
		}
	}
	if t := j.Tolerance(); t != "" {
		s += "; tolerated: " + t
	}
	return s + "."
}

// probability writes a probability in per cent without false certainty: of n
// draws that all agree, at most 3/n may be otherwise (95 %).
func probability(p float64, draws int) string {
	least := 0.001
	if draws > 0 {
		least = max(least, 3/float64(draws))
	}
	percent := func(p float64, decimals int) string { return strconv.FormatFloat(100*p, 'f', decimals, 64) + " %" }
	switch {
	case p < least:
		return "below " + percent(least, 1)
	case p > 1-least:
		return "above " + percent(1-least, 1)
	case p < 0.1 || p > 0.9:
		return percent(p, 1)
	}
	return percent(p, 0)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	first, rest := s[:1], s[1:]
	return strings.ToUpper(first) + rest
}

func (r *claimsReport) caution() string {
	one := "One lamp is one lamp"
	if r.units > 1 {
		one = fmt.Sprintf("%d lamps are %d lamps", r.units, r.units)
	}
	return fmt.Sprintf("± is the expanded uncertainty U = %d u (k = %d, about 95 %%). %s: the regulations' tolerances are an authority's, for the mean of so many. This is no conformity test and no legal advice.",
		claims.CoverageFactor, claims.CoverageFactor, one)
}

// The record of a report; what is not known is null.
type (
	claimsJSON struct {
		Lamp     string          `json:"lamp"`
		Units    int             `json:"n"`
		Declared string          `json:"declared_on"`
		Claims   []judgementJSON `json:"claims"`
	}
	judgementJSON struct {
		Quantity   string         `json:"quantity"`
		Unit       string         `json:"unit"`
		Declared   float64        `json:"declared"`
		Class      string         `json:"class,omitempty"`
		Value      *float64       `json:"value"`
		U          *float64       `json:"u"`
		K          int            `json:"k"`
		Expanded   *float64       `json:"expanded"`
		Interval   []float64      `json:"interval95"`
		Units      int            `json:"n"`
		Specimens  []float64      `json:"specimens,omitempty"`
		Tolerance  *toleranceJSON `json:"tolerance"`
		Conformity *float64       `json:"probability_of_conformity"`
		Verdict    string         `json:"verdict"`
		Lean       string         `json:"lean"`
		Settles    *float64       `json:"settled_by_expanded_below"`
		Why        string         `json:"why"`
	}
	toleranceJSON struct {
		Low  *float64 `json:"low"`
		High *float64 `json:"high"`
		// With a guard band of U: a value within these is consistent.
		AcceptLow  *float64 `json:"accept_low"`
		AcceptHigh *float64 `json:"accept_high"`
		Text       string   `json:"text"`
		Source     string   `json:"source"`
		Clause     string   `json:"clause"`
		From       string   `json:"in_force_from"`
		Units      int      `json:"mean_of"`
	}
)

func (r *claimsReport) record() *claimsJSON {
	out := &claimsJSON{Lamp: r.lamp, Units: r.units, Declared: r.declared.Source}
	for i := range r.judged {
		j := &r.judged[i]
		m := &j.Measured
		e := judgementJSON{
			Quantity: j.Claim.Key, Unit: unitOrOne(j.Claim.Unit), Declared: j.Claim.Value, Class: j.Claim.Class, K: claims.CoverageFactor, Units: m.Units,
			Conformity: figures(j.Conformity, 5), Verdict: string(j.Verdict), Lean: j.Lean, Settles: figures(j.Settles, 5), Why: j.Why,
		}
		if m.Why == "" {
			if m.Units > 1 {
				for _, v := range m.Specimens {
					e.Specimens = append(e.Specimens, *figures(v, 10))
				}
			}
			e.Value, e.U, e.Expanded = figures(m.Value, 10), figures(m.U, 5), figures(claims.CoverageFactor*m.U, 5)
			if low := figures(m.Low, 5); low != nil {
				e.Interval = []float64{*low, *figures(m.High, 5)}
			}
		}
		if j.Row != nil {
			e.Tolerance = &toleranceJSON{figures(j.Low, 10), figures(j.High, 10), figures(j.AcceptLow, 5), figures(j.AcceptHigh, 5), j.Tolerance(), j.Table.Source, j.Row.Clause, j.Table.From, j.MeanOf()}
		}
		out.Claims = append(out.Claims, e)
	}
	return out
}

// picture draws the claims that were judged.
func (r *claimsReport) picture() (*figure.Picture, error) {
	p, err := sheet.ClaimsPicture(r.lamp, r.judged)
	if err == nil && p == nil {
		err = badInput("--figure: no claim was judged, so there is nothing to draw")
	}
	return p, err
}
