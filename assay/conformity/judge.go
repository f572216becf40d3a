package conformity

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Verdict is what a finding amounts to.
type Verdict uint8

// The verdicts.
const (
	None  Verdict = iota // nothing is asked, such as a class
	Met                  // what was measured lies within
	Unmet                // what was measured lies outside
)

// Finding is what one rule says of a lamp.
type Finding struct {
	Topic   string
	Text    string
	Source  string // regulation, clause, dates
	Verdict Verdict
}

// Question is what the user asks of the law.
type Question struct {
	Rules *Rules // nil for [Builtin]
	// On is the day the lamp was placed on the market; "" for the rules that
	// have no end.
	On         Date
	Technology string
	Features   []string
	Measured   map[Figure]float64
}

// Judge returns what every regulation that applies on a day says of a lamp, in
// their order; "" asks for those that have no end.
func (r *Rules) Judge(l *Lamp, on Date) []Finding {
	var all []Finding
	outside := map[string]bool{}
	for i := range r.regulations {
		g := &r.regulations[i]
		if !g.covers(on) {
			continue
		}
		j := judge{Regulation: g, lamp: l, on: on}
		if g.Scope != nil {
			if err := g.Scope.admits(l); err != nil {
				if !outside[err.Error()] { // two regulations may share a definition
					outside[err.Error()] = true
					j.say("energy class", None, g.Scope.Clause, "no class: %v", err)
				}
				all = append(all, j.findings...)
				continue
			}
		}
		j.class()
		j.energy()
		j.equivalence()
		j.power()
		j.limits()
		j.gear()
		all = append(all, j.findings...)
	}
	return all
}

// judge gathers what one regulation says.
type judge struct {
	*Regulation
	lamp     *Lamp
	on       Date
	findings []Finding
}

// oneLamp ends a finding that could be taken for more than it is.
const oneLamp = ". One lamp measured, not a conformity test."

func (v Verdict) caution() string {
	if v == Unmet {
		return oneLamp
	}
	return ""
}

func (j *judge) say(topic string, v Verdict, clause, format string, args ...any) {
	j.findings = append(j.findings, Finding{topic, fmt.Sprintf(format, args...), j.source(clause), v})
}

func (j *judge) source(clause string) string {
	return fmt.Sprintf("%s %s, %v; not legal advice", j.Name, clause, j.Period)
}

// end names where the power was measured.
func (l *Lamp) end() string {
	if l.Source.Mains {
		return "at the mains"
	}
	return "at the lamp"
}

func (j *judge) class() {
	l := j.lamp
	if k := j.EfficacyClasses; k != nil {
		if c, err := k.class(l); err == nil {
			text := fmt.Sprintf("%s: %.1f lm/W total mains efficacy (%s, power %s)", c.Letter, c.EtaTM, l.Source, l.end())
			j.say("energy class", None, k.Clause, "%s%s%s", text, c.toNext(), oneLamp)
		}
	}
	if k := j.IndexClasses; k != nil && l.Flux > 0 && l.Power > 0 {
		c, err := k.class(l)
		if err != nil {
			j.say("energy class", None, k.Clause, "no class: %v.", err)
			return
		}
		text := fmt.Sprintf("%s: energy efficiency index %s (%s, power %s)", c.Letter, decimal(c.Index, k.Decimals), l.Source, l.end())
		j.say("energy class", None, k.Clause, "%s%s%s", text, c.toNext(), oneLamp)
	}
}

// toNext says how far the next better class is.
func (c *Class) toNext() string {
	if c.Next == "" {
		return ""
	}
	return fmt.Sprintf("; class %s would need %.0f %% less power for this light", c.Next, math.Ceil(100*c.LessPower*(1-slack)))
}

func (j *judge) energy() {
	e, power := j.LabelEnergy, j.lamp.Power
	if e == nil || !(power > 0) {
		return
	}
	if e.Corrected {
		var err error
		if power, err = j.IndexClasses.corrected(j.lamp); err != nil {
			return // the class has said why
		}
	}
	j.say("energy on the label", None, e.Clause, "%.0f kWh in %.0f h, for %.3g W %s", e.kWh(power), e.Hours, j.lamp.Power, j.lamp.end())
}

func (j *judge) equivalence() {
	e, l := j.Equivalence, j.lamp
	if e == nil || l.Source.Directional || l.group() == "incandescent" || !(l.Flux > 0) {
		return
	}
	if w, ok := e.watts(l.Flux); ok {
		j.say("said to equal", None, e.Clause, "%.4g lm may be called the light of a %.0f W incandescent lamp, and of no stronger one", l.Flux, w)
	} else {
		j.say("said to equal", None, e.Clause, "%.4g lm lies outside the table, %.0f to %.0f lm: it gives no incandescent lamp to compare with",
			l.Flux, e.Points[0][0], e.Points[len(e.Points)-1][0])
	}
}

func (j *judge) power() {
	p, l := j.PowerLimit, j.lamp
	if p == nil || !(l.Power > 0) || !(l.Flux > 0) {
		return
	}
	most, err := p.max(l, j.on)
	if err != nil {
		j.say("largest power", None, p.Clause, "not judged: %v", err)
		return
	}
	verdict, word := Met, "within"
	if l.Power > most*(1+slack) {
		verdict, word = Unmet, fmt.Sprintf("%.1f %% above", 100*(l.Power/most-1))
	}
	kind, _ := TechnologyByKey(l.Technology)
	read := ""
	if l.Inferred {
		read = ", read off its spectrum"
	}
	j.say("largest power", verdict, p.Clause, "%s W %s, %s the %s W for this light (%s%s, %s)%s", significant(l.Power), l.end(), word, significant(most), kind.Name, read, l.Source, verdict.caution())
}

// limits says which functional limits were met, which not, and what was not
// measured.
func (j *judge) limits() {
	var met, unmet, open, clauses []string
	for i := range j.Limits {
		m := &j.Limits[i]
		if !m.covers(j.on) || !m.isFor(j.lamp) {
			continue
		}
		f := &figures[figureIndex(m.Figure)]
		v, ok := j.lamp.Measured[m.Figure]
		if !ok && !m.Optional {
			open = append(open, f.Name)
		}
		if !ok {
			continue
		}
		text := fmt.Sprintf("%s %s (%s)", f.Name, strings.TrimSpace(decimal(v, f.Decimals)+" "+f.Unit), m.bounds())
		// What is judged is the figure as a declaration rounds it.
		if rounded := roundTo(v, f.Decimals); m.Min != nil && rounded < *m.Min || m.Max != nil && rounded > *m.Max {
			unmet = append(unmet, text)
		} else {
			met = append(met, text)
		}
		if !slices.Contains(clauses, m.Clause) {
			clauses = append(clauses, m.Clause)
		}
	}
	if len(met)+len(unmet) == 0 {
		return
	}
	var parts []string
	for _, p := range []struct {
		word string
		list []string
	}{{"outside: ", unmet}, {"within: ", met}, {"not measured: ", open}} {
		if len(p.list) > 0 {
			parts = append(parts, p.word+strings.Join(p.list, ", "))
		}
	}
	verdict := Met
	if len(unmet) > 0 {
		verdict = Unmet
	}
	j.say("functional limits", verdict, strings.Join(clauses, " and "), "%s%s", strings.Join(parts, "; "), verdict.caution())
}

func (m *Limit) isFor(l *Lamp) bool {
	return isFor(l, m.Technologies, m.Groups) && (m.Mains == nil || *m.Mains == l.Source.Mains) &&
		within(m.Power, l.Power) && (m.PowerAbove == nil || l.Power > *m.PowerAbove)
}

// bounds says the limit: "80 or more, with named exceptions".
func (m *Limit) bounds() string {
	var s []string
	if m.Min != nil {
		s = append(s, number(*m.Min)+" or more")
	}
	if m.Max != nil {
		s = append(s, number(*m.Max)+" or less")
	}
	if m.Note != "" {
		s = append(s, m.Note)
	}
	return strings.Join(s, ", ")
}

func (j *judge) gear() {
	g, l := j.Gear, j.lamp
	if g == nil || !(l.MainsPower > 0) || !(l.LampPower > 0) {
		return
	}
	least, ok := g.least(l.group(), l.LampPower)
	if !ok {
		return
	}
	verdict, word, got := Met, "and at least", l.LampPower/l.MainsPower
	if got < least*(1-slack) {
		verdict, word = Unmet, "below"
	}
	j.say("control gear", verdict, g.Clause, "passes %.1f %% of the power, %s the %.1f %% asked of separate gear at full load%s", 100*got, word, 100*least, verdict.caution())
}

func decimal(v float64, decimals int) string {
	return strings.Replace(strconv.FormatFloat(roundTo(v, decimals), 'f', decimals, 64), "-", "−", 1)
}

// significant writes watts with as many digits as tell 8.87 from 8.9.
func significant(v float64) string {
	return strconv.FormatFloat(v, 'f', max(0, 2-int(math.Floor(math.Log10(v)))), 64)
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
