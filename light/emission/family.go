package emission

import (
	"cmp"
	"fmt"
	"math"
	"slices"
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

// hasPhosphor reports whether it is a kind of lamp in which mercury excites a
// phosphor.
func (f *Family) hasPhosphor() bool {
	switch f.Key {
	case FamilyMercuryCoated, FamilyHalophosphate, FamilyTriphosphor, FamilyMultiband, FamilyBlacklight:
		return true
	}
	return false
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
	reasons   []reason
}

// reason is a sentence that is put together only where its candidate wins.
type reason struct {
	format string
	values []any
}

func (c *candidate) because(format string, values ...any) {
	c.reasons = append(c.reasons, reason{format, values})
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
	f := Family{Key: all[0].key, Name: all[0].name, Score: min(all[0].score, 0.99)}
	for _, r := range all[0].reasons {
		f.Reasons = append(f.Reasons, fmt.Sprintf(r.format, r.values...))
	}
	for _, c := range all[1:] {
		if c.score >= 0.15 {
			f.Alternatives = append(f.Alternatives, Alternative{c.key, c.name, c.score})
		}
	}
	return f
}

func (p *portrait) medianNoise() float64 {
	n := len(p.t.sigma)
	s := p.t.floats.take(2 * n)
	copy(s, p.t.sigma)
	return quantileIn(s[:n], s[n:], 0.5)
}

// percent formats a share.
func percent(x float64) string {
	p := math.Round(100 * x)
	if p < 0 {
		return fmt.Sprintf("−%.0f %%", -p)
	}
	return fmt.Sprintf("%.0f %%", math.Abs(p)) // no negative zero
}
