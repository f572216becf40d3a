package rendition_test

import (
	"fmt"

	"lampassay/light/colorimetry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func Example() {
	lamp, err := standards.IlluminantByName("FL2")
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := lamp.Spectrum.Project(spectrum.Tabulated)
	if err != nil {
		fmt.Println(err)
		return
	}
	cct, _, ok := colorimetry.CCT(colorimetry.Tristimulus(standards.CIE1931(), p).UV())
	if !ok || !rendition.HasReference(cct) {
		fmt.Println("nothing to compare with")
		return
	}
	e := rendition.New()
	var cri rendition.CRI
	var tm rendition.TM30
	e.CRI(p, cct, &cri)
	e.Fidelity(p, cct, &tm)
	fmt.Printf("Ra %.0f, R9 %.0f, Rf %.0f, Rg %.0f, SSI %.0f\n", cri.Ra, cri.R[8], tm.Rf, tm.Rg, e.SSI(p, cct))
	// Output:
	// Ra 64, R9 -84, Rf 70, Rg 86, SSI 62
}
