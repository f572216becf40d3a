package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/assay/comparison"
	"lampassay/assay/quantity"
	"lampassay/publish/figure"
)

// compareOptions are the options of the compare command.
type compareOptions struct {
	measuredOptions
	quantities []string
	coverage   optionalFloat
	json       bool
	figure     string
}

// comparedByDefault are the quantities that lamps are compared by where nobody
// names any.
var comparedByDefault = []string{"luminous_efficacy", "luminous_flux", "power", "ra"}

func newCompare(s streams) *cobra.Command {
	var o compareOptions
	c := &cobra.Command{
		Use:   "compare FILE FILE...",
		Short: "Lamps side by side, in groups where they can't be told apart",
		Long: `Compares lamps pair by pair and ranks them without a false order. What the lamps
share (the light meter, the distance, the scale of the power meter, the
spectrometer) moves their figures alike and falls out of a ratio; what each has
for itself (spectral mismatch, refit, drift, noise) does not. Two lamps whose
ratio may as well be 1 share a letter.

A FILE is a spectrum, or the JSON of "lampassay assay --json", or figures written
by hand (format "lampassay figures 1") with named contributions. Spectra are
drawn together, so that a draw of the light meter's scale is the same for all.

The lamps are taken as measured on one rig; --separate says they were not.`,
		Example: `  lampassay compare old.csv new.csv --flux 712,824 --power 9.3,7.4 --route angles
  lampassay compare a.json b.json c.json --quantity luminous_efficacy,ra --figure ranking.png`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return badInput("compare takes the files of at least two lamps: see %q", c.CommandPath()+" --help")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if err := o.sure.prepare(c.Flags().Changed("uncertainty")); err != nil {
				return err
			}
			return runCompare(c.Context(), s, &o, args)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringSliceVarP(&o.quantities, "quantity", "q", comparedByDefault, "compare these `keys`, comma-separated")
	f.Var(&o.coverage, "coverage", "`probability` of each pair's interval (default 0.95)")
	f.BoolVar(&o.separate, "separate", false, "the lamps were measured on different rigs: nothing falls out of a ratio")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	f.StringVar(&o.figure, "figure", "", "also draw the ranking by the first quantity to a `FILE` that ends in .svg or .png")
	o.measuredOptions.register(f)
	return c
}

func runCompare(ctx context.Context, s streams, o *compareOptions, files []string) error {
	if err := checkPicture(o.figure); err != nil {
		return err
	}
	if o.coverage.set && !(o.coverage.v > 0 && o.coverage.v < 1) {
		return badInput("--coverage is %g: it is a probability between 0 and 1, such as 0.95", o.coverage.v)
	}
	if len(o.quantities) == 0 {
		return badInput("--quantity names nothing to compare by: leave it out, or name keys such as ra")
	}
	a := assayOptions{quantities: o.quantities}
	ids, err := a.chosen()
	if err != nil {
		return err
	}
	lamps, err := o.measure(ctx, s, files, ids)
	if err != nil {
		return err
	}
	if len(lamps) < 2 {
		return badInput("%s holds one lamp, and a comparison needs two: name another file", files[0])
	}
	var list []*compared
	for _, id := range ids {
		c, err := o.compare(quantity.Get(id), lamps)
		if err != nil {
			return badInput("%s: %s", quantity.Get(id).Key, plainly(err))
		}
		list = append(list, c)
	}
	if err := drawTo(s, o.figure, func() (*figure.Picture, error) { return list[0].picture(o) }); err != nil {
		return err
	}
	return emit(s.out, o.json, comparisonRecord(o, lamps, list), func(v *view) { o.write(v, lamps, list) })
}

// compared is one quantity of all lamps.
type compared struct {
	d       *quantity.Definition
	figures []comparison.Figure
	ranking *comparison.Ranking
}

func (o *compareOptions) compare(d *quantity.Definition, lamps []measuredLamp) (*compared, error) {
	c := &compared{d: d}
	for _, l := range lamps {
		f, ok := l.figures[d.Key]
		switch {
		case !ok:
			f = comparison.Figure{Lamp: l.name, Unranked: "it was not measured"}
		case f.Unranked == "" && len(f.Causes) == 0 && f.Draws == nil:
			f.Unranked = "its uncertainty is not known: give --u " + d.Key + "=… or contributions"
		}
		if unit := unitOrOne(d.Unit); f.Unranked == "" && unitOrOne(f.Unit) != unit {
			return nil, fmt.Errorf("%s gives it in %q, and it is in %s", l.name, f.Unit, unit)
		}
		c.figures = append(c.figures, f)
	}
	var err error
	c.ranking, err = comparison.Rank(c.figures, comparison.Options{
		Scale: comparison.ScaleOf(d), Coverage: o.coverage.v, Correlations: comparison.Among(c.figures, joined(lamps)),
	})
	return c, err
}

// name returns the name of a figure's lamp.
func (c *compared) name(figure int) string { return c.figures[figure].Lamp }

// reading writes a place's value and expanded uncertainty.
func (c *compared) reading(p *comparison.Place) (value, plus string) {
	return c.d.FormatExpanded(p.Alone.Value, expandedBy*p.Alone.U)
}

// expandedBy is the coverage factor of the uncertainty beside a value.
const expandedBy = 2

// ranks writes the ranks a place may have.
func ranks(p *comparison.Place) string {
	if p.Best == p.Worst {
		return fmt.Sprint(p.Best)
	}
	return fmt.Sprintf("%d to %d", p.Best, p.Worst)
}

// most is how many lamps have every pair put into words.
const most = 4

func (o *compareOptions) write(v *view, lamps []measuredLamp, list []*compared) {
	v.printf("%d lamps compared\n", len(lamps))
	v.wrapped("", o.premise(lamps), "")
	if b := o.basis(lamps); b != "" {
		v.wrapped("", b, "")
	}
	for _, c := range list {
		c.write(v)
	}
	v.printf("\n")
	v.wrapped("", o.foot(list), "")
}

// premise says what the lamps are taken to share.
func (o *compareOptions) premise(lamps []measuredLamp) string {
	switch {
	case o.separate:
		return "Taken as measured on different rigs: nothing falls out of a ratio."
	case slices.ContainsFunc(lamps, func(l measuredLamp) bool { return l.lamp == nil }):
		return "Causes of the same name are taken as shared between the lamps, except what a lamp has for itself."
	}
	return "Taken as measured on one rig: " + strings.Join(comparison.Rig(), ", ") + " act on all lamps alike. If that is not so, say --separate."
}

func (c *compared) write(v *view) {
	title := capital(c.d.Name)
	if c.d.ReadingUnit() != "" && c.d.ReadingUnit() != "1" {
		title += ", " + c.d.ReadingUnit()
	}
	v.printf("\n%s\n", title)
	if len(c.ranking.Places) > 0 {
		v.printf("  %s%s%s%s%s\n", pad("group", 9), pad("rank", 10), pad("lamp", 40), padLeft("value", 10), padLeft("±", 10))
	}
	for i := range c.ranking.Places {
		p := &c.ranking.Places[i]
		value, plus := c.reading(p)
		v.printf("  %s%s%s%s%s\n", pad(p.Letters, 9), pad(ranks(p), 10), pad(c.name(p.Figure), 40), padLeft(value, 10), padLeft(plus, 10))
	}
	for _, s := range c.sentences() {
		v.wrapped("  · ", s+".", "")
	}
	for _, i := range c.ranking.Unranked {
		v.wrapped("  – ", fmt.Sprintf("%s has no rank: %s.", c.name(i), strings.TrimSuffix(c.figures[i].Unranked, ".")), "")
	}
}

// sentences puts the pairs into words: all of few lamps, and of many each
// against the first.
func (c *compared) sentences() []string {
	var list []string
	r := c.ranking
	for _, p := range r.Pairs {
		if len(r.Places) <= most || p.A == r.Places[0].Figure {
			// The lamp that is more is spoken of.
			list = append(list, p.Reverse().Sentence(c.d, c.name(p.B), c.name(p.A)))
		}
	}
	if r.Chain != nil {
		at := func(k int) string { return c.name(r.Places[r.Chain[k]].Figure) }
		list = append(list, fmt.Sprintf("Not passed on: %s can't be told from %s, nor %s from %s, and yet %s and %s are apart. So the groups overlap",
			at(0), at(1), at(1), at(2), at(0), at(2)))
	}
	return list
}

func (o *compareOptions) foot(list []*compared) string {
	pairs := 0
	for _, c := range list {
		pairs += len(c.ranking.Pairs)
	}
	coverage := comparison.DefaultCoverage
	if o.coverage.set {
		coverage = o.coverage.v
	}
	s := fmt.Sprintf("Lamps that share a letter can't be told apart. ± is U = %d u of each lamp by itself; pairs have %g %% intervals, in brackets, with what they share taken out.", expandedBy, 100*coverage)
	if chance := float64(pairs) * (1 - coverage); chance >= 0.5 {
		s += fmt.Sprintf(" Of %d pairs of lamps all alike, about %.0f would be told apart by chance.", pairs, chance)
	}
	return s
}

func (c *compared) picture(o *compareOptions) (*figure.Picture, error) {
	v := figure.Ranking{Quantity: capital(c.d.Name), Unit: c.d.Unit}
	if v.Unit == "1" {
		v.Unit = ""
	}
	for i := range c.ranking.Places {
		p := &c.ranking.Places[i]
		value, plus := c.reading(p)
		if plus != "" {
			value += " ± " + plus
		}
		x := p.Alone
		l := figure.RankedLamp{Name: c.name(p.Figure), Value: x.Value, Low: min(x.Low, x.Value), High: max(x.High, x.Value), Text: value, Ranks: ranks(p)}
		for g, members := range c.ranking.Groups {
			if slices.Contains(members, i) {
				l.Groups = append(l.Groups, g)
			}
		}
		v.Places = append(v.Places, l)
	}
	if len(v.Places) == 0 {
		return nil, badInput("--figure: no lamp has a rank in %s, so there is nothing to draw", c.d.Name)
	}
	v.Note = "Pairs are compared with what they share taken out."
	if o.separate {
		v.Note = "The lamps were measured on different rigs."
	}
	return v.Picture()
}

// The record of a comparison; what is not known is null.
type (
	comparisonJSON struct {
		Lamps      []string       `json:"lamps"`
		Separate   bool           `json:"separate_rigs"`
		Quantities []comparedJSON `json:"quantities"`
	}
	comparedJSON struct {
		Quantity string         `json:"quantity"`
		Unit     string         `json:"unit"`
		Ranking  []placeJSON    `json:"ranking"`
		Groups   [][]string     `json:"groups"`
		Pairs    []pairJSON     `json:"pairs"`
		Unranked []unrankedJSON `json:"unranked"`
	}
	placeJSON struct {
		Lamp   string   `json:"lamp"`
		Value  *float64 `json:"value"`
		U      *float64 `json:"u"`
		Groups string   `json:"groups"`
		Best   int      `json:"best_rank"`
		Worst  int      `json:"worst_rank"`
	}
	pairJSON struct {
		A           string        `json:"a"`
		B           string        `json:"b"`
		Ratio       *intervalJSON `json:"ratio_b_to_a"`
		Difference  *intervalJSON `json:"difference_b_less_a"`
		Correlation *float64      `json:"correlation"`
		Apart       bool          `json:"apart"`
		Text        string        `json:"text"`
	}
	intervalJSON struct {
		Value    *float64    `json:"value"`
		U        *float64    `json:"u"`
		Interval [2]*float64 `json:"interval"`
	}
	unrankedJSON struct {
		Lamp string `json:"lamp"`
		Why  string `json:"why"`
	}
)

func comparisonRecord(o *compareOptions, lamps []measuredLamp, list []*compared) *comparisonJSON {
	out := &comparisonJSON{Separate: o.separate}
	for _, l := range lamps {
		out.Lamps = append(out.Lamps, l.name)
	}
	for _, c := range list {
		j := comparedJSON{Quantity: c.d.Key, Unit: unitOrOne(c.d.Unit), Ranking: []placeJSON{}, Groups: [][]string{}, Pairs: []pairJSON{}, Unranked: []unrankedJSON{}}
		for i := range c.ranking.Places {
			p := &c.ranking.Places[i]
			j.Ranking = append(j.Ranking, placeJSON{c.name(p.Figure), figures(p.Alone.Value, 10), figures(p.Alone.U, 5), p.Letters, p.Best, p.Worst})
		}
		for _, g := range c.ranking.Groups {
			var names []string
			for _, i := range g {
				names = append(names, c.name(c.ranking.Places[i].Figure))
			}
			j.Groups = append(j.Groups, names)
		}
		for _, p := range c.ranking.Pairs {
			p = p.Reverse()
			j.Pairs = append(j.Pairs, pairJSON{c.name(p.A), c.name(p.B), intervalRecord(p.Ratio), intervalRecord(p.Difference), figures(p.Correlation, 5), p.Apart,
				p.Sentence(c.d, c.name(p.A), c.name(p.B))})
		}
		for _, i := range c.ranking.Unranked {
			j.Unranked = append(j.Unranked, unrankedJSON{c.name(i), c.figures[i].Unranked})
		}
		out.Quantities = append(out.Quantities, j)
	}
	return out
}

func intervalRecord(i comparison.Interval) *intervalJSON {
	if number(i.Value) == nil {
		return nil
	}
	return &intervalJSON{figures(i.Value, 10), figures(i.U, 5), [2]*float64{figures(i.Low, 5), figures(i.High, 5)}}
}
