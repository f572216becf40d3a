package sheet

import (
	"strconv"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
)

// number is a value split at its decimal point, so that a column can be
// aligned on it.
type number struct {
	Whole, Fraction string // "2743", ".4"
}

func split(s string) number {
	if i := strings.IndexByte(s, '.'); i >= 0 {
		return number{s[:i], s[i:]}
	}
	return number{Whole: s}
}

func (n number) places() int { return max(len(n.Fraction)-1, 0) }

// row is one quantity in a table.
type row struct {
	Name, Symbol, Unit, Source string
	Value                      number // "–" where there is none
	Plus                       string // "± 0.12", where the uncertainty is known
	Interval                   string // the coverage interval, where ± would mislead
	Declared                   string
	Outside                    bool   // outside the method's scope
	Why                        string // why there is no value, or no scope
}

// newRow reads one quantity from a result.
func newRow(l *Lamp, id quantity.ID) row {
	d := quantity.Get(id)
	r := row{Name: d.Name, Symbol: d.Symbol, Source: d.Source, Declared: l.declared(id)}
	shown := l.Result.Reading(id)
	r.Value, r.Plus, r.Interval = split(shown.Value), shown.Plus, shown.Interval
	_, ok := l.Result.Value(id)
	if ok {
		r.Unit = unit(d)
	}
	if !l.Result.InScope(id) {
		r.Outside, r.Why = ok, l.Result.Why(id)
	}
	return r
}

// reading returns a quantity rounded for reading, "–" where it has no value.
func reading(r *assay.Result, id quantity.ID) string {
	if v, ok := r.Value(id); ok {
		return quantity.Get(id).Format(v)
	}
	return "–"
}

// unit returns what stands behind a value; nothing behind a pure number.
func unit(d *quantity.Definition) string {
	if u := d.ReadingUnit(); u != "1" {
		return u
	}
	return ""
}

// withUnit joins a value and its unit with the space ISO 80000-1 asks for.
func withUnit(value, unit string) string {
	if unit == "" {
		return value
	}
	return value + "\u00a0" + unit
}

// group is a table of quantities under one heading.
type group struct {
	Name   string
	Rows   []row
	Runs   []run  // numbered quantities, in a table of their own
	Detail *group // what is listed only for those who ask
}

// run sets numbered quantities side by side: a line for each number, a column
// for each quantity.
type run struct {
	Title, Head string // the head is that of the column of numbers
	Columns     []runColumn
	Lines       []runLine
	Source      string
	Outside     bool
	Why         string // why all of it is undefined or out of scope
	Any         bool   // at least one line has a value
	Folded      bool   // shown only for those who ask
}

type runColumn struct{ Symbol, Name, Unit string }

type runLine struct {
	Label  string
	Values []number
	Plus   []string // beside each value
	Why    string   // where this line alone is undefined or out of scope
}

// numbering says which numbered quantities stand beside one another.
type numbering struct {
	group       quantity.Group
	title, head string
	label       string // before each number
	n           int
	folded      bool
	columns     []numberedColumn
}

type numberedColumn struct {
	symbol string
	at     func(int) quantity.ID
}

var numberings = []numbering{
	{quantity.CRI, "Special indices", "index", "R", quantity.Specials, false,
		[]numberedColumn{{"Ri", quantity.R}}},
	{quantity.Fidelity, "Hue by hue", "hue bin", "", quantity.HueBins, false,
		[]numberedColumn{{"Rf,h", quantity.RfHue}, {"Rcs,h", quantity.RcsHue}, {"Rhs,h", quantity.RhsHue}}},
	{quantity.Fidelity, "Every evaluation sample", "sample", "CES ", quantity.FidelitySamples, true,
		[]numberedColumn{{"Rf,CES", quantity.RfSample}}},
}

// newRun reads numbered quantities from a result.
func newRun(l *Lamp, of numbering) run {
	first := of.columns[0].at(1)
	out := run{Title: of.title, Head: of.head, Folded: of.folded, Why: l.Result.Why(first)}
	if _, ok := l.Result.Value(first); ok {
		out.Outside = !l.Result.InScope(first)
	}
	var cited citation
	for _, c := range of.columns {
		d := quantity.Get(c.at(1))
		out.Columns = append(out.Columns, runColumn{c.symbol, generic(d.Name), unit(d)})
		cited.add(d.Source)
	}
	out.Source = cited.String()
	for i := 1; i <= of.n; i++ {
		line := runLine{Label: of.label + strconv.Itoa(i)}
		for _, c := range of.columns {
			id := c.at(i)
			_, ok := l.Result.Value(id)
			out.Any = out.Any || ok
			if why := l.Result.Why(id); why != out.Why {
				line.Why = line.Label + ": " + why
			}
			shown := l.Result.Reading(id)
			line.Values, line.Plus = append(line.Values, split(shown.Value)), append(line.Plus, shown.Sureness())
		}
		out.Lines = append(out.Lines, line)
	}
	return out
}

// newGroups arranges every quantity of the register.
func newGroups(l *Lamp) []group {
	inRun := map[quantity.ID]bool{}
	runs := map[quantity.Group][]run{}
	for _, of := range numberings {
		runs[of.group] = append(runs[of.group], newRun(l, of))
		for _, c := range of.columns {
			for i := 1; i <= of.n; i++ {
				inRun[c.at(i)] = true
			}
		}
	}
	var groups []group
	for _, name := range quantity.Groups() {
		g, detail := group{Name: string(name), Runs: runs[name]}, group{Name: string(name)}
		for _, d := range quantity.All() {
			switch {
			case d.Group != name || inRun[d.ID]:
			case d.Detail:
				detail.Rows = append(detail.Rows, newRow(l, d.ID))
			default:
				g.Rows = append(g.Rows, newRow(l, d.ID))
			}
		}
		if len(detail.Rows) > 0 {
			g.Detail = &detail
		}
		groups = append(groups, g)
	}
	return groups
}

// generic drops the number from a numbered quantity's name: "local colour
// fidelity, hue bin 1" is "local colour fidelity".
func generic(name string) string {
	name, _, _ = strings.Cut(name, ",")
	return strings.TrimRight(name, " 0123456789")
}
