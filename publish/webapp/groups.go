package webapp

import (
	"fmt"
	"strings"

	"lampassay/assay"
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
// as shared between them. One lamp alone has no letter.
func (d *compareView) groupBy(lamps []sheet.Lamp, column int, id quantity.ID) {
	names, results := make([]string, len(lamps)), make([]*assay.Result, len(lamps))
	for i := range lamps {
		names[i], results[i] = d.distinct(i), lamps[i].Result
	}
	told := toldApart{Name: quantity.Get(id).Name}
	r, err := comparison.RankSeparate(names, results, id)
	switch {
	case err != nil:
		told.Groups = "Not compared: " + strings.TrimPrefix(err.Error(), "comparison: ") + "."
		d.Told = append(d.Told, told)
		return
	case len(r.Places) < 2:
		return
	}
	for _, p := range r.Places {
		d.Lamps[p.Figure].Values[column].Group = p.Letters
	}
	told.Groups, told.Chain = "Each is told from every other.", r.NotPassedOn(names)
	if groups := r.Alike(names, true); len(groups) > 0 {
		told.Groups = "Not told apart: " + strings.Join(groups, "; ") + "."
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
