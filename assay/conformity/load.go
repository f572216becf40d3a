package conformity

import (
	"embed"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"
	"sync"

	"lampassay/assay/jsonfile"
)

//go:embed rules/*.json
var files embed.FS

// Rules is a set of regulations. It is not changed once made, and may be shared.
type Rules struct{ regulations []Regulation }

// Builtin returns the regulations that are carried.
func Builtin() *Rules { return builtin() }

var builtin = sync.OnceValue(func() *Rules {
	entries, err := files.ReadDir("rules")
	if err != nil {
		panic(err) // embedded
	}
	r := new(Rules)
	for _, e := range entries {
		f, err := files.Open(path.Join("rules", e.Name()))
		if err != nil {
			panic(err)
		}
		if r, err = r.Add(f); err != nil {
			panic(fmt.Errorf("%s: %w", e.Name(), err)) // a test reads every file
		}
	}
	return r
})

// Regulations returns the set in its order. The slice must not be changed.
func (r *Rules) Regulations() []Regulation { return r.regulations }

// Add reads one file of rules and returns the set with it. A regulation of the
// same name and region takes the place of the one before.
func (r *Rules) Add(file io.Reader) (*Rules, error) {
	var reg Regulation
	if err := jsonfile.Read(file, &reg); err != nil {
		return nil, fmt.Errorf("conformity: not a file of rules: %w", err)
	}
	if err := reg.problem(); err != nil {
		return nil, err
	}
	all := slices.DeleteFunc(slices.Clone(r.regulations), func(o Regulation) bool { return o.Name == reg.Name && o.Region == reg.Region })
	return &Rules{append(all, reg)}, nil
}

// Covers returns an error that says so where no regulation of the set applies
// on a day.
func (r *Rules) Covers(on Date) error {
	var earliest *Regulation
	for i := range r.regulations {
		g := &r.regulations[i]
		if g.covers(on) {
			return nil
		}
		if earliest == nil || g.From < earliest.From {
			earliest = g
		}
	}
	if earliest == nil {
		return errors.New("conformity: there are no regulations in the set")
	}
	return fmt.Errorf("conformity: no regulation that is carried applied on %s: the earliest is %s, %v", on, earliest.Name, earliest.Period)
}

// problem says what is wrong with a regulation, nil if nothing.
func (g *Regulation) problem() error {
	if g.Schema != SchemaName {
		return fmt.Errorf("conformity: the schema is %q, and this program reads %q", g.Schema, SchemaName)
	}
	for _, s := range []struct{ key, value string }{{"name", g.Name}, {"region", g.Region}, {"subject", g.Subject}, {"basis", g.Basis}, {"from", string(g.From)}} {
		if strings.TrimSpace(s.value) == "" {
			return fmt.Errorf("conformity: a regulation needs %q", s.key)
		}
	}
	c := checker{of: g.Name}
	c.period(g.Period)
	if s := g.Scope; s != nil {
		c.clause("scope", s.Clause)
		c.technologies(s.AnyColour, nil)
		c.hold(s.X[0] < s.X[1] && s.Flux[0] < s.Flux[1] && s.YOffset[0] < s.YOffset[1], "the scope's bounds are not in order")
	}
	if k := g.EfficacyClasses; k != nil {
		c.clause("efficacy_classes", k.Clause)
		c.byType("efficacy_classes.factors", k.Factors)
		c.hold(len(k.Classes) > 1 && k.Classes[len(k.Classes)-1].From == 0, "the last efficacy class must begin at 0")
		for i := 1; i < len(k.Classes); i++ {
			c.hold(k.Classes[i].From < k.Classes[i-1].From, "efficacy class %s does not begin below %s", k.Classes[i].Class, k.Classes[i-1].Class)
		}
	}
	if k := g.IndexClasses; k != nil {
		c.indexClasses(k)
	}
	if e := g.LabelEnergy; e != nil {
		c.clause("label_energy", e.Clause)
		c.hold(e.Hours > 0, "the label's hours are not above 0")
		c.decimals("label_energy", e.PowerDecimals)
		c.hold(e.Round == "up" || e.Round == "nearest", "label_energy.round is %q, not up or nearest", e.Round)
		c.hold(!e.Corrected || g.IndexClasses != nil, "the label's energy asks for a corrected power, and there are no index_classes to correct by")
	}
	if e := g.Equivalence; e != nil {
		c.clause("equivalence", e.Clause)
		c.hold(len(e.Points) > 1, "an equivalence needs two points")
		for i := 1; i < len(e.Points); i++ {
			c.hold(e.Points[i][0] > e.Points[i-1][0] && e.Points[i][1] > e.Points[i-1][1], "the points of the equivalence do not rise")
		}
	}
	if p := g.PowerLimit; p != nil {
		c.powerLimit(p)
	}
	if g.Gear != nil {
		c.gear(g.Gear)
	}
	for i := range g.Limits {
		c.limit(&g.Limits[i])
	}
	return c.err
}

// checker keeps the first thing that is wrong.
type checker struct {
	of  string
	err error
}

func (c *checker) hold(ok bool, format string, args ...any) {
	if !ok && c.err == nil {
		c.err = fmt.Errorf("conformity: %s: %s", c.of, fmt.Sprintf(format, args...))
	}
}

func (c *checker) clause(of, clause string) {
	c.hold(strings.TrimSpace(clause) != "", "%s has no clause", of)
}

func (c *checker) period(p Period) {
	if err := p.problem(); err != nil && c.err == nil {
		c.err = fmt.Errorf("conformity: %s: %w", c.of, err)
	}
}

func (c *checker) technologies(keys, groups []string) {
	for _, k := range keys {
		_, ok := TechnologyByKey(k)
		c.hold(ok, "there is no technology %q", k)
	}
	for _, k := range groups {
		c.hold(slices.ContainsFunc(technologies, func(t Technology) bool { return t.Group == k }), "there is no group of technologies %q", k)
	}
}

func (c *checker) feature(f string) {
	c.hold(f == "" || slices.Contains(Features(), f), "there is no feature %q", f)
}

func (c *checker) byType(of string, b ByType) {
	c.hold(b.NDLSOnMains > 0 && b.NDLSOnGear > 0 && b.DirectedMains > 0 && b.DirectedGear > 0, "%s needs a figure above 0 for each of ndls_mls, ndls_nmls, dls_mls and dls_nmls", of)
}

func (c *checker) decimals(of string, n int) {
	c.hold(0 <= n && n <= 6, "%s rounds to %d decimals, and 0 to 6 are read", of, n)
}

func (c *checker) span(of string, s *[2]float64) {
	c.hold(s == nil || s[0] >= 0 && s[0] < s[1], "a span of %s is not in order", of)
}

func (c *checker) indexClasses(k *IndexClasses) {
	c.clause("index_classes", k.Clause)
	c.decimals("index_classes", k.Decimals)
	n := len(k.Reference)
	c.hold(n > 0 && k.Reference[n-1].Below == 0, "the last reference power must have no bound")
	for i := range k.Reference {
		c.hold(i == n-1 || k.Reference[i].Below > 0, "only the last reference power may lack below_lm")
	}
	for _, x := range k.Corrections {
		c.technologies(x.Technologies, x.Groups)
		c.feature(x.Feature)
		c.hold(x.Factor > 0 != (x.Over != nil && x.Under != nil), "a correction is a factor, or one expression over another")
	}
	for _, list := range [][]IndexClass{k.NDLS, k.DLS} {
		c.hold(len(list) > 1 && list[len(list)-1].To == 0, "the last index class must have no end")
		for i := 1; i < len(list)-1; i++ {
			c.hold(list[i].To > list[i-1].To, "index class %s does not end above %s", list[i].Class, list[i-1].Class)
		}
	}
}

func (c *checker) powerLimit(p *PowerLimit) {
	c.clause("power_limit", p.Clause)
	c.byType("power_limit.basic", p.Basic)
	c.hold(p.DirectionalFactor > 0 && p.Rendering.Divisor > 0, "power_limit needs a directional_factor and a rendering above 0")
	c.decimals("power_limit.rendering", p.Rendering.Decimals)
	c.hold(len(p.Rows) > 0, "power_limit has no rows")
	for _, r := range p.Rows {
		if r.Technology != "*" {
			c.technologies([]string{r.Technology}, nil)
		}
		c.period(r.Period)
		c.span("flux_lm", r.Flux)
		c.span("power_w", r.Power)
		c.hold(r.Efficacy > 0 && r.EndLoss >= 0 && r.Connected >= 0, "a row of power_limit needs an efficacy above 0 and no negative loss")
	}
	for _, b := range p.Bonuses {
		c.technologies(b.Technologies, b.Groups)
		c.feature(b.Feature)
	}
}

func (c *checker) gear(g *Gear) {
	c.clause("gear", g.Clause)
	for _, r := range g.Rows {
		c.technologies(nil, []string{r.Group})
		c.span("power_w", r.Power)
		_, named := gearFormulas[r.Formula]
		c.hold(r.Formula == "" && r.Least > 0 && r.Least <= 1 || r.Formula != "" && named && r.Least == 0,
			"a row of gear has a least efficiency up to 1 or the name of a formula")
	}
}

func (c *checker) limit(l *Limit) {
	c.clause("a limit on "+string(l.Figure), l.Clause)
	c.period(l.Period)
	c.technologies(l.Technologies, l.Groups)
	c.span("power_w", l.Power)
	c.hold(figureIndex(l.Figure) >= 0, "there is no figure %q to limit", l.Figure)
	c.hold(l.Min != nil || l.Max != nil, "the limit on %s has neither min nor max", l.Figure)
}
