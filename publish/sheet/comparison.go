package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"lampassay/assay/quantity"
)

// comparisonView is everything the template of the comparison prints.
type comparisonView struct {
	frame
	Columns  []column
	Lamps    []entry
	Pictures []picture
	Ladders  *laddersView
	Cost     *costView
	Sure     bool // at least one figure has its uncertainty
}

// column is a quantity that lamps are compared by.
type column struct {
	Label, Unit, Name string
	Places            int
	id                quantity.ID
}

// entry is one lamp's line.
type entry struct {
	Name, Href string
	Strip      drawing
	Cells      []cell
	Notes      []note
}

// note says once why several values of a lamp are missing or without a rank.
type note struct{ Labels, Why string }

// cell is one value. Rank is what it sorts by: empty, and so last, for a value
// that is not there or that its method does not stand for.
type cell struct {
	Value   number
	Plus    string // "± 10" or an interval, where the uncertainty is known
	Places  int
	Rank    string
	Outside bool
	Why     string
}

// comparedBy lists the columns. Efficacy is the system's, at the mains, and
// beside it stands what the lamp's own spectrum would allow.
var comparedBy = []struct {
	label string
	id    quantity.ID
}{
	{"Flux", quantity.LuminousFlux},
	{"Power", quantity.Power},
	{"Efficacy", quantity.LuminousEfficacy},
	{"Limit", quantity.LER},
	{"CCT", quantity.CCT},
	{"Duv", quantity.Duv},
	{"Ra", quantity.Ra},
	{"R9", quantity.R(9)},
	{"Rf", quantity.Rf},
	{"Rg", quantity.Rg},
}

func newComparison(lamps []Lamp, o Options) (*comparisonView, error) {
	v := &comparisonView{frame: newFrame(fmt.Sprintf("%d lamps compared", len(lamps)), o)}
	for _, c := range comparedBy {
		d := quantity.Get(c.id)
		v.Columns = append(v.Columns, column{Label: c.label, Unit: unit(d), Name: d.Name, id: c.id})
	}
	for i := range lamps {
		l := &lamps[i]
		band, err := strip(l, 220, 12)
		if err != nil {
			return nil, err
		}
		e := entry{Name: l.name(), Href: sheetName(l.Href), Strip: band}
		for c := range v.Columns {
			one := newCell(l, v.Columns[c].id)
			v.Sure = v.Sure || one.Plus != ""
			v.Columns[c].Places = max(v.Columns[c].Places, one.Value.places())
			e.Cells = append(e.Cells, one)
			e.note(v.Columns[c].Label, one.Why)
		}
		v.Lamps = append(v.Lamps, e)
	}
	for _, e := range v.Lamps {
		for c := range e.Cells {
			e.Cells[c].Places = v.Columns[c].Places
		}
	}
	var err error
	if v.Pictures, err = comparisonPictures(lamps); err != nil {
		return nil, err
	}
	v.Ladders, err = newLadders(lamps)
	v.Cost = newCost(o.Cost)
	return v, err
}

// note adds a reason, or a label to a reason that is there already.
func (e *entry) note(label, why string) {
	if why == "" {
		return
	}
	for i := range e.Notes {
		if e.Notes[i].Why == why {
			e.Notes[i].Labels += ", " + label
			return
		}
	}
	e.Notes = append(e.Notes, note{label, why})
}

func newCell(l *Lamp, id quantity.ID) cell {
	shown := l.Result.Reading(id)
	c := cell{Value: split(shown.Value), Plus: shown.Sureness(), Why: l.Result.Why(id)}
	value, ok := l.Result.Value(id)
	switch {
	case ok && l.Result.InScope(id):
		c.Rank = strconv.FormatFloat(value, 'g', 10, 64)
	case ok:
		c.Outside = true
	}
	return c
}

// sheetName returns a link if it is a plain relative file name, and nothing
// otherwise: a page points to nowhere but its own folder.
func sheetName(href string) string {
	if strings.ContainsAny(href, `:/\`) {
		return ""
	}
	return href
}
