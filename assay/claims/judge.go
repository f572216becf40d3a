package claims

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampassay/assay"
	"lampassay/assay/comparison"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
)

// CoverageFactor is the k of every expanded uncertainty here.
const CoverageFactor = 2

// Measured is a measured value with its uncertainty.
type Measured struct {
	Value float64
	// U is the standard uncertainty, NaN where it is not known.
	U float64
	// Draws, where set, stand for the distribution: the probability of conformity
	// and the interval then come from them.
	Draws []float64
	// Low and High bound the interval that a verdict goes by: the value ± k·U, or
	// the 95 % coverage interval of the draws.
	Low, High float64
	Units     int // how many lamps the value is the mean of
	// Specimens are the values of the lamps one by one. How they scatter is not in
	// U, which is that of the mean of these very lamps.
	Specimens []float64
	// Widest names the largest cause of the uncertainty, "" where not known.
	Widest string
	// Why says why there is no value to judge: not defined, not measured, outside
	// the method's scope. Empty where there is.
	Why string
}

// Of returns the measured value of one or several specimens of a lamp. The
// correlations join causes of different names.
func Of(correlations []uncertainty.Correlation, specimens ...comparison.Figure) (Measured, error) {
	known := true
	var each []float64
	for _, f := range specimens {
		each = append(each, f.Value)
		if f.Unranked != "" {
			return Measured{Why: f.Unranked, Units: len(specimens)}, nil
		}
		known = known && (f.Draws != nil || len(f.Causes) > 0)
	}
	mean, err := comparison.MeanOf(specimens, comparison.Among(specimens, correlations))
	if err != nil {
		return Measured{}, err
	}
	m := Measured{Value: mean.Value, U: mean.U, Draws: mean.Draws, Units: len(specimens), Specimens: each}
	if mean.Widest != comparison.Stated {
		m.Widest = mean.Widest
	}
	switch {
	case !known:
		m.U, m.Low, m.High = math.NaN(), math.NaN(), math.NaN()
	case m.Draws != nil:
		m.Low, m.High = comparison.Quantiles(slices.Clone(m.Draws), comparison.DefaultCoverage)
	default:
		m.Low, m.High = m.Value-CoverageFactor*m.U, m.Value+CoverageFactor*m.U
	}
	return m, nil
}

// Hold holds a declared value against one assayed lamp, by the first of the tables of
// [Tables]. A figure outside its method's scope, or without an uncertainty, is not
// judged. The error is a value that cannot be declared.
func Hold(r *assay.Result, id quantity.ID, declared float64) (Judgement, error) {
	c, err := NewClaim(quantity.Get(id).Key, strconv.FormatFloat(declared, 'g', -1, 64), "")
	if err != nil {
		return Judgement{}, err
	}
	m := Measured{U: math.NaN(), Low: math.NaN(), High: math.NaN(), Units: 1}
	m.Value, _ = r.Value(id)
	if !r.InScope(id) {
		m.Why = r.Why(id)
	}
	if s := r.Spread(id); s != nil {
		m.U, m.Low, m.High = s.U, s.Low, s.High
	}
	return Judge(c, m, Tables()[0]), nil
}

// Verdict is the answer to one claim.
type Verdict string

// The verdicts.
const (
	Consistent   Verdict = "consistent"
	Inconclusive Verdict = "inconclusive"
	Outside      Verdict = "outside tolerance"
	NotJudged    Verdict = "not judged"
)

// Judgement is one claim held against a measurement.
type Judgement struct {
	Claim    Claim
	Measured Measured
	Table    *Table // nil where nothing has a tolerance for it
	Row      *Row
	// Low and High are the tolerance limits, infinite on an open side, NaN
	// without a tolerance.
	Low, High float64
	// AcceptLow and AcceptHigh are the acceptance limits with a guard band of
	// k·u: a normal value within them is consistent.
	AcceptLow, AcceptHigh float64
	// Conformity is the probability that the true value is within the tolerance,
	// NaN where not judged.
	Conformity float64
	Verdict    Verdict
	// Lean says how an inconclusive verdict leans: "no conflict found", "looks
	// low, not proven", "looks high, not proven".
	Lean string
	// Settles is the expanded uncertainty below which this value would be
	// decided, NaN where the verdict is not inconclusive.
	Settles float64
	Why     string // why not judged
}

// Judge holds a claim against a measurement by the first of the tables that has
// a tolerance for it.
func Judge(c Claim, m Measured, tables ...*Table) Judgement {
	nan := math.NaN()
	j := Judgement{Claim: c, Measured: m, Low: nan, High: nan, AcceptLow: nan, AcceptHigh: nan, Conformity: nan, Settles: nan, Verdict: NotJudged}
	key := c.Key
	if key == EnergyClass {
		key = "luminous_efficacy" // the class has no tolerance of its own; η_TM has
	}
	for _, t := range tables {
		if j.Row = t.Row(key); j.Row != nil {
			j.Table = t
			j.Low, j.High = j.Row.Limits(c.Value)
			break
		}
	}
	switch {
	case m.Why != "":
		j.Why = m.Why
	case c.Class != "" && c.Value == 0:
		j.Why = "it is the last class, which no lamp can miss"
	case j.Row == nil:
		j.Why = "no tolerance with a source is known for it"
	case math.IsNaN(m.U):
		j.Why = "the uncertainty of the measured value is not known, and without it nothing follows"
	default:
		j.decide()
	}
	return j
}

func (j *Judgement) decide() {
	m := &j.Measured
	j.AcceptLow, j.AcceptHigh = Acceptance(j.Low, j.High, CoverageFactor*m.U)
	j.Conformity = Conformity(m.Value, m.U, j.Low, j.High)
	if m.Draws != nil {
		j.Conformity = ConformityOfDraws(m.Draws, j.Low, j.High)
	}
	// Acceptance with a guard band as wide as the interval reaches on that side:
	// k·U of a normal distribution, the quantiles of draws.
	switch {
	case m.High < j.Low || m.Low > j.High:
		j.Verdict = Outside
	case m.Low >= j.Low && m.High <= j.High:
		j.Verdict = Consistent
	default:
		j.Verdict = Inconclusive
		j.Settles = min(math.Abs(m.Value-j.Low), math.Abs(j.High-m.Value))
		switch {
		case m.Value < j.Low:
			j.Lean = "looks low, not proven"
		case m.Value > j.High:
			j.Lean = "looks high, not proven"
		default:
			j.Lean = "no conflict found"
		}
	}
}

// Words are the verdict with its lean.
func (j *Judgement) Words() string {
	if j.Lean != "" {
		return string(j.Verdict) + ": " + j.Lean
	}
	return string(j.Verdict)
}

// Tolerance says what is tolerated, as "not less than 725 lm (−10 %)".
func (j *Judgement) Tolerance() string {
	if j.Row == nil || j.Claim.Class != "" && j.Claim.Value == 0 {
		return ""
	}
	b := j.Row.band(j.Claim.Value)
	width := number(100*b.Relative) + " %"
	if b.Absolute > 0 {
		width = WithUnit(number(b.Absolute), j.Row.Unit)
	}
	u := j.Claim.Unit
	switch j.Row.Side {
	case NotLess:
		return fmt.Sprintf("not less than %s (−%s)", WithUnit(number(j.Low), u), width)
	case NotMore:
		return fmt.Sprintf("not more than %s (+%s)", WithUnit(number(j.High), u), width)
	}
	return fmt.Sprintf("%s to %s (±%s)", number(j.Low), WithUnit(number(j.High), u), width)
}

// WithUnit writes a number before its unit; the degree sign follows at once.
func WithUnit(number, unit string) string {
	if unit == "" || unit == "°" {
		return number + unit
	}
	return number + " " + unit
}

// number writes at most four significant figures, without zeros at the end.
func number(v float64) string {
	s := fmt.Sprintf("%.4g", v)
	if strings.Contains(s, "e") {
		s = fmt.Sprintf("%.0f", v)
	}
	return strings.Replace(s, "-", "−", 1)
}

// Reading writes a measured value and its expanded uncertainty, with two
// figures of the latter (JCGM 100:2008 7.2.6), without the unit. The second is
// empty where there is no uncertainty to round by.
func (m *Measured) Reading() (value, expanded string) {
	u := CoverageFactor * m.U
	if !(u > 0) {
		return number(m.Value), ""
	}
	return new(quantity.Definition).FormatExpanded(m.Value, u)
}

// Range says between which values the specimens lie, "" for a single one.
func (m *Measured) Range() string {
	if len(m.Specimens) < 2 {
		return ""
	}
	return number(slices.Min(m.Specimens)) + " to " + number(slices.Max(m.Specimens))
}

// String writes a declared value as a box would: "806 lm", "E, from 110 lm/W".
func (c *Claim) String() string {
	v := WithUnit(strings.Replace(strconv.FormatFloat(c.Value, 'f', -1, 64), "-", "−", 1), c.Unit)
	switch {
	case c.Class != "" && c.Value == 0:
		return c.Class
	case c.Class != "":
		return c.Class + ", from " + v
	}
	return v
}

// Reading writes the measured value with its expanded uncertainty and unit.
func (j *Judgement) Reading() string {
	value, expanded := j.Measured.Reading()
	if expanded != "" {
		value += " ± " + expanded
	}
	return WithUnit(value, j.Claim.Unit)
}

// Settle says what would decide an inconclusive claim, "" for any other.
func (j *Judgement) Settle() string {
	if j.Verdict != Inconclusive {
		return ""
	}
	what := ""
	if j.Measured.Widest != "" {
		what = "; its largest part is the " + j.Measured.Widest
	}
	if !(j.Settles > 0) {
		return "the value lies on the limit itself, where no uncertainty decides: measure more lamps"
	}
	at := Measured{U: j.Settles / CoverageFactor}
	_, u := at.Reading()
	u = WithUnit(u, j.Claim.Unit)
	return fmt.Sprintf("at this value U below %s would decide it%s", u, what)
}

// MeanOf is how many lamps the rule takes the mean of, 0 where it does not say.
func (j *Judgement) MeanOf() int {
	if j.Row != nil && j.Row.Units > 0 {
		return j.Row.Units
	}
	if j.Table != nil {
		return j.Table.Units
	}
	return 0
}

// Rule names the tolerance's source and what it takes the mean of.
func (j *Judgement) Rule() string {
	if j.Table == nil {
		return ""
	}
	s := j.Table.Source
	if j.Row.Clause != "" {
		s += ", " + j.Row.Clause
	}
	if n := j.MeanOf(); n > 0 {
		s += fmt.Sprintf(", mean of %d", n)
	}
	if j.Claim.Key == EnergyClass {
		s += "; a class has no tolerance of its own, so that of the efficacy is applied to its lower bound"
	}
	return s
}
