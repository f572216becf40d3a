package cli

import (
	"math"
	"path/filepath"
	"strings"

	"lampassay/assay"
	"lampassay/assay/ladder"
	"lampassay/assay/quantity"
	"lampassay/light/limits"
)

// conditions turns the options into the question.
func (o *limitOptions) conditions() (c limits.Conditions, err error) {
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
	file, err := readOnly(s, name, read)
	if err != nil {
		return nil, err
	}
	lamp, err := assayFile(file, assay.Given{})
	if err != nil {
		return nil, err
	}
	r := lamp.Result
	ler, ok := r.Value(quantity.LER)
	if !ok {
		return nil, badInput("%s has no efficacy of radiation to compare: %s", filepath.Base(name), r.Why(quantity.LER))
	}
	out := &lampAsked{name: lamp.Name, ler: ler, ra: math.NaN()}
	var ra float64
	if c.Colour, ra = ladder.Peers(r); !math.IsNaN(ra) {
		out.ra, _ = r.Value(quantity.Ra)
		if !o.ra.set && o.front == "" {
			c.Demands = append(c.Demands, limits.AtLeast(limits.Ra, ra))
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
	v, err := parseNumber(text)
	if err != nil {
		return 0, badInput("--%s: %w", option, err)
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
