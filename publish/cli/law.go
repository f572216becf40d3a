package cli

import (
	"bufio"
	"encoding/json"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"lampassay/assay/conformity"
)

// lawOptions say which rules of law are asked, and what they ask beside light
// and power.
type lawOptions struct {
	placed     string
	technology string
	features   []string
	measured   []string
	files      []string
}

func (o *lawOptions) register(f *pflag.FlagSet) {
	f.StringVar(&o.placed, "placed", "", "the `day` the lamp was placed on the market, 2015-06-30: the rules of that day judge it (default: the rules that have no end)")
	f.StringVar(&o.technology, "technology", "", "what `kind` of light source it is to the law, such as fl-t8: \"lampassay rules\" lists them")
	f.StringSliceVar(&o.features, "feature", nil, "what is built in: `connected`, colour-tuneable and others that \"lampassay rules\" lists")
	f.StringSliceVar(&o.measured, "measured", nil, "more that the law sets limits on, as `figure=value`: svm=0.3,displacement_factor=0.93")
	f.StringSliceVar(&o.files, "rules", nil, "also judge by a `FILE` of rules, of another country say")
}

// question turns options into what is asked of the law; nil where nothing was
// given.
func (o *lawOptions) question() (*conformity.Question, error) {
	if o.placed == "" && o.technology == "" && len(o.features)+len(o.measured)+len(o.files) == 0 {
		return nil, nil
	}
	rules, err := readRules(o.files)
	if err != nil {
		return nil, err
	}
	q := &conformity.Question{Rules: rules, Technology: o.technology, Features: o.features}
	if o.placed != "" {
		if q.On, err = conformity.ParseDate(o.placed); err != nil {
			return nil, badInput("--placed %q is no day: write it as year-month-day, 2021-09-01", o.placed)
		}
		if err := rules.Covers(q.On); err != nil {
			return nil, badInput("--placed: %s", plainly(err))
		}
	}
	if _, ok := conformity.TechnologyByKey(o.technology); o.technology != "" && !ok {
		return nil, badInput("--technology %q: \"lampassay rules\" lists the kinds of light source", o.technology)
	}
	for _, f := range o.features {
		if !slices.Contains(conformity.Features(), f) {
			return nil, badInput("--feature %q: it is one of %s", f, strings.Join(conformity.Features(), ", "))
		}
	}
	q.Measured = make(map[conformity.Figure]float64, len(o.measured))
	for _, m := range o.measured {
		key, value, ok := strings.Cut(m, "=")
		v, err := parseNumber(value)
		switch {
		case !ok || err != nil:
			return nil, badInput("--measured %q: write a figure and its value, svm=0.3", m)
		case key == "ra":
			return nil, badInput("--measured ra: Ra comes from the spectrum")
		case !slices.Contains(conformity.Figures(), conformity.Figure(key)):
			return nil, badInput("--measured %q: there is no limit on %q; \"lampassay rules\" lists the figures", m, key)
		case v < 0:
			return nil, badInput("--measured %s is %g: it cannot be negative", key, v)
		}
		q.Measured[conformity.Figure(key)] = v
	}
	return q, nil
}

// readRules returns the carried rules with those of files.
func readRules(files []string) (*conformity.Rules, error) {
	rules := conformity.Builtin()
	for _, name := range files {
		f, _, err := openFile(name)
		if err != nil {
			return nil, err
		}
		more, err := rules.Add(f)
		f.Close()
		if err != nil {
			return nil, badInput("%s: %s", name, plainly(err))
		}
		rules = more
	}
	return rules, nil
}

func newRules(s streams) *cobra.Command {
	var asJSON bool
	var files []string
	c := &cobra.Command{
		Use:   "rules",
		Short: "The rules of law that findings come from",
		Long: `Lists the regulations that are carried, with the dates between which they apply
and what the figures rest on; then the kinds of light source, features and
figures they speak of. Rules are files: --json prints one a line, in the form
that --rules reads, so that another country's can be written after it. None of
this is legal advice.`,
		Args: exactly(0, "no arguments: use --rules for more files"),
		RunE: func(*cobra.Command, []string) error {
			rules, err := readRules(files)
			if err != nil {
				return err
			}
			w := bufio.NewWriter(s.out)
			if asJSON {
				err = rulesJSON(w, rules)
			} else {
				err = rulesText(w, rules)
			}
			if err != nil {
				return err
			}
			return w.Flush()
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the files, one a line")
	c.Flags().StringSliceVar(&files, "rules", nil, "also list a `FILE` of rules")
	return c
}

func rulesJSON(w io.Writer, rules *conformity.Rules) error {
	e := json.NewEncoder(w)
	for _, g := range rules.Regulations() {
		if err := e.Encode(g); err != nil {
			return err
		}
	}
	return nil
}

func rulesText(w io.Writer, rules *conformity.Rules) error {
	v := &view{w: w}
	for _, g := range rules.Regulations() {
		v.printf("%s (%s), %v\n", g.Name, g.Region, g.Period)
		v.wrapped("  ", g.Subject, "")
		v.wrapped("  figures from: ", g.Basis, "")
	}
	v.printf("\nKinds of light source, for --technology\n")
	for _, t := range conformity.Technologies() {
		v.printf("  %s%s\n", pad(t.Key, 20), t.Name)
	}
	v.wrapped("\nFeatures: ", strings.Join(conformity.Features(), ", "), "")
	var keys []string
	for _, f := range conformity.Figures() {
		if f != "ra" { // it comes from the spectrum
			keys = append(keys, string(f))
		}
	}
	v.wrapped("Figures, for --measured: ", strings.Join(keys, ", "), "")
	v.printf("Not legal advice.\n")
	return v.err
}
