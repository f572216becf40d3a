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

// plainly is the text of an error without the names of packages, which are for
// those who read the code.
func plainly(err error) string {
	parts := slices.DeleteFunc(strings.Split(err.Error(), ": "), func(part string) bool { return slices.Contains(packages, part) })
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
