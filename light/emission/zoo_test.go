package emission

import (
	"math"
	"math/rand/v2"

	"lampassay/light/standards"
)

// The zoo holds kinds of commercial lamps. Each call of build invents another
// specimen: strengths, widths and temperatures are drawn from what is common in
// the trade, from memory. No lamp was measured for them.
type species struct {
	name     string
	family   []string // any of
	elements []string // that may be claimed; nothing else may
	from, to float64  // what must be covered for the kind to be told, nm; 0 for 400–700
	build    func(c *curve, rng *rand.Rand)
}

// between draws evenly.
func between(rng *rand.Rand, a, b float64) float64 { return a + (b-a)*rng.Float64() }

// about scatters log-normally: half as much or twice as much are 1.4 standard
// deviations away.
func about(rng *rand.Rand, x float64) float64 { return x * math.Exp(0.5*rng.NormFloat64()) }

// lines adds lines, each with its area scattered.
func (c *curve) scattered(rng *rand.Rand, scale, natural float64, lines ...[2]float64) *curve {
	for _, l := range lines {
		c.line(l[0], scale*about(rng, l[1]), natural)
	}
	return c
}

// tabulated adds the lines of a spectrum at the tabulated intensities, scattered.
func (c *curve) tabulated(rng *rand.Rand, spectrum string, scale float64) *curve {
	top := 0.0
	intensity := func(l standards.Line) float64 {
		if spectrum == "Ne I" {
			return l.Intensity * neonScale(l.Nm)
		}
		return l.Intensity
	}
	for _, l := range standards.Lines() {
		if l.Spectrum == spectrum {
			top = max(top, intensity(l))
		}
	}
	for _, l := range standards.Lines() {
		if l.Spectrum == spectrum {
			c.line(l.Nm, scale*about(rng, intensity(l)/top), 0)
		}
	}
	return c
}

func (c *curve) daylightOf(kelvin float64) *curve {
	m1, m2 := standards.DaylightWeightsAt(kelvin)
	d := standards.Daylight()
	for i, x := range c.x {
		k := min(max(int(x)-d.S0.First, 0), len(d.S0.W)-2)
		f := min(max(x-float64(k+d.S0.First), 0), 1)
		at := func(w []float64) float64 { return w[k]*(1-f) + w[k+1]*f }
		c.y[i] += (at(d.S0.W) + m1*at(d.S1.W) + m2*at(d.S2.W)) / 100
	}
	return c
}

// atmosphere takes out what oxygen, water and the sun's own vapours do.
func (c *curve) atmosphere(rng *rand.Rand) *curve {
	much := between(rng, 0.5, 1.2)
	for _, b := range [][3]float64{{393.4, 1, 0.4}, {396.8, 1, 0.35}, {430.8, 1.2, 0.15}, {486.1, 0.4, 0.2}, {517.5, 1, 0.12}, {527, 0.3, 0.1}, {589.3, 0.4, 0.15}, {627.7, 2, 0.04}, {656.3, 0.5, 0.25}, {687.5, 2, 0.25}, {695, 6, 0.05}, {720, 10, 0.15}, {760.6, 3.5, 0.6}, {816, 12, 0.12}, {940, 30, 0.4}} {
		w := math.Hypot(c.bandwidth, b[1])
		c.times(func(x float64) float64 { return 1 - much*b[2]*b[1]/w*gauss((x-b[0])/w) })
	}
	return c
}

// sigmoid is a filter's edge: 0 far below, 1 far above.
func sigmoid(x, at, width float64) float64 { return 1 / (1 + math.Exp((at-x)/width)) }

func (c *curve) pump(rng *rand.Rand, nm, height float64) *curve {
	return c.band(nm, between(rng, 17, 25), height)
}

// whiteLED adds a blue pump and phosphors for about a colour temperature.
func (c *curve) whiteLED(rng *rand.Rand, kelvin float64) *curve {
	cool := (kelvin - 2700) / 3800 // 0 warm, 1 cold
	c.pump(rng, between(rng, 443, 460), about(rng, 0.25+1.3*cool))
	c.band(between(rng, 535, 560), between(rng, 90, 120), 1-0.25*(1-cool))
	if cool < 0.75 {
		c.band(between(rng, 605, 640), between(rng, 75, 105), between(rng, 0.5, 1.1)*(1-cool))
	}
	return c
}

var haloPhosphors = []string{"Hg I", "Ar I", "Kr I", "Ne I"}
var triphosphors = append([]string{"Eu³⁺ (oxide)", "Tb³⁺"}, haloPhosphors...)
var haloSalts = []string{"Hg I", "Na I", "Tl I", "In I", "Li I", "Sc I", "Sc II", "K I", "Cs I", "Ca I", "Ca II", "Ar I", "Xe I", "Ga I"}

func (c *curve) lowMercury(rng *rand.Rand, scale float64) *curve {
	return c.mercury(about(rng, scale), false).argon(about(rng, 0.04*scale)).glass()
}

var zoo = []species{
	{"filament", []string{FamilyIncandescent}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.planck(between(rng, 2350, 2780), 1) }},
	{"halogen", []string{FamilyHalogen, FamilyIncandescent}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.planck(between(rng, 2850, 3250), 1) }},
	{"halogen with a cold-light mirror", []string{FamilyHalogen, FamilyIncandescent}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		edge, soft := between(rng, 690, 760), between(rng, 10, 25)
		ripple, phase := between(rng, 0.01, 0.05), between(rng, 0, 6)
		c.planck(between(rng, 2900, 3150), 1).times(func(x float64) float64 {
			return (1 - 0.9*sigmoid(x, edge, soft)) * (1 + ripple*math.Sin(x/12+phase))
		})
	}},
	{"neodymium filament", []string{FamilyIncandescent}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		d := between(rng, 0.5, 0.85)
		c.planck(between(rng, 2550, 2750), 1).times(func(x float64) float64 {
			return 1 - d*gauss((x-583)/26) - 0.4*d*gauss((x-525)/20) - 0.12*d*gauss((x-745)/25) - 0.1*d*gauss((x-683)/15)
		})
	}},
	{"candle", []string{FamilyFlame}, []string{"Na I", "K I"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.planck(between(rng, 1650, 2000), 1)
		na := between(rng, 0, 1)
		c.line(588.995, 2*na, 0).line(589.592, na, 0)
	}},
	{"wood fire", []string{FamilyFlame}, []string{"Na I", "K I"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.planck(between(rng, 1250, 1700), 1)
		na, k := about(rng, 3), about(rng, 30)
		c.line(588.995, 2*na, 0).line(589.592, na, 0).line(766.49, 2*k, 0).line(769.9, k, 0)
	}},
	{"daylight, direct", []string{FamilyDaylight}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.daylightOf(between(rng, 4700, 5800)).atmosphere(rng) }},
	{"daylight, overcast", []string{FamilyDaylight}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.daylightOf(between(rng, 6000, 7500)).atmosphere(rng) }},
	{"daylight, north sky", []string{FamilyDaylight}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.daylightOf(between(rng, 9000, 20000)).atmosphere(rng) }},

	{"low-pressure sodium", []string{FamilyLPS}, []string{"Na I", "Ne I", "Ar I"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.line(588.995, 2, 0).line(589.592, between(rng, 1, 1.7), 0)
		c.scattered(rng, between(rng, 0, 1), 0, [2]float64{818.326, 0.1}, [2]float64{819.482, 0.2}, [2]float64{568.263, 0.006}, [2]float64{568.82, 0.012}, [2]float64{615.42, 0.005}, [2]float64{616.07, 0.01}, [2]float64{497.85, 0.003}, [2]float64{498.28, 0.005})
		c.tabulated(rng, "Ne I", about(rng, 0.005)).argon(about(rng, 0.002))
	}},
	{"high-pressure sodium", []string{FamilyHPS}, []string{"Na I", "Hg I", "K I", "Xe I"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.sodiumArc(1, between(rng, 4.5, 9)).mercury(about(rng, 0.06), true).planck(2200, between(rng, 0.005, 0.03))
	}},
	{"high-pressure sodium, without mercury", []string{FamilyHPS}, []string{"Na I", "K I", "Xe I"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.sodiumArc(1, between(rng, 4.5, 9)).planck(2300, between(rng, 0.01, 0.03)).scattered(rng, 0.1, 1, [2]float64{823.16, 1}, [2]float64{828.0, 0.7}, [2]float64{881.9, 1})
	}},
	{"high-pressure sodium, white", []string{FamilyHPS}, []string{"Na I", "Hg I", "K I", "Xe I"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.sodiumArc(1, between(rng, 12, 26)).mercury(about(rng, 0.2), true).planck(2500, between(rng, 0.05, 0.2))
	}},
	{"mercury, clear", []string{FamilyMercury}, []string{"Hg I", "Ar I"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.mercury(5, true).planck(6000, between(rng, 0.02, 0.1))
	}},
	{"mercury, vanadate coating", []string{FamilyMercuryCoated}, []string{"Hg I", "Ar I", "Eu³⁺ (vanadate)"}, 0, 0, func(c *curve, rng *rand.Rand) {
		v := between(rng, 0.5, 1.5)
		c.mercury(5, true).planck(6000, between(rng, 0.02, 0.06)).line(619.3, 3*v, 2.5).line(615.3, 1.7*v, 2).line(594.5, 0.5*v, 3).line(650, 0.2*v, 4).line(698.5, 0.8*v, 3).line(704.5, 0.6*v, 3)
	}},
	{"mercury, germanate coating", []string{FamilyMercuryCoated, FamilyMercury}, []string{"Hg I", "Ar I"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.mercury(5, true).planck(6000, between(rng, 0.02, 0.06)).band(656, 30, between(rng, 0.4, 0.9))
	}},
	{"mercury with filament", []string{FamilyMercury}, []string{"Hg I"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.mercury(2, true).planck(between(rng, 2300, 2600), between(rng, 0.06, 0.15))
	}},
	{"metal halide, sodium thallium indium", []string{FamilyMetalHalide}, haloSalts, 0, 0, func(c *curve, rng *rand.Rand) {
		c.mercury(about(rng, 2), true).planck(5500, between(rng, 0.05, 0.2)).line(535.05, about(rng, 4), 0.8).line(377.57, 1, 0.5).line(451.13, about(rng, 2), 0.6).line(410.17, about(rng, 1.3), 0.5).sodiumArc(between(rng, 0.4, 0.9), between(rng, 3, 6))
	}},
	{"metal halide, scandium sodium", []string{FamilyMetalHalide}, haloSalts, 0, 0, func(c *curve, rng *rand.Rand) {
		c.mercury(3, true).sodiumArc(between(rng, 0.4, 1), between(rng, 3, 6)).planck(5000, between(rng, 0.08, 0.25))
		s := about(rng, 0.001)
		for _, l := range standards.Lines() {
			if l.Spectrum == "Sc I" || l.Spectrum == "Sc II" {
				c.line(l.Nm, about(rng, l.Intensity*s), 0.1)
			}
		}
		c.forest(rng, 80, about(rng, 0.06))
	}},
	{"metal halide, rare earths", []string{FamilyMetalHalide}, haloSalts, 0, 0, func(c *curve, rng *rand.Rand) {
		na := about(rng, 0.7)
		c.mercury(about(rng, 1.6), true).planck(5500, between(rng, 0.25, 0.6)).line(535.05, about(rng, 2), 0.8).line(377.57, 0.7, 0.5).line(588.995, na, 0.8).line(589.592, 0.6*na, 0.8)
		c.forest(rng, 250, about(rng, 0.1))
	}},
	{"metal halide, ceramic", []string{FamilyMetalHalide, FamilyHPS}, haloSalts, 0, 0, func(c *curve, rng *rand.Rand) {
		c.mercury(about(rng, 1.2), true).planck(3500, between(rng, 0.15, 0.3)).line(535.05, about(rng, 2.5), 0.8).sodiumArc(between(rng, 0.6, 1), between(rng, 6, 12)).scattered(rng, 1, 0.5, [2]float64{670.78, 0.6}, [2]float64{610.36, 0.2}, [2]float64{616.2, 0.3}, [2]float64{643.9, 0.3}, [2]float64{646.3, 0.2}, [2]float64{422.67, 0.2})
		c.forest(rng, 150, about(rng, 0.06))
	}},
	{"metal halide, green", []string{FamilyMetalHalide}, haloSalts, 0, 0, func(c *curve, rng *rand.Rand) {
		c.mercury(about(rng, 1), true).planck(5500, between(rng, 0.03, 0.08)).line(535.05, about(rng, 6), 0.9).line(377.57, 1.5, 0.5)
	}},
	{"metal halide, blue", []string{FamilyMetalHalide}, haloSalts, 0, 0, func(c *curve, rng *rand.Rand) {
		c.mercury(about(rng, 1), true).planck(5500, between(rng, 0.03, 0.1)).line(451.13, about(rng, 6), 0.9).line(410.17, about(rng, 3.5), 0.7)
	}},

	{"halophosphate", []string{FamilyHalophosphate}, haloPhosphors, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 478, 488), between(rng, 125, 150), between(rng, 0.25, 1.1)).band(between(rng, 577, 587), between(rng, 72, 88), 1).lowMercury(rng, 5)
	}},
	{"de luxe", []string{FamilyMultiband, FamilyHalophosphate}, haloPhosphors, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 478, 490), 135, between(rng, 0.4, 1)).band(between(rng, 570, 590), between(rng, 80, 110), 0.6).band(between(rng, 620, 640), between(rng, 100, 140), between(rng, 0.8, 1.1)).lowMercury(rng, 4)
	}},
	{"three-band", []string{FamilyTriphosphor}, triphosphors, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 446, 454), between(rng, 48, 56), about(rng, 0.12)).europiumOxide(between(rng, 3, 6)).terbium(between(rng, 3, 6)).lowMercury(rng, 1.6)
	}},
	{"multi-band", []string{FamilyMultiband, FamilyTriphosphor}, triphosphors, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(450, 52, between(rng, 0.15, 0.3)).band(between(rng, 485, 495), 70, between(rng, 0.4, 0.7)).europiumOxide(between(rng, 1, 2.5)).terbium(between(rng, 1, 2.5)).band(between(rng, 560, 620), 120, between(rng, 0.4, 0.8)).lowMercury(rng, 2)
	}},
	{"plant tube", []string{FamilyMultiband, FamilyHalophosphate, FamilyTriphosphor}, triphosphors, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 438, 455), 55, between(rng, 0.4, 0.8)).band(657, between(rng, 20, 35), between(rng, 0.6, 1)).band(600, 120, 0.15).lowMercury(rng, 2)
	}},
	{"blacklight", []string{FamilyBlacklight}, haloPhosphors, 345, 700, func(c *curve, rng *rand.Rand) {
		c.mercury(about(rng, 0.6), false).argon(0.02).band(between(rng, 350, 370), between(rng, 16, 38), 1)
	}},
	{"germicidal", []string{FamilyGermicidal}, haloPhosphors, 0, 0, func(c *curve, rng *rand.Rand) { c.mercury(1, false).argon(about(rng, 0.04)) }},

	{"neon glow", []string{FamilyRareGas}, []string{"Ne I", "Ar I"}, 0, 0, func(c *curve, rng *rand.Rand) { c.tabulated(rng, "Ne I", 10) }},
	{"argon-mercury sign", []string{FamilyRareGas, FamilyGermicidal}, haloPhosphors, 0, 0, func(c *curve, rng *rand.Rand) { c.mercury(1, false).argon(about(rng, 0.3)).glass() }},
	{"helium", []string{FamilyRareGas}, []string{"He I"}, 0, 0, func(c *curve, rng *rand.Rand) { c.tabulated(rng, "He I", 5) }},
	{"xenon arc", []string{FamilyXenon}, []string{"Xe I"}, 0, 870, func(c *curve, rng *rand.Rand) {
		c.planck(between(rng, 5600, 6500), 1).scattered(rng, 1, 1.5, [2]float64{450.1, 0.2}, [2]float64{462.4, 0.3}, [2]float64{467.1, 0.5}, [2]float64{473.4, 0.3}, [2]float64{480.7, 0.2}, [2]float64{484.3, 0.1}, [2]float64{492.3, 0.12}, [2]float64{711.96, 0.1}, [2]float64{764.2, 0.2}, [2]float64{788.7, 0.1}, [2]float64{796.7, 0.1}, [2]float64{823.16, 3.5}, [2]float64{828.01, 2.5}, [2]float64{834.68, 1.2}, [2]float64{840.92, 1}, [2]float64{881.94, 3}, [2]float64{895.23, 1.5})
	}},
	{"xenon flash", []string{FamilyXenon}, []string{"Xe I"}, 0, 870, func(c *curve, rng *rand.Rand) {
		c.planck(between(rng, 6500, 9000), 1).scattered(rng, 1, 3, [2]float64{467.1, 0.8}, [2]float64{473.4, 0.4}, [2]float64{484.4, 1.2}, [2]float64{487, 0.8}, [2]float64{529.2, 0.7}, [2]float64{541.9, 0.6}, [2]float64{597.6, 0.3}, [2]float64{823.16, 4}, [2]float64{828.01, 3}, [2]float64{881.94, 4}, [2]float64{895.23, 2})
	}},
	{"deuterium", []string{FamilyHydrogen}, []string{"H I"}, 235, 420, func(c *curve, rng *rand.Rand) {
		for i, x := range c.x {
			c.y[i] += math.Exp(-(x-215)/between(rng, 42, 43)) * sigmoid(x, 190, 8)
		}
		for i, x := range c.x {
			c.y[i] += 0.03 * gauss((x-600)/180)
		}
		c.line(656.1, about(rng, 0.5), 0).line(486.0, about(rng, 0.15), 0)
	}},
	{"sulphur", []string{FamilyUnknown}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 500, 530), between(rng, 190, 240), 1).band(600, 200, between(rng, 0.1, 0.4))
	}},

	{"white LED, warm", []string{FamilyLEDPhosphor}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.whiteLED(rng, between(rng, 2600, 3200)) }},
	{"white LED, neutral", []string{FamilyLEDPhosphor}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.whiteLED(rng, between(rng, 3500, 5000)) }},
	{"white LED, cold", []string{FamilyLEDPhosphor}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.whiteLED(rng, between(rng, 5500, 8000)) }},
	{"white LED, violet pump", []string{FamilyLEDPhosphor}, nil, 395, 700, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 400, 425), between(rng, 13, 20), between(rng, 0.2, 1)).band(between(rng, 455, 480), between(rng, 50, 65), between(rng, 0.4, 0.9)).band(530, 90, 0.7).band(between(rng, 625, 650), 105, between(rng, 0.7, 1.1))
	}},
	{"white LED, sun-like", []string{FamilyLEDPhosphor}, nil, 395, 700, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 405, 420), 18, between(rng, 0.3, 0.7)).band(465, 60, 0.9).band(525, 100, 0.7).band(between(rng, 610, 640), 130, 0.9)
	}},
	{"white LED, fluoride red", []string{FamilyLEDPhosphor}, []string{"Mn⁴⁺ (fluoride)"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.pump(rng, between(rng, 445, 457), between(rng, 0.3, 1)).band(between(rng, 525, 555), between(rng, 55, 110), between(rng, 0.4, 0.8))
		s := between(rng, 0.5, 1.3)
		for _, m := range [][2]float64{{608.8, 0.4}, {613.4, 1.4}, {621.5, 0.2}, {630.9, 4}, {634.8, 2}, {647.3, 0.6}} {
			c.line(m[0], s*m[1], 2.5)
		}
	}},
	{"white LED with a red diode", []string{FamilyLEDPhosphor, FamilyLEDMixed}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.pump(rng, 452, between(rng, 0.3, 0.8)).band(between(rng, 540, 560), 110, 1).band(between(rng, 620, 634), between(rng, 15, 20), between(rng, 0.5, 1.2))
	}},
	{"quantum dots", []string{FamilyLEDPhosphor, FamilyLEDMixed}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.pump(rng, 450, between(rng, 0.8, 1.3)).band(between(rng, 525, 540), between(rng, 28, 36), between(rng, 0.5, 0.9)).band(between(rng, 620, 640), between(rng, 25, 32), between(rng, 0.5, 1))
	}},
	{"three-colour LED", []string{FamilyLEDMixed}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 455, 472), between(rng, 20, 27), about(rng, 0.6)).band(between(rng, 515, 535), between(rng, 30, 40), about(rng, 0.5)).band(between(rng, 620, 638), between(rng, 15, 20), about(rng, 1))
	}},
	{"three-colour LED and white", []string{FamilyLEDMixed, FamilyLEDPhosphor}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.whiteLED(rng, between(rng, 2700, 6000)).band(between(rng, 458, 470), 24, between(rng, 0.1, 0.7)).band(525, 35, between(rng, 0.1, 0.7)).band(630, 17, between(rng, 0.2, 1))
	}},
	{"plant LED", []string{FamilyLEDMixed, FamilyLEDPhosphor}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(450, 20, between(rng, 0.2, 0.8)).band(660, between(rng, 16, 22), 1)
	}},
	{"converted amber LED", []string{FamilyLEDPhosphor}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 590, 606), between(rng, 75, 95), 1).band(450, 20, between(rng, 0.0, 0.03))
	}},
	{"lime LED", []string{FamilyLEDPhosphor, FamilyUnknown}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 540, 560), between(rng, 95, 110), 1).band(450, 20, between(rng, 0.02, 0.15))
	}},
	{"red LED", []string{FamilyLEDSingle}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.band(between(rng, 618, 670), between(rng, 14, 22), 1) }},
	{"amber LED", []string{FamilyLEDSingle}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.band(between(rng, 586, 600), between(rng, 13, 18), 1) }},
	{"green LED", []string{FamilyLEDSingle}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.band(between(rng, 505, 540), between(rng, 27, 42), 1) }},
	{"blue LED", []string{FamilyLEDSingle}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.band(between(rng, 440, 480), between(rng, 17, 28), 1) }},
	{"violet LED", []string{FamilyLEDSingle, FamilyLEDUltraviolet}, nil, 380, 700, func(c *curve, rng *rand.Rand) { c.band(between(rng, 402, 425), between(rng, 11, 18), 1) }},
	{"ultraviolet LED", []string{FamilyLEDUltraviolet}, nil, 345, 700, func(c *curve, rng *rand.Rand) { c.band(between(rng, 362, 396), between(rng, 8, 15), 1) }},
	{"infrared LED", []string{FamilyLEDSingle}, nil, 0, 880, func(c *curve, rng *rand.Rand) { c.band(between(rng, 770, 830), between(rng, 25, 40), 1) }},
	{"laser diode", []string{FamilyLaser}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.line([]float64{405, 445.3, 450.6, 488.2, 515.4, 520.7, 638.2, 650.9, 660.3}[rng.IntN(9)], 5, between(rng, 0.2, 1.5))
	}},
	{"solid-state green laser", []string{FamilyLaser}, nil, 0, 0, func(c *curve, rng *rand.Rand) { c.line(532.1, 5, 0) }},
	{"laser and phosphor", []string{FamilyLEDPhosphor, FamilyLaser, FamilyUnknown}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.line(between(rng, 445, 456), about(rng, 15), between(rng, 1, 3)).band(between(rng, 540, 570), between(rng, 100, 120), 1)
	}},
	{"three lasers", []string{FamilyLaser, FamilyUnknown, FamilyLEDMixed}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.line(between(rng, 445, 465), about(rng, 5), 1.5).line(between(rng, 520, 532), about(rng, 5), 1).line(between(rng, 636, 642), about(rng, 5), 1)
	}},
	{"picture tube", []string{FamilyUnknown}, []string{"Eu³⁺ (oxysulphide)", "Eu³⁺ (oxide)"}, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(450, 62, about(rng, 0.7)).band(532, 85, about(rng, 0.6))
		s := about(rng, 1)
		for _, l := range [][2]float64{{538, 0.1}, {556, 0.08}, {583, 0.1}, {587, 0.1}, {595, 0.4}, {616.5, 0.9}, {624, 1.1}, {626.7, 4}, {631, 0.3}, {651, 0.1}, {704.5, 2}, {712, 0.3}} {
			c.line(l[0], s*l[1], 1.5)
		}
	}},
	{"electroluminescent foil", []string{FamilyUnknown, FamilyLEDPhosphor}, nil, 0, 0, func(c *curve, rng *rand.Rand) {
		c.band(between(rng, 485, 515), between(rng, 70, 95), 1).band(585, 70, between(rng, 0, 0.3))
	}},
}
