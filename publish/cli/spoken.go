package cli

import (
	"context"
	"errors"
	"slices"
	"strings"
)

// packages are the names that errors of the science and of the bench begin with.
var packages = []string{
	"appearance", "calibration", "claims", "colorimetry", "comparison", "conformity", "cost", "distribution", "flux",
	"ingest", "instrument", "ladder", "limits", "live", "mismatch", "photometric", "spectrum", "temporal", "uncertainty", "webapp",
}

// carriers are the packages whose errors reach the terminal as they are. Unlike those
// of the science their names are no key of a file and no name of an option, so that
// leaving them out takes nothing away.
var carriers = []string{"archive", "ingest", "json", "live", "notebook", "simulate", "webapp"}

// plainly is the text of an error without the names of packages, which are for
// those who read the code.
func plainly(err error) string { return without(err.Error(), packages) }

// without leaves parts out that are one of some names.
func without(text string, names []string) string {
	parts := slices.DeleteFunc(strings.Split(text, ": "), func(part string) bool { return slices.Contains(names, part) })
	return strings.Join(parts, ": ")
}

// spoken makes an error of the science a fault of what the user gave, in a sentence
// for the bench. An interruption stays one, and nil nil.
func spoken(err error) error {
	if err == nil || errors.Is(err, context.Canceled) {
		return err
	}
	return badInput("%s", plainly(err))
}
