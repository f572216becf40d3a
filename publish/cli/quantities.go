package cli

import (
	"bufio"

	"github.com/spf13/cobra"

	"lampassay/assay/quantity"
)

func newQuantities(s streams) *cobra.Command {
	var markdown bool
	c := &cobra.Command{
		Use:   "quantities",
		Short: "The register: every quantity with its key, unit and standard",
		Args:  exactly(0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			w := bufio.NewWriter(s.out)
			v := &view{w: w}
			if markdown {
				v.printf("# Quantities\n\nThe register in `assay/quantity`, printed by `lampassay quantities --markdown`.\n")
			}
			for _, g := range quantity.Groups() {
				if markdown {
					v.printf("\n## %s\n\n| key | symbol | quantity | unit | defined by | scope |\n|---|---|---|---|---|---|\n", g)
				} else {
					v.printf("\n%s\n", g)
				}
				for _, d := range quantity.All() {
					switch {
					case d.Group != g:
					case markdown:
						v.printf("| `%s` | %s | %s | %s | %s | %s |\n", d.Key, d.Symbol, d.Name, unitOrOne(d.Unit), d.Source, d.Scope)
					default:
						v.printf("  %s%s%s%s\n", pad(d.Key, 30), pad(unitOrOne(d.Unit), 9), pad(d.Name, 64), shortSource(d.Source))
					}
				}
			}
			if v.err != nil {
				return v.err
			}
			return w.Flush()
		},
	}
	c.Flags().BoolVar(&markdown, "markdown", false, "print the register as docs/method/quantities.md holds it")
	return c
}

func unitOrOne(u string) string {
	if u == "" {
		return "1"
	}
	return u
}
