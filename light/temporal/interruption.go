package temporal

import (
	"fmt"
	"math"
)

// Interruption is a time without light after light was there. Times are in s
// after switch-on.
type Interruption struct {
	Out, Back float64 // Back is NaN where the record ends in the dark
	// PowerLost tells whether power went too; without it the lamp itself
	// dropped out.
	PowerLost bool
	// Restrike is the time from power's return to light's, in s: a hot
	// restrike. NaN where power stayed, was not recorded, or light did not come
	// back.
	Restrike float64
}

// Words says what happened, with times written as the caller writes them.
func (i Interruption) Words(span func(seconds float64) string) string {
	text := "light went out at " + span(i.Out)
	if math.IsNaN(i.Back) {
		return text + " and did not come back"
	}
	text += ", was back at " + span(i.Back)
	switch {
	case !math.IsNaN(i.Restrike):
		return text + fmt.Sprintf("; power was lost, and the lamp struck again %s after it returned", span(i.Restrike))
	case i.PowerLost:
		return text + "; power was lost"
	}
	return text + "; power was not seen to fail"
}
