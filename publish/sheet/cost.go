package sheet

import (
	"fmt"
	"strings"

	"lampassay/assay/cost"
)

// costView is what the comparison page says of money, energy and carbon: a line
// a figure, a column a lamp.
type costView struct {
	Lamps        []string
	Rows         []costRow
	Replacements []replacementView
	Sure         bool // some figure has an uncertainty
}

type costRow struct {
	Name  string // with its unit
	Cells []costCell
}

type costCell struct{ Value, Beside, Why string }

// replacementView is one lamp in place of the first.
type replacementView struct {
	Head  string
	Rows  []costRow
	Words []string
}

// newCost arranges a report; nil for none.
func newCost(r *cost.Report) *costView {
	if r == nil {
		return nil
	}
	v := new(costView)
	for i, b := range r.Bills {
		v.Lamps = append(v.Lamps, b.Name)
		for k := range b.Figures {
			f := &b.Figures[k]
			if i == 0 {
				v.Rows = append(v.Rows, costRow{Name: heading(f)})
			}
			v.Rows[k].Cells = append(v.Rows[k].Cells, v.cell(f))
		}
	}
	for i := range r.Replacements {
		p := &r.Replacements[i]
		one := replacementView{Head: fmt.Sprintf("%s in place of %s, for the same light", p.B, p.A), Words: p.Sentences()}
		for k := range p.Figures {
			f := &p.Figures[k]
			c := v.cell(f)
			if k > 0 && c.Why != "" && f.Why == p.Figures[k-1].Why {
				c.Why = "for the same reason"
			}
			one.Rows = append(one.Rows, costRow{heading(f), []costCell{c}})
		}
		v.Replacements = append(v.Replacements, one)
	}
	return v
}

// heading names a figure and its unit.
func heading(f *cost.Figure) string {
	name := strings.TrimSuffix(sentence(f.Name), ".")
	if f.Unit == "" {
		return name
	}
	return name + ", " + f.Unit
}

func (v *costView) cell(f *cost.Figure) costCell {
	if !f.Known() {
		return costCell{Value: "–", Why: f.Why}
	}
	v.Sure = v.Sure || f.U > 0
	value, beside := f.Reading()
	return costCell{Value: value, Beside: beside, Why: f.Caution()}
}
