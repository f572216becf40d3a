package assay

import (
	"lampassay/assay/conformity"
	"lampassay/assay/quantity"
	"lampassay/light/emission"
)

// underLaw returns what the rules of law say of the lamp. They count from a flux
// and a power on, since every one of them does.
func (r *Result) underLaw() []Finding {
	question := new(conformity.Question)
	if r.Given.Law != nil {
		question = r.Given.Law
	}
	lamp, ok := r.lampUnderLaw(question)
	if !ok {
		return nil
	}
	rules := question.Rules
	if rules == nil {
		rules = conformity.Builtin()
	}
	var f []Finding
	for _, c := range rules.Judge(lamp, question.On) {
		f = append(f, Finding{c.Topic, c.Text, c.Source})
	}
	return f
}

// lampUnderLaw gathers what the rules ask for; false where flux, power or
// chromaticity is not known.
func (r *Result) lampUnderLaw(q *conformity.Question) (*conformity.Lamp, bool) {
	flux, lit := r.Value(quantity.LuminousFlux)
	x, coloured := r.Value(quantity.ChromaticityX)
	power := r.Given.Power
	if !r.Given.Source.Mains {
		power = r.Given.PowerLamp
	}
	if !lit || !coloured || !power.Known {
		return nil, false
	}
	l := &conformity.Lamp{
		Source: r.Given.Source, Technology: q.Technology, Features: q.Features,
		X: x, Y: r.values[quantity.ChromaticityY], Flux: flux, Power: power.Value,
		Measured: make(map[conformity.Figure]float64, len(q.Measured)+1),
	}
	for figure, v := range q.Measured {
		l.Measured[figure] = v
	}
	if ra, ok := r.Value(quantity.Ra); ok {
		l.Measured["ra"] = ra
	}
	if cct, ok := r.Value(quantity.CCT); ok {
		l.CCT = cct
	}
	if r.Given.Power.Known && r.Given.PowerLamp.Known {
		l.MainsPower, l.LampPower = r.Given.Power.Value, r.Given.PowerLamp.Value
	}
	if l.Technology == "" && r.Emission != nil {
		// Other kinds of lamp come in more forms than a spectrum tells apart.
		switch r.Emission.Family.Key {
		case emission.FamilyLEDPhosphor, emission.FamilyLEDMixed, emission.FamilyLEDSingle:
			l.Technology, l.Inferred = "led", true
		}
	}
	return l, true
}
