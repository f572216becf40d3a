package assay

import (
	"fmt"
	"math"
	"strings"

	"lampassay/assay/quantity"
	"lampassay/light/photometry"
)

// streetLevels are luminances of lit roads, cd/m²: the lowest and two higher of
// the classes M6, M3 and M1 of EN 13201-2 (from memory).
var streetLevels = [...]float64{0.3, 1, 2}

// seen says how the eye takes the light: what its lumens are worth in the dusk,
// and what light of a single colour does.
func (r *Result) seen() []Finding {
	var f []Finding
	if text := r.atStreetLevels(); text != "" {
		f = append(f, Finding{"in the dusk", text, "CIE 191:2010, constants from memory"})
	}
	if r.IsMonochromatic() && r.InScope(quantity.ChromaticityX) {
		f = append(f, Finding{"one colour", r.oneColourText(), "CIE 13.3-1995 scope; CIE 191:2010"})
	}
	return f
}

// atStreetLevels compares the mesopic with the photopic luminance.
func (r *Result) atStreetLevels() string {
	sp, ok := r.Value(quantity.SPRatio)
	if !ok {
		return ""
	}
	var parts []string
	for _, l := range streetLevels {
		mesopic, _, err := photometry.Mesopic(l, sp)
		if err != nil {
			return ""
		}
		change := 100 * (mesopic/l - 1)
		word := "as much"
		if math.Abs(change) >= 0.5 {
			word = strings.Replace(fmt.Sprintf("%+.0f %%", change), "-", "−", 1)
		}
		parts = append(parts, fmt.Sprintf("%g cd/m² works as %.3g (%s)", l, mesopic, word))
	}
	return fmt.Sprintf("S/P is %.2f: %s, against light of S/P 1; from 5 cd/m² on lumens count as they are", sp, strings.Join(parts, ", "))
}

// oneColourText explains why such light takes colours away, and why it may seem
// dimmer than its lumens.
func (r *Result) oneColourText() string {
	where := ""
	if nm, ok := r.Value(quantity.DominantWavelength); ok && nm > 0 {
		where = fmt.Sprintf(" near %.0f nm", nm)
	}
	text := fmt.Sprintf("%.0f %% of the visible radiation lies within %d nm%s, so surfaces can send back more or less of this one colour and nothing else: things differ in brightness, not in hue, and to an eye used to the light the world looks grey",
		100*r.Monochromatic, monochromaticWindow, where)
	switch sp, ok := r.Value(quantity.SPRatio); {
	case ok && sp < 0.95:
		text += fmt.Sprintf("; in the dusk it also seems dimmer than white light of the same lumens, because the rods, which then take over, hardly answer to it (S/P %.2f)", sp)
	case ok && sp > 1.05:
		text += fmt.Sprintf("; in the dusk it seems brighter than white light of the same lumens, because the rods, which then take over, answer to it more (S/P %.2f)", sp)
	}
	return text
}
