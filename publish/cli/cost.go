package cli

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/assay/cost"
)

// costOptions are the options of the cost command.
type costOptions struct {
	lamps    []string
	hours    sureValue
	tariff   sureValue
	carbon   sureValue
	currency string
	page     string
	json     bool
}

func newCost(s streams) *cobra.Command {
	var o costOptions
	c := &cobra.Command{
		Use:   "cost [PLAN.json]",
		Short: "What light costs, and whether one lamp pays in place of another",
		Long: `Works out energy, money and carbon of a year and of a million lumen-hours, and
what each further lamp changes in place of the first for the same light: how many
of it, what they save, when they have paid for themselves. All figures are yours:
there is no default for hours, tariff, price, life or carbon, and a figure that
needs one you did not give says so.

A value may carry its standard uncertainty, 806±20 or 806±2.5% (+- will do), and
every result then carries one too. Lamps are given with --lamp, once for each, or
in a plan, a JSON file: docs/format/cost-plan.md. With a plan that names the
lamps' spectra, --page writes the page that sets them side by side.`,
		Example: `  lampassay cost --hours 1000 --tariff 0.30 --currency EUR --carbon 0.25 \
      --lamp name=filament,flux=710,power=60,price=1,life=1000 \
      --lamp name=LED,flux=806±24,power=8.5±2%,price=4,life=15000
  lampassay cost plan.json --page lamps.html`,
		Args: atMostOne("plan"),
		RunE: func(c *cobra.Command, args []string) error { return runCost(c.Context(), s, &o, args) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringArrayVar(&o.lamps, "lamp", nil, "a `lamp`: name=, flux= in lm, power= in W at the mains, price=, life= in h, with commas between; the first is the one to replace")
	f.Var(&o.hours, "hours", "burning `hours` in a year")
	f.Var(&o.tariff, "tariff", "what a kWh costs, in the `money` of --currency")
	f.StringVar(&o.currency, "currency", "", "the `name` of the money, such as EUR")
	f.Var(&o.carbon, "carbon", "`kg` of CO₂e for a kWh, of your grid")
	f.StringVar(&o.page, "page", "", "also write a page that sets the plan's lamps side by side, an HTML `FILE`")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	return c
}

func runCost(ctx context.Context, s streams, o *costOptions, args []string) error {
	plan := new(costPlan)
	if len(args) == 1 {
		var err error
		if plan, err = readPlan(args[0]); err != nil {
			return err
		}
	}
	switch {
	case o.page != "" && len(args) == 0:
		return badInput("--page needs a plan that names the lamps' spectra: docs/format/cost-plan.md")
	case o.page != "" && !strings.EqualFold(filepath.Ext(o.page), ".html"):
		return badInput("--page %s: its name has to end in .html", o.page)
	}
	if err := o.into(plan); err != nil {
		return err
	}
	report, err := cost.Compute(ctx, plan.costs(), plan.terms())
	if err != nil {
		return spoken(err)
	}
	if o.page != "" {
		if err := writePlanPage(ctx, s, plan, filepath.Dir(args[0]), report, o.page); err != nil {
			return err
		}
	}
	return emit(s.out, o.json, costRecord(report), func(v *view) { v.report(report) })
}

// into lets options override or add to a plan.
func (o *costOptions) into(p *costPlan) error {
	for _, v := range []struct {
		given sureValue
		to    *cost.Value
	}{{o.hours, &p.Hours}, {o.tariff, &p.Tariff}, {o.carbon, &p.Carbon}} {
		if v.given.set {
			*v.to = v.given.Value
		}
	}
	// A value of nothing would pass for one that was not given.
	for _, v := range []struct {
		name string
		sureValue
	}{{"hours", o.hours}, {"tariff", o.tariff}, {"carbon", o.carbon}} {
		if v.set && !(v.Value.Value > 0) {
			return badInput("--%s is %g: it must be above zero", v.name, v.Value.Value)
		}
	}
	if o.currency != "" {
		p.Currency = o.currency
	}
	for i, text := range o.lamps {
		l, err := parseLamp(text, i+len(p.Lamps)+1)
		if err != nil {
			return err
		}
		p.Lamps = append(p.Lamps, l)
	}
	if len(p.Lamps) == 0 {
		return badInput("cost needs a lamp: --lamp name=LED,flux=806,power=8.5, or a plan")
	}
	return nil
}

// parseLamp reads one --lamp. number is its place, for a name.
func parseLamp(text string, number int) (planLamp, error) {
	l := planLamp{Name: fmt.Sprintf("lamp %d", number)}
	values := map[string]*cost.Value{"flux": &l.Flux, "power": &l.Power, "price": &l.Price, "life": &l.Life}
	for _, part := range strings.Split(text, ",") {
		key, value, ok := strings.Cut(strings.TrimSpace(part), "=")
		if !ok {
			return l, badInput("--lamp %q: %q is no key=value; a decimal comma cannot stand here", text, part)
		}
		if key == "name" {
			l.Name = value
			continue
		}
		to, known := values[key]
		if !known {
			return l, badInput("--lamp %q: there is no %q, only name, flux, power, price and life", text, key)
		}
		v, err := parseSure(value)
		if err != nil {
			return l, badInput("--lamp %q: %s: %w", text, key, err)
		}
		if to.Given() {
			return l, badInput("--lamp %q: the %s is given twice", text, key)
		}
		if !(v.Value > 0) {
			return l, badInput("--lamp %q: the %s is %g: it must be above zero", text, key, v.Value)
		}
		*to = v
	}
	return l, nil
}

// sureValue is a number option that may carry its standard uncertainty.
type sureValue struct {
	cost.Value
	set bool
}

func (o *sureValue) String() string {
	if !o.set {
		return ""
	}
	return strconv.FormatFloat(o.Value.Value, 'g', -1, 64) + "±" + strconv.FormatFloat(o.U, 'g', -1, 64)
}

func (o *sureValue) Set(s string) (err error) {
	o.Value, err = parseSure(s)
	o.set = err == nil
	return err
}

func (o *sureValue) Type() string { return "number" }

// parseSure reads "806", "806±20" or "806±2.5%"; "+-" stands for "±".
func parseSure(s string) (cost.Value, error) {
	text, plus, has := strings.Cut(strings.ReplaceAll(s, "+-", "±"), "±")
	v, err := parseNumber(text)
	if err != nil || !has {
		return cost.Value{Value: v}, err
	}
	share, percent := strings.CutSuffix(strings.TrimSpace(plus), "%")
	u, err := parseNumber(share)
	if percent {
		u *= math.Abs(v) / 100
	}
	if err == nil && u < 0 {
		err = fmt.Errorf("an uncertainty cannot be negative, as in %q", s)
	}
	return cost.Value{Value: v, U: u}, err
}

// report writes a report of costs for reading.
func (v *view) report(r *cost.Report) {
	for i, b := range r.Bills {
		if i > 0 {
			v.printf("\n")
		}
		v.printf("%s\n", b.Name)
		v.costs(b.Figures)
	}
	for _, p := range r.Replacements {
		v.printf("\n%s in place of %s, for the same light\n", p.B, p.A)
		v.costs(p.Figures)
		for _, s := range p.Sentences() {
			v.wrapped("  ", s, "")
		}
	}
	v.printf("\n")
	if anyUncertain(r) {
		v.wrapped("", "± is the expanded uncertainty with k = 1.96, and ( ) an interval of draws, both of 95 %; fluxes are taken as independent.", "JCGM 100:2008; JCGM 101:2008")
	}
	v.wrapped("", "Hours, tariff, prices, lives and carbon are yours. Fading lamps, interest and the making of a lamp are not counted.", "")
}

// anyUncertain reports whether any figure has an uncertainty.
func anyUncertain(r *cost.Report) bool {
	for _, b := range r.Bills {
		for _, f := range b.Figures {
			if f.U > 0 {
				return true
			}
		}
	}
	return false
}

// costs writes figures a line each; reasons that several share are given once.
func (v *view) costs(figures []cost.Figure) {
	lacking := map[string]bool{}
	for i := range figures {
		f := &figures[i]
		if !f.Known() {
			lacking[f.Why] = true
			continue
		}
		value, beside := f.Reading()
		v.printf("%s\n", strings.TrimRight(fmt.Sprintf("  %s%s %s%s", pad(f.Name, 52), padLeft(value, 9), pad(beside, 18), f.Unit), " "))
		if c := f.Caution(); c != "" {
			v.wrapped(pad("", 4), c, "")
		}
	}
	seen := map[string]bool{}
	for i := range figures {
		if why := figures[i].Why; why != "" && !seen[why] {
			seen[why] = true
			var names []string
			for k := range figures {
				if figures[k].Why == why {
					names = append(names, figures[k].Name)
				}
			}
			v.wrapped("  – ", strings.Join(names, "; ")+": "+why, "")
		}
	}
}

func costRecord(r *cost.Report) any {
	type figure struct {
		Key      string      `json:"key"`
		Name     string      `json:"name"`
		Unit     string      `json:"unit"`
		Value    *float64    `json:"value"`
		U        *float64    `json:"u"`
		Interval *[2]float64 `json:"interval95"`
		Method   string      `json:"method"`
		Defined  *float64    `json:"defined"`
		Why      string      `json:"why"`
	}
	list := func(all []cost.Figure) []figure {
		var out []figure
		for i := range all {
			f := &all[i]
			one := figure{Key: f.Key, Name: f.Name, Unit: f.Unit, Why: f.Why}
			if f.Known() {
				one.Value, one.U, one.Defined, one.Method = figures(f.Value, 10), figures(f.U, 5), figures(f.Defined, 5), "law"
				one.Interval = &[2]float64{rounded(f.Low, 5), rounded(f.High, 5)}
				if !f.Straight {
					one.Method = "draws"
				}
			}
			out = append(out, one)
		}
		return out
	}
	type bill struct {
		Name    string   `json:"name"`
		Figures []figure `json:"figures"`
	}
	type replacement struct {
		A       string      `json:"a"`
		B       string      `json:"b"`
		Whole   int         `json:"whole"`
		Light   float64     `json:"light"`
		Pays    cost.Answer `json:"pays"`
		Figures []figure    `json:"figures"`
	}
	out := struct {
		Currency     string        `json:"currency"`
		Lamps        []bill        `json:"lamps"`
		Replacements []replacement `json:"replacements"`
	}{Currency: r.Currency, Replacements: []replacement{}}
	for _, b := range r.Bills {
		out.Lamps = append(out.Lamps, bill{b.Name, list(b.Figures)})
	}
	for _, p := range r.Replacements {
		out.Replacements = append(out.Replacements, replacement{p.A, p.B, p.Whole, rounded(p.Light, 10), p.Pays, list(p.Figures)})
	}
	return out
}
