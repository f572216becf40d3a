package conformity

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// slack lets a product of decimal figures meet the boundary that it lands a
// rounding error beside, such as 1000/5·0.926 and 185.2.
const slack = 1e-9

// Class is an energy class with what it rests on.
type Class struct {
	Letter string  // such as "A" or "A++"
	EtaTM  float64 // total mains efficacy η_TM, lm/W; 0 for a class by index
	Index  float64 // energy efficiency index, rounded; 0 for a class by efficacy
	// Next is the next better class, "" for the best, and LessPower the share of
	// the power, 0 to 1, that would have to go at the same flux to reach it.
	Next      string
	LessPower float64
}

var errNotPositive = errors.New("conformity: an energy class needs a positive flux and a positive power")

// class sorts a lamp by its efficacy. No rounding comes between, since the
// regulation names none for η_TM.
func (k *EfficacyClasses) class(l *Lamp) (Class, error) {
	if !(l.Flux > 0) || !(l.Power > 0) {
		return Class{}, errNotPositive
	}
	eta := l.Flux / l.Power * k.Factors.of(l.Source)
	for i, c := range k.Classes {
		if eta >= c.From*(1-slack) {
			cl := Class{Letter: c.Class, EtaTM: eta}
			if i > 0 {
				cl.Next, cl.LessPower = k.Classes[i-1].Class, 1-eta/k.Classes[i-1].From
			}
			return cl, nil
		}
	}
	return Class{}, fmt.Errorf("conformity: no class for %g lm/W", eta)
}

// at evaluates a·√Φ + b·Φ.
func (e *RootLinear) at(flux float64) float64 { return e.Root*math.Sqrt(flux) + e.Linear*flux }

// reference returns the reference power in W.
func (k *IndexClasses) reference(flux float64) float64 {
	for i := range k.Reference {
		if e := &k.Reference[i]; e.Below == 0 || flux < e.Below {
			return e.at(flux)
		}
	}
	return math.NaN() // the loader asks for a last one without bound
}

// corrected returns the lamp's power times every correction that is for it. A
// lamp on separate gear whose technology is not known cannot be corrected.
func (k *IndexClasses) corrected(l *Lamp) (float64, error) {
	if !l.Source.Mains && l.Technology == "" {
		return 0, errors.New("a lamp on separate gear counts the gear's loss by its kind, which was not stated")
	}
	power := l.Power
	for i := range k.Corrections {
		c := &k.Corrections[i]
		ra, indexed := l.Measured["ra"]
		switch {
		case !isFor(l, c.Technologies, c.Groups), c.Mains != nil && *c.Mains != l.Source.Mains,
			c.RaFrom != nil && !(indexed && declaredRa(ra) >= *c.RaFrom), c.Feature != "" && !l.has(c.Feature):
		case c.Factor > 0:
			power *= c.Factor
		default:
			power *= c.Over.at(l.Flux) / c.Under.at(l.Flux)
		}
	}
	return power, nil
}

// class sorts a lamp by its index.
func (k *IndexClasses) class(l *Lamp) (Class, error) {
	if !(l.Flux > 0) || !(l.Power > 0) {
		return Class{}, errNotPositive
	}
	power, err := k.corrected(l)
	if err != nil {
		return Class{}, err
	}
	list := k.NDLS
	if l.Source.Directional {
		list = k.DLS
	}
	exact := power / k.reference(l.Flux)
	index := roundTo(exact, k.Decimals)
	for i, c := range list {
		if c.To != 0 && index > c.To*(1+slack) {
			continue
		}
		cl := Class{Letter: c.Class, Index: index}
		if i > 0 {
			cl.Next, cl.LessPower = list[i-1].Class, 1-list[i-1].To/exact
		}
		return cl, nil
	}
	return Class{}, fmt.Errorf("conformity: no class for an index of %g", index)
}

// kWh returns the whole kilowatt-hours that a label states.
func (e *LabelEnergy) kWh(power float64) float64 {
	if e.PowerDecimals > 0 {
		power = roundTo(power, e.PowerDecimals)
	}
	kwh := power * e.Hours / 1000
	if e.Round == "nearest" {
		return math.Round(kwh)
	}
	return math.Ceil(kwh * (1 - slack))
}

// watts returns the whole watts of the incandescent lamp that a flux may be said
// to equal, false where the table has none.
func (e *Equivalence) watts(flux float64) (float64, bool) {
	for i := 1; i < len(e.Points); i++ {
		a, b := e.Points[i-1], e.Points[i]
		if a[0] <= flux && flux <= b[0] {
			return math.Round(a[1] + (b[1]-a[1])*(flux-a[0])/(b[0]-a[0])), true
		}
	}
	return 0, false
}

// max returns the largest on-mode power in W.
func (p *PowerLimit) max(l *Lamp, on Date) (float64, error) {
	ra, indexed := l.Measured["ra"]
	i := slices.IndexFunc(p.Rows, func(r PowerRow) bool {
		return (r.Technology == l.Technology || r.Technology == "*") && r.covers(on) &&
			(r.Flux == nil || r.Flux[0] <= l.Flux && l.Flux <= r.Flux[1]) && within(r.Power, l.Power)
	})
	switch {
	case l.Technology == "":
		return 0, errors.New("the largest power depends on the kind of light source, which was not stated")
	case !indexed:
		return 0, errors.New("the largest power depends on Ra, which this light has none of")
	case i < 0:
		return 0, errors.New("no row of the table is for this light source")
	}
	row, c, loss, f := &p.Rows[i], p.Basic.of(l.Source), p.Rows[i].EndLoss, 1.0
	for k := range p.Bonuses {
		if b := &p.Bonuses[k]; b.holds(l, ra) {
			c += b.Add
		}
	}
	if row.Connected > 0 && l.has("connected") {
		loss = row.Connected
	}
	if l.Source.Directional {
		f = p.DirectionalFactor
	}
	return c * (loss + l.Flux/(f*row.Efficacy)) * p.Rendering.of(ra), nil
}

// A rule that depends on Ra or on the colour temperature depends on what a lamp's
// maker declares: whole points, and hundreds of kelvin (Regulation (EU) 2019/2015
// Annex V Table 3).
func declaredRa(ra float64) float64   { return math.Round(ra) }
func declaredCCT(cct float64) float64 { return 100 * math.Round(cct/100) }

// of returns R for the Ra that a declaration states.
func (r *Rendering) of(ra float64) float64 {
	ra = declaredRa(ra)
	if ra <= r.LowRa {
		return r.Low
	}
	return roundTo((ra+r.Offset)/r.Divisor, r.Decimals)
}

func (b *Bonus) holds(l *Lamp, ra float64) bool {
	return isFor(l, b.Technologies, b.Groups) &&
		(b.Directional == nil || *b.Directional == l.Source.Directional) &&
		(b.CCTAbove == nil || declaredCCT(l.CCT) > *b.CCTAbove) &&
		(b.RaAbove == nil || declaredRa(ra) > *b.RaAbove) &&
		(b.PowerAbove == nil || l.Power > *b.PowerAbove) &&
		(b.Feature == "" || l.has(b.Feature))
}

// gearFormulas are the least efficiencies that depend on the power P in W at the
// lamp (Regulation (EU) 2019/2020 Annex II Table 3).
var gearFormulas = map[string]func(p float64) float64{
	"fluorescent": func(p float64) float64 { return p / (2*math.Sqrt(p/36) + 38.0/36*p + 1) },
	"led":         func(p float64) float64 { q := math.Pow(p, 0.81); return q / (1.09*q + 2.10) },
}

// least returns the least efficiency of gear for a lamp of a group and power.
func (g *Gear) least(group string, power float64) (float64, bool) {
	for i := range g.Rows {
		if r := &g.Rows[i]; r.Group == group && within(r.Power, power) {
			if f := gearFormulas[r.Formula]; f != nil {
				return f(power), true
			}
			return r.Least, true
		}
	}
	return 0, false
}

// isFor reports whether a rule that lists technologies or groups is for a lamp;
// one that lists none is for every lamp.
func isFor(l *Lamp, technologies, groups []string) bool {
	return len(technologies)+len(groups) == 0 || slices.Contains(technologies, l.Technology) || slices.Contains(groups, l.group())
}

// within reports whether v lies above the first and up to the second end.
func within(span *[2]float64, v float64) bool { return span == nil || span[0] < v && v <= span[1] }

func roundTo(v float64, decimals int) float64 {
	k := math.Pow(10, float64(decimals))
	return math.Round(v*k*(1+1e-15)) / k
}
