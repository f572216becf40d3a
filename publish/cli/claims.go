package cli

import (
	"context"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lampassay/assay/claims"
	"lampassay/assay/comparison"
	"lampassay/assay/conformity"
	"lampassay/assay/quantity"
)

// claimsOptions are the options of the claims command.
type claimsOptions struct {
	measuredOptions
	declared   string
	claims     []string
	readings   []string // key=value of --measured
	tolerances []string
	on         string
	lightType  string
	gear       string
	json       bool
	figure     string
}

func newClaims(s streams) *cobra.Command {
	var o claimsOptions
	c := &cobra.Command{
		Use:   "claims [FILE...]",
		Short: "What the box says against what was measured",
		Long: `Holds declared values against measured ones and answers each: consistent,
inconclusive, or outside tolerance. The tolerances are those of the EU's
regulations for light sources, with their source; yours can be added as a file.
Every answer states how many lamps were measured, the expanded uncertainty, the
tolerance and the probability that the lamp conforms (JCGM 106).

A FILE is a spectrum, or the JSON of "lampassay assay --json", or figures written
by hand (format "lampassay figures 1"). Several files are several specimens of
one lamp, and the mean is judged. What no spectrum gives (beam angle, displacement
factor, standby power, flicker) is given with --measured and --u.

Exit code 1 when any claim is outside its tolerance.`,
		Example: `  lampassay claims bulb.csv --flux 712 --power 9.3 --claim luminous_flux=806 --claim power=9 --claim ra=80
  lampassay claims bulb.csv --flux 712 --power 9.3 --route sphere --declared box.csv --figure claims.svg
  lampassay claims --measured beam_angle=31 --u beam_angle=2 --claim beam_angle=36`,
		RunE: func(c *cobra.Command, args []string) error {
			if err := o.sure.prepare(c.Flags().Changed("uncertainty")); err != nil {
				return err
			}
			return runClaims(c.Context(), s, &o, args)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.declared, "declared", "", "read what the box declares from a `FILE`: quantity,value,unit as CSV, or JSON")
	f.StringArrayVar(&o.claims, "claim", nil, "a declared value, as `KEY=VALUE`, with or without its unit; may be repeated")
	f.StringArrayVar(&o.readings, "measured", nil, "a value read off another instrument, as `KEY=VALUE`; may be repeated")
	f.StringArrayVar(&o.tolerances, "tolerances", nil, "a table of tolerances: `"+tableKeys()+"`, or a JSON file; may be repeated, the first that has a row counts")
	f.StringVar(&o.on, "on", "", "hold the tables to a `DATE` such as 2026-03-14: one not in force then is refused")
	f.StringVar(&o.lightType, "light", "ndls", "for the energy class: `ndls|dls`, non-directional or directional")
	f.StringVar(&o.gear, "supply", "mains", "for the energy class: `mains|gear`, run on the mains directly or on separate gear")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	f.StringVar(&o.figure, "figure", "", "also draw the claims to a `FILE` that ends in .svg or .png")
	o.measuredOptions.register(f)
	f.Lookup("name").Usage = "what to call the lamp, or its specimens in the order of the files"
	return c
}

func tableKeys() string {
	var keys []string
	for _, t := range claims.Tables() {
		keys = append(keys, t.Key)
	}
	return strings.Join(keys, "|")
}

func runClaims(ctx context.Context, s streams, o *claimsOptions, files []string) error {
	if err := checkPicture(o.figure); err != nil {
		return err
	}
	declared, err := o.readDeclared()
	if err != nil {
		return err
	}
	tables, err := o.tables()
	if err != nil {
		return err
	}
	factor, err := o.classFactor()
	if err != nil {
		return err
	}
	lamps, err := o.specimens(ctx, s, files, declared)
	if err != nil {
		return err
	}
	var judged []claims.Judgement
	for _, c := range declared.Claims {
		m, err := measuredFor(c, lamps, factor)
		if err != nil {
			return badInput("%s: %s", c.Key, plainly(err))
		}
		judged = append(judged, claims.Judge(c, m, tables...))
	}
	report := claimsReport{lamp: o.lampName(lamps, declared), units: len(lamps), declared: declared, judged: judged, basis: o.basis(lamps)}
	if err := drawTo(s, o.figure, report.picture); err != nil {
		return err
	}
	err = emit(s.out, o.json, report.record(), report.write)
	if err == nil && slices.ContainsFunc(judged, func(j claims.Judgement) bool { return j.Verdict == claims.Outside }) {
		err = errNo
	}
	return err
}

// readDeclared gathers the claims of the file and of the options.
func (o *claimsOptions) readDeclared() (*claims.Declared, error) {
	d := &claims.Declared{}
	if o.declared != "" {
		f, _, err := openFile(o.declared)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		if d, err = claims.ReadDeclared(o.declared, f); err != nil {
			return nil, spoken(err)
		}
	}
	for _, text := range o.claims {
		key, value, ok := strings.Cut(text, "=")
		if !ok {
			return nil, badInput("--claim %q: write it as luminous_flux=806", text)
		}
		number, unit := claims.SplitUnit(value)
		c, err := claims.NewClaim(strings.TrimSpace(key), number, unit)
		if err == nil {
			err = d.Add(c)
		}
		if err != nil {
			return nil, badInput("--claim %s: %s", text, plainly(err))
		}
	}
	if len(d.Claims) == 0 {
		return nil, badInput("there is nothing to hold against the lamp: give what the box says with --claim or --declared")
	}
	return d, nil
}

// tables returns the tolerances in the order in which they count.
func (o *claimsOptions) tables() ([]*claims.Table, error) {
	list := claims.Tables()[:1]
	if len(o.tolerances) > 0 {
		list = nil
	}
	for _, name := range o.tolerances {
		t, err := tolerancesNamed(name)
		if err != nil {
			return nil, err
		}
		list = append(list, t)
	}
	if o.on == "" {
		return list, nil
	}
	day, err := time.Parse(time.DateOnly, o.on)
	if err != nil {
		return nil, badInput("--on %q: write the date as 2026-03-14", o.on)
	}
	for _, t := range list {
		if !t.HoldsOn(day) {
			return nil, badInput("the tolerances %q are not in force on %s: they hold from %s%s", t.Key, o.on, t.From, until(t))
		}
	}
	return list, nil
}

func until(t *claims.Table) string {
	if t.Until == "" {
		return ""
	}
	return " to " + t.Until
}

func tolerancesNamed(name string) (*claims.Table, error) {
	for _, t := range claims.Tables() {
		if t.Key == name {
			return t, nil
		}
	}
	f, _, err := openFile(name)
	if os.IsNotExist(err) {
		return nil, badInput("--tolerances %q: it is %s, or a file, and there is no such file", name, strings.ReplaceAll(tableKeys(), "|", ", "))
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	t, err := claims.ReadTable(f)
	if err != nil {
		return nil, badInput("%s: %s", name, plainly(err))
	}
	return t, nil
}

// classFactor is F_TM, by which an efficacy becomes the η_TM of a class.
func (o *claimsOptions) classFactor() (float64, error) {
	a := assayOptions{powerAt: "mains", lightType: o.lightType, gear: o.gear}
	g, err := a.given()
	if err != nil {
		return 0, err
	}
	return conformity.LightSource{Directional: g.Source.Directional, Mains: g.Source.Mains}.FTM(), nil
}

// specimens measures the lamps of the files, or makes one of --measured alone.
func (o *claimsOptions) specimens(ctx context.Context, s streams, files []string, declared *claims.Declared) ([]measuredLamp, error) {
	if len(files) == 0 && len(o.readings) == 0 {
		return nil, badInput("claims takes a file of what was measured, or --measured: see \"lampassay claims --help\"")
	}
	if len(o.readings) > 0 && len(files) > 1 {
		return nil, badInput("--measured is for one specimen, and there are %d files", len(files))
	}
	readings, err := o.otherReadings()
	if err != nil {
		return nil, err
	}
	// --u counts once the readings are there.
	stated := o.stated
	o.stated = nil
	defer func() { o.stated = stated }()
	var ids []quantity.ID
	for _, c := range declared.Claims {
		id := quantity.LuminousEfficacy
		if c.Key != claims.EnergyClass {
			if c.Definition == nil {
				continue
			}
			id = c.Definition.ID
		}
		if !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	lamps := []measuredLamp{{name: "lamp", figures: map[string]comparison.Figure{}}}
	if len(files) > 0 {
		if lamps, err = o.measure(ctx, s, files, ids); err != nil {
			return nil, err
		}
	} else if len(o.names) > 0 {
		lamps[0].name = o.names[0]
	}
	for _, r := range readings {
		r.figure.Lamp = lamps[0].name
		lamps[0].figures[r.key] = r.figure
	}
	o.stated = stated
	return lamps, o.state(lamps)
}

type otherReading struct {
	key    string
	figure comparison.Figure
}

func (o *claimsOptions) otherReadings() ([]otherReading, error) {
	var list []otherReading
	for _, text := range o.readings {
		key, value, ok := strings.Cut(text, "=")
		if !ok {
			return nil, badInput("--measured %q: write it as beam_angle=36", text)
		}
		p, err := claims.Find(key)
		if err != nil {
			return nil, badInput("--measured %s: %s", text, plainly(err))
		}
		if key == claims.EnergyClass {
			return nil, badInput("--measured %s: a class is not measured; give luminous_efficacy", text)
		}
		if slices.ContainsFunc(list, func(o otherReading) bool { return o.key == key }) {
			return nil, badInput("--measured %s: %s was given before: several specimens are several files", text, key)
		}
		v, err := p.Number(claims.SplitUnit(value))
		if err != nil {
			return nil, badInput("--measured %s: %s", text, plainly(err))
		}
		list = append(list, otherReading{key, comparison.Figure{Value: v, Unit: p.Unit}})
	}
	return list, nil
}

// measuredFor returns what was measured of a claim's quantity.
func measuredFor(c claims.Claim, lamps []measuredLamp, factor float64) (claims.Measured, error) {
	key, scale := c.Key, 1.0
	if key == claims.EnergyClass {
		key, scale = quantity.Get(quantity.LuminousEfficacy).Key, factor
	}
	var list []comparison.Figure
	for _, l := range lamps {
		f, ok := l.figures[key]
		if !ok {
			f = comparison.Figure{Lamp: l.name, Unit: c.Unit, Unranked: "it was not measured: give it with --measured and --u"}
		}
		if f.Unit != c.Unit {
			return claims.Measured{}, badInput("%s: the measured value is in %q, and the quantity in %q", l.name, f.Unit, c.Unit)
		}
		if f.Unranked == "" && c.Positive && !(f.Value > 0) {
			return claims.Measured{}, badInput("%s: a measured value of %g %s cannot be: it must be above zero", l.name, f.Value, c.Unit)
		}
		list = append(list, f.Times(scale))
	}
	return claims.Of(joined(lamps), list...)
}

func (o *claimsOptions) lampName(lamps []measuredLamp, d *claims.Declared) string {
	if len(o.names) == 0 && d.Lamp != "" {
		return d.Lamp
	}
	return lamps[0].name
}
