package assay

import (
	"fmt"
	"strconv"
	"strings"

	"lampassay/assay/quantity"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
)

// Finding is a sentence about the lamp with what it rests on.
type Finding struct {
	Topic, Text, Source string
}

// Findings draws the conclusions that a result allows.
func (r *Result) Findings() []Finding {
	f := r.underLaw()
	if r.Watts.Known {
		f = append(f, Finding{"where the watts go", r.wattsText(), "measured power and flux; spectrum"})
	}
	if _, ok := r.Value(quantity.Rf); ok && r.InScope(quantity.Rf) {
		f = append(f, Finding{"design intent", designIntentText(&r.TM30), "ANSI/IES TM-30-20 Annex E, thresholds from memory"})
	}
	if cct, ok := r.Value(quantity.CCT); ok && rendition.HasReference(cct) {
		f = append(f, Finding{"reference light", referenceText(cct), "CIE 13.3-1995; CIE 224:2017"})
	}
	f = append(f, r.seen()...)
	if r.Emission != nil {
		f = append(f, Finding{"kind of lamp", r.kindText(), "pattern of lines and bands, docs/method/emission.md"})
	}
	return f
}

// kindText names the family of the lamp and what emits in it.
func (r *Result) kindText() string {
	family := r.Emission.Family
	text := fmt.Sprintf("%s (score %.2f)", family.Name, family.Score)
	if len(family.Reasons) > 0 {
		text += ": " + family.Reasons[0]
	}
	var emitters []string
	for _, e := range r.Emission.Elements {
		emitters = append(emitters, fmt.Sprintf("%s (%.2f)", e.Symbol, e.Score))
	}
	if len(emitters) > 0 {
		text += "; lines of " + strings.Join(emitters, ", ")
	}
	return text
}

func (r *Result) wattsText() string {
	w := r.Watts
	end := "at the mains"
	if w.AtLamp {
		end = "at the lamp"
	}
	part := func(v float64) string { return fmt.Sprintf("%.3g W (%.0f %%)", v, 100*v/w.Total) }
	other := "the spectrum covers no other radiation"
	if r.reasons[quantity.ShareUV] == defined || r.reasons[quantity.ShareIR] == defined {
		amount := part(w.Other)
		if w.Other < 0.005*w.Total { // and below zero, where noise has the last word
			amount = "less than 0.5 %"
		}
		other = fmt.Sprintf("%s as other radiation within %.4g–%.4g nm", amount, r.From, r.To)
	}
	if w.Rest < 0 {
		return fmt.Sprintf("%s leaves as radiation of the %.3g W %s, more than goes in: one of the readings is wrong", part(w.Light+w.Other), w.Total, end)
	}
	rest := part(w.Rest) + " is heat, gear loss and radiation outside that range"
	if w.Gear > 0 {
		rest = part(w.Gear) + " is lost in the gear; and " + part(w.Rest) + " is heat of the lamp and radiation outside that range"
	}
	return fmt.Sprintf("of %.3g W %s, %s leaves as visible radiation; %s; %s", w.Total, end, part(w.Light), other, rest)
}

func designIntentText(t *rendition.TM30) string {
	p, v, f := rendition.DesignIntent(t)
	name := func(intent string, level int) string {
		if level == 0 {
			return intent + " –"
		}
		return intent + " " + strconv.Itoa(level)
	}
	return name("preference", p) + name(", vividness", v) + name(", fidelity", f) + " (1 is the tightest level, – is none met)"
}

func referenceText(cct float64) string {
	light := func(threshold float64) string {
		if cct < threshold {
			return "Planckian"
		}
		return "CIE daylight"
	}
	general := light(5000)
	fidelity := light(5000)
	if cct > 4000 && cct < 5000 {
		fidelity = "a blend of Planckian and CIE daylight"
	}
	return "Ra against " + general + " and Rf against " + fidelity + ", both at " + strconv.FormatFloat(cct, 'f', 0, 64) + " K"
}

// Warnings tells what stands between the data and a figure to rely on.
func (r *Result) Warnings() []string {
	var w []string
	say := func(format string, args ...any) { w = append(w, fmt.Sprintf(format, args...)) }
	if r.Quantity == spectrum.Counts {
		say("these are raw counts: unless the instrument's response was removed, colour and efficacy figures describe the instrument as much as the lamp")
	}
	table := weightings()
	worst := weightV
	for i := range table {
		if r.missing[i] > r.missing[worst] {
			worst = weightingIndex(i)
		}
	}
	if m := r.missing[worst]; m > missingWarn {
		say("the spectrum covers %.4g–%.4g nm: %.2g %% of V(λ) and up to %.2g %% of another weighting (%s) lie outside and count as nothing",
			r.From, r.To, 100*r.missing[weightV], 100*m, table[worst].name)
	}
	if r.Negative > 0.01 {
		say("%.1f %% of the curve's area is negative: too much dark was taken off, or the noise is large", 100*r.Negative)
	}
	if fwhm, ok := r.Value(quantity.FWHM); ok && r.Kind == spectrum.Sampled && r.Pitch > fwhm/2 {
		say("the samples are up to %.3g nm apart and the tallest feature is %.3g nm wide: lines may have lost or gained energy between samples", r.Pitch, fwhm)
	}
	if r.Kind == spectrum.Tabulated && r.Pitch > 5 {
		say("a table at %.3g nm steps is too coarse for anything with lines or narrow bands", r.Pitch)
	}
	if eta, ok := r.Value(quantity.RadiantEfficiency); ok && eta > 1 {
		say("the flux and power given make the lamp radiate more than it takes in: one of the figures, or the spectrum, is wrong")
	}
	if _, ok := r.Value(quantity.CCT); ok && r.values[quantity.CCT] > 25000 {
		say("above 25 000 K a correlated colour temperature says little")
	}
	return w
}
