package assay

import (
	"testing"

	"lampassay/assay/quantity"
)

// withSpread is a result in which a quantity has a value and a spread.
func withSpread(id quantity.ID, v float64, s *Spread) *Result {
	r := &Result{Uncertainty: &Uncertainty{}}
	r.set(id, v)
	if s != nil {
		r.Uncertainty.SetSpread(id, s)
	}
	return r
}

func TestAFigureIsReadWithItsUncertainty(t *testing.T) {
	for _, c := range []struct {
		name   string
		id     quantity.ID
		v      float64
		spread *Spread
		want   Reading
	}{
		{"as the GUM rounds", quantity.CCT, 2998.13, &Spread{U: 38.2, Low: 2923, High: 3073}, Reading{Value: "2998", Plus: "± 76"}},
		{"in per cent", quantity.ShareVisible, 0.98341, &Spread{U: 0.00105, Low: 0.9813, High: 0.9855}, Reading{Value: "98.34", Plus: "± 0.21"}},
		{"not assessed", quantity.CCT, 2998.13, nil, Reading{Value: "2998"}},
		{"exact", quantity.Power, 8.5, &Spread{Low: 8.5, High: 8.5}, Reading{Value: "8.50"}},
		// One draw in fifty has another line as the tallest: u tells of a
		// distance that no draw lies at.
		{"of two minds", quantity.PeakWavelength, 611.52, &Spread{U: 9.5, Low: 611.12, High: 611.91}, Reading{Value: "611.52", Interval: "611.12 to 611.91"}},
		{"at its ceiling", quantity.Ra, 99.21, &Spread{U: 0.4, Low: 98.42, High: 100, AtCeiling: true}, Reading{Value: "99.21", Interval: "98.42 to 100.00"}},
	} {
		if got := withSpread(c.id, c.v, c.spread).Reading(c.id); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	none := new(Result)
	none.refuse(notMeasured, quantity.CCT)
	if got := none.Reading(quantity.CCT); got != (Reading{Value: "–"}) {
		t.Errorf("nothing reads %+v", got)
	}
}
