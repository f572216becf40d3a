package webapp

import (
	"fmt"
	"strings"

	"lampassay/assay/comparison"
	"lampassay/assay/quantity"
	"lampassay/publish/sheet"
)

// toldApart says of one quantity which lamps can't be told apart.
type toldApart struct {
	Name, Groups string
	Chain        string // a case of what is not passed on, "" where groups don't overlap
}

// groupBy gives each lamp's value of a quantity the letters of its groups. The
// notebook does not say what two lamps were measured with, so nothing is taken
// as shared between them: groups come out larger than they may be, and never
// smaller. A lamp whose value has no uncertainty or is outside its method's
// scope has no letter, and one lamp alone has none either.
func (d *compareView) groupBy(lamps []sheet.Lamp, column int, id quantity.ID) {
	q := quantity.Get(id)
	var figures []comparison.Figure
	var of []int // the lamp of each figure
	for i := range lamps {
		r := lamps[i].Result
		value, ok := r.Value(id)
		s := r.Spread(id)
		if !ok || s == nil || !r.InScope(id) {
			continue
		}
		of = append(of, i)
		figures = append(figures, comparison.Figure{
			Lamp: d.distinct(i), Value: value, Unit: q.Unit, Causes: []comparison.Cause{{Name: comparison.Stated, U: s.U, Own: true}},
		})
	}
	if len(figures) < 2 {
		return
	}
	r, err := comparison.Rank(figures, comparison.Options{Scale: comparison.ScaleOf(q)})
	if err != nil {
		d.Told = append(d.Told, toldApart{Name: q.Name, Groups: "Not compared: " + strings.TrimPrefix(err.Error(), "comparison: ") + "."})
		return
	}
	for _, p := range r.Places {
		d.Lamps[of[p.Figure]].Values[column].Group = p.Letters
	}
	name := func(place int) string { return figures[r.Places[place].Figure].Lamp }
	var groups []string
	for g, members := range r.Groups {
		if len(members) < 2 {
			continue
		}
		var names []string
		for _, place := range members {
			names = append(names, name(place))
		}
		last := len(names) - 1
		groups = append(groups, fmt.Sprintf("%s: %s and %s", comparison.Letter(g), strings.Join(names[:last], ", "), names[last]))
	}
	told := toldApart{Name: q.Name, Groups: "Each is told from every other."}
	if len(groups) > 0 {
		told.Groups = "Not told apart: " + strings.Join(groups, "; ") + "."
	}
	if c := r.Chain; c != nil {
		told.Chain = fmt.Sprintf("Not passed on: %s can't be told from %s, nor %s from %s, and yet %s and %s are apart. So the groups overlap.",
			name(c[0]), name(c[1]), name(c[1]), name(c[2]), name(c[0]), name(c[2]))
	}
	d.Told = append(d.Told, told)
}

// distinct is a lamp's name, with its assay where two chosen have one name: a
// lamp may be compared with itself as it was.
func (d *compareView) distinct(i int) string {
	for k := range d.Lamps {
		if k != i && d.Lamps[k].Name == d.Lamps[i].Name {
			return fmt.Sprintf("%s (assay %d)", d.Lamps[i].Name, d.Lamps[i].Assay.ID)
		}
	}
	return d.Lamps[i].Name
}
