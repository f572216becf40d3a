package claims_test

import (
	"fmt"

	"lampassay/assay/claims"
	"lampassay/assay/comparison"
)

// An invented bulb of which the box promises 806 lm.
func ExampleJudge() {
	box, err := claims.NewClaim("luminous_flux", "806", "lm")
	if err != nil {
		fmt.Println(err)
		return
	}
	measured, err := claims.Of(nil, comparison.Figure{Lamp: "bulb", Value: 712, Unit: "lm", Causes: []comparison.Cause{
		{Name: "light meter scale", U: 18}, {Name: "spectral mismatch", U: 21, Own: true},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	j := claims.Judge(box, measured, claims.Tables()...)
	fmt.Println(j.Words())
	fmt.Printf("%s, n = %d, %s\n", j.Reading(), measured.Units, j.Tolerance())
	fmt.Println(j.Rule())
	fmt.Println(j.Settle())
	// Output:
	// inconclusive: looks low, not proven
	// 712 ± 55 lm, n = 1, not less than 725.4 lm (−10 %)
	// Regulation (EU) 2019/2015, Annex IX, Table 9, useful luminous flux Φ_use, mean of 10
	// at this value U below 13 lm would decide it; its largest part is the spectral mismatch
}
