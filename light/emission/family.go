package emission

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Family is the kind of lamp that a spectrum shows.
type Family struct {
	Key     string // one of the Family constants
	Name    string // with its variety: "fluorescent, three-band phosphor"
	Score   float64
	Reasons []string
	// Alternatives are the other kinds that the figures do not rule out, best
	// first.
	Alternatives []Alternative
}

// Alternative is another kind of lamp and its score.
type Alternative struct {
	Key, Name string
	Score     float64
}

// The families.
const (
	FamilyUnknown        = "unknown"
	FamilyIncandescent   = "incandescent"
	FamilyHalogen        = "halogen"
	FamilyFlame          = "flame"
	FamilyDaylight       = "daylight"
	FamilyLPS            = "low_pressure_sodium"
	FamilyHPS            = "high_pressure_sodium"
	FamilyMercury        = "mercury_clear"
	FamilyMercuryCoated  = "mercury_coated"
	FamilyMetalHalide    = "metal_halide"
	FamilyHalophosphate  = "fluorescent_halophosphate"
	FamilyTriphosphor    = "fluorescent_triphosphor"
	FamilyMultiband      = "fluorescent_multiband"
	FamilyBlacklight     = "fluorescent_blacklight"
	FamilyGermicidal     = "mercury_low_pressure"
	FamilyXenon          = "xenon"
	FamilyRareGas        = "rare_gas_glow"
	FamilyHydrogen       = "hydrogen_deuterium"
	FamilyMetalVapour    = "metal_vapour"
	FamilyLEDPhosphor    = "led_phosphor"
	FamilyLEDMixed       = "led_mixed"
	FamilyLEDSingle      = "led_single"
	FamilyLEDUltraviolet = "led_ultraviolet"
	FamilyLaser          = "laser"
)

// doubt is the score that a family must reach to be named.
const doubt = 0.45

// candidate is a family with what speaks for it.
type candidate struct {
	key, name string
	score     float64
	reasons   []string
}

func (c *candidate) because(format string, a ...any) {
	c.reasons = append(c.reasons, fmt.Sprintf(format, a...))
}

// family weighs every kind of lamp and names the best.
func (p *portrait) family() Family {
	unknown := Family{Key: FamilyUnknown, Name: "unknown"}
	if p.total <= 0 || p.t.top < 8*p.medianNoise() {
		unknown.Reasons = []string{"nothing rises clearly above the noise"}
		unknown.Score = 1
		return unknown
	}
	var all []candidate
	for _, rule := range []func(*portrait) candidate{
		sodiumLow, sodiumHigh, metalHalide, mercuryHigh, mercuryLow, fluorescent, blacklight,
		xenon, glow, hydrogen, metalVapour, filament, daylight,
		ledPhosphor, ledMixed, ledSingle, laser,
	} {
		if c := rule(p); c.score > 0.05 {
			all = append(all, c)
		}
	}
	slices.SortStableFunc(all, func(a, b candidate) int { return cmp.Compare(b.score, a.score) })
	if len(all) == 0 || all[0].score < doubt {
		unknown.Reasons = []string{"no kind of lamp in the list explains the lines and bands that were found"}
		unknown.Score = 0.5
		for _, c := range all {
			unknown.Alternatives = append(unknown.Alternatives, Alternative{c.key, c.name, c.score})
		}
		return unknown
	}
	f := Family{Key: all[0].key, Name: all[0].name, Score: min(all[0].score, 0.99), Reasons: all[0].reasons}
	for _, c := range all[1:] {
		if c.score >= 0.15 {
			f.Alternatives = append(f.Alternatives, Alternative{c.key, c.name, c.score})
		}
	}
	return f
}

func (p *portrait) medianNoise() float64 {
	s := slices.Clone(p.t.sigma)
	return quantile(s, 0.5)
}

// percent formats a share.
func percent(x float64) string { return fmt.Sprintf("%.0f %%", 100*x) }

// --- sodium ---

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
		// An instrument too coarse to show the dip still shows the wings.
		na := p.has("Na I")
		wings := (p.integral(562, 584) + p.integral(594, 625)) / p.visible
		c.score = 0.7 * ramp(na, 0, 0.5) * ramp(wings, 0.15, 0.3) * ramp(blue, 0.4, 0.28) * ramp(p.area(sodiumD-4, sodiumD+4)/p.visible, 0.05, 0.12)
		c.because("a sodium line at 589 nm on wings that hold %s of the visible power", percent(wings))
		return c
	}
	salts := p.t.mean(530, 549) / p.reversed.height
	c.score = ramp(blue, 0.42, 0.32) * ramp(salts, 0.65, 0.4)
	c.because("the sodium D lines are self-reversed: a dip at %.1f nm, %s deep, between humps at %.0f and %.0f nm",
		p.reversed.dip, percent(p.reversed.depth), p.reversed.blue, p.reversed.red)
	c.because("from 430 to 545 nm the curve is on average at %s of its level from 560 to 620 nm: no strong mercury or halide lines", percent(blue))
	if p.reversed.red-p.reversed.blue > 18 {
		c.name = "high-pressure sodium, colour-improved"
		c.because("humps %.0f nm apart mean a raised sodium pressure", p.reversed.red-p.reversed.blue)
	}
	return c
}

// --- mercury and halides ---

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
	return max(0, p.excess(576.96, 579.07)) / green
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
	saltShare := 0.0
	for _, s := range salts {
		if score := p.has(s); score > 0 && (p.share[s] > 0.004 || (s == "Na I" && p.reversedD)) {
			evidence = 1 - (1-evidence)*(1-score)
			symbol, _, _ := strings.Cut(s, " ")
			if !slices.Contains(found, symbol) {
				found = append(found, symbol)
			}
			saltShare += p.share[s]
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
	phosphor := max(p.has("Eu³⁺ (oxide)"), p.has("Tb³⁺"))
	c.score = (1 - (1-evidence)*(1-forest)) * max(ramp(mercury, 0, 0.5), 0.6*ramp(blue, 0.3, 0.5)) * (1 - 0.8*phosphor)
	if p.reversedD {
		c.score *= max(ramp(blue, 0.28, 0.38), ramp(green, 0.35, 0.6))
	}
	// A vapour lamp of one metal has nothing between its lines.
	c.score *= ramp(p.atoms, 0.97, 0.85)
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
	red := p.t.mean(616, 622) / max(p.t.mean(600, 606), p.t.mean(634, 642), 1e-300)
	c.score = ramp(yg, 0.45, 0.65) * ramp(lines, 0.15, 0.3) * ramp(p.unexplained, 0.3, 0.15)
	for _, s := range salts {
		c.score *= 1 - p.has(s)*ramp(p.share[s], 0.002, 0.02)
	}
	c.because("the mercury pair at 577/579 nm has %.2f of the energy of the line at 546 nm: high pressure (about 0.2 at low pressure)", yg)
	c.because("the mercury lines carry %s of the visible power", percent(lines))
	switch {
	case p.has("Eu³⁺ (vanadate)") > 0 || p.has("Eu³⁺ (oxide)") > 0 || (red > 1.8 && p.t.mean(616, 622)*6 > 0.03*p.visible):
		c.key, c.name = FamilyMercuryCoated, "high-pressure mercury, phosphor-coated"
		c.because("a red europium band near 615–619 nm: the coating")
	case p.isHotBeyond(560):
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
	narrow := p.t.mean(609, 616) / max(p.t.mean(598, 604), p.t.mean(634, 642))
	fill := min(p.t.mean(514, 531), p.t.mean(559, 571)) / p.t.mean(599, 621)
	tail := p.t.mean(644, 656) / p.t.mean(567, 574)
	europium := max(p.has("Eu³⁺ (oxide)"), ramp(narrow, 1.6, 2.5))
	c.score = ramp(hg, 0.002, 0.01) * ramp((hg*p.visible+p.area(544, 549)+p.area(574, 582))/p.visible, 0.8, 0.6)
	// At high pressure the yellow pair is as strong as the green line; beside a
	// narrow-band green phosphor that ratio says nothing.
	if europium < 0.5 || p.has("Tb³⁺") == 0 {
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
	c.because("mercury lines at 404.7, 435.8 and 546.1 nm on phosphor bands; the two blue ones carry %s of the visible power", percent(hg))
	switch {
	case europium >= 0.5 && narrow > 1.6 && fill < 0.35:
		c.key, c.name = FamilyTriphosphor, "fluorescent, three-band phosphor"
		c.because("trivalent europium near 611 nm, %.1f times its surroundings, and deep gaps between the bands", narrow)
		c.because("an induction lamp has the same discharge and phosphors: the spectrum does not tell them apart")
	case tail < 0.6 && europium < 0.5:
		c.because("two wide bands, near 480 and 580 nm, and little red: at 650 nm %s of the level at 570 nm", percent(tail))
	default:
		c.key, c.name = FamilyMultiband, "fluorescent, multi-band or broad-band de luxe phosphors"
		c.because("the red is filled: at 650 nm %s of the level at 570 nm, without deep gaps between bands", percent(tail))
	}
	return c
}

func blacklight(p *portrait) candidate {
	c := candidate{key: FamilyBlacklight, name: "fluorescent, blacklight"}
	for _, b := range p.r.Bands {
		if b.Centre > 335 && b.Centre < 385 && b.Width > 8 && b.Width < 60 {
			hg := p.has("Hg I")
			c.score = max(c.score, ramp(b.Share, 0.25, 0.5)*ramp(hg, 0, 0.5))
			c.reasons = nil
			c.because("a phosphor band at %.0f nm, %.0f nm wide, holds %s of the power", b.Centre, b.Width, percent(b.Share))
			c.because("mercury lines stand beside it")
		}
	}
	return c
}

// --- gases ---

func xenon(p *portrait) candidate {
	c := candidate{key: FamilyXenon, name: "xenon arc or flash"}
	lines := p.has("Xe I")
	// The group at 823–895 nm over the continuum, also where the lines blend.
	bump := p.t.mean(818, 832) / math.Min(p.t.mean(795, 808), p.t.mean(848, 862))
	infrared := ramp(bump, 1.3, 2) * ramp(p.t.mean(818, 832)/p.t.mean(450, 610), 0.1, 0.3)
	flat := p.t.mean(450, 470) / p.t.mean(590, 610)
	for _, other := range []string{"Ne I", "Ar I", "Kr I"} { // their lines fill the same part of the infrared
		infrared *= 1 - p.has(other)
	}
	c.score = max(lines, infrared) * ramp(flat, 0.55, 0.8) * ramp(flat, 2.2, 1.5) * ramp(p.atoms, 0.7, 0.45)
	if p.has("Hg I") > 0.5 {
		c.score *= 0.3
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
	c.because("%s of the power is in lines of %s, with next to no continuum", percent(sum), strings.Join(names, ", "))
	return c
}

// --- hot bodies ---

func filament(p *portrait) candidate {
	c := candidate{key: FamilyIncandescent, name: "incandescent filament"}
	hot, ok := p.hot, p.isHot
	if !ok { // a cool body may have nothing above the noise in the blue
		hot, ok = p.fitHot(500, 720, nil)
	}
	neodymium := false
	if !ok || hot.misfit > 0.05 {
		// Neodymium glass takes out the yellow and a little green.
		if h, good := p.fitHot(420, 720, func(nm float64) bool {
			return (nm < 505 || nm > 545) && (nm < 560 || nm > 615)
		}); good && h.misfit < 0.6*hot.misfit && h.misfit < 0.08 && p.t.mean(575, 588) < 0.75*h.at(581) {
			hot, ok, neodymium = h, true, true
		}
	}
	if !ok {
		return c
	}
	c.score = ramp(hot.misfit, 0.16, 0.06) * ramp(hot.kelvin, 4300, 3700) * ramp(hot.kelvin, 1000, 1300) *
		ramp(p.atoms, 0.3, 0.1) * (1 - ramp(p.oxygen(), 0.08, 0.2))
	c.because("from 420 to 720 nm a Planck curve of %.0f K fits within %.1f %% (root mean square)", hot.kelvin, 100*hot.misfit)
	switch {
	case hot.kelvin < 2150:
		c.key, c.name = FamilyFlame, "flame, or a filament run far below its rating"
		c.because("glowing soot has 1800–2100 K; a filament has less only when dimmed")
	case hot.kelvin < 2880:
		c.because("below about 2900 K: an ordinary filament, or a halogen lamp that is dimmed or rated low")
	default:
		c.key, c.name = FamilyHalogen, "tungsten halogen"
		c.because("above about 2900 K an ordinary filament would not last")
	}
	if neodymium {
		c.name += ", neodymium glass"
		c.because("a gap near 580 nm that the glass takes out")
	}
	return c
}

// oxygen returns the depth of the telluric oxygen band at 760.5 nm.
func (p *portrait) oxygen() float64 {
	if p.t.coarse() || !p.t.covers(745, 778) {
		return 0
	}
	return max(0, p.dip(761, 751, 772, 1.5))
}

func daylight(p *portrait) candidate {
	c := candidate{key: FamilyDaylight, name: "daylight"}
	if !p.isHot || math.IsInf(p.daylight, 1) {
		return c
	}
	oxygen := p.oxygen()
	c.score = ramp(p.daylight, 0.11, 0.05) * max(ramp(p.hot.kelvin, 3700, 4400), ramp(oxygen, 0.08, 0.2)) *
		ramp(p.atoms, 0.15, 0.05)
	if x := p.has("Xe I"); x > 0.5 {
		c.score *= 0.4
	}
	c.because("the CIE daylight components fit within %.1f %% from 405 to 685 nm; the Planck curve nearest is %.0f K", 100*p.daylight, p.hot.kelvin)
	if oxygen > 0.08 {
		c.because("the oxygen of the atmosphere takes %s out at 760 nm", percent(oxygen))
	}
	return c
}

// --- solid state ---

// solidState is how far the spectrum is free of discharge lines.
func (p *portrait) solidState() float64 {
	if p.reversedD {
		return 0
	}
	return ramp(p.atoms, 0.12, 0.04) * (1 - 0.9*p.has("Hg I"))
}

func ledPhosphor(p *portrait) candidate {
	c := candidate{key: FamilyLEDPhosphor, name: "phosphor-converted LED"}
	if p.visible <= 0 {
		return c
	}
	long := p.integral(490, 780) / p.visible
	blue := p.integral(380, 490) / p.visible
	var pump *hill
	for i, h := range p.hills {
		if h.nm > 385 && h.nm < 490 && h.width < 45 && (pump == nil || h.prominence > pump.prominence) {
			pump = &p.hills[i]
		}
	}
	broad, narrow := p.broadAndNarrow()
	fluoride := p.has("Mn⁴⁺ (fluoride)")
	broad = max(broad, 0.6*fluoride)
	s := p.solidState() * ramp(long, 0.15, 0.35) * ramp(broad, 0.2, 0.4)
	hotlike := 0.0
	if p.isHot {
		hotlike = ramp(p.hot.misfit, 0.12, 0.05)
	}
	if pump == nil {
		s *= 0.75 * (1 - hotlike) * ramp(blue, 0.2, 0.08)
		c.because("one wide band and no discharge lines; the pump has been converted completely")
	} else {
		s *= max(1-hotlike, ramp(pump.prominence/pump.height, 0.05, 0.15))
		c.because("a narrow blue or violet band at %.0f nm, %.0f nm wide: the pump", pump.nm, pump.width)
		c.because("wide phosphor emission holds %s of the visible power; there are no discharge lines", percent(long))
	}
	c.score = 0.97 * s
	var variety []string
	switch {
	case blue < 0.02:
		variety = append(variety, "coloured")
	case blue < 0.175:
		variety = append(variety, "warm")
	case blue < 0.27:
		variety = append(variety, "neutral")
	default:
		variety = append(variety, "cool")
	}
	c.because("%s of the visible power lies below 490 nm: %s", percent(blue), variety[0])
	deep := p.t.mean(645, 665) / p.t.mean(590, 610)
	switch {
	case fluoride > 0.5:
		variety = append(variety, "narrow red")
		c.because("the manganese-fluoride lines near 613, 631 and 635 nm")
	case narrow > 0.12 && pump != nil:
		variety = append(variety, "with a red LED")
		c.because("a red band as narrow as a diode's beside the phosphor")
	case deep > 0.8 || (pump != nil && pump.nm < 430 && deep > 0.65):
		variety = append(variety, "high colour rendering")
		c.because("deep red is strong: at 655 nm %s of the level at 600 nm", percent(deep))
	}
	if pump != nil && pump.nm < 430 {
		variety = append(variety, "violet-pumped")
	}
	c.name += ", " + strings.Join(variety, ", ")
	return c
}

// broadAndNarrow returns the shares of the visible that lie in bands wider than
// a diode's and, beyond 560 nm, in bands as narrow as one.
func (p *portrait) broadAndNarrow() (broad, narrowRed float64) {
	for _, b := range p.r.Bands {
		if b.Centre < 400 || b.Centre > 760 {
			continue
		}
		share := b.Area / p.visible
		if b.Width >= 52 {
			broad += share
		} else if b.Centre > 600 && b.Width < 32 {
			narrowRed += share
		}
	}
	return broad, narrowRed
}

func ledMixed(p *portrait) candidate {
	c := candidate{key: FamilyLEDMixed, name: "colour-mixed LED"}
	var names []string
	n, narrow := 0, 0.0
	for _, h := range p.hills {
		if h.nm < 380 || h.nm > 780 {
			continue
		}
		if h.width < 0.65*thermalWidth(h.nm) {
			narrow += h.share
		} else if h.width < 50 {
			n++
			names = append(names, fmt.Sprintf("%.0f nm (%.0f nm wide)", h.nm, h.width))
		}
	}
	broad, _ := p.broadAndNarrow()
	if n < 2 || n > 5 {
		return c
	}
	valleys := p.deepestValley()
	// Hills too narrow for a diode speak of lines.
	c.score = p.solidState() * (1 - p.has("Mn⁴⁺ (fluoride)")) * ramp(narrow, 0.15, 0.05)
	if n == 2 { // a pump and a red diode beside a phosphor look like that, too
		c.score *= 0.8 * ramp(broad, 0.75, 0.45) * ramp(valleys, 0.45, 0.25)
	}
	c.because("%d bands as narrow as diodes' emission: %s", n, strings.Join(names, ", "))
	c.because("between two of them the curve sinks to %s of the lower", percent(valleys))
	return c
}

// deepestValley returns the least valley between two neighbouring hills beyond
// 490 nm or across it, as a share of the lower hill; 1 where there is none.
func (p *portrait) deepestValley() float64 {
	deepest := 1.0
	for i := 1; i < len(p.hills); i++ {
		a, b := p.hills[i-1], p.hills[i]
		if b.nm < 560 {
			continue
		}
		low := math.Inf(1)
		for _, x := range p.bins {
			if x.nm > a.nm && x.nm < b.nm {
				low = min(low, x.value)
			}
		}
		deepest = min(deepest, low/min(a.height, b.height))
	}
	return deepest
}

func ledSingle(p *portrait) candidate {
	c := candidate{key: FamilyLEDSingle}
	for _, h := range p.hills {
		thermal := thermalWidth(h.nm)
		// An infrared tail of stray light or noise does not make a second band.
		share := p.integral(h.nm-2*h.width, h.nm+2*h.width) / p.total
		limit := 45.0
		if h.nm > 480 && h.nm < 580 || h.nm > 760 {
			limit = 65
		}
		s := p.solidState() * ramp(share, 0.7, 0.88) * ramp(h.width, 0.55*thermal, 0.85*thermal) * ramp(h.width, limit*1.3, limit)
		if s <= c.score {
			continue
		}
		c.score, c.reasons, c.key = 0.97*s, nil, FamilyLEDSingle
		c.because("one band at %.0f nm, %.0f nm wide, holds %s of the power: wider than a line, as narrow as a diode's emission", h.nm, h.width, percent(share))
		switch {
		case h.nm < 400:
			c.key, c.name = FamilyLEDUltraviolet, "ultraviolet LED"
		case h.nm > 750:
			c.name = "infrared LED"
		default:
			c.name = colourName(h.nm) + " LED"
		}
	}
	return c
}

func colourName(nm float64) string {
	switch {
	case nm < 435:
		return "violet"
	case nm < 485:
		return "blue"
	case nm < 505:
		return "cyan"
	case nm < 565:
		return "green"
	case nm < 600:
		return "amber"
	case nm < 660:
		return "red"
	}
	return "deep red"
}

// thermalWidth returns the least full width at half maximum, nm, of spontaneous
// emission from a semiconductor at room temperature: 1.8 kT with kT = 25.9 meV,
// turned into wavelength by hc = 1239.84 eV nm.
func thermalWidth(nm float64) float64 { return 1.8 * 0.0259 / 1239.84 * nm * nm }

func laser(p *portrait) candidate {
	c := candidate{key: FamilyLaser, name: "laser"}
	if len(p.r.Lines) == 0 || p.t.coarse() {
		return c
	}
	strong := slices.MaxFunc(p.r.Lines, func(a, b Line) int { return cmp.Compare(a.Area, b.Area) })
	share := strong.Area / p.total
	thermal := thermalWidth(strong.Centre)
	c.score = 0.95 * ramp(share, 0.6, 0.85) * ramp(strong.Width, 0.75*thermal, 0.5*thermal)
	if e := p.r.Element(strong.Emitter); e != nil {
		if len(e.Found) > 1 {
			c.score *= 0.3
		} else {
			c.score *= 1 - 0.6*e.Score
		}
		if strong.Emitter == "Na I" || strong.Emitter == "Hg I" {
			c.score *= 0.3
		}
	}
	c.because("%s of the power is in one line at %.1f nm, %.1f nm wide; the spontaneous emission of a diode cannot be narrower than about %.0f nm there", percent(share), strong.Centre, strong.Width, thermal)
	if strong.Emitter == "" {
		c.because("no lamp's element has its only strong line there")
	}
	return c
}
