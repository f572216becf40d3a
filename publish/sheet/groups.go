package sheet

import (
	"fmt"
	"strings"

	"lampassay/assay/comparison"
	"lampassay/assay/quantity"
)

// mostGrouped is how many lamps a sentence about groups can name and still be
// read.
const mostGrouped = 12

// groupsOf says in a sentence which lamps can't be told apart in a quantity, ""
// where fewer than two have an uncertainty. A page knows nothing of what its
// lamps share, so they are taken as measured on different rigs: groups come out
// larger than they may be, and never smaller.
func groupsOf(lamps []Lamp, id quantity.ID) string {
	d := quantity.Get(id)
	var figures []comparison.Figure
	for i := range lamps {
		l := &lamps[i]
		value, _ := l.Result.Value(id)
		s := l.Result.Spread(id)
		if s == nil || !l.Result.InScope(id) {
			continue
		}
		figures = append(figures, comparison.Figure{
			Lamp: l.name(), Value: value, Unit: d.Unit, Causes: []comparison.Cause{{Name: comparison.Stated, U: s.U, Own: true}},
		})
	}
	if len(figures) < 2 || len(figures) > mostGrouped {
		return ""
	}
	r, err := comparison.Rank(figures, comparison.Options{Scale: comparison.ScaleOf(d)})
	if err != nil {
		return "" // two lamps of one name: there is no telling which is meant
	}
	var groups []string
	for _, g := range r.Groups {
		if len(g) < 2 {
			continue
		}
		var names []string
		for _, place := range g {
			names = append(names, figures[r.Places[place].Figure].Lamp)
		}
		groups = append(groups, strings.Join(names[:len(names)-1], ", ")+" and "+names[len(names)-1])
	}
	if len(groups) == 0 {
		return fmt.Sprintf("At %.0f %%, with nothing taken as shared between the lamps, each is told from every other.", 100*comparison.DefaultCoverage)
	}
	return fmt.Sprintf("Not told apart at %.0f %%, with nothing taken as shared between the lamps: %s.", 100*comparison.DefaultCoverage, strings.Join(groups, "; "))
}
