package cli

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/limits"
)

// limitOptions are the options of the limit command.
type limitOptions struct {
	cct, duv, xy    string
	ra, r9, rf      optionalFloat
	rg, sp, melDER  string
	rng, bands      string
	width           optionalFloat
	emitters        string
	lines, restarts int
	front           string
	mapped          bool
	json, noCache   bool
	figure          string
	read            readOptions
}

func newLimit(s streams) *cobra.Command {
	var o limitOptions
	c := &cobra.Command{
		Use:   "limit [FILE]",
		Short: "How far light could go: the most lumens per watt under conditions",
		Long: `Computes the light of the largest luminous efficacy of radiation that has the
colour and everything else that is asked for, made of lines of a given width, or of
given emitters mixed for the most lumens per electrical watt. It says which
conditions cost something, and how much one more unit of each would cost.

With a FILE the conditions are this lamp's own colour and Ra, so that the answer
is how far it stands from the best light of its kind.

A range is written from:to, with either end left out where it is open: --rg 95:,
--sp :1.2. Answers are kept in the user's cache folder by the hash of the question.
See docs/method/limits.md. The exit code is 1 where no light meets the conditions.`,
		Example: `  lampassay limit --cct 3000 --ra 80
  lampassay limit --cct 2700:6500 --duv=-0.006:0.006 --ra 90 --r9 50 --width 4.71 --figure best.svg
  lampassay limit --cct 4000 --front ra --width 20 --figure front.svg
  lampassay limit --cct 3500 --ra 90 --emitters leds.csv
  lampassay limit tube.csv`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 1 {
				return badInput("%s takes one file at most: see %q", c.CommandPath(), c.CommandPath()+" --help")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			return runLimit(c.Context(), s, &o, args)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.cct, "cct", "", "correlated colour temperature in `K`, or a range of it")
	f.StringVar(&o.duv, "duv", "0", "distance from the Planckian locus, or a `range` of it")
	f.StringVar(&o.xy, "xy", "", "a given chromaticity `x,y` in place of --cct")
	f.Var(&o.ra, "ra", "Ra at `least` this")
	f.Var(&o.r9, "r9", "R9 at `least` this")
	f.Var(&o.rf, "rf", "Rf at `least` this")
	f.StringVar(&o.rg, "rg", "", "Rg within this `range`")
	f.StringVar(&o.sp, "sp", "", "S/P ratio within this `range`")
	f.StringVar(&o.melDER, "mel-der", "", "melanopic DER within this `range`")
	f.StringVar(&o.rng, "range", "380:780", "where lines may be, in `nm`")
	f.Var(&o.width, "width", "full width at half maximum of a line in `nm` (default 0: ideal lines)")
	f.StringVar(&o.bands, "bands", "", "ranges with a width each, `from:to:width,...` in nm, in place of --range and --width")
	f.StringVar(&o.emitters, "emitters", "", "mix the emitters that this `FILE` lists: name,efficiency,file")
	f.IntVar(&o.lines, "lines", 0, "at most `N` lines or emitters (default: any number)")
	f.IntVar(&o.restarts, "restarts", 2, "look again from `N` random lights")
	f.StringVar(&o.front, "front", "", "what one measure costs: the limits from 50 to 95 of `ra|rf`")
	f.BoolVar(&o.mapped, "map", false, "the limits over 2700–6500 K and Ra 70–95")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	f.StringVar(&o.figure, "figure", "", "also draw the light, the front or the map to a `FILE`, .svg or .png")
	f.BoolVar(&o.noCache, "no-cache", false, "compute even what is kept from before")
	o.read.register(f)
	return c
}

// lampAsked is what a file's lamp has.
type lampAsked struct {
	name    string
	ra, ler float64
}

func runLimit(ctx context.Context, s streams, o *limitOptions, args []string) error {
	if err := checkPicture(o.figure); err != nil {
		return err
	}
	if o.front != "" && o.mapped {
		return badInput("--front and --map are two pictures: ask for one")
	}
	c, err := o.conditions()
	if err != nil {
		return err
	}
	var lamp *lampAsked
	if len(args) == 1 {
		if lamp, err = o.askedBy(s, args[0], &c); err != nil {
			return err
		}
	}
	solver := new(limits.Solver)
	if !o.noCache {
		solver.Cache = openLimitCache()
	}
	switch {
	case o.front != "":
		return runFront(ctx, s, o, solver, c, lamp)
	case o.mapped:
		return runMap(ctx, s, o, solver, c)
	}
	best, err := solver.Solve(ctx, c)
	if err != nil {
		return limitError(s, err)
	}
	if o.figure != "" {
		p, err := limitPicture(&best, &c)
		if err != nil {
			return err
		}
		if err := writePicture(s, o.figure, p); err != nil {
			return err
		}
	}
	w := bufio.NewWriter(s.out)
	if o.json {
		err = json.NewEncoder(w).Encode(limitRecord(&best, &c, lamp))
	} else {
		err = limitView(w, &best, &c, lamp)
	}
	if err != nil {
		return err
	}
	return w.Flush()
}

// limitError is the answer no where the conditions cannot be met, bad input
// where they make no sense.
func limitError(s streams, err error) error {
	text := strings.TrimPrefix(err.Error(), "limits: ")
	var unreachable *limits.Unreachable
	switch {
	case errors.Is(err, context.Canceled):
		return err
	case errors.As(err, &unreachable), errors.Is(err, limits.ErrUnsettled):
		fmt.Fprintf(s.err, "lampassay: %s\n", text)
		return errNo
	}
	return badInput("%s", text)
}

// conditions turns the options into the question.
func (o *limitOptions) conditions() (c limits.Conditions, err error) {
	if o.lines < 0 || o.restarts < 0 {
		return c, badInput("--lines and --restarts cannot be negative")
	}
	c.Lines, c.Restarts = o.lines, o.restarts
	if err := o.colour(&c.Colour); err != nil {
		return c, err
	}
	for _, m := range []struct {
		measure limits.Measure
		v       optionalFloat
	}{{limits.Ra, o.ra}, {limits.R9, o.r9}, {limits.Rf, o.rf}} {
		if m.v.set {
			c.Demands = append(c.Demands, limits.AtLeast(m.measure, m.v.v))
		}
	}
	for _, m := range []struct {
		measure limits.Measure
		option  string
		text    string
	}{{limits.Rg, "rg", o.rg}, {limits.SP, "sp", o.sp}, {limits.MelDER, "mel-der", o.melDER}} {
		if m.text == "" {
			continue
		}
		lo, hi, err := openSpan(m.option, m.text)
		if err != nil {
			return c, err
		}
		if !math.IsInf(lo, -1) {
			c.Demands = append(c.Demands, limits.AtLeast(m.measure, lo))
		}
		if !math.IsInf(hi, 1) {
			c.Demands = append(c.Demands, limits.AtMost(m.measure, hi))
		}
	}
	switch {
	case o.emitters != "":
		if o.width.set || o.bands != "" {
			return c, badInput("--emitters have their own widths: leave --width and --bands out")
		}
		c.Emitters, err = readEmitters(o.emitters)
		return c, err
	case o.bands != "":
		if o.width.set {
			return c, badInput("--bands have their own widths: leave --width out")
		}
		c.Bands, err = parseBands(o.bands)
		return c, err
	}
	from, to, err := closedSpan("range", o.rng)
	if err != nil {
		return c, err
	}
	c.Bands = []limits.Band{{From: from, To: to, FWHM: o.width.v}}
	return c, nil
}

// colour reads --cct with --duv, or --xy.
func (o *limitOptions) colour(c *limits.Colour) (err error) {
	if o.xy != "" {
		if o.cct != "" {
			return badInput("--xy and --cct both give the colour: use one")
		}
		x, y, _ := strings.Cut(o.xy, ",")
		if c.X, err = optionNumber("xy", x); err != nil {
			return err
		}
		c.Y, err = optionNumber("xy", y)
		return err
	}
	if o.cct == "" {
		return nil
	}
	if c.CCT.From, c.CCT.To, err = closedSpan("cct", o.cct); err != nil {
		return err
	}
	c.Duv.From, c.Duv.To, err = closedSpan("duv", o.duv)
	return err
}

// askedBy makes a lamp's own colour and Ra the conditions, where the options do
// not give others.
func (o *limitOptions) askedBy(s streams, name string, c *limits.Conditions) (*lampAsked, error) {
	if o.cct != "" || o.xy != "" {
		return nil, badInput("%s gives the colour: leave --cct and --xy out", filepath.Base(name))
	}
	read, err := o.read.options()
	if err != nil {
		return nil, err
	}
	in, err := readInput(s, name, read)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	if in.wide != nil {
		return nil, badInput("%s holds %d spectra: choose one with --column", in.name, in.wide.Columns())
	}
	lamp, err := assayFile(in.file, assay.Given{})
	if err != nil {
		return nil, err
	}
	r := lamp.Result
	ler, ok := r.Value(quantity.LER)
	if !ok {
		return nil, badInput("%s has no efficacy of radiation to compare: %s", filepath.Base(name), r.Why(quantity.LER))
	}
	out := &lampAsked{name: lamp.Name, ler: ler, ra: math.NaN()}
	cct, hasCCT := r.Value(quantity.CCT)
	duv, _ := r.Value(quantity.Duv)
	if hasCCT && cct >= 1000 && cct <= 25000 {
		c.Colour = limits.AtCCT(cct, duv)
	} else {
		x, _ := r.Value(quantity.ChromaticityX)
		y, _ := r.Value(quantity.ChromaticityY)
		c.Colour = limits.AtXY(x, y)
	}
	if ra, ok := r.Value(quantity.Ra); ok && r.InScope(quantity.Ra) {
		out.ra = ra
		if !o.ra.set && o.front == "" {
			c.Demands = append(c.Demands, limits.AtLeast(limits.Ra, math.Floor(10*ra)/10))
		}
	}
	return out, nil
}

// closedSpan reads from:to, or one number for both ends.
func closedSpan(option, text string) (from, to float64, err error) {
	a, b, both := strings.Cut(text, ":")
	if from, err = optionNumber(option, a); err != nil {
		return 0, 0, err
	}
	if !both {
		return from, from, nil
	}
	if to, err = optionNumber(option, b); err != nil {
		return 0, 0, err
	}
	if to < from {
		return 0, 0, badInput("--%s %s: the range runs backwards", option, text)
	}
	return from, to, nil
}

// openSpan reads from:to with either end left out.
func openSpan(option, text string) (from, to float64, err error) {
	a, b, both := strings.Cut(text, ":")
	if !both || a == "" && b == "" {
		return 0, 0, badInput("--%s %s: give a range, as 95:105, 95: or :105", option, text)
	}
	from, to = math.Inf(-1), math.Inf(1)
	if a != "" {
		if from, err = optionNumber(option, a); err != nil {
			return 0, 0, err
		}
	}
	if b != "" {
		if to, err = optionNumber(option, b); err != nil {
			return 0, 0, err
		}
	}
	if to < from {
		return 0, 0, badInput("--%s %s: the range runs backwards", option, text)
	}
	return from, to, nil
}

func optionNumber(option, text string) (float64, error) {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, badInput("--%s: %q is not a number", option, text)
	}
	return v, nil
}

// parseBands reads from:to:width,...
func parseBands(text string) (all []limits.Band, err error) {
	for one := range strings.SplitSeq(text, ",") {
		parts := strings.Split(one, ":")
		if len(parts) != 3 {
			return nil, badInput("--bands %q: each is from:to:width in nm, as 400:510:20", one)
		}
		var b limits.Band
		for i, field := range []*float64{&b.From, &b.To, &b.FWHM} {
			if *field, err = optionNumber("bands", parts[i]); err != nil {
				return nil, err
			}
		}
		all = append(all, b)
	}
	return all, nil
}

// limitView writes the answer for reading.
func limitView(w io.Writer, o *limits.Optimum, c *limits.Conditions, lamp *lampAsked) error {
	v := &view{w: w}
	v.printf("%.1f lm/W is the most%s\n", o.Efficacy, askedFor(c))
	if len(c.Emitters) > 0 {
		v.printf("of these emitters, per electrical watt; %.1f lm per watt of radiation\n", o.LER)
	}
	if lamp != nil {
		v.printf("%s has %.1f lm/W, %s of it\n", lamp.name, lamp.ler, wholePercent(lamp.ler/o.LER))
	}
	v.printf("\nThe light\n")
	parts := o.Lines()
	if len(c.Emitters) == 0 {
		v.printf("  %s%s%s\n", padLeft("nm", 8), padLeft("radiation", 12), padLeft("light", 9))
	} else {
		v.printf("  %s%s%s\n", pad("emitter", 24), padLeft("radiation", 12), padLeft("light", 9))
	}
	const trace = 5e-4
	for _, p := range parts {
		if p.Power < trace {
			continue
		}
		name := padLeft(fmt.Sprintf("%.1f", p.Centre), 8)
		if p.Emitter >= 0 {
			name = pad(c.Emitters[p.Emitter].Name, 24)
		}
		v.printf("  %s%10.1f %%%7.1f %%\n", name, 100*p.Power, 100*p.Light)
	}
	v.printf("\nIts colour and measures\n")
	if !math.IsNaN(o.CCT) {
		v.printf("  CCT %.0f K, Duv %s, x %.4f, y %.4f\n", o.CCT, strings.Replace(fmt.Sprintf("%+.4f", tidyZero(o.Duv, 5e-5)), "-", "−", 1), o.X, o.Y)
	} else {
		v.printf("  x %.4f, y %.4f; no CCT so far from the Planckian locus\n", o.X, o.Y)
	}
	v.printf("  %s\n", strings.Join(measures(o), ", "))
	if len(o.Binding) > 0 || c.Colour != (limits.Colour{}) {
		v.printf("\nWhat costs light\n")
	}
	if len(o.Binding) == 0 && c.Colour != (limits.Colour{}) {
		v.printf("  only the colour\n")
	}
	for _, b := range o.Binding {
		v.wrapped("  ", bindingText(b), "")
	}
	v.printf("\nHow sure this is\n")
	v.wrapped("  ", evidenceText(o), "")
	return v.err
}

// askedFor says the conditions in a line.
func askedFor(c *limits.Conditions) string {
	var parts []string
	col := c.Colour
	switch {
	case col.CCT.From > 0 && col.CCT.From == col.CCT.To:
		parts = append(parts, fmt.Sprintf("at %.0f K", col.CCT.From))
	case col.CCT.From > 0:
		parts = append(parts, fmt.Sprintf("from %.0f to %.0f K", col.CCT.From, col.CCT.To))
	case col.X > 0:
		parts = append(parts, fmt.Sprintf("at x %.4f, y %.4f", col.X, col.Y))
	}
	if col.CCT.From > 0 && (col.Duv.From != 0 || col.Duv.To != 0) {
		duv := fmt.Sprintf("Duv %.4f", col.Duv.From)
		if col.Duv.From != col.Duv.To {
			duv = fmt.Sprintf("Duv %g to %g", col.Duv.From, col.Duv.To)
		}
		parts = append(parts, strings.ReplaceAll(duv, "-", "−"))
	}
	for _, d := range c.Demands {
		parts = append(parts, d.String())
	}
	if c.Lines > 0 {
		parts = append(parts, fmt.Sprintf("at most %d lines", c.Lines))
	}
	if len(parts) == 0 {
		return " that any light has"
	}
	return " " + strings.Join(parts, ", ")
}

func tidyZero(v, below float64) float64 {
	if math.Abs(v) < below {
		return 0
	}
	return v
}

// measures lists what the light has.
func measures(o *limits.Optimum) []string {
	var all []string
	for m, v := range o.Values {
		if math.IsNaN(v) {
			continue
		}
		form := "%v %.0f"
		if m := limits.Measure(m); m == limits.SP || m == limits.MelDER {
			form = "%v %.2f"
		}
		all = append(all, strings.Replace(fmt.Sprintf(form, limits.Measure(m), tidyZero(v, 0.005)), "-", "−", 1))
	}
	return all
}

// bindingText says a binding condition and what more of it costs.
func bindingText(b limits.Binding) string {
	unit, price := "one more point costs", b.Price
	switch b.Demand.Measure {
	case limits.SP, limits.MelDER, limits.Duv:
		step := 0.1
		if b.Demand.Measure == limits.Duv {
			step = 0.001
		}
		price *= step
		unit = fmt.Sprintf("another %g of it costs", step)
		if b.Demand.Most {
			unit = fmt.Sprintf("%g less of it costs", step)
		}
	}
	return strings.ReplaceAll(fmt.Sprintf("%v: %s %.2g lm/W", b.Demand, unit, price), "-", "−")
}

// evidenceText says what was checked.
func evidenceText(o *limits.Optimum) string {
	e := o.Evidence
	text := fmt.Sprintf("%d of %d independent starts end within 0.05 %% of the best.", e.Agreed, e.Starts)
	if e.Starts == 1 {
		text = "One start."
	}
	switch {
	case math.IsNaN(e.Bound):
		text += " With a limit on their number no bound is known: another start might find better."
	case e.Exact:
		text += fmt.Sprintf(" The dual of the linear program proves that no light has more than %.2f lm/W.", math.Ceil(100*e.Bound)/100)
	default:
		text += fmt.Sprintf(" At the prices found no line would pay for itself: a bound of %.2f lm/W, as far as colour differences are convex.", math.Ceil(100*e.Bound)/100)
	}
	return text
}

// The record of an answer.
type (
	limitJSON struct {
		Key      string              `json:"key"`
		Efficacy float64             `json:"efficacy_lm_per_w"`
		LER      float64             `json:"ler_lm_per_w"`
		CCT      *float64            `json:"cct_k"`
		Duv      *float64            `json:"duv"`
		X        float64             `json:"x"`
		Y        float64             `json:"y"`
		Measures map[string]*float64 `json:"measures"`
		Parts    []partJSON          `json:"parts"`
		Binding  []bindingJSON       `json:"binding"`
		Evidence evidenceJSON        `json:"evidence"`
		Lamp     *limitLampJSON      `json:"lamp"`
	}
	partJSON struct {
		Centre  *float64 `json:"centre_nm"`
		Width   *float64 `json:"fwhm_nm"`
		Emitter string   `json:"emitter"`
		Power   float64  `json:"share_of_radiation"`
		Light   float64  `json:"share_of_light"`
	}
	bindingJSON struct {
		Condition string  `json:"condition"`
		Measure   string  `json:"measure"`
		Price     float64 `json:"lm_per_w_per_unit"`
	}
	evidenceJSON struct {
		Starts  int      `json:"starts"`
		Agreed  int      `json:"agreed"`
		Lowest  float64  `json:"lowest_lm_per_w"`
		Highest float64  `json:"highest_lm_per_w"`
		Bound   *float64 `json:"bound_lm_per_w"`
		Exact   bool     `json:"bound_is_proof"`
	}
	limitLampJSON struct {
		Name string   `json:"name"`
		Ra   *float64 `json:"ra"`
		LER  float64  `json:"ler_lm_per_w"`
	}
)

// measureKeys are those of the quantities.
var measureKeys = map[limits.Measure]string{
	limits.Ra: "ra", limits.R9: "r9", limits.Rf: "rf", limits.Rg: "rg", limits.SP: "sp_ratio", limits.MelDER: "mel_der", limits.Duv: "duv",
}

func limitRecord(o *limits.Optimum, c *limits.Conditions, lamp *lampAsked) limitJSON {
	j := limitJSON{
		Key: c.Key(), Efficacy: o.Efficacy, LER: o.LER, CCT: number(o.CCT), Duv: number(o.Duv), X: o.X, Y: o.Y,
		Measures: make(map[string]*float64), Parts: []partJSON{}, Binding: []bindingJSON{},
		Evidence: evidenceJSON{o.Evidence.Starts, o.Evidence.Agreed, o.Evidence.Lowest, o.Evidence.Highest, number(o.Evidence.Bound), o.Evidence.Exact},
	}
	for m, v := range o.Values {
		j.Measures[measureKeys[limits.Measure(m)]] = number(v)
	}
	for _, p := range o.Lines() {
		part := partJSON{Power: p.Power, Light: p.Light}
		if p.Emitter >= 0 {
			part.Emitter = c.Emitters[p.Emitter].Name
		} else {
			part.Centre, part.Width = &p.Centre, &p.FWHM
		}
		j.Parts = append(j.Parts, part)
	}
	for _, b := range o.Binding {
		j.Binding = append(j.Binding, bindingJSON{b.Demand.String(), measureKeys[b.Demand.Measure], b.Price})
	}
	if lamp != nil {
		j.Lamp = &limitLampJSON{lamp.name, number(lamp.ra), lamp.ler}
	}
	return j
}
