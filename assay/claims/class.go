package claims

import (
	"fmt"

	"lampassay/assay/conformity"
)

// classFloor returns the lowest total mains efficacy η_TM of an energy class, in
// lm/W, by climbing the classes: what a lamp lacks to the next class tells where
// that begins.
func classFloor(letter string) (float64, error) {
	for floor, eta := 0.0, 1.0; ; eta = floor {
		class, err := conformity.EnergyClass(eta, 1, conformity.LightSource{Mains: true})
		if err != nil {
			return 0, err
		}
		if class.Letter == letter {
			return floor, nil
		}
		if class.Next == "" {
			return 0, fmt.Errorf("claims: there is no energy class %q: they are A to G", letter)
		}
		floor = eta / (1 - class.LessPower)
	}
}
