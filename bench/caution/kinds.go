package caution

// kind is a kind of lamp, or, without a name, words that tell of a trait whatever the
// lamp is.
type kind struct {
	name   string
	words  []string // phrases of which one tells of it; "a + b" is both, "a*" begins a word
	unless []string // phrases beside which they mean something else
	traits Trait
	warmUp string // common practice, without a source
}

const (
	lowSodium  = Sodium | Gear | Heat | Restrike
	highSodium = Mercury | Gear | Ignitor | Heat | Pressure | OuterBulb | Restrike
	halide     = Mercury | Gear | Ignitor | Heat | Pressure | OuterBulb | Restrike | Glare
	highHg     = Mercury | Gear | Heat | Pressure | OuterBulb | Restrike
	lowHg      = Mercury | Gear | Ultraviolet
	shortArc   = ColdPress | Ultraviolet | Gear | Ignitor | Pressure | Heat | Glare
	// discharge is what a discharge lamp of any kind may be.
	discharge = highSodium | halide | highHg | Ultraviolet
)

var (
	isLED = []string{"led", "light emitting diode", "cob"}
	// forUV are what lamps are called that are made for ultraviolet.
	forUV  = []string{"uv*", "ultraviolet", "ultra violet", "germicid*", "bactericid*", "steril*", "disinfect*", "black light", "blb", "woods lamp", "woods glass", "tanning", "solarium", "sun bed", "sun lamp", "actinic", "excimer", "tuv", "puva", "erythem*", "phototherapy", "insect trap", "insect killer", "reptile", "nail lamp", "curing"}
	noHg   = []string{"mercury free", "free of mercury", "hg free", "without mercury", "no mercury"}
	lowPr  = []string{"low pressure", "lp"}
	highPr = []string{"high pressure", "hp"}
)

// kinds is the table, looked through in order for the name. Letters such as SON or
// HQI are what such lamps are called in the trade and printed with.
var kinds = []kind{
	{"low-pressure sodium",
		[]string{"low pressure + sodium", "lp sodium", "lps", "sox*", "by22d"}, nil,
		lowSodium, "Let it warm up: about fifteen minutes until sodium has taken over from neon"},
	{"high-pressure sodium",
		[]string{"high pressure + sodium", "hp sodium", "hps", "son", "son t", "son e", "son h", "son td", "sdw", "nav", "nav t", "nav e", "white son", "hst", "hse", "shp"}, nil,
		highSodium, "Let it warm up: about ten to fifteen minutes"},
	{"sodium",
		[]string{"sodium"}, concat(lowPr, highPr, []string{"lps", "hps", "sox*", "son", "son t"}),
		lowSodium | highSodium, "Let it warm up: about fifteen minutes"},
	{"metal halide",
		[]string{"halide", "mh", "cmh", "mhl", "hqi*", "hci", "hci t", "cdm*", "hmi", "hit", "hie", "msr", "msd", "mhn*", "ceramic arc", "ceramic discharge", "g12", "g8 5", "gu6 5", "rx7s"}, nil,
		halide, "Let it warm up: about fifteen minutes, its colour settles last"},
	{"xenon short arc",
		[]string{"short arc", "xbo", "hbo", "xenon arc", "mercury + xenon", "hg xe", "xe hg"}, noHg,
		shortArc, "Let it warm up"},
	{"xenon flash",
		[]string{"flash*", "strobe*", "stroboscop*"}, isLED,
		HighVoltage | Capacitor | Flashing | Glare | Ultraviolet | Heat, "Let it flash until its light stands still"},
	{"xenon headlamp",
		[]string{"xenon + headlight", "xenon + headlamp", "xenon + car", "d1s", "d1r", "d2s", "d2r", "d3s", "d3r", "d4s", "d4r", "xenon hid", "hid xenon"}, nil,
		Gear | Ignitor | Mercury | Pressure | Heat | Glare | Ultraviolet | Restrike, "Let it warm up: a few minutes"},
	{"xenon",
		[]string{"xenon", "krypton arc"}, []string{"short arc", "xbo", "excimer", "incandescent", "filament", "halogen", "tungsten"},
		shortArc | Mercury, "Let it warm up"},
	{"projector lamp",
		[]string{"uhp", "projector", "projection"}, concat(isLED, []string{"laser", "halogen"}),
		halide | Ultraviolet, "Let it warm up: about ten minutes, with its fan running"},
	{"deuterium",
		[]string{"deuterium", "d2 lamp", "hydrogen"}, nil,
		Ultraviolet | Gear | HighVoltage | Heat, "Let it warm up behind its enclosure: half an hour"},
	{"ultraviolet LED",
		concat([]string{"uvled", "leduv"}, together(forUV, isLED)), nil,
		Ultraviolet | Glare, "Let it warm up behind its enclosure: until its heat sink has settled"},
	{"germicidal or black light",
		forUV, concat(isLED, []string{"uvled", "leduv", "deuterium", "laser"}),
		lowHg, "Let it warm up behind its enclosure"},
	{"high-pressure mercury",
		[]string{"high pressure + mercury", "mercury vapour", "mercury vapor", "hp mercury", "hpl n", "hql*", "hwl", "hme", "mbf*", "blended light", "self ballasted mercury", "medium pressure + mercury"}, concat(lowPr, noHg),
		highHg, "Let it warm up: about ten minutes"},
	{"low-pressure mercury",
		[]string{"low pressure + mercury", "lp mercury", "low pressure + hg"}, noHg,
		lowHg, "Let it warm up behind its enclosure"},
	{"line lamp",
		[]string{"mercury argon", "hg ar", "argon mercury", "hg cd", "line lamp", "spectral lamp", "spectrum tube", "pen lamp", "pencil lamp", "hollow cathode", "cadmium", "caesium", "cesium", "thallium", "zinc"}, nil,
		Mercury | Ultraviolet | HighVoltage | Gear | Heat, "Let it warm up: about ten minutes"},
	{"mercury",
		[]string{"mercury", "hg"}, concat(lowPr, highPr, noHg, []string{"compact", "vapour", "vapor", "argon", "halide", "hg ar", "sodium", "amalgam"}),
		highHg | Ultraviolet, "Let it warm up: about ten minutes"},
	{"laser",
		[]string{"laser*", "supercontinuum"}, nil,
		Laser | Glare, "Let it warm up until light and power stand still"},
	{"LED",
		isLED, nil,
		Glare | Flashing, "Let it warm up: half an hour or more, until its heat sink has settled"},
	{"compact fluorescent",
		[]string{"compact fluorescent", "cfl", "cfli", "energy saver", "energy saving", "pl s", "pl c", "pl l", "pl t", "2d lamp", "g23", "g24d", "g24q", "gx24q", "2g7", "2g10", "2g11"}, nil,
		Mercury | Gear | Flashing, "Let it warm up: up to half an hour where its mercury is bound in an amalgam"},
	{"cold cathode",
		[]string{"cold cathode", "ccfl", "eefl"}, nil,
		Mercury | Gear | HighVoltage, "Let it warm up: about fifteen minutes"},
	{"induction",
		[]string{"induction", "electrodeless", "inductively"}, nil,
		Mercury | Gear | Heat, "Let it warm up: about fifteen minutes"},
	{"fluorescent",
		[]string{"fluoresc*", "flouresc*", "floresc*", "fluoro", "triphosphor", "halophosphate", "tl d", "tl5", "g13", "g10q"}, nil,
		Mercury | Gear | Flashing, "Let it warm up: about fifteen minutes, out of the draught"},
	{"fluorescent",
		[]string{"t5", "t8", "t9", "t12", "t16", "t26", "t38", "tube", "phosphor"}, concat(isLED, []string{"halogen", "incandescent", "filament", "tungsten", "sodium", "neon", "laser"}),
		Mercury | Gear | Flashing, "Let it warm up: about fifteen minutes, out of the draught"},
	{"plasma",
		[]string{"plasma", "sulphur", "sulfur", "microwave", "lep"}, nil,
		Gear | Heat | Pressure | Glare | Ultraviolet, "Let it warm up: a few minutes"},
	{"neon",
		[]string{"neon", "geissler"}, []string{"led", "sodium"},
		Gear | HighVoltage | Mercury, "Let it warm up: a few minutes"},
	{"carbon arc",
		[]string{"carbon arc", "arc lamp", "arc light", "yablochkov"}, []string{"short arc", "xenon"},
		discharge, "Let it burn until its light stands still"},
	{"discharge lamp",
		[]string{"discharge", "hid"}, []string{"ceramic discharge", "xenon"},
		discharge, "Let it warm up: about fifteen minutes"},
	{"tungsten halogen",
		[]string{"halogen", "qth", "r7s", "g9", "gy6 35", "gu5 3"}, isLED,
		Heat | Pressure | Glare, "Let it warm up: a few minutes, its housing takes longer"},
	{"incandescent",
		[]string{"incandescent", "filament", "tungsten", "gls", "carbon filament", "heat lamp", "infrared"}, isLED,
		Heat | Glare, "Let it warm up: a few minutes"},

	// What tells of a trait and not of a kind.
	{words: []string{"bare quartz", "quartz + halogen", "quartz + tungsten", "quartz iodine", "qth"}, traits: Ultraviolet},
	{words: []string{"hmi", "hqi ts", "double ended", "msr"}, unless: isLED, traits: Ultraviolet},
	{words: []string{"mercury", "hg", "amalgam", "hbo"}, unless: noHg, traits: Mercury},
	{words: []string{"ballast", "choke", "control gear", "starter", "electronic gear", "magnetic gear", "hf gear"}, unless: append([]string{"self ballasted"}, isLED...), traits: Gear},
	{words: []string{"ignitor", "igniter", "superimposed pulse"}, traits: Gear | Ignitor},
	{words: []string{"capacitor", "condenser", "pfc"}, traits: Capacitor},
	{words: []string{"high voltage", "hv", "kv", "eht", "inverter", "neon transformer"}, traits: HighVoltage},
	{words: []string{"spot", "spotlight", "searchlight", "floodlight", "par", "high power", "headlight"}, traits: Glare},
	{words: []string{"flash*", "strobe*", "stroboscop*", "pulsed", "pwm", "flicker*", "dimmed", "dimmable"}, traits: Flashing},
	{words: []string{"vintage", "antique", "historic", "pcb"}, traits: Old},
}

// together pairs each phrase of one list with each of another.
func together(a, b []string) (all []string) {
	for _, one := range a {
		for _, other := range b {
			all = append(all, one+" + "+other)
		}
	}
	return all
}

// concat joins lists of phrases.
func concat(lists ...[]string) (all []string) {
	for _, l := range lists {
		all = append(all, l...)
	}
	return all
}
