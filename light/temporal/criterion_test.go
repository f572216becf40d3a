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

// every is a steady trace with a reading each so many seconds, but for a gap.
func every(step, to, gapFrom, gapTo float64) (t Trace) {
	for s := 0.0; s <= to; s += step {
		if s <= gapFrom || s >= gapTo {
			t.Seconds, t.Values = append(t.Seconds, s), append(t.Values, 500+0.0001*float64(len(t.Seconds)%2))
		}
	}
	return t
}

func TestAGapInTheRecordIsTheReasonWhyStableSinceIsLate(t *testing.T) {
	whole, gap := every(10, 7200, 1e9, 0), every(10, 7200, 3600, 5400)
	for name, c := range map[string]struct {
		light, power Trace
		since        float64 // s
		says         string  // "" for no reason
	}{
		"without a gap": {whole, whole, 1800, ""},
		// At 5420 s the window has the four values that are asked for: three readings
		// since the gap, and the one at its beginning, on the line across the gap.
		"a gap of light": {gap, whole, 5420, "that is so since 90.3 min after switch-on, and for before there are too few readings of light to tell"},
		"a gap of power": {whole, gap, 5420, "that is so since 90.3 min after switch-on, and for before there are too few readings of power to tell"},
		"no power":       {gap, Trace{}, 5420, "power was not recorded, so half of the rule is unjudged; that is so since 90.3 min"},
	} {
		r, err := Analyse(c.light, c.power, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if !r.Verdict.Stable || math.Abs(r.StableSince-c.since) > 1 {
			t.Errorf("%s: stable %v since %g s, want %g s", name, r.Verdict.Stable, r.StableSince, c.since)
		}
		if got := r.Verdict.Why; !strings.Contains(got, c.says) || c.says == "" && strings.Contains(got, "too few") {
			t.Errorf("%s: %q, which should say %q", name, got, c.says)
		}
	}
}

func TestASpreadIsWrittenWithTheDigitsThatAMeterHas(t *testing.T) {
	for fraction, want := range map[float64]string{
		0: "less than 0.01 %", 2.2e-11: "less than 0.01 %", 0.0001: "0.01 %", 0.00123: "0.12 %", 0.0495: "5 %", 0.123: "12 %", 1: "100 %", 2.5: "250 %", 1e6: "more than 1000 %", math.NaN(): "an unknown share",
	} {
		if got := spreading(fraction); got != want {
			t.Errorf("a spread of %g is written %q, not %q", fraction, got, want)
		}
	}
	flat := every(10, 3600, 1e9, 0)
	if v := Usual().Judge(flat, flat, 0, 3600); !v.Stable || v.Why != "over the last 15 min light spreads by less than 0.01 %, power by less than 0.01 %" {
		t.Errorf("of a lamp that does not move it says %q", v.Why)
	}
}
