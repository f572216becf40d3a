package webapp

import (
	"lampassay/assay/quantity"
	"lampassay/light/colorimetry"
	"lampassay/publish/figure"
	"lampassay/publish/sheet"
)

// pointOf is where a lamp's light lies, false where it has no chromaticity.
func pointOf(l *sheet.Lamp) (figure.ChromaticityPoint, bool) {
	r := l.Result
	u, ok := r.Value(quantity.UPrime)
	if !ok {
		return figure.ChromaticityPoint{}, false
	}
	p := figure.ChromaticityPoint{Name: l.Name, U: u, Colour: colorimetry.LightSwatch(r.XYZ)}
	p.V, _ = r.Value(quantity.VPrime)
	if cct, ok := r.Value(quantity.CCT); ok {
		p.CCT = cct
		p.Duv, _ = r.Value(quantity.Duv)
	}
	if s := r.Uncertainty; s != nil {
		if c := s.Chromaticity; c[0] > 0 && c[1] > 0 {
			p.Spread = c
		}
	}
	return p, true
}
