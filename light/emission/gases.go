package emission

import (
	"math"
	"slices"
	"strings"
)

func xenon(p *portrait) candidate {
	c := candidate{key: FamilyXenon, name: "xenon arc or flash"}
	lines := ramp(p.has("Xe I"), 0.88, 0.96)
	infrared, bump := p.xenonGroup()
	flat := p.t.mean(450, 470) / p.t.mean(590, 610)
	// A continuum must be there to be flat.
	level := min(p.t.mean(450, 470), p.t.mean(590, 610)) / p.t.top
	c.score = ramp(level, 0.03, 0.06) * max(lines, infrared) * ramp(flat, 0.55, 0.8) * ramp(flat, 2.2, 1.5) * ramp(p.atoms, 0.7, 0.45)
	if p.has("Hg I") > 0.5 {
		c.score *= 0.3
	}
	if !p.t.covers(795, 862) && !math.IsInf(p.daylight, 1) {
		// Without the infrared a xenon arc is hard to tell from daylight.
		c.score = max(c.score, 0.3*ramp(p.daylight, 0.11, 0.05)*ramp(level, 0.03, 0.06))
	}
	c.score *= ramp(p.visible/p.total, 0.2, 0.4)
	c.because("a daylight-like continuum: 450–470 nm is at %s of 590–610 nm", percent(flat))
	if infrared > 0 {
		c.because("the xenon group at 820–830 nm stands %.1f times above its surroundings", bump)
	} else {
		c.because("xenon lines")
	}
	return c
}

// xenonGroup is how clearly xenon's group at 823–895 nm stands on a continuum,
// also where its lines blend, and how many times the surroundings it is.
func (p *portrait) xenonGroup() (clearly, times float64) {
	times = p.t.mean(818, 832) / math.Min(p.t.mean(795, 808), p.t.mean(848, 862))
	clearly = ramp(times, 1.12, 1.45) * ramp(p.t.mean(818, 832)/p.t.mean(450, 610), 0.1, 0.3)
	for _, other := range []string{"Ne I", "Ar I", "Kr I"} { // their lines fill the same part of the infrared
		clearly *= 1 - p.has(other)
	}
	return clearly, times
}

type gasName struct{ spectrum, name string }

var gasNames = []gasName{
	{"Ne I", "neon"}, {"Ar I", "argon"}, {"Kr I", "krypton"}, {"Xe I", "xenon"}, {"He I", "helium"},
}

func glow(p *portrait) candidate {
	c := candidate{key: FamilyRareGas}
	sum := 0.0
	var names []string
	for _, g := range gasNames {
		if s := p.share[g.spectrum]; s > 0.03 {
			sum += s * p.has(g.spectrum)
			names = append(names, g.name)
		}
	}
	if len(names) == 0 {
		return c
	}
	c.name = strings.Join(names, " and ") + " discharge"
	c.score = ramp(sum, 0.25, 0.55) * (1 - 0.6*ramp(p.share["Hg I"], 0.15, 0.4))
	c.because("%s of the power is in lines of %s", percent(sum), strings.Join(names, ", "))
	if p.has("Na I") > 0 {
		c.because("sodium is there too: a sodium lamp starts on such a glow")
	}
	return c
}

func hydrogen(p *portrait) candidate {
	c := candidate{key: FamilyHydrogen, name: "hydrogen or deuterium discharge"}
	h := p.has("H I")
	uv := p.t.mean(210, 240) / max(p.t.mean(380, 420), 1e-300)
	continuum := 0.0
	if p.t.covers(230, 420) {
		continuum = ramp(uv, 3, 8) * ramp(p.integral(200, 370)/p.total, 0.4, 0.7)
	}
	c.score = max(h*ramp(p.share["H I"], 0.1, 0.4), continuum*max(0.7, h))
	if h > 0 {
		c.because("the Balmer lines carry %s of the power", percent(p.share["H I"]))
	}
	if continuum > 0 {
		c.because("a molecular continuum that rises all the way into the ultraviolet: %.0f times the level at 400 nm", uv)
	}
	return c
}

func metalVapour(p *portrait) candidate {
	c := candidate{key: FamilyMetalVapour}
	sum := 0.0
	var names []string
	for _, s := range salts {
		if p.share[s] > 0.05 && s != "Na I" {
			sum += p.share[s] * p.has(s)
			symbol, _, _ := strings.Cut(s, " ")
			names = append(names, symbol)
		}
	}
	if len(names) == 0 {
		return c
	}
	c.name = strings.Join(names, ", ") + " vapour discharge (spectral lamp)"
	c.score = ramp(sum, 0.3, 0.6) * ramp(p.atoms+p.unexplained, 0.6, 0.85)
	if slices.ContainsFunc(names, func(s string) bool { return s != "Zn" && s != "Cd" }) { // a halide fill
		c.score *= 1 - p.has("Hg I")*ramp(p.share["Hg I"], 0.02, 0.06)
	}
	c.because("%s of the power is in lines of %s, with next to no continuum", percent(sum), strings.Join(names, ", "))
	return c
}
