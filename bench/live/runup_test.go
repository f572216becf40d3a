package live

import (
	"testing"
	"time"

	"lampassay/bench/notebook"
	"lampassay/light/temporal"
)

func TestASittingKeepsItsRule(t *testing.T) {
	own := temporal.Usual()
	own.Least, own.Window, own.Every, own.Spread, own.GiveUp = 180, 120, 30, 0.01, 0
	lm, _ := temporal.Published("lm-79-19")
	for name, c := range map[string]struct {
		rule temporal.Criterion
		from string
		want string // how it is called afterwards
	}{
		"a published one":                {lm, "lm-79-19", "lm-79-19"},
		"one's own":                      {own, "en-13032-4", "own rule, begun from en-13032-4"},
		"a published one by other name":  {lm, "en-13032-4", "own rule, begun from en-13032-4"},
		"one of a program yet to come":   {own, "lm-79-99", "own rule, begun from lm-79-99"},
		"one's own that came back to it": {lm, "lm-79-19", "lm-79-19"},
	} {
		sit := &notebook.Sitting{Lamp: 1, Started: time.Unix(0, 0), Rule: KeptRule(c.rule, c.from)}
		if err := sit.Check(); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		body, err := notebook.Marshal(sit)
		if err != nil {
			t.Fatal(err)
		}
		again, err := notebook.Unmarshal(notebook.KindSitting, body)
		if err != nil {
			t.Fatal(err)
		}
		if got := RuleOf(again.(*notebook.Sitting)); got.Name != c.want || !got.SameNumbers(c.rule) {
			t.Errorf("%s is kept as %s and then %+v, called %q", name, body, got, got.Name)
		}
	}
}

func TestPublishedNumbersThatAreNotTheseDoNotLendTheirName(t *testing.T) {
	// As a program wrote it that listed other numbers under the name.
	old, err := notebook.Unmarshal(notebook.KindSitting, []byte(`{"lamp":1,"title":"","started":"2026-11-25T09:00:00Z","set_up":{},"rule":{"name":"lm-79-19","burning_s":1800,"window_s":1200,"step_s":600,"spread":0.005}}`))
	if err != nil {
		t.Fatal(err)
	}
	if got := RuleOf(old.(*notebook.Sitting)); got.Name != "own rule, begun from lm-79-19" || got.Least != 1800 {
		t.Errorf("it is judged by %+v", got)
	}
}

func TestASittingWithoutARuleIsJudgedAsUsual(t *testing.T) {
	const before = `{"lamp":1,"title":"","started":"2026-11-25T09:00:00Z","set_up":{}}`
	old, err := notebook.Unmarshal(notebook.KindSitting, []byte(before))
	if err != nil {
		t.Fatal(err)
	}
	if got := RuleOf(old.(*notebook.Sitting)); got != temporal.Usual() {
		t.Errorf("it is judged by %+v", got)
	}
	if body, err := notebook.Marshal(old); err != nil || string(body) != before {
		t.Errorf("it is written as %s (%v)", body, err)
	}
}
