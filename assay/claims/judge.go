package claims

import (
	"fmt"
	"math"
	"strings"

	"lampassay/assay/comparison"
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
	// Widest names the largest cause of the uncertainty, "" where not known.
	Widest string
	// Why says why there is no value to judge: not defined, not measured, outside
	// the method's scope. Empty where there is.
	Why string
}

// Of returns the measured value of one or several specimens of a lamp.
func Of(specimens ...comparison.Figure) (Measured, error) {
	for _, f := range specimens {
		if f.Unranked != "" {
			return Measured{Why: f.Unranked, Units: len(specimens)}, nil
		}
	}
	f, err := comparison.Mean(specimens)
	if err != nil {
		return Measured{}, err
	}
	m := Measured{Value: f.Value, U: f.U(), Draws: f.Draws, Units: len(specimens)}
	m.Low, m.High = m.Value-CoverageFactor*m.U, m.Value+CoverageFactor*m.U
	if m.Draws != nil {
		m.Low, m.High = comparison.Quantiles(append([]float64(nil), m.Draws...), comparison.DefaultCoverage)
	}
	if m.Draws == nil && len(f.Causes) == 0 {
		m.U, m.Low, m.High = math.NaN(), math.NaN(), math.NaN()
	}
	largest := 0.0
	for _, c := range f.Causes {
		if u := math.Abs(c.U); u > largest {
			largest, m.Widest = u, c.Name
		}
	}
	if len(f.Causes) == 1 && f.Causes[0].Name == comparison.Stated {
		m.Widest = ""
	}
	return m, nil
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
	j := Judgement{Claim: c, Measured: m, Low: nan, High: nan, Conformity: nan, Settles: nan, Verdict: NotJudged}
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
	if j.Row == nil {
		return ""
	}
	b := j.Row.band(j.Claim.Value)
	width := number(100*b.Relative) + " %"
	if b.Absolute > 0 {
		width = strings.TrimSpace(number(b.Absolute) + " " + j.Row.Unit)
	}
	unit := ""
	if j.Claim.Unit != "" {
		unit = " " + j.Claim.Unit
	}
	switch j.Row.Side {
	case NotLess:
		return fmt.Sprintf("not less than %s%s (−%s)", number(j.Low), unit, width)
	case NotMore:
		return fmt.Sprintf("not more than %s%s (+%s)", number(j.High), unit, width)
	}
	return fmt.Sprintf("%s to %s%s (±%s)", number(j.Low), number(j.High), unit, width)
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
// figures of the latter (JCGM 100:2008 7.2.6), without the unit.
func (m *Measured) Reading() (value, expanded string) {
	u := CoverageFactor * m.U
	if !(u > 0) {
		return number(m.Value), ""
	}
	decimals := 1 - int(math.Floor(math.Log10(u)))
	// 9.96 is 10 with two figures.
	if math.Round(u*math.Pow10(decimals)) >= 100 {
		decimals--
	}
	write := func(v float64) string {
		if decimals < 0 {
			unit := math.Pow10(-decimals)
			v = math.Round(v/unit) * unit
		}
		return strings.Replace(fmt.Sprintf("%.*f", max(decimals, 0), v), "-", "−", 1)
	}
	return write(m.Value), write(u)
}

// Settle says what would decide an inconclusive claim, "" for any other.
func (j *Judgement) Settle() string {
	if j.Verdict != Inconclusive {
		return ""
	}
	what := "a better reference, longer runs, more lamps"
	if j.Measured.Widest != "" {
		what = "improve the " + j.Measured.Widest + " first"
	}
	if !(j.Settles > 0) {
		return "the value lies on the limit itself, where no uncertainty decides: measure more lamps"
	}
	at := Measured{U: j.Settles / CoverageFactor}
	_, u := at.Reading()
	if j.Claim.Unit != "" {
		u += " " + j.Claim.Unit
	}
	return fmt.Sprintf("at this value U below %s would decide it; %s", u, what)
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
	if n := j.Table.units(j.Row); n > 0 {
		s += fmt.Sprintf(", mean of %d", n)
	}
	if j.Claim.Key == EnergyClass {
		s += "; a class has no tolerance of its own, so that of the efficacy is applied to its lower bound"
	}
	return s
}
