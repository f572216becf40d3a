package comparison

import (
	"fmt"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
)

// RankSeparate ranks assays in a quantity as if they were made on different
// rigs, which is all that can be said where records don't tell what lamps share:
// each uncertainty is the lamp's own, so groups come out larger than they may
// be, and never smaller. A lamp whose value has no uncertainty, or lies outside
// its method's scope, has no rank. names[i] is of results[i].
func RankSeparate(names []string, results []*assay.Result, id quantity.ID) (*Ranking, error) {
	d := quantity.Get(id)
	figures := make([]Figure, len(results))
	for i, r := range results {
		value, _ := r.Value(id)
		figures[i] = Figure{Lamp: names[i], Value: value, Unit: d.Unit}
		switch s := r.Spread(id); {
		case !r.InScope(id):
			figures[i].Unranked = r.Why(id)
		case s == nil:
			figures[i].Unranked = "its uncertainty is not known"
		default:
			figures[i].Causes = []Cause{{Name: Stated, U: s.U, Own: true}}
		}
	}
	return Rank(figures, Options{Scale: ScaleOf(d)})
}

// Alike names the lamps of each group of two or more: "A, B and C", with the
// letter of the group before it where lettered. names are those of the figures.
func (r *Ranking) Alike(names []string, lettered bool) (groups []string) {
	for g, members := range r.Groups {
		last := len(members) - 1
		if last == 0 {
			continue
		}
		var named []string
		for _, place := range members {
			named = append(named, names[r.Places[place].Figure])
		}
		text := strings.Join(named[:last], ", ") + " and " + named[last]
		if lettered {
			text = Letter(g) + ": " + text
		}
		groups = append(groups, text)
	}
	return groups
}

// NotPassedOn says the ranking's Chain in words, "" where groups don't overlap.
func (r *Ranking) NotPassedOn(names []string) string {
	if r.Chain == nil {
		return ""
	}
	at := func(k int) string { return names[r.Places[r.Chain[k]].Figure] }
	return fmt.Sprintf("Not passed on: %s can't be told from %s, nor %s from %s, and yet %s and %s are apart. So the groups overlap.",
		at(0), at(1), at(1), at(2), at(0), at(2))
}
