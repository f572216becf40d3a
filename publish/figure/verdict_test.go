package figure

import (
	"math"
	"strings"
	"testing"
)

// verdictPictures are invented claims and rankings, and the awkward ones.
func verdictPictures(t testing.TB) map[string]*Picture {
	made := must(t)
	inf := math.Inf(1)
	rows := []VerdictRow{
		{"Luminous flux", 806, 712, 640, 784, 725.4, inf, "806 lm", "712 ± 72 lm", "inconclusive: looks low, not proven"},
		{"Power at the mains", 9, 9.3, 8.98, 9.62, -inf, 9.45, "9 W", "9.30 ± 0.32 W", "inconclusive: no conflict found"},
		{"General colour rendering index", 80, 73.2, 72.3, 74.1, 78, inf, "80", "73.20 ± 0.92", "outside tolerance"},
		{"Correlated colour temperature", 6500, 6510, 6360, 6660, 5850, 7150, "6500 K", "6510 ± 150 K", "consistent"},
		{"Beam angle", 36, 36, 34, 38, 27, 45, "36°", "36.0 ± 2.0°", "consistent"},
	}
	places := []RankedLamp{
		{"Goods shed bulb", 111, 100, 123, "111 ± 12", []int{0}, "1 to 2"},
		{"Level crossing lamp", 97, 80, 114, "97 ± 17", []int{0, 1}, "1 to 3"},
		{"Harbour panel", 80.5, 73, 89, "80.5 ± 8.2", []int{1, 2}, "2 to 4"},
		{"Lathe bulb", 76.6, 69, 84, "76.6 ± 7.7", []int{2}, "3 to 4"},
		{"Station spotlight", 16.5, 15.1, 17.9, "16.5 ± 1.4", []int{3}, "5"},
	}
	long := strings.Repeat("a lamp with a long name ", 5)
	return map[string]*Picture{
		"claims":     made(Verdicts{Lamp: "Lathe bulb", Rows: rows, Note: "n = 1; invented."}.Picture()),
		"claims-one": made(Verdicts{Rows: []VerdictRow{{"Duv", -0.002, -0.004, -0.005, -0.003, -0.003, -0.001, "−0.002", "−0.0040 ± 0.0010", "outside tolerance"}}}.Picture()),
		"ranking":    made(Ranking{Quantity: "Luminous efficacy", Unit: "lm/W", Places: places}.Picture()),
		"ranking-indices": made(Ranking{Quantity: "General colour rendering index", Places: []RankedLamp{
			{long, 97.5, 97.1, 97.9, "97.5 ± 0.5", []int{0}, "1"}, {"B", -45, -46, -44, "−45.0 ± 1.0", []int{1}, "2"}}}.Picture()),
		"ranking-one": made(Ranking{Quantity: "Power", Unit: "W", Places: []RankedLamp{{"A", 8, 8, 8, "8", []int{0}, "1"}}}.Picture()),
	}
}

func TestClaimsAndRankingsWithoutNumbersAreRefused(t *testing.T) {
	nan := math.NaN()
	for name, draw := range map[string]func() (*Picture, error){
		"no claims":      Verdicts{}.Picture,
		"no value":       Verdicts{Rows: []VerdictRow{{Declared: 1, Value: nan}}}.Picture,
		"nothing":        Verdicts{Rows: []VerdictRow{{Declared: 0, Value: 1, Low: 1, High: 1}}}.Picture,
		"no lamps":       Ranking{}.Picture,
		"no group":       Ranking{Places: []RankedLamp{{Value: 1, Low: 1, High: 1}}}.Picture,
		"wrong interval": Ranking{Places: []RankedLamp{{Value: 1, Low: 2, High: 1, Groups: []int{0}}}}.Picture,
	} {
		if _, err := draw(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestGroupsThatDoNotMeetShareAColumn(t *testing.T) {
	r := Ranking{Places: []RankedLamp{{Groups: []int{0}}, {Groups: []int{0, 1}}, {Groups: []int{1}}, {Groups: []int{2}}}}
	if column, n := r.columns(); n != 2 || column[0] != 0 || column[1] != 1 || column[2] != 0 {
		t.Errorf("columns %v of %d", column, n)
	}
}
