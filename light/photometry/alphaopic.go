package photometry

import (
	"fmt"
	"sync"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// AlphaOpic is one of the five responses of CIE S 026.
type AlphaOpic uint8

// The responses.
const (
	SCone AlphaOpic = iota
	MCone
	LCone
	Rhodopic
	Melanopic
	alphaCount
)

var alphaNames = [alphaCount]string{"S-cone-opic", "M-cone-opic", "L-cone-opic", "rhodopic", "melanopic"}

// String returns the response's name in CIE S 026.
func (a AlphaOpic) String() string {
	if a < alphaCount {
		return alphaNames[a]
	}
	return fmt.Sprintf("AlphaOpic(%d)", uint8(a))
}

// Weighting returns the action spectrum.
func (a AlphaOpic) Weighting() *spectrum.Weighting { return alpha().spectra[a] }

// alpha holds the action spectra and their efficacies of luminous radiation for
// D65, W/lm.
var alpha = sync.OnceValue(func() (t struct {
	spectra [alphaCount]*spectrum.Weighting
	d65     [alphaCount]float64
}) {
	s := standards.AlphaOpic()
	t.spectra = [...]*spectrum.Weighting{s.SCone, s.MCone, s.LCone, s.Rhodopic, s.Melanopic}
	d65, err := standards.IlluminantByName("D65")
	if err != nil {
		panic(err) // the table is compiled in
	}
	p, err := d65.Spectrum.Project(spectrum.Sampled)
	if err != nil {
		panic(err)
	}
	for a, w := range t.spectra {
		t.d65[a] = w.Of(p) / Luminous(p)
	}
	return t
})

// Effective returns ∫ S s_α dλ: the α-opic quantity, W where the spectrum is in
// W/nm (CIE S 026:2018).
func Effective(a AlphaOpic, p *spectrum.Projected) float64 { return a.Weighting().Of(p) }

// ELR returns the α-opic efficacy of luminous radiation K_α,v in W/lm (CIE S
// 026:2018 3.4; the standard tabulates mW/lm).
func ELR(a AlphaOpic, p *spectrum.Projected) float64 { return ratio(Effective(a, p), Luminous(p)) }

// ELRDaylight returns the efficacy of luminous radiation of D65 in W/lm, the
// illuminant taken straight between the entries of its table (CIE 15:2018
// clause 4.1.2). That gives the figures of CIE S 026 to all four decimals of
// mW/lm; the plain sum at 5 nm would be up to 0.0002 mW/lm off.
func ELRDaylight(a AlphaOpic) float64 { return alpha().d65[a] }

// DER returns the α-opic daylight (D65) efficacy ratio (CIE S 026:2018).
func DER(a AlphaOpic, p *spectrum.Projected) float64 { return ELR(a, p) / ELRDaylight(a) }

// EDI returns the α-opic equivalent daylight (D65) illuminance in lx of an
// irradiance spectrum (CIE S 026:2018), the illuminance of D65 that is as
// effective. Of a radiance spectrum it is the equivalent daylight luminance.
func EDI(a AlphaOpic, p *spectrum.Projected) float64 { return Effective(a, p) / ELRDaylight(a) }
