package conformity

import "slices"

// LightSource is what the regulations ask of a lamp's type before its figures
// count.
type LightSource struct {
	// Directional: at least 80 % of the flux within a cone of π sr (120°).
	Directional bool
	// Mains: operated directly on the mains (MLS), gear and all; otherwise the
	// light source needs separate gear (NMLS).
	Mains bool
}

// String returns the regulation's abbreviations, such as "NDLS, MLS".
func (s LightSource) String() string {
	a, b := "NDLS", "NMLS"
	if s.Directional {
		a = "DLS"
	}
	if s.Mains {
		b = "MLS"
	}
	return a + ", " + b
}

// Technology is a kind of light source as the regulations tell them apart.
type Technology struct {
	Key, Name string
	Group     string // led, fl, hid, halogen, incandescent
}

// technologies lists what a rule or a user may name.
var technologies = []Technology{
	{"led", "inorganic LED", "led"},
	{"oled", "organic LED", "led"},
	{"fl-t5-he", "T5 tube, high efficiency", "fl"},
	{"fl-t5-ho", "T5 tube, high output", "fl"},
	{"fl-t5-circular", "T5 circular tube", "fl"},
	{"fl-t8", "T8 tube of 2, 4 or 5 ft", "fl"},
	{"fl-t8-other", "T8 tube of another length", "fl"},
	{"fl-t9-circular", "T9 circular tube", "fl"},
	{"fl-induction", "magnetic induction lamp", "fl"},
	{"cfl", "compact fluorescent lamp without its gear", "fl"},
	{"hps", "high-pressure sodium, single-ended", "hid"},
	{"hps-double", "high-pressure sodium, double-ended", "hid"},
	{"mh", "metal halide, single-ended", "hid"},
	{"mh-ceramic-double", "metal halide, ceramic, double-ended", "hid"},
	{"mh-quartz-double", "metal halide, quartz, double-ended", "hid"},
	{"mercury", "high-pressure mercury", "hid"},
	{"lps", "low-pressure sodium", "lps"},
	{"halogen-capsule", "halogen, G9, G4 or GY6.35", "halogen"},
	{"halogen-r7s", "halogen, R7s", "halogen"},
	{"halogen", "another halogen lamp", "halogen"},
	{"incandescent", "incandescent, not halogen", "incandescent"},
}

// Technologies returns every kind of light source that a rule may name.
func Technologies() []Technology { return slices.Clone(technologies) }

// TechnologyByKey finds a kind of light source.
func TechnologyByKey(key string) (Technology, bool) {
	i := slices.IndexFunc(technologies, func(t Technology) bool { return t.Key == key })
	if i < 0 {
		return Technology{}, false
	}
	return technologies[i], true
}

// Features lists what a maker may have built in that a rule allows for.
func Features() []string {
	return []string{"connected", "colour-tuneable", "anti-glare", "second-envelope", "non-clear"}
}

// Figure is the key of something measured that a limit may be set on.
type Figure string

// figures describes each: how it is read, and how many decimals a declaration
// has (Regulation (EU) 2019/2015 Annex V Table 3).
var figures = []struct {
	Key      Figure
	Name     string
	Unit     string
	Decimals int
}{
	{"ra", "Ra", "", 0},
	{"displacement_factor", "displacement factor", "", 2},
	{"pst_lm", "short-term flicker P_st^LM", "", 1},
	{"svm", "stroboscopic visibility SVM", "", 1},
	{"colour_steps", "colour consistency in MacAdam steps", "", 0},
	{"standby_power", "standby power", "W", 2},
	{"networked_standby_power", "networked standby power", "W", 2},
}

// Figures returns the keys of what a limit may be set on.
func Figures() []Figure {
	keys := make([]Figure, len(figures))
	for i, f := range figures {
		keys[i] = f.Key
	}
	return keys
}

func figureIndex(key Figure) int {
	for i := range figures {
		if figures[i].Key == key {
			return i
		}
	}
	return -1
}

// Lamp is what is known of a lamp under test.
type Lamp struct {
	Source     LightSource
	Technology string   // a key of [Technologies]; "" where not known
	Inferred   bool     // the technology was read off the spectrum, not stated
	Features   []string // of [Features]

	X, Y float64 // chromaticity
	Flux float64 // useful luminous flux Φ_use, lm
	// Power is the on-mode power P_on in W: at the mains for a mains light
	// source, else at its own terminals. 0 where it was not measured.
	Power float64
	// MainsPower and LampPower are both ends of the gear where both were
	// measured, W; else 0.
	MainsPower, LampPower float64
	CCT                   float64 // K; 0 where there is none
	// Measured holds what limits are set on.
	Measured map[Figure]float64
}

func (l *Lamp) group() string {
	t, _ := TechnologyByKey(l.Technology)
	return t.Group
}

func (l *Lamp) has(feature string) bool { return slices.Contains(l.Features, feature) }
