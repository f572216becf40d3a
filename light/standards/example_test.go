package standards_test

import (
	"fmt"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// The luminous efficacy of radiation of illuminant A, summed as its table is
// meant to be.
func Example() {
	a, err := standards.IlluminantByName("A")
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := a.Spectrum.Project(spectrum.Tabulated)
	if err != nil {
		fmt.Println(err)
		return
	}
	visible := p.Power[spectrum.Visible]
	fmt.Printf("%.1f lm/W of what is visible, %s\n", 683.002*standards.V().Of(p)/visible, a.Source)
	// Output: 154.1 lm/W of what is visible, ISO/CIE 11664-2:2022, doi:10.25039/CIE.DS.hjfjmt59
}

func ExampleLines() {
	for _, l := range standards.Lines() {
		if l.Spectrum == "Na I" && l.Nm > 580 && l.Nm < 600 {
			fmt.Printf("%s %.2f nm\n", l.Spectrum, l.Nm)
		}
	}
	// Output:
	// Na I 589.00 nm
	// Na I 589.59 nm
}

func ExamplePlanck() {
	fmt.Printf("%.2f\n", standards.Planck(450, 2856)/standards.Planck(560, 2856))
	// Output: 0.33
}
