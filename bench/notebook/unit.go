package notebook

import (
	"math"
	"slices"
	"strings"
)

// footcandle is one lumen a square foot in lux: 1/0.3048², the international foot
// being 0.3048 m exactly.
const footcandle = 1 / (0.3048 * 0.3048)

// spelt are other ways in which instruments write a unit, with its worth in the
// unit as it is written here.
var spelt = map[string]struct {
	unit  string
	worth float64
}{
	"lux": {"lx", 1}, "lumen": {"lm", 1}, "lumens": {"lm", 1}, "watt": {"W", 1}, "watts": {"W", 1}, "w": {"W", 1},
	"volt": {"V", 1}, "volts": {"V", 1}, "v": {"V", 1}, "ampere": {"A", 1}, "amperes": {"A", 1}, "amp": {"A", 1}, "amps": {"A", 1}, "a": {"A", 1},
	"hertz": {"Hz", 1}, "hz": {"Hz", 1}, "kelvin": {"K", 1},
	"c": {"°C", 1}, "degc": {"°C", 1}, "deg c": {"°C", 1}, "celsius": {"°C", 1},
	"fc": {"lx", footcandle}, "footcandle": {"lx", footcandle}, "footcandles": {"lx", footcandle}, "lm/ft²": {"lx", footcandle}, "lm/ft2": {"lx", footcandle},
	"klux": {"lx", 1e3},
}

// prefixes are those of the SI that meters choose among (SI brochure, table 7).
var prefixes = []struct {
	sign  string
	worth float64
}{{"n", 1e-9}, {"µ", 1e-6}, {"μ", 1e-6}, {"u", 1e-6}, {"m", 1e-3}, {"k", 1e3}, {"M", 1e6}}

// prefixed are the units that prefixes are read before. Others are whole words: m
// before them could be anything.
var prefixed = []string{"lx", "lm", "W", "V", "A", "Hz", "VA", "var", "Wh", "cd", "Ω"}

// unitOf is the unit that a text means, and what one of it is worth in that unit.
func unitOf(text string) (unit string, worth float64) {
	text = strings.TrimSpace(text)
	if slices.Contains(prefixed, text) {
		return text, 1
	}
	if s, ok := spelt[strings.ToLower(text)]; ok {
		return s.unit, s.worth
	}
	for _, p := range prefixes {
		if rest, ok := strings.CutPrefix(text, p.sign); ok && slices.Contains(prefixed, rest) {
			return rest, p.worth
		}
	}
	return text, 1
}

// In returns the number in another unit, where both are the same but for a prefix of
// the SI, the spelling, or lumens a square foot for lux. ok is false where they are
// not, or where there is no number.
func (v *Value) In(unit string) (x float64, ok bool) {
	if v.V == nil {
		return 0, false
	}
	from, each := unitOf(v.Unit)
	to, per := unitOf(unit)
	if from != to {
		return 0, false
	}
	if each == per {
		return *v.V, true
	}
	x = *v.V * each / per
	return x, !math.IsInf(x, 0)
}
