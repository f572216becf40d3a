package cli

import (
	"bufio"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/light/standards"
)

func newStandard(s streams) *cobra.Command {
	var list bool
	c := &cobra.Command{
		Use:   "standard NAME",
		Short: "A published illuminant as a spectrum file, so that anyone can try",
		Long: `Prints a published CIE illuminant as a comma-separated file, at the steps it is
published at, with its source in the head.`,
		Example: "  lampassay standard FL11 > fl11.csv",
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return illuminantNames(), cobra.ShellCompDirectiveNoFileComp
		},
		Args: func(c *cobra.Command, args []string) error {
			if list {
				return nil
			}
			return exactly(1, "one name, or --list")(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			w := bufio.NewWriter(s.out)
			if list {
				for _, il := range standards.Illuminants() {
					fmt.Fprintf(w, "%-9s %s\n", il.Name, il.Source)
				}
				return w.Flush()
			}
			il, err := standards.IlluminantByName(args[0])
			if err != nil {
				return badInput("there is no illuminant %q: it is one of %s", args[0], strings.Join(illuminantNames(), ", "))
			}
			fmt.Fprintf(w, "# name: CIE illuminant %s\n# source: %s\n# quantity: relative\nwavelength_nm,%s\n", il.Name, il.Source, il.Name)
			for i, nm := range il.Spectrum.Axis() {
				fmt.Fprintf(w, "%g,%g\n", nm, il.Spectrum.Values()[i])
			}
			return w.Flush()
		},
	}
	c.Flags().BoolVar(&list, "list", false, "list the names and their sources")
	return c
}

func illuminantNames() []string {
	var names []string
	for _, il := range standards.Illuminants() {
		names = append(names, il.Name)
	}
	return names
}
