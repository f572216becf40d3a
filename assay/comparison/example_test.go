package comparison_test

import (
	"fmt"

	"lampassay/assay/comparison"
	"lampassay/assay/quantity"
)

// Two invented bulbs under one light meter: its scale is worth 5 % to each and
// nothing to their ratio.
func ExampleBetween() {
	bulb := func(name string, lumens float64) comparison.Figure {
		return comparison.Figure{Lamp: name, Value: lumens, Unit: "lm", Causes: []comparison.Cause{
			{Name: "light meter scale", U: 0.05 * lumens},
			{Name: "spectral mismatch", U: 0.015 * lumens, Own: true},
		}}
	}
	pair, err := comparison.Between(bulb("A", 800), bulb("B", 896), comparison.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(pair.Sentence(quantity.Get(quantity.LuminousFlux), "A", "B"))
	// Output:
	// B gives 12 % more light than A (7 to 17)
}
