package emission

import (
	"math"
	"math/rand/v2"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// The lamps of these tests are invented: the right lines and bands in plausible
// proportions, as an array spectrometer would record them. They test the
// reasoning, not the world.

// curve is a spectrum under construction.
type curve struct {
	x, y      []float64
	bandwidth float64
}

func newCurve(from, to, pitch, bandwidth float64) *curve {
	c := &curve{bandwidth: bandwidth}
	// An array's pitch changes along it.
	for x := from; x <= to; x += pitch * (1.08 - 0.16*(x-from)/(to-from)) {
		c.x = append(c.x, x)
	}
	c.y = make([]float64, len(c.x))
	return c
}

// line adds a line of unit-width area: its height is area/bandwidth.
func (c *curve) line(nm, area, natural float64) *curve {
	w := math.Hypot(c.bandwidth, natural)
	for i, x := range c.x {
		c.y[i] += area / w * gauss((x-nm)/w)
	}
	return c
}

// band adds a Gaussian in photon energy.
func (c *curve) band(nm, width, height float64) *curve {
	b := component{height, nm, width}
	for i, x := range c.x {
		c.y[i] += b.at(x)
	}
	return c
}

func (c *curve) planck(kelvin, heightAt560 float64) *curve {
	for i, x := range c.x {
		c.y[i] += heightAt560 * standards.Planck(x, kelvin) / standards.Planck(560, kelvin)
	}
	return c
}

func (c *curve) times(f func(nm float64) float64) *curve {
	for i, x := range c.x {
		c.y[i] *= f(x)
	}
	return c
}

// mercury adds the mercury lines of a low- or a high-pressure discharge, the
// green one of unit area.
func (c *curve) mercury(scale float64, high bool) *curve {
	type l struct{ nm, low, high float64 }
	for _, m := range []l{{253.652, 12, 0.4}, {296.73, 0.05, 0.25}, {302.15, 0.03, 0.35}, {313.1, 0.3, 0.9}, {334.15, 0.02, 0.12},
		{365.016, 0.25, 1.1}, {365.484, 0.04, 0.3}, {366.328, 0.03, 0.3}, {404.656, 0.42, 0.55}, {407.783, 0.03, 0.06}, {433.922, 0.01, 0.03}, {434.749, 0.01, 0.08},
		{435.833, 0.95, 0.95}, {491.607, 0.005, 0.02}, {546.075, 1, 1}, {576.961, 0.1, 0.5}, {579.067, 0.11, 0.55}, {690.75, 0.002, 0.015}, {708.19, 0.001, 0.01}} {
		a := m.low
		natural := 0.0
		if high {
			a, natural = m.high, 0.5
		}
		c.line(m.nm, scale*a, natural)
	}
	return c
}

// glass stops the ultraviolet below about 310 nm.
func (c *curve) glass() *curve {
	return c.times(func(x float64) float64 { return 1 / (1 + math.Exp((310-x)/4)) })
}

func (c *curve) argon(scale float64) *curve {
	for _, m := range [][2]float64{{696.543, 0.4}, {706.722, 0.4}, {714.704, 0.06}, {727.294, 0.2}, {738.398, 0.5}, {750.387, 0.7}, {751.465, 0.4},
		{763.511, 1}, {772.376, 0.4}, {772.421, 0.2}, {794.818, 0.4}, {800.616, 0.4}, {801.479, 0.5}, {810.369, 0.6}, {811.531, 1}, {826.452, 0.4}, {840.821, 0.4}, {842.465, 0.5}, {852.144, 0.2}} {
		c.line(m[0], scale*m[1], 0)
	}
	return c
}

// sodiumArc adds a self-reversed D pair and the lines from higher levels.
func (c *curve) sodiumArc(scale, separation float64) *curve {
	for i, x := range c.x {
		d := x - 589.3
		wing := scale * 8 / (8 + math.Pow(math.Abs(d)/(separation*0.6), 1.7)*8)
		if d < 0 {
			wing *= 0.8
		}
		absorbed := math.Exp(-3 / (1 + math.Pow(d/(separation*0.28), 4)))
		c.y[i] += wing * absorbed
	}
	for _, m := range [][3]float64{{449.6, 0.03, 0.8}, {466.75, 0.1, 1}, {475.0, 0.03, 0.8}, {498.15, 0.5, 1.2}, {515.2, 0.2, 1}, {568.5, 1.6, 1.8}, {615.8, 0.6, 1.2}, {766.49, 0.25, 0.5}, {769.9, 0.2, 0.5}, {818.33, 1.6, 1}, {819.48, 2.6, 1}} {
		c.line(m[0], 2*scale*m[1], m[2])
	}
	return c
}

func (c *curve) europiumOxide(s float64) *curve {
	for _, m := range [][3]float64{{587.5, 0.08, 1.5}, {593, 0.09, 2.2}, {599.5, 0.1, 2}, {611.2, 1, 1.7}, {613.5, 0.06, 2}, {627, 0.05, 2}, {631, 0.14, 2}, {650, 0.04, 2.5}, {662.5, 0.03, 2.5}, {687, 0.03, 3}, {693.5, 0.04, 2.5}, {707.5, 0.06, 3}, {709.5, 0.09, 2}} {
		c.line(m[0], s*m[1], m[2])
	}
	return c
}

func (c *curve) terbium(s float64) *curve {
	for _, m := range [][3]float64{{485.5, 0.12, 4}, {489, 0.2, 4.5}, {542.4, 1, 3.2}, {548.5, 0.15, 4}, {577.7, 0.03, 3}, {584.3, 0.15, 4}, {588.5, 0.06, 4}, {620.5, 0.06, 4}, {625.7, 0.05, 4}} {
		c.line(m[0], s*m[1], m[2])
	}
	return c
}

// forest adds lines of no carried element, as rare earths have them.
func (c *curve) forest(rng *rand.Rand, n int, mean float64) *curve {
	for range n {
		c.line(385+rng.Float64()*360, mean*rng.ExpFloat64(), 0.1)
	}
	return c
}

// noisy adds noise of a share of the largest sample, growing threefold towards
// both ends where such instruments are blind.
func (c *curve) noisy(rng *rand.Rand, share float64) *spectrum.Spectrum {
	top := 0.0
	for _, v := range c.y {
		top = max(top, v)
	}
	n := len(c.x)
	for i := range c.y {
		u := 2*float64(i)/float64(n-1) - 1
		c.y[i] += top * share * (1 + 2*u*u*u*u*u*u) * rng.NormFloat64()
		c.y[i] += 0.003 * c.y[i] * rng.NormFloat64()
	}
	s, err := spectrum.New(spectrum.Relative, c.x, c.y)
	if err != nil {
		panic(err)
	}
	return s
}

type inventedLamp struct {
	name     string
	family   []string // any of
	elements []string // that must be found
	build    func(c *curve, rng *rand.Rand)
}

var inventedLamps = []inventedLamp{
	{"filament 2700 K", []string{FamilyIncandescent}, nil, func(c *curve, _ *rand.Rand) { c.planck(2700, 1) }},
	{"halogen 3050 K", []string{FamilyHalogen}, nil, func(c *curve, _ *rand.Rand) { c.planck(3050, 1) }},
	{"candle 1900 K", []string{FamilyFlame}, nil, func(c *curve, _ *rand.Rand) { c.planck(1900, 1) }},
	{"neodymium bulb", []string{FamilyIncandescent}, nil, func(c *curve, _ *rand.Rand) {
		c.planck(2650, 1).times(func(x float64) float64 {
			return 1 - 0.75*gauss((x-583)/26) - 0.3*gauss((x-525)/20) - 0.1*gauss((x-745)/25)
		})
	}},
	{"dichroic halogen", []string{FamilyHalogen, FamilyIncandescent}, nil, func(c *curve, _ *rand.Rand) {
		c.planck(2980, 1).times(func(x float64) float64 { return 1 / (1 + math.Exp((x-745)/18)) })
	}},
	{"daylight", []string{FamilyDaylight}, nil, func(c *curve, _ *rand.Rand) {
		m1, m2 := standards.DaylightWeightsAt(5600)
		d := standards.Daylight()
		for i, x := range c.x {
			k := min(max(int(x)-d.S0.First, 0), len(d.S0.W)-1)
			c.y[i] = d.S0.W[k] + m1*d.S1.W[k] + m2*d.S2.W[k]
		}
		c.times(func(x float64) float64 {
			return 1 - 0.5*gauss((x-760.8)/4) - 0.15*gauss((x-687.5)/3) - 0.2*gauss((x-725)/15)
		})
	}},
	{"low-pressure sodium", []string{FamilyLPS}, []string{"Na I"}, func(c *curve, _ *rand.Rand) {
		c.line(588.995, 2, 0).line(589.592, 1, 0).line(818.326, 0.03, 0).line(819.482, 0.06, 0).line(568.82, 0.01, 0).line(616.07, 0.006, 0)
	}},
	{"low-pressure sodium warming up", []string{FamilyLPS, FamilyRareGas}, []string{"Ne I"}, func(c *curve, _ *rand.Rand) {
		c.line(588.995, 0.3, 0).line(589.592, 0.15, 0)
		for _, m := range [][2]float64{{585.249, 0.5}, {588.19, 0.15}, {594.483, 0.3}, {597.553, 0.1}, {603, 0.12}, {607.434, 0.3}, {609.616, 0.4}, {614.306, 0.6}, {616.359, 0.25}, {621.728, 0.2}, {626.65, 0.35}, {630.479, 0.12}, {633.443, 0.4}, {638.299, 0.5}, {640.225, 1}, {650.653, 0.6}, {653.288, 0.2}, {659.895, 0.25}, {667.828, 0.35}, {671.704, 0.2}, {692.947, 0.3}, {703.241, 0.6}, {724.517, 0.25}, {743.89, 0.15}, {753.577, 0.1}, {813.641, 0.1}, {830.033, 0.2}, {837.761, 0.6}, {849.536, 0.4}, {859.126, 0.25}, {863.465, 0.25}, {865.438, 0.4}, {878.062, 0.5}, {878.375, 0.3}} {
			c.line(m[0], m[1], 0)
		}
	}},
	{"high-pressure sodium", []string{FamilyHPS}, []string{"Na I"}, func(c *curve, _ *rand.Rand) {
		c.sodiumArc(1, 6).mercury(0.05, true).planck(2200, 0.01)
	}},
	{"high-pressure sodium, deluxe", []string{FamilyHPS}, []string{"Na I"}, func(c *curve, _ *rand.Rand) {
		c.sodiumArc(1, 12).mercury(0.15, true).planck(2400, 0.05)
	}},
	{"mercury, clear", []string{FamilyMercury}, []string{"Hg I"}, func(c *curve, _ *rand.Rand) {
		c.mercury(5, true).planck(6000, 0.03)
	}},
	{"mercury, coated", []string{FamilyMercuryCoated}, []string{"Hg I"}, func(c *curve, _ *rand.Rand) {
		c.mercury(5, true).planck(6000, 0.04).line(619.3, 3, 2.5).line(615.3, 1.6, 2).line(594.5, 0.5, 3).line(650, 0.2, 4).line(698.5, 0.8, 3).line(704.5, 0.6, 3)
	}},
	{"metal halide, sodium scandium", []string{FamilyMetalHalide}, []string{"Hg I"}, func(c *curve, rng *rand.Rand) {
		c.mercury(3, true).sodiumArc(0.7, 4).planck(5000, 0.12)
		for _, l := range standards.Lines() {
			if l.Spectrum == "Sc I" || l.Spectrum == "Sc II" {
				c.line(l.Nm, l.Intensity/900, 0.1)
			}
		}
		c.forest(rng, 60, 0.06)
	}},
	{"metal halide, dysprosium thallium", []string{FamilyMetalHalide}, []string{"Hg I", "Tl I"}, func(c *curve, rng *rand.Rand) {
		c.mercury(2, true).planck(5500, 0.35).line(535.05, 2.5, 0.8).line(377.57, 1, 0.5).line(588.995, 0.8, 0.8).line(589.592, 0.5, 0.8).line(670.78, 0.5, 0.4)
		c.forest(rng, 250, 0.12)
	}},
	{"metal halide, indium sodium thallium", []string{FamilyMetalHalide}, []string{"Hg I", "Tl I", "In I"}, func(c *curve, rng *rand.Rand) {
		c.mercury(2.5, true).planck(5500, 0.1).line(535.05, 4, 0.8).line(377.57, 1, 0.5).line(451.13, 3, 0.6).line(410.17, 2, 0.5).sodiumArc(0.6, 4)
	}},
	{"fluorescent, halophosphate", []string{FamilyHalophosphate}, []string{"Hg I"}, func(c *curve, _ *rand.Rand) {
		c.mercury(6, false).argon(0.3).band(482, 140, 0.5).band(582, 80, 1).glass()
	}},
	{"fluorescent, three-band", []string{FamilyTriphosphor}, []string{"Hg I", "Eu³⁺ (oxide)", "Tb³⁺"}, func(c *curve, _ *rand.Rand) {
		c.mercury(1.6, false).argon(0.15).band(450, 52, 0.06).europiumOxide(5).terbium(5).glass()
	}},
	{"fluorescent, de luxe", []string{FamilyMultiband}, []string{"Hg I"}, func(c *curve, _ *rand.Rand) {
		c.mercury(5, false).argon(0.2).band(485, 120, 0.8).band(560, 110, 0.6).band(630, 130, 1).glass()
	}},
	{"blacklight", []string{FamilyBlacklight}, []string{"Hg I"}, func(c *curve, _ *rand.Rand) {
		c.mercury(1, false).band(368, 18, 1)
	}},
	{"germicidal", []string{FamilyGermicidal}, []string{"Hg I"}, func(c *curve, _ *rand.Rand) { c.mercury(1, false).argon(0.05) }},
	{"xenon arc", []string{FamilyXenon}, nil, func(c *curve, _ *rand.Rand) {
		c.planck(6000, 1)
		for _, m := range [][2]float64{{462.4, 0.3}, {467.1, 0.5}, {473.4, 0.3}, {480.7, 0.15}, {484.3, 0.1}, {492.3, 0.12}, {711.96, 0.1}, {764.2, 0.2}, {788.7, 0.1}, {796.7, 0.1}, {823.16, 3.5}, {828.01, 2.5}, {834.68, 1.2}, {840.92, 1}, {881.94, 3}, {895.23, 1.5}} {
			c.line(m[0], m[1], 1.5)
		}
	}},
	{"neon lamp", []string{FamilyRareGas}, []string{"Ne I"}, func(c *curve, _ *rand.Rand) {
		for _, l := range standards.Lines() {
			if l.Spectrum == "Ne I" {
				c.line(l.Nm, l.Intensity/200, 0)
			}
		}
	}},
	{"white LED 2700 K", []string{FamilyLEDPhosphor}, nil, func(c *curve, _ *rand.Rand) { c.band(452, 22, 0.35).band(595, 125, 1) }},
	{"white LED 4000 K", []string{FamilyLEDPhosphor}, nil, func(c *curve, _ *rand.Rand) { c.band(449, 20, 0.9).band(560, 115, 1).band(620, 80, 0.25) }},
	{"white LED 6500 K", []string{FamilyLEDPhosphor}, nil, func(c *curve, _ *rand.Rand) { c.band(446, 19, 1.9).band(552, 112, 1) }},
	{"white LED, high colour rendering", []string{FamilyLEDPhosphor}, nil, func(c *curve, _ *rand.Rand) {
		c.band(420, 20, 0.9).band(480, 60, 0.5).band(535, 90, 0.7).band(640, 110, 1)
	}},
	{"white LED, fluoride red", []string{FamilyLEDPhosphor}, []string{"Mn⁴⁺ (fluoride)"}, func(c *curve, _ *rand.Rand) {
		c.band(450, 20, 0.6).band(540, 95, 0.5)
		for _, m := range [][2]float64{{608.8, 0.4}, {613.4, 1.4}, {621.5, 0.2}, {630.9, 4}, {634.8, 2}, {647.3, 0.6}} {
			c.line(m[0], m[1], 2.5)
		}
	}},
	{"three-colour LED", []string{FamilyLEDMixed}, nil, func(c *curve, _ *rand.Rand) { c.band(462, 24, 0.5).band(523, 34, 0.5).band(632, 17, 1) }},
	{"plant LED", []string{FamilyLEDMixed}, nil, func(c *curve, _ *rand.Rand) { c.band(450, 20, 0.4).band(660, 18, 1) }},
	{"infrared LED", []string{FamilyLEDSingle}, nil, func(c *curve, _ *rand.Rand) { c.band(810, 32, 1) }},
	{"mercury with filament", []string{FamilyMercury}, []string{"Hg I"}, func(c *curve, _ *rand.Rand) {
		c.mercury(2, true).planck(2500, 0.12)
	}},
	{"sulphur lamp", []string{FamilyUnknown}, nil, func(c *curve, _ *rand.Rand) { c.band(510, 190, 1) }},
	{"red LED", []string{FamilyLEDSingle}, nil, func(c *curve, _ *rand.Rand) { c.band(633, 17, 1) }},
	{"green LED", []string{FamilyLEDSingle}, nil, func(c *curve, _ *rand.Rand) { c.band(522, 33, 1) }},
	{"blue LED", []string{FamilyLEDSingle}, nil, func(c *curve, _ *rand.Rand) { c.band(466, 22, 1) }},
	{"amber LED", []string{FamilyLEDSingle}, nil, func(c *curve, _ *rand.Rand) { c.band(592, 15, 1) }},
	{"ultraviolet LED", []string{FamilyLEDUltraviolet}, nil, func(c *curve, _ *rand.Rand) { c.band(375, 12, 1) }},
	{"converted amber LED", []string{FamilyLEDPhosphor}, nil, func(c *curve, _ *rand.Rand) { c.band(600, 82, 1).band(450, 20, 0.01) }},
	{"laser diode", []string{FamilyLaser}, nil, func(c *curve, _ *rand.Rand) { c.line(655.3, 5, 0.5) }},
	{"green laser", []string{FamilyLaser}, nil, func(c *curve, _ *rand.Rand) { c.line(532.1, 5, 0) }},
}

// outOfSight reports whether an instrument's range leaves out what the lamp is
// recognised by.
func (l *inventedLamp) outOfSight(from, to float64) bool {
	return l.name == "ultraviolet LED" && from > 350 || l.name == "blacklight" && from > 345 || l.name == "infrared LED" && to < 850
}

func TestInventedLampsAreNamedForWhatTheyAre(t *testing.T) {
	total, right := 0, 0
	for _, lamp := range inventedLamps {
		for k, set := range []struct{ from, to, pitch, bandwidth, noise float64 }{
			{340, 850, 0.35, 1.4, 0.0005}, {380, 780, 1, 2.2, 0.002}, {250, 900, 0.5, 1, 0.001}, {350, 1000, 1.9, 6, 0.003}, {300, 800, 0.4, 2, 0.004},
		} {
			if lamp.outOfSight(set.from, set.to) {
				continue
			}
			rng := rand.New(rand.NewPCG(7, uint64(k)))
			c := newCurve(set.from, set.to, set.pitch, set.bandwidth)
			lamp.build(c, rng)
			r, err := Analyse(c.noisy(rng, set.noise), Options{})
			if err != nil {
				t.Fatal(err)
			}
			total++
			ok := false
			for _, f := range lamp.family {
				ok = ok || r.Family.Key == f
			}
			if ok {
				right++
			} else {
				t.Errorf("%s, bandwidth %.1f nm: named %q (%.2f) %v", lamp.name, set.bandwidth, r.Family.Name, r.Family.Score, r.Family.Reasons)
				for _, a := range r.Family.Alternatives {
					t.Logf("      or %s %.2f", a.Key, a.Score)
				}
			}
			for _, want := range lamp.elements {
				if set.bandwidth < 4 && r.Element(want) == nil {
					t.Errorf("%s, bandwidth %.1f nm: %s not found", lamp.name, set.bandwidth, want)
				}
			}
			for _, e := range r.Elements {
				if e.Score >= 0.95 && !lamp.contains(e.Spectrum) {
					t.Errorf("%s, bandwidth %.1f nm: %s claimed with score %.2f %v missing %v", lamp.name, set.bandwidth, e.Spectrum, e.Score, e.Found, e.Missing)
				}
			}
		}
	}
	t.Logf("%d of %d right", right, total)
}

// contains reports whether an emitter may be in an invented lamp.
func (l *inventedLamp) contains(spectrum string) bool {
	also := map[string][]string{
		"mercury":       {"Hg I", "Eu³⁺ (vanadate)", "Eu³⁺ (oxide)"},
		"metal halide":  {"Hg I", "Na I", "Tl I", "In I", "Li I", "Sc I", "Sc II", "K I"},
		"fluorescent":   {"Hg I", "Ar I", "Eu³⁺ (oxide)", "Tb³⁺"},
		"high-pressure": {"Na I", "Hg I", "K I"}, "low-pressure": {"Na I", "Ne I"},
		"germicidal": {"Hg I", "Ar I"}, "blacklight": {"Hg I"}, "xenon arc": {"Xe I"}, "neon lamp": {"Ne I"}, "white LED, fluoride": {"Mn⁴⁺ (fluoride)"},
	}
	for prefix, list := range also {
		if len(l.name) >= len(prefix) && l.name[:len(prefix)] == prefix {
			for _, s := range list {
				if s == spectrum {
					return true
				}
			}
		}
	}
	return false
}

func TestARangeFarIntoTheInfraredDoesNotMatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	c := newCurve(350, 2500, 1, 3).planck(2700, 1)
	s := c.noisy(rng, 0.001)
	r, err := Analyse(s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r.Family.Key != FamilyIncandescent || len(r.Continuum) != s.Len() || len(r.Noise) != s.Len() {
		t.Errorf("named %q, continuum of %d and noise of %d for %d samples", r.Family.Name, len(r.Continuum), len(r.Noise), s.Len())
	}
}

func TestNoiseAloneHasNoLines(t *testing.T) {
	lines, elements, n := 0, 0, 0
	for _, shape := range []struct{ from, to, pitch float64 }{{350, 1000, 0.3}, {380, 780, 1}, {250, 900, 0.5}, {200, 1000, 0.25}} {
		for k := range 250 {
			rng := rand.New(rand.NewPCG(uint64(k), uint64(shape.pitch*1000)))
			c := newCurve(shape.from, shape.to, shape.pitch, 1)
			level := 0.0
			if k%2 == 1 {
				level = 30 // on a continuum
			}
			for i := range c.y {
				c.y[i] = level + rng.NormFloat64()
			}
			s, _ := spectrum.New(spectrum.Counts, c.x, c.y)
			r, err := Analyse(s, Options{})
			if err != nil {
				t.Fatal(err)
			}
			n++
			lines += len(r.Lines)
			elements += len(r.Elements)
		}
	}
	t.Logf("%d false lines and %d false elements in %d spectra", lines, elements, n)
	if lines*100 >= n || elements > 0 {
		t.Errorf("%d false lines, %d false elements in %d spectra", lines, elements, n)
	}
}
