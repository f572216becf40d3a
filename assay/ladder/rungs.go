package ladder

import (
	"fmt"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
)

// ownSpectrum makes the third rung below the second.
func ownSpectrum(r *assay.Result, above *Rung) Rung {
	rung := Rung{Key: Spectrum, Name: "this lamp's own spectrum", Basis: Measured}
	ler, ok := r.Value(quantity.LER)
	if !ok {
		rung.Why = r.Why(quantity.LER)
		return rung
	}
	rung.Efficacy = ler
	var losses []string
	visible, share := visibleLER(r)
	if share > 0 && share < 0.995 {
		losses = append(losses, fmt.Sprintf("%.0f %% of its radiation within %.4g–%.4g nm is invisible", 100*(1-share), r.From, r.To))
	}
	if len(losses) == 0 || visible < 0.98*above.Efficacy || !above.Known() {
		losses = append(losses, "its visible light lies where the eye is less sensitive")
	}
	rung.Loss = strings.Join(losses, ", and ")
	return rung
}

// What is lost below the spectrum.
const (
	lampLoss = "heat of the lamp, and radiation that the spectrum does not cover"
	bothLoss = "heat of the lamp, loss in the gear, and radiation that the spectrum does not cover"
	gearLoss = "loss in the gear"
)

// perWatt makes the last two rungs, one of them from an assumed gear where only
// the other was measured.
func perWatt(r *assay.Result, gear float64) (lamp, mains Rung) {
	lamp = wattRung(r, AtLamp, "what it gives per watt at the lamp", quantity.LampEfficacy)
	mains = wattRung(r, AtMains, "what it gives per watt at the mains", quantity.LuminousEfficacy)
	assumed := fmt.Sprintf(", gear assumed to pass %.3g %% of the power", 100*gear)
	switch {
	case gear == 0:
	case lamp.Known() && !mains.Known():
		mains.Efficacy, mains.Why, mains.Basis = lamp.Efficacy*gear, "", Assumed
		mains.Name += assumed
	case mains.Known() && !lamp.Known():
		lamp.Efficacy, lamp.Why, lamp.Basis = mains.Efficacy/gear, "", Assumed
		lamp.Name += assumed
	}
	lamp.Loss, mains.Loss = lampLoss, gearLoss
	if !lamp.Known() {
		mains.Loss = bothLoss
	}
	return lamp, mains
}

func wattRung(r *assay.Result, key Key, name string, id quantity.ID) Rung {
	rung := Rung{Key: key, Name: name, Basis: Measured}
	eta, ok := r.Value(id)
	if !ok {
		rung.Why = r.Why(id)
	}
	rung.Efficacy = eta
	return rung
}

// refuse takes the figure from a rung that has more lumens for a watt than the
// light itself: no lamp gives them, so flux, power or spectrum is wrong.
func (l *Ladder) refuse() {
	most := l.Rungs[0].Efficacy
	if l.Rungs[2].Known() {
		most = l.Rungs[2].Efficacy
	}
	for i := 3; i < len(l.Rungs); i++ {
		if r := &l.Rungs[i]; r.Efficacy > most*(1+1e-6) {
			r.Why = fmt.Sprintf("%.4g lm/W come out, and this light has %.4g lm/W with nothing lost: flux, power or spectrum is wrong", r.Efficacy, most)
			r.Efficacy = 0
		}
	}
}

// share fills in what each rung kept of the one above it.
func (l *Ladder) share() {
	above := l.Rungs[0].Efficacy
	for i := 1; i < len(l.Rungs); i++ {
		r := &l.Rungs[i]
		if !r.Known() {
			r.Loss = ""
			continue
		}
		r.Kept = r.Efficacy / above
		above = r.Efficacy
	}
}

// Kept returns the last rung's efficacy over the first's: how far down this lamp
// stands, 0 to 1. It is 0 where nothing below the definition is known.
func (l *Ladder) Kept() float64 {
	for i := len(l.Rungs) - 1; i > 0; i-- {
		if l.Rungs[i].Known() {
			return l.Rungs[i].Efficacy / l.Rungs[0].Efficacy
		}
	}
	return 0
}
