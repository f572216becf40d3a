package temporal

import (
	"math"
	"strings"
	"testing"
)

func TestChangedNumbersNoLongerCarryAStandardsName(t *testing.T) {
	for _, published := range Criteria() {
		if got := published.BegunFrom(published.Name); got != published {
			t.Errorf("unchanged, %s is called %q", published.Name, got.Name)
		}
		again := published
		again.Name, again.Source = "", ""
		if got := again.BegunFrom(published.Name); got != published {
			t.Errorf("the numbers of %s alone are called %q", published.Name, got.Name)
		}
		changes := map[string]func(*Criterion){
			"burning 3 min instead of":         func(c *Criterion) { c.Least = 180 },
			"window 5 min instead of":          func(c *Criterion) { c.Window = 300 },
			"step 2 min instead of":            func(c *Criterion) { c.Every = 120 },
			"spread 1 % instead of 0.5 %":      func(c *Criterion) { c.Spread = 0.01 },
			"giving up after 3 min instead of": func(c *Criterion) { c.GiveUp = 180 },
		}
		for words, change := range changes {
			own := published
			change(&own)
			own = own.BegunFrom(published.Name)
			if own.Name != "own rule, begun from "+published.Name || !strings.HasPrefix(own.Source, own.Name+": ") || !strings.Contains(own.Source, words) {
				t.Errorf("%s changed is called %q from %q, which should say %q", published.Name, own.Name, own.Source, words)
			}
		}
	}
	lm, _ := Published("lm-79-19")
	lm.Every = 0
	if got := lm.BegunFrom("lm-79-19").Source; !strings.HasSuffix(got, ": step every reading instead of 10 min") {
		t.Errorf("without a step: %q", got)
	}
	if got := Usual().BegunFrom("a rule of another program").Name; got != "own rule, begun from a rule of another program" {
		t.Errorf("numbers of an unknown rule are called %q", got)
	}
}

func TestFaultsNameTheNumber(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct {
		change func(*Criterion)
		fields string
	}{
		"as published":              {func(*Criterion) {}, ""},
		"burning below nothing":     {func(c *Criterion) { c.Least = -1 }, "Least"},
		"burning for ever":          {func(c *Criterion) { c.Least, c.GiveUp = inf, 0 }, "Least"},
		"a month of burning":        {func(c *Criterion) { c.Least, c.GiveUp = 30*24*3600, 0 }, "Least"},
		"no window":                 {func(c *Criterion) { c.Window = 0 }, "Window"},
		"a window that is none":     {func(c *Criterion) { c.Window = nan }, "Window"},
		"a step beyond the window":  {func(c *Criterion) { c.Every = 901 }, "Every"},
		"a step of the window":      {func(c *Criterion) { c.Every = 900 }, ""},
		"a step backwards":          {func(c *Criterion) { c.Every = -60 }, "Every"},
		"no spread":                 {func(c *Criterion) { c.Spread = 0 }, "Spread"},
		"anything goes":             {func(c *Criterion) { c.Spread = 1 }, "Spread"},
		"giving up before it looks": {func(c *Criterion) { c.GiveUp = 1799 }, "GiveUp"},
		"giving up as it looks":     {func(c *Criterion) { c.GiveUp = 1800 }, ""},
		"never giving up":           {func(c *Criterion) { c.GiveUp = 0 }, ""},
		"everything at once":        {func(c *Criterion) { *c = Criterion{Least: nan, Window: nan, Every: nan, Spread: nan, GiveUp: nan} }, "Least Window Every Spread GiveUp"},
	} {
		rule := Usual()
		c.change(&rule)
		var fields []string
		for _, f := range rule.Faults() {
			fields = append(fields, f.Field)
			if f.Text == "" {
				t.Errorf("%s: nothing is said of %s", name, f.Field)
			}
		}
		if got := strings.Join(fields, " "); got != c.fields {
			t.Errorf("%s: %q is at fault, want %q", name, got, c.fields)
		}
		if err := rule.check(); (err == nil) != (c.fields == "") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
