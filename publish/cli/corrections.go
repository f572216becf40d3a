package cli

import (
	"slices"
	"strings"

	"lampassay/bench/instrument"
)

// steps writes the chain as a short list.
func (v *view) steps(steps []instrument.Step) {
	v.printf("\nWhat was done to the counts\n")
	for i := range steps {
		mark := "  – "
		if steps[i].Made {
			mark = "  + "
		}
		v.wrapped(mark, steps[i].Sentence(), "")
	}
}

// skippedSteps reads --skip.
func skippedSteps(names []string) (skip []instrument.StepName, err error) {
	all := instrument.Skippable()
	for _, name := range names {
		step := instrument.StepName(strings.ReplaceAll(strings.TrimSpace(name), "-", " "))
		if !slices.Contains(all, step) {
			var known []string
			for _, s := range all {
				known = append(known, strings.ReplaceAll(string(s), " ", "-"))
			}
			return nil, badInput("--skip %q: it is one or more of %s", name, strings.Join(known, ", "))
		}
		skip = append(skip, step)
	}
	return skip, nil
}
