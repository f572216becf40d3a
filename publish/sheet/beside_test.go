package sheet

import (
	"context"
	"errors"
	"regexp"
	"strings"
	"testing"

	"lampassay/assay/cost"
	"lampassay/assay/ladder"
)

// besideLamps are specimens with their ladders; the rival is invented.
func besideLamps(t *testing.T) []Lamp {
	t.Helper()
	lamps := lampsOf(t)
	best := func(_ context.Context, x, _, _ float64) (ladder.Rival, error) {
		if x < 0.3 {
			return ladder.Rival{}, errors.New("no light was found")
		}
		return ladder.Rival{LER: 480, Text: "lines at 460, 530, 610 nm"}, nil
	}
	for i := range lamps {
		l, err := ladder.Of(context.Background(), lamps[i].Result, ladder.Options{Best: best, Gear: 0.9})
		if err != nil {
			t.Fatal(err)
		}
		lamps[i].Ladder = l
	}
	return lamps
}

// bill is for invented lamps and terms.
func bill(t *testing.T) *cost.Report {
	t.Helper()
	r, err := cost.Compute(context.Background(), []cost.Lamp{
		{Name: "Tungsten filament", Flux: cost.Value{Value: 710, U: 20}, Power: cost.Exactly(60), Price: cost.Exactly(1), Life: cost.Exactly(1000)},
		{Name: "Phosphor LED", Flux: cost.Value{Value: 806, U: 25}, Power: cost.Value{Value: 8.5, U: 0.1}, Price: cost.Exactly(4), Life: cost.Exactly(15000)},
		{Name: "Tube <b>", Flux: cost.Exactly(3350), Power: cost.Exactly(41)},
	}, cost.Terms{Hours: cost.Exactly(1000), Tariff: cost.Exactly(0.3), Carbon: cost.Exactly(0.25), Currency: "EUR"})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestAComparisonSetsLaddersAndCostsSideBySide(t *testing.T) {
	page := comparisonOf(t, besideLamps(t), Options{Cost: bill(t)})
	for _, want := range []string{
		"Against what physics allows", "What each lamp gives, of what its spectrum and its colour allow", `<span class="mark">assumed</span>`,
		"What the light costs", "Cost of energy and lamps for a million lumen-hours, EUR", "Phosphor LED in place of Tungsten filament, for the same light",
		"It pays for itself within its life.", "needs the price of Tube &lt;b&gt;",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not hold %q", want)
		}
	}
	if strings.Contains(page, "<b>") {
		t.Error("markup of a lamp's name came through")
	}
	_, body, _ := strings.Cut(page, "<body>")
	if n := regexp.MustCompile(`NaN|\bInf\b`).FindString(body); n != "" {
		t.Errorf("the page prints %q", n)
	}
}

func TestWithoutLaddersAndCostsNothingIsSaidOfThem(t *testing.T) {
	page := comparisonOf(t, lampsOf(t), Options{})
	for _, not := range []string{"Against what physics allows", "What the light costs"} {
		if strings.Contains(page, not) {
			t.Errorf("the page holds %q", not)
		}
	}
}

func TestASheetHasTheLadderAndTheSamplesUnderTheLamp(t *testing.T) {
	for _, l := range besideLamps(t) {
		page := sheetOf(t, l, Options{})
		if l.Ladder != nil && !strings.Contains(page, "of what the eye could have") {
			t.Errorf("%s: no ladder", l.Name)
		}
		if !strings.Contains(page, "The same samples in daylight and under this lamp") {
			t.Errorf("%s: no samples", l.Name)
		}
	}
}
