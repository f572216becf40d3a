package webapp

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
	"lampassay/light/temporal"
)

// ruleView is the rule that a sitting's lamp is called stable by, as its page shows
// it and lets it be changed.
type ruleView struct {
	Text      string // which it is, and what was changed of it
	From      string // the published rule that it is, or was begun from
	FromTitle string // what people call that
	Had       string // all of it, to tell whether somebody else changes it meanwhile
	Published []choice
	Numbers   []ruleNumber
}

// ruleNumber is a number of a rule as its field shows it.
type ruleNumber struct{ Name, Label, Empty, Value string }

// ruleNumbers are the fields of a rule's numbers. Times are in minutes and spreads in
// per cent, as a person says them.
var ruleNumbers = []struct {
	Name, Label, What string
	of                func(*temporal.Criterion) *float64
	Field             string // of the criterion
	Percent           bool
	Empty             string // what an empty field, a 0, stands for; "" where it may not be
	Will              string // what would do
}{
	{"burning", "Burning at least, min", "the least burning", func(c *temporal.Criterion) *float64 { return &c.Least }, "Least", false, "", "0 or more minutes will do, up to a week"},
	{"window", "Looking back on, min", "the time looked back on", func(c *temporal.Criterion) *float64 { return &c.Window }, "Window", false, "", "more than 0 minutes will do, up to a week"},
	{"step", "At steps of, min", "the step", func(c *temporal.Criterion) *float64 { return &c.Every }, "Every", false, "every reading", "as many minutes as are looked back on, or fewer, will do, or nothing for every reading"},
	{"spread", "Largest spread, %", "the spread", func(c *temporal.Criterion) *float64 { return &c.Spread }, "Spread", true, "", "more than 0 % and less than 100 % will do"},
	{"give_up", "Giving up after, min", "giving up", func(c *temporal.Criterion) *float64 { return &c.GiveUp }, "GiveUp", false, "never", "as many minutes as the rule waits before it looks, or more, will do, up to a week, or nothing for never"},
}

// ruleOf shows the rule of a sitting.
func ruleOf(sit *notebook.Sitting) ruleView {
	c := live.RuleOf(sit)
	v := ruleView{From: temporal.Usual().Name, Had: hadRule(sit), Text: ruleText(sit)}
	if sit.Rule != nil {
		v.From = sit.Rule.Origin()
	}
	v.FromTitle = v.From
	if p, known := temporal.Published(v.From); known {
		v.FromTitle = p.Title
	}
	for _, p := range temporal.Criteria() {
		v.Published = append(v.Published, choice{p.Name, p.Source})
	}
	for _, n := range ruleNumbers {
		text := ""
		if x := *n.of(&c); x != 0 || n.Empty == "" {
			if text = plain(x / 60); n.Percent {
				text = shifted(x, 2)
			}
		}
		v.Numbers = append(v.Numbers, ruleNumber{n.Name, n.Label, n.Empty, text})
	}
	return v
}

// ruleText says by which rule a lamp is judged. Numbers that a person changed are not
// the standard's, and that is said.
func ruleText(sit *notebook.Sitting) string {
	c := live.RuleOf(sit)
	switch published, _ := temporal.Published(c.Name); {
	case sit.Rule == nil:
		return fmt.Sprintf("By %s, as nobody chose another rule. %s.", c.Title, c.Source)
	case published == c:
		return fmt.Sprintf("By %s, as chosen for this sitting. %s.", c.Title, c.Source)
	}
	from := sit.Rule.Origin()
	published, known := temporal.Published(from)
	if !known {
		return fmt.Sprintf("By this sitting’s own rule, begun from %s, which this program does not list.", from)
	}
	return fmt.Sprintf("By this sitting’s own rule, changed from %s: %s. Its numbers are no standard’s.", published.Title, strings.Join(c.Differences(published), ", "))
}

// hadRule is all of a sitting's rule in a line.
func hadRule(sit *notebook.Sitting) string {
	if sit.Rule == nil {
		return ""
	}
	return fmt.Sprint(*sit.Rule)
}

// shifted multiplies by a power of ten without rounding, as moving the decimal point
// does: 0.007 is 0.7 %, and 0.7 % is 0.007 again.
func shifted(x float64, places int) string {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'f', -1, 64)+"e"+strconv.Itoa(places), 64)
	if err != nil {
		return plain(x) // too large for a rule, which is then said of it
	}
	return plain(y)
}

// sittingRule gives a sitting a published rule, or numbers of its own.
func (s *Server) sittingRule(w http.ResponseWriter, r *http.Request) error {
	name := "numbers"
	if r.PostFormValue("do") == "choose" {
		name = "rule"
	}
	return s.changeSitting(w, r, name, func(sit *notebook.Sitting, f *form) error {
		if had := hadRule(sit); f.text("had") != had {
			return notebook.Errorf(notebook.Stale, "somebody else changed the rule meanwhile")
		}
		if name == "rule" {
			c, known := temporal.Published(f.text("rule"))
			if !known {
				f.wrong("rule", "There is no rule “%s”: choose one of the list.", clip(f.text("rule"), 40))
				return nil
			}
			sit.Rule = live.KeptRule(c, c.Name)
			return nil
		}
		from := f.text("from")
		if _, known := temporal.Published(from); !known && (sit.Rule == nil || from != sit.Rule.Origin()) {
			return bad("There is no rule %q to begin from.", clip(from, 40))
		}
		sit.Rule = live.KeptRule(f.criterion(), from)
		return nil
	})
}

// criterion is the rule that the fields of a form make, in the units of the science.
func (f *form) criterion() temporal.Criterion {
	var c temporal.Criterion
	for _, n := range ruleNumbers {
		x := f.number(n.Name, n.What)
		if x == nil {
			if n.Empty == "" {
				f.wrong(n.Name, "A number for %s is missing: %s.", n.What, n.Will)
			}
			continue
		}
		if *n.of(&c) = *x * 60; n.Percent {
			*n.of(&c), _ = strconv.ParseFloat(shifted(*x, -2), 64) // what was written as a number is one
		}
	}
	for _, bad := range c.Faults() {
		for _, n := range ruleNumbers {
			if n.Field == bad.Field {
				f.wrong(n.Name, "%s will not do for %s: %s.", quoteOr(f.text(n.Name), "Nothing"), n.What, n.Will)
			}
		}
	}
	return c
}

// quoteOr quotes what was written, or says that nothing was.
func quoteOr(text, nothing string) string {
	if text == "" {
		return nothing
	}
	return "“" + clip(text, 40) + "”"
}
