package calibration

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampassay/light/standards"
)

// Lamp is a source of known lines for the wavelength axis.
type Lamp struct {
	Name  string // "mercury-argon"
	Lines []Line // by wavelength
}

// Line is one emission line that may serve as an anchor.
type Line struct {
	Nm       float64 // wavelength in standard air
	Emitter  string  // "Hg I"
	Strength float64 // relative to the strongest of the same emitter, 0 to 1
}

// Only lines that a low-pressure lamp shows strongly are anchors; the weak ones
// would only offer wrong partners. Figures are looked up in the table of
// standards.Lines (NIST), so that they exist once; the choice is from bench
// practice and lists in common use, without a source to cite.
var anchors = map[string][]float64{
	"Hg I": {365.0158, 365.4842, 366.3284, 404.6565, 407.7837, 435.8335, 546.0750, 576.9610, 579.0670},
	"Ar I": {696.5431, 706.7218, 714.7042, 727.2936, 738.3980, 750.3869, 751.4652, 763.5106, 772.3761, 772.4207,
		794.8176, 800.6157, 801.4786, 810.3693, 811.5311, 826.4522, 840.8210, 842.4648, 852.1442, 866.7944,
		912.2967, 922.4499, 935.4220, 965.7786, 978.4503},
	"Ne I": {585.2490, 588.1900, 594.4830, 597.5530, 603.0000, 607.4340, 609.6160, 614.3060, 616.3590, 621.7280,
		626.6500, 630.4790, 633.4430, 638.2990, 640.2250, 650.6530, 653.2880, 659.8950, 667.8280,
		692.9470, 703.2410, 717.3940, 724.5170, 743.8898, 837.7610, 841.8430, 849.5360, 859.1260, 863.4650,
		865.4380, 878.0620, 878.3750},
	"Kr I": {427.3970, 431.9580, 446.3690, 450.2350, 556.2230, 557.0290, 587.0920, 758.7410, 760.1550, 768.5250,
		769.4540, 785.4820, 805.9500, 810.4370, 811.2900, 819.0060, 826.3240, 829.8110, 850.8870, 877.6750, 892.8690},
	"Na I": {568.2633, 568.8205, 588.9950, 589.5924, 818.3256, 819.4824},
	"He I": {388.8647, 447.1474, 471.3148, 492.1931, 501.5678, 587.5615, 587.5966, 667.8152, 706.5196, 728.1351},
	"Xe I": {473.4150, 480.7020, 823.1630, 828.0120, 834.6820, 840.9190, 881.9410, 895.2250, 904.5450, 916.2650, 979.9700, 992.3190},
	"Cd I": {467.8150, 479.9910, 508.5820, 643.8470},
	"H I":  {410.1742, 434.0471, 486.1333, 656.2819},
}

// Lines of mercury below the range of standards.Lines, in standard air. The
// published list gives them to two decimals (±0.02 nm); the further digits are
// from memory of Sansonetti, Salit and Reader, Appl. Opt. 35 (1996) 74, the
// strengths from memory alone.
var ultravioletMercury = []Line{
	{253.6521, "Hg I", 1}, {296.7283, "Hg I", 0.08}, {302.1504, "Hg I", 0.04},
	{313.1555, "Hg I", 0.15}, {313.1844, "Hg I", 0.15}, {334.1484, "Hg I", 0.04},
}

// lampElements names the emitters of every lamp on offer.
var lampElements = []struct {
	name     string
	emitters []string
}{
	{"mercury", []string{"Hg I"}},
	{"mercury-argon", []string{"Hg I", "Ar I"}},
	{"mercury-neon", []string{"Hg I", "Ne I"}},
	{"fluorescent tube", []string{"Hg I"}}, // its mercury lines only: phosphors are no anchors
	{"neon", []string{"Ne I"}},
	{"argon", []string{"Ar I"}},
	{"krypton", []string{"Kr I"}},
	{"xenon", []string{"Xe I"}},
	{"sodium", []string{"Na I"}},
	{"helium", []string{"He I"}},
	{"cadmium", []string{"Cd I"}},
	{"hydrogen", []string{"H I"}},
}

// LampNames returns the names [LampByName] knows.
func LampNames() []string {
	var names []string
	for _, l := range lampElements {
		names = append(names, l.name)
	}
	return names
}

// LampByName returns a lamp's lines. Letter case, spaces and hyphens do not
// matter, and the symbols of the elements do as well ("Hg-Ar").
func LampByName(name string) (Lamp, error) {
	plain := strings.NewReplacer(" ", "", "-", "", "+", "", "_", "")
	wanted := plain.Replace(strings.ToLower(name))
	for _, l := range lampElements {
		symbols := ""
		for _, e := range l.emitters {
			symbols += strings.ToLower(strings.TrimSuffix(e, " I"))
		}
		if wanted == plain.Replace(l.name) || (wanted == symbols && l.name != "fluorescent tube") {
			return newLamp(l.name, l.emitters), nil
		}
	}
	return Lamp{}, fmt.Errorf("calibration: no calibration lamp is called %q: known are %s", name, strings.Join(LampNames(), ", "))
}

func newLamp(name string, emitters []string) Lamp {
	lamp := Lamp{Name: name}
	for _, e := range emitters {
		strongest := 0.0
		var own []Line
		for _, l := range standards.Lines() {
			if l.Spectrum == e && slices.Contains(anchors[e], l.Nm) {
				own = append(own, Line{l.Nm, e, l.Intensity})
				strongest = max(strongest, l.Intensity)
			}
		}
		for i := range own {
			own[i].Strength /= strongest
		}
		if e == "Hg I" {
			own = append(own, ultravioletMercury...)
		}
		lamp.Lines = append(lamp.Lines, own...)
	}
	slices.SortFunc(lamp.Lines, func(a, b Line) int { return cmp.Compare(a.Nm, b.Nm) })
	return lamp
}

// feature is what an instrument of a given bandwidth makes of one line or of
// several that it does not separate.
type feature struct {
	nm       float64 // intensity-weighted place
	u        float64 // how uncertain the unknown ratio of the members leaves it
	strength float64
	// logStrength is its logarithm, which the search asks for often.
	logStrength float64
	// wide tells that the members spread over more than the bandwidth: the
	// group's middle is anybody's guess and no anchor.
	wide  bool
	lines []Line
}

// ratioSpread is by how much the ratio of two lines of a real lamp departs from
// the listed one, as a standard deviation of the logarithm. Own estimate: lists
// hold eye-estimated intensities of various discharges.
const ratioSpread = 0.7

// features merges the lines that an instrument of the given bandwidth (FWHM, nm)
// shows as one maximum.
func (l *Lamp) features(fwhm float64) []feature {
	var all []feature
	var group []Line
	flush := func() {
		if len(group) > 0 {
			f := merge(group)
			f.wide = group[len(group)-1].Nm-group[0].Nm > 0.8*fwhm
			all = append(all, f)
		}
		group = nil
	}
	// Two equal Gaussians make one maximum up to a distance of two standard
	// deviations, unequal ones up to a little more.
	reach := 2 * sigmaPerFWHM * fwhm * 1.1
	for _, line := range l.Lines {
		if len(group) > 0 && line.Nm-group[len(group)-1].Nm > reach {
			flush()
		}
		group = append(group, line)
	}
	flush()
	return all
}

func merge(lines []Line) feature {
	f := feature{lines: lines}
	for _, l := range lines {
		f.strength += l.Strength
		f.nm += l.Nm * l.Strength
	}
	f.nm /= f.strength
	square := 0.0
	for _, l := range lines {
		d := l.Strength / f.strength * (l.Nm - f.nm) * ratioSpread
		square += d * d
	}
	f.u, f.logStrength = math.Sqrt(square), math.Log(f.strength)
	return f
}

// name returns the feature's emitter and place as a reader writes them.
func (f *feature) name() string {
	if len(f.lines) == 1 {
		return fmt.Sprintf("%s %.3f", f.lines[0].Emitter, f.lines[0].Nm)
	}
	first, last := f.lines[0], f.lines[len(f.lines)-1]
	return fmt.Sprintf("%s %.2f–%.2f, unresolved", first.Emitter, first.Nm, last.Nm)
}
