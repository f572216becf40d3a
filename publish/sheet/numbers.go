package sheet

import (
	"strconv"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
)

// outsideScope is the mark of a value that its method does not stand for.
const outsideScope = "outside scope"

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
	Declared                   string
	Outside                    bool   // outside the method's scope
	Why                        string // why there is no value, or no scope
}

// newRow reads one quantity from a result.
func newRow(l *Lamp, id quantity.ID) row {
	d := quantity.Get(id)
	r := row{Name: d.Name, Symbol: d.Symbol, Source: d.Source, Value: split(reading(l.Result, id)), Declared: l.declared(id)}
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
	if unit == "" || unit == "1" {
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
	Title   string
	Head    string // of the column of numbers
	Columns []runColumn
	Lines   []runLine
	Outside bool
	Why     string // why all of it is undefined or out of scope
	Any     bool   // at least one line has a value
	Folded  bool   // shown only for those who ask
}

type runColumn struct{ Symbol, Name, Unit, Source string }

type runLine struct {
	Label  string
	Values []number
	Why    string // where this line alone is undefined or out of scope
}

// numbered lists the runs: what heads them, how long they are, and which
// quantities stand beside one another.
var numbered = []struct {
	group       quantity.Group
	title, head string
	label       string // before each number
	n           int
	folded      bool
	at          []func(int) quantity.ID
	symbols     []string
}{
	{quantity.CRI, "Special indices", "index", "R", quantity.Specials, false,
		[]func(int) quantity.ID{quantity.R}, []string{"Ri"}},
	{quantity.Fidelity, "Hue by hue", "hue bin", "", quantity.HueBins, false,
		[]func(int) quantity.ID{quantity.RfHue, quantity.RcsHue, quantity.RhsHue}, []string{"Rf,h", "Rcs,h", "Rhs,h"}},
	{quantity.Fidelity, "Every evaluation sample", "sample", "CES ", quantity.FidelitySamples, true,
		[]func(int) quantity.ID{quantity.RfSample}, []string{"Rf,CES"}},
}

// newGroups arranges every quantity of the register.
func newGroups(l *Lamp) []group {
	inRun := map[quantity.ID]bool{}
	runs := map[quantity.Group][]run{}
	for _, spec := range numbered {
		r := run{Title: spec.title, Head: spec.head, Folded: spec.folded}
		for c, at := range spec.at {
			d := quantity.Get(at(1))
			r.Columns = append(r.Columns, runColumn{spec.symbols[c], generic(d.Name), unit(d), d.Source})
		}
		first := spec.at[0](1)
		if !l.Result.InScope(first) {
			_, r.Outside = l.Result.Value(first)
			r.Why = l.Result.Why(first)
		}
		for i := 1; i <= spec.n; i++ {
			line := runLine{Label: spec.label + strconv.Itoa(i)}
			_, ok := l.Result.Value(spec.at[0](i))
			r.Any = r.Any || ok
			if why := l.Result.Why(spec.at[0](i)); why != r.Why {
				line.Why = line.Label + ": " + why
			}
			for _, at := range spec.at {
				inRun[at(i)] = true
				line.Values = append(line.Values, split(reading(l.Result, at(i))))
			}
			r.Lines = append(r.Lines, line)
		}
		runs[spec.group] = append(runs[spec.group], r)
	}

	var groups []group
	for _, name := range quantity.Groups() {
		g := group{Name: string(name), Runs: runs[name]}
		detail := group{Name: string(name)}
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
