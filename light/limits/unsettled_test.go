package limits

import (
	"errors"
	"strings"
	"testing"
)

// No light of lines has an index of all but 100, and near there differences of the
// colours lose their digits: the answer is how near the method came.
func TestAnIndexVeryNearAHundredIsMissedBySoMuch(t *testing.T) {
	for _, ra := range []float64{99.95, 99.99} {
		o, err := Solve(t.Context(), Conditions{Colour: AtCCT(3000, 0), Demands: []Demand{AtLeast(Ra, ra)}})
		var unsettled *Unsettled
		if err == nil { // met after all
			if got := o.Value(Ra); got < ra-1e-6 {
				t.Errorf("Ra ≥ %g is said to be met by %g", ra, got)
			}
			continue
		}
		if !errors.As(err, &unsettled) || !errors.Is(err, ErrUnsettled) {
			t.Fatalf("Ra ≥ %g: %v", ra, err)
		}
		if !(unsettled.Efficacy > 200 && unsettled.Efficacy < 683) {
			t.Errorf("Ra ≥ %g: it came to %g lm/W", ra, unsettled.Efficacy)
		}
		for _, m := range unsettled.Missed {
			if gap := m.Demand.Value - m.Reached; m.Demand.Measure != Ra || !(gap > 0 && gap < 0.01) {
				t.Errorf("Ra ≥ %g: %+v", ra, m)
			}
		}
		if len(unsettled.Missed) > 0 && !strings.Contains(err.Error(), "misses Ra ≥") {
			t.Errorf("the sentence does not say what is missed: %v", err)
		}
	}
}
