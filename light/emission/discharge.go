package emission

import (
	"math"
	"slices"
	"strings"
)

func sodiumLow(p *portrait) candidate {
	c := candidate{key: FamilyLPS, name: "low-pressure sodium"}
	if p.reversedD || p.has("Na I") == 0 {
		return c
	}
	for _, l := range p.r.Lines {
		if l.Emitter != "Na I" || math.Abs(l.Centre-sodiumD) > 3 {
			continue
		}
		d := p.area(sodiumD-3, sodiumD+3) / p.visible
		wing := p.t.mean(l.Centre+2.5*p.t.bandwidth, l.Centre+2.5*p.t.bandwidth+5) / (l.Area / l.Width)
		c.score = ramp(d, 0.35, 0.6) * ramp(wing, 0.25, 0.1)
		c.reasons = nil
		c.because("%s of the visible power is in the sodium D lines at %.1f nm, which are as narrow as the instrument", percent(d), l.Centre)
		c.because("no broadened wings: 2.5 bandwidths beside the line the curve is at %s of its height", percent(max(wing, 0)))
	}
	if p.has("Ne I") > 0 || p.has("Ar I") > 0 {
		c.because("neon or argon lines are those of the starting gas: the lamp is still warming up if they are strong")
	}
	return c
}

func sodiumHigh(p *portrait) candidate {
	c := candidate{key: FamilyHPS, name: "high-pressure sodium"}
	blue := p.t.mean(430, 545) / p.t.mean(560, 620)
	if !p.reversedD {
		// An instrument too coarse to show the dip still shows the wings. A flame
		// with salt in it has no wings, it has a hot body.
		na := p.has("Na I")
		wings := (p.integral(562, 584) + p.integral(594, 625)) / p.visible
		c.score = 0.7 * ramp(na, 0, 0.5) * ramp(wings, 0.15, 0.3) * ramp(blue, 0.4, 0.28) * ramp(p.area(sodiumD-4, sodiumD+4)/p.visible, 0.05, 0.12)
		c.because("a sodium line at 589 nm on wings that hold %s of the visible power", percent(wings))
		if p.isHot {
			c.score *= ramp(p.hot.misfit, 0.06, 0.15)
		}
		return c
	}
	salts := p.t.mean(530, 549) / p.reversed.height
	c.score = ramp(blue, 0.42, 0.32) * ramp(salts, 0.65, 0.4)
	// Outside the D lines an arc is no hot body, a flame with salt in it is.
	if c.score > 0 {
		if h, ok := p.fitHot(p.bins, 430, 720, func(nm float64) bool { return nm < 570 || nm > 610 }); ok {
			c.score *= ramp(h.misfit, 0.06, 0.15)
		}
	}
	c.because("%s", p.reversed.words())
	c.because("from 430 to 545 nm the curve is on average at %s of its level from 560 to 620 nm: no strong mercury or halide lines", percent(blue))
	if p.reversed.depth > 0 && p.reversed.red-p.reversed.blue > 18 {
		c.name = "high-pressure sodium, colour-improved"
		c.because("humps %.0f nm apart mean a raised sodium pressure", p.reversed.red-p.reversed.blue)
	}
	return c
}

// salts are the atoms that a metal-halide lamp is filled with.
var salts = []string{"Na I", "Tl I", "In I", "Li I", "Sc I", "Sc II", "Cs I", "Ca I", "Ga I", "Sr I", "Ba I", "Zn I", "Cd I", "K I"}

// yellowToGreen is the ratio of the mercury pair at 577/579 nm to the line at
// 546 nm: about 0.2 in a low-pressure discharge, about 1 at high pressure.
func (p *portrait) yellowToGreen() float64 {
	if p.t.coarse() { // a phosphor's curvature is not to be told from a pair of lines
		return p.area(573, 583) / max(p.area(543, 550), 1e-9*p.total)
	}
	green := p.excess(546.07, 546.07)
	if green <= 0 {
		return math.NaN()
	}
	// Beside other lines the base is too high, and the fitted lines know better.
	fitted := 0.0
	if g := p.area(544, 548.5); g > 0 {
		fitted = p.area(574.5, 581.5) / g
	}
	return max(p.excess(576.96, 579.07)/green, fitted)
}

// excess returns what lines between two laboratory wavelengths add to a straight
// base. It needs no line to be resolved or fitted.
func (p *portrait) excess(from, to float64) float64 {
	shift := zeroIfNaN(p.r.Shift)
	margin := max(1.2*p.t.bandwidth, 1.2)
	area, _ := p.t.excess(from+shift-margin, to+shift+margin)
	return area
}

func zeroIfNaN(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

func metalHalide(p *portrait) candidate {
	c := candidate{key: FamilyMetalHalide, name: "metal halide"}
	var found []string
	evidence := 0.0
	for _, s := range salts {
		if score := p.has(s); score > 0 && (p.share[s] > 0.004 || (s == "Na I" && p.reversedD)) {
			evidence = 1 - (1-evidence)*(1-score)
			symbol, _, _ := strings.Cut(s, " ")
			if !slices.Contains(found, symbol) {
				found = append(found, symbol)
			}
		}
	}
	mercury := p.has("Hg I")
	forest := ramp(float64(p.unexplainedN), 6, 15) * ramp(p.unexplained, 0.02, 0.06)
	if p.t.coarse() {
		forest = ramp(p.unexplained, 0.08, 0.2)
	}
	if mercury == 0 {
		forest = 0
	}
	blue := p.t.mean(430, 549) / p.t.mean(560, 620)
	green := p.t.mean(530, 549) / max(p.t.mean(585, 600), 1e-300)
	// Chance finds phosphors among many lines; a real one stands out.
	phosphor := max(p.has("Eu³⁺ (oxide)"), p.has("Tb³⁺")) * ramp(p.narrowRed(), 1.5, 2.2)
	// Several metals in one arc are a halide fill even where its mercury is not
	// seen.
	unseen := 0.0
	if p.reversedD || len(found) > 1 {
		unseen = 0.6 * ramp(blue, 0.3, 0.5)
	}
	c.score = (1 - (1-evidence)*(1-forest)) * max(ramp(mercury, 0, 0.5), unseen) * (1 - 0.8*phosphor)
	if p.reversedD {
		c.score *= max(ramp(blue, 0.28, 0.38), ramp(green, 0.35, 0.6))
	}
	// A vapour lamp of one metal has nothing between its lines; zinc and cadmium
	// beside mercury are a spectral lamp's.
	if mercury == 0 || !slices.ContainsFunc(found, func(s string) bool { return s != "Zn" && s != "Cd" }) {
		c.score *= ramp(p.atoms, 0.97, 0.85)
	}
	if len(found) > 0 {
		c.name = "metal halide (" + strings.Join(found, ", ") + ")"
		c.because("lines of %s, which only a halide fill puts beside mercury", strings.Join(found, ", "))
	}
	if mercury > 0 {
		c.because("mercury lines are the frame of the spectrum")
	}
	if forest > 0.3 {
		c.because("%d further lines, %s of the power, are of none of the carried elements: a fill with scandium or rare earths has hundreds", p.unexplainedN, percent(p.unexplained))
	}
	return c
}

func mercuryHigh(p *portrait) candidate {
	c := candidate{key: FamilyMercury, name: "high-pressure mercury, clear"}
	if p.has("Hg I") == 0 {
		return c
	}
	yg := p.yellowToGreen()
	hg := p.area(400, 410) + p.area(433, 440) + p.area(544, 549) + p.area(574, 582)
	lines := hg / p.visible
	red := p.integral(600, 680) / p.visible
	// The arc's own continuum is about level.
	hump := (p.t.mean(605, 680) - p.floor) / (math.Max(p.t.mean(500, 530), p.t.mean(720, 750)) - p.floor)
	europium := p.area(612, 623) / p.area(544, 549)
	filament := p.isHotBeyond(560)
	c.score = ramp(yg, 0.45, 0.65) * ramp(lines, 0.15, 0.3) * ramp(p.unexplained, 0.3, 0.15) * ramp(p.visible/p.total, 0.15, 0.3)
	if filament {
		c.score = ramp(yg, 0.45, 0.65) * ramp(lines, 0.03, 0.08)
	}
	for _, s := range salts {
		c.score *= 1 - p.has(s)*ramp(p.share[s], 0.002, 0.02)
	}
	c.because("the mercury pair at 577/579 nm has %.2f of the energy of the line at 546 nm: high pressure (about 0.2 at low pressure)", yg)
	c.because("the mercury lines carry %s of the visible power", percent(lines))
	switch {
	case p.has("Eu³⁺ (vanadate)") > 0 || p.has("Eu³⁺ (oxide)") > 0 || europium > 0.1 || p.narrowRed() > 1.5 && p.integral(608, 625) > 0.06*p.visible || red > 0.08 && hump > 1.7 && !filament:
		c.key, c.name = FamilyMercuryCoated, "high-pressure mercury, phosphor-coated"
		c.because("%s of the visible power lies in 600–680 nm, where mercury has none: the coating, often europium near 615–619 nm", percent(red))
	case filament:
		c.name = "high-pressure mercury with a filament (blended light)"
		c.because("a continuum that rises steadily into the red, as a filament's does")
	}
	return c
}

// isHotBeyond reports whether the curve rises from nm to 750 nm as a filament's
// does.
func (p *portrait) isHotBeyond(nm float64) bool {
	a, b, c := p.t.mean(nm+30, nm+50), p.t.mean(nm+80, nm+100), p.t.mean(720, 745)
	return b > 1.05*a && c > 1.05*b && p.integral(600, 740) > 0.25*p.visible
}

func mercuryLow(p *portrait) candidate {
	c := candidate{key: FamilyGermicidal, name: "low-pressure mercury, without phosphor (germicidal or pen lamp)"}
	if p.has("Hg I") == 0 {
		return c
	}
	yg := p.yellowToGreen()
	visible := (p.area(400, 410) + p.area(433, 440) + p.area(544, 549) + p.area(574, 582)) / max(p.visible, 1e-300)
	germ := p.area(252, 256) / p.total
	gas := p.share["Ar I"] + p.share["Ne I"] + p.share["Kr I"]
	lines := p.atoms + p.unexplained
	c.score = max(ramp(germ, 0.3, 0.6), ramp(lines, 0.6, 0.85)*ramp(yg, 0.65, 0.45)*ramp(visible, 0.1, 0.3)*ramp(p.share["Hg I"], 0.2, 0.4))
	if germ > 0.05 {
		c.because("%s of the measured power is in the mercury line at 253.7 nm", percent(germ))
	}
	c.because("%s of the power is in lines, %s in those of mercury; there is no phosphor", percent(lines), percent(p.share["Hg I"]))
	if !math.IsNaN(yg) {
		c.because("the pair at 577/579 nm has %.2f of the energy of 546 nm: low pressure", yg)
	}
	if gas > 0.01 {
		c.because("the rare gas seen is the buffer gas")
	}
	return c
}

func fluorescent(p *portrait) candidate {
	c := candidate{key: FamilyHalophosphate, name: "fluorescent, halophosphate"}
	if p.has("Hg I") == 0 {
		return c
	}
	hg := (p.area(400, 410) + p.area(433, 440)) / p.visible
	yg := p.yellowToGreen()
	narrow := p.narrowRed()
	fill := min(p.t.mean(514, 531), p.t.mean(559, 571)) / p.t.mean(599, 621)
	tail := p.t.mean(644, 656) / p.t.mean(567, 574)
	// The vanadate is that of high-pressure lamps.
	europium := max(p.has("Eu³⁺ (oxide)"), ramp(narrow, 1.6, 2.5)) * (1 - p.has("Eu³⁺ (vanadate)"))
	c.score = ramp(hg, 0.001, 0.005) * ramp((hg*p.visible+p.area(544, 549)+p.area(574, 582))/p.visible, 0.8, 0.6)
	// At high pressure the yellow pair is as strong as the green line; beside a
	// narrow-band green phosphor that ratio says nothing.
	if threeBand := europium >= 0.5 && narrow > 1.6 && fill < 0.35; !threeBand && p.has("Tb³⁺") < 0.5 {
		c.score *= 1 - ramp(yg, 0.45, 0.7)
	}
	for _, s := range salts {
		c.score *= 1 - 0.9*p.has(s)*ramp(p.share[s], 0.004, 0.03)
	}
	if p.reversedD {
		c.score *= 0.1
	}
	if !p.t.coarse() && europium < 0.5 {
		c.score *= 1 - ramp(float64(p.unexplainedN), 10, 25)*ramp(p.unexplained, 0.03, 0.1)
	}
	c.score *= ramp(p.visible/p.total, 0.2, 0.5)
	// There must be a phosphor.
	c.score *= ramp(1-p.visibleLines/p.visible, 0.2, 0.4)
	c.because("mercury lines at 404.7, 435.8 and 546.1 nm on phosphor bands; the two blue ones carry %s of the visible power", percent(hg))
	switch {
	case europium >= 0.5 && narrow > 1.6 && fill < 0.35:
		c.key, c.name = FamilyTriphosphor, "fluorescent, three-band phosphor"
		c.because("trivalent europium near 611 nm, %.1f times its surroundings, and deep gaps between the bands", narrow)
		c.because("an induction lamp has the same discharge and phosphors: the spectrum does not tell them apart")
	case tail < 0.6 && europium < 0.5 && narrow < 1.15 && p.area(608.5, 615) < 0.01*p.visible:
		c.because("two wide bands, near 480 and 580 nm, and little red: at 650 nm %s of the level at 570 nm", percent(tail))
	default:
		c.key, c.name = FamilyMultiband, "fluorescent, multi-band or broad-band de luxe phosphors"
		c.because("the red is filled: at 650 nm %s of the level at 570 nm, without deep gaps between bands", percent(tail))
	}
	return c
}

// narrowRed is how far the band of trivalent europium at 611 nm stands above its
// surroundings.
func (p *portrait) narrowRed() float64 {
	return p.t.mean(609, 616) / max(p.t.mean(598, 604), p.t.mean(634, 642))
}

func blacklight(p *portrait) candidate {
	c := candidate{key: FamilyBlacklight, name: "fluorescent, blacklight"}
	hg := p.has("Hg I")
	consider := func(centre, width, share float64) {
		if centre < 335 || centre > 385 || width < 8 || width > 60 {
			return
		}
		score := ramp(share, 0.25, 0.5) * ramp(hg, 0, 0.5) * ramp(p.visible/p.total, 0.5, 0.3)
		if score <= c.score {
			return
		}
		c.score, c.reasons = score, nil
		c.because("a phosphor band at %.0f nm, %.0f nm wide, holds %s of the power", centre, width, percent(share))
		c.because("mercury lines stand beside it")
	}
	for _, b := range p.r.Bands {
		consider(b.Centre, b.Width, b.Share)
	}
	for _, l := range p.r.Lines { // a coarse instrument may take the band for a wide line
		if l.Emitter == "" {
			consider(l.Centre, l.Width, l.Area/p.total)
		}
	}
	return c
}
