package cli

import (
	"bufio"
	"encoding/json"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/assay/validation"
)

func newSelfcheck(s streams) *cobra.Command {
	var asJSON, markdown bool
	c := &cobra.Command{
		Use:   "selfcheck",
		Short: "Compute published values anew and compare",
		Long: `Computes every published or defined value in the register with the code that
computes a lamp's figures, and prints what was expected, what came out, the
tolerance and the source. Exit code 0 when all pass, 1 when any does not.`,
		Args: exactly(0, "no arguments"),
		RunE: func(c *cobra.Command, _ []string) error {
			checks := validation.Run()
			failed := 0
			for i := range checks {
				if !checks[i].Pass() {
					failed++
				}
			}
			w := bufio.NewWriter(s.out)
			var err error
			switch {
			case asJSON:
				err = checksJSON(w, checks)
			case markdown:
				err = checksMarkdown(w, checks)
			default:
				err = checksText(w, checks, failed)
			}
			if err == nil {
				err = w.Flush()
			}
			if err == nil && failed > 0 {
				err = errNo
			}
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON, one check a line")
	c.Flags().BoolVar(&markdown, "markdown", false, "print the table as docs/validation.md holds it")
	c.MarkFlagsMutuallyExclusive("json", "markdown")
	return c
}

func verdict(c *validation.Check) string {
	if c.Pass() {
		return "PASS"
	}
	return "FAIL"
}

// figure writes a number with as many decimals as its tolerance has, and one
// more for the figure that came out.
func checkFigure(v, tolerance float64, more int) string {
	if math.IsNaN(v) {
		return "none"
	}
	decimals := 6
	if tolerance > 0 {
		decimals = max(0, 1-int(math.Floor(math.Log10(tolerance))))
	}
	return strings.Replace(strconv.FormatFloat(v, 'f', min(decimals+more, 14), 64), "-", "−", 1)
}

func plain(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }

func checksText(w io.Writer, checks []validation.Check, failed int) error {
	v := &view{w: w}
	topic := ""
	for i := range checks {
		c := &checks[i]
		if c.Topic != topic {
			topic = c.Topic
			v.printf("\n%s\n  %s%s%s%s%s%s\n", topic, pad("", 52), padLeft("expected", 12), padLeft("got", 14), padLeft("± tolerance", 13), pad("", 2), "source")
		}
		name := c.Name
		if c.Unit != "" {
			name += ", " + c.Unit
		}
		v.printf("  %s%s%s%s  %s: %s  %s\n", pad(name, 52), padLeft(checkFigure(c.Want, c.Tolerance, 0), 12), padLeft(checkFigure(c.Got, c.Tolerance, 1), 14),
			padLeft(plain(c.Tolerance), 13), c.Basis, c.Source, verdict(c))
	}
	v.printf("\n%d checks, %d passed, %d failed\n", len(checks), len(checks)-failed, failed)
	return v.err
}

func checksJSON(w io.Writer, checks []validation.Check) error {
	enc := json.NewEncoder(w)
	for i := range checks {
		c := &checks[i]
		var got *float64
		if !math.IsNaN(c.Got) {
			got = &c.Got
		}
		if err := enc.Encode(struct {
			Topic     string   `json:"topic"`
			Name      string   `json:"name"`
			Expected  float64  `json:"expected"`
			Got       *float64 `json:"got"`
			Tolerance float64  `json:"tolerance"`
			Unit      string   `json:"unit"`
			Basis     string   `json:"basis"`
			Source    string   `json:"source"`
			Result    string   `json:"result"`
		}{c.Topic, c.Name, c.Want, got, c.Tolerance, c.Unit, string(c.Basis), c.Source, verdict(c)}); err != nil {
			return err
		}
	}
	return nil
}

func checksMarkdown(w io.Writer, checks []validation.Check) error {
	v := &view{w: w}
	v.printf(`# Validation

Published and defined values computed anew. This page is printed by
` + "`lampassay selfcheck --markdown`" + ` and a test holds it to what the program
prints; run ` + "`lampassay selfcheck`" + ` to see the same from your own binary.

The tolerance covers the rounding of the published figure and a fair choice of
summation. The basis says what the expected value rests on: *defined* follows
from a definition or a regulation's arithmetic, *published* stands in the
publication, *independent* was computed from published figures by another method
and program, *memory* is a published figure stated from memory, the weakest
witness.
`)
	topic := ""
	for i := range checks {
		c := &checks[i]
		if c.Topic != topic {
			topic = c.Topic
			v.printf("\n## %s\n\n| check | expected | got | tolerance | unit | basis | source | |\n|---|--:|--:|--:|---|---|---|---|\n", topic)
		}
		v.printf("| %s | %s | %s | %s | %s | %s | %s | %s |\n", c.Name, checkFigure(c.Want, c.Tolerance, 0), checkFigure(c.Got, c.Tolerance, 1),
			plain(c.Tolerance), c.Unit, c.Basis, c.Source, verdict(c))
	}
	return v.err
}
