package photometry_test

import (
	"fmt"

	"lampassay/light/photometry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func Example() {
	lamp, err := standards.IlluminantByName("FL11")
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := lamp.Spectrum.Project(spectrum.Tabulated)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f lm/W, S/P %.2f, melanopic DER %.2f\n",
		photometry.LER(p), photometry.SPRatio(p), photometry.DER(photometry.Melanopic, p))

	luminance, m, err := photometry.Mesopic(0.3, photometry.SPRatio(p))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("a road at 0.3 cd/m² is seen as %.2f cd/m² (m = %.2f)\n", luminance, m)
	// Output:
	// 337 lm/W, S/P 1.60, melanopic DER 0.56
	// a road at 0.3 cd/m² is seen as 0.34 cd/m² (m = 0.61)
}
