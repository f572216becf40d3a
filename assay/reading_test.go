package assay

import (
	"encoding/json"
	"math"
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

func TestTheRecordCarriesTheUncertainty(t *testing.T) {
	r := withSpread(quantity.CCT, 2998, &Spread{U: 38.21234, Low: 2923, High: 3073.4, LawU: 38, Straight: true,
		Budget: []Share{{Input: 1, U: 30, Share: 0.9}, {Input: 0, U: 10, Share: 0.095}, {Input: 0, U: 1, Share: 0.005}}})
	r.Uncertainty.Draws, r.Uncertainty.Coverage = 20_000, 0.95
	r.Uncertainty.Inputs = []UncertainInput{{Name: "a \"b\"", Unit: "nm", U: 0.1, Assumed: true}, {Name: "noise", Value: math.NaN(), U: math.NaN()}}
	r.Uncertainty.Chromaticity = [3]float64{math.NaN(), 1, 1}
	line := NewRecorder([]quantity.ID{quantity.CCT}).Append(nil, &Input{}, r, nil)
	var got struct {
		Quantities map[string]struct {
			U          float64
			Interval95 []float64
			Budget     []struct {
				Input    string
				U, Share float64
			}
		}
		Uncertainty struct {
			Draws  int
			Inputs []struct {
				Name    string
				U       *float64
				Default bool
			}
			Chromaticity *struct{}
		}
	}
	if err := json.Unmarshal(line, &got); err != nil {
		t.Fatalf("%v\n%s", err, line)
	}
	q := got.Quantities["cct"]
	if q.U != 38.212 || len(q.Interval95) != 2 || q.Interval95[1] != 3073.4 {
		t.Errorf("the record says %+v", q)
	}
	if len(q.Budget) != 2 || q.Budget[0].Input != "noise" || q.Budget[1].Share != 0.095 {
		t.Errorf("budget %+v, want the two lines of at least a hundredth", q.Budget)
	}
	in := got.Uncertainty.Inputs
	if len(in) != 2 || in[0].Name != `a "b"` || !in[0].Default || in[1].U != nil || got.Uncertainty.Chromaticity != nil || got.Uncertainty.Draws != 20_000 {
		t.Errorf("run %+v", got.Uncertainty)
	}
}
