package sheet

import (
	"fmt"
	"strings"

	"lampassay/assay"
	"lampassay/assay/comparison"
	"lampassay/assay/quantity"
)

// mostGrouped is how many lamps a sentence about groups can name and still be
// read.
const mostGrouped = 12

// groupsOf says in a sentence which lamps can't be told apart in a quantity, ""
// where fewer than two have an uncertainty. A page knows nothing of what its
// lamps share.
func groupsOf(lamps []Lamp, id quantity.ID) string {
	names, results := make([]string, len(lamps)), make([]*assay.Result, len(lamps))
	for i := range lamps {
		names[i], results[i] = lamps[i].name(), lamps[i].Result
	}
	r, err := comparison.RankSeparate(names, results, id)
	if err != nil || len(r.Places) < 2 || len(r.Places) > mostGrouped {
		return "" // an error: two lamps of one name, and no telling which is meant
	}
	groups := r.Alike(names, false)
	if len(groups) == 0 {
		return fmt.Sprintf("At %.0f %%, with nothing taken as shared between the lamps, each is told from every other.", 100*comparison.DefaultCoverage)
	}
	return fmt.Sprintf("Not told apart at %.0f %%, with nothing taken as shared between the lamps: %s.", 100*comparison.DefaultCoverage, strings.Join(groups, "; "))
}
