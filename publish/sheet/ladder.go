package sheet

import (
	"fmt"
	"strconv"

	"lampassay/assay/ladder"
	"lampassay/publish/figure"
)

// LadderPicture prepares the ladder of a lamp.
func LadderPicture(l *ladder.Ladder) (*figure.Picture, error) {
	var f figure.Ladder
	for i := range l.Rungs {
		r := &l.Rungs[i]
		f.Rungs = append(f.Rungs, figure.LadderRung{
			Name: r.Name, Efficacy: r.Efficacy, Basis: ladderBasis[r.Basis], Loss: r.Loss, Kept: r.Kept, Absent: r.Why})
	}
	return f.Picture()
}

var ladderBasis = map[ladder.Basis]figure.LadderBasis{
	ladder.Defined: figure.LadderDefined, ladder.Computed: figure.LadderComputed,
	ladder.Measured: figure.LadderMeasured, ladder.Assumed: figure.LadderAssumed,
}

// hangLadder adds the ladder of a lamp that has one.
func (g *gallery) hangLadder(l *Lamp) {
	if l.Ladder != nil {
		p, err := LadderPicture(l.Ladder)
		g.hang(full, p, err)
	}
}

// ladders prepares the ladders of the lamps that have one; nil for none.
func ladders(lamps []Lamp) (*figure.Picture, error) {
	var f figure.Ladders
	for i := range lamps {
		l := lamps[i].Ladder
		if l == nil {
			continue
		}
		band := stripOf(&lamps[i])
		one := figure.LampLadder{Name: lamps[i].name(), Strip: &band}
		for k, to := range []*float64{nil, &one.Best, &one.Spectrum, &one.AtLamp, &one.AtMains} {
			if to != nil && l.Rungs[k].Known() {
				*to = l.Rungs[k].Efficacy
				one.Assumed = one.Assumed || l.Rungs[k].Basis == ladder.Assumed
			}
		}
		f.Lamps = append(f.Lamps, one)
	}
	if len(f.Lamps) == 0 {
		return nil, nil
	}
	return f.Picture()
}

// laddersView is the table of ladders on the comparison page.
type laddersView struct {
	Picture picture
	Lamps   []ladderLine
}

// ladderLine is one lamp's rungs.
type ladderLine struct {
	Name  string
	Cells []ladderCell
	Notes []note
}

type ladderCell struct{ Value, Mark, Loss string }

// newLadders prepares the part; nil where no lamp has a ladder.
func newLadders(lamps []Lamp) (*laddersView, error) {
	p, err := ladders(lamps)
	if p == nil || err != nil {
		return nil, err
	}
	v := new(laddersView)
	if v.Picture, err = laid(p, full); err != nil {
		return nil, err
	}
	for i := range lamps {
		l := lamps[i].Ladder
		if l == nil {
			continue
		}
		line := ladderLine{Name: lamps[i].name()}
		for k := 1; k < len(l.Rungs); k++ {
			r := &l.Rungs[k]
			c := ladderCell{Value: "–"}
			if r.Known() {
				c.Value = strconv.FormatFloat(r.Efficacy, 'f', places(r.Efficacy), 64)
				c.Loss = fmt.Sprintf("−%.0f %%", 100*(1-r.Kept))
				if r.Basis == ladder.Assumed {
					c.Mark = "assumed"
				}
			} else if k == 1 { // what was not measured stands in the first table
				line.Notes = append(line.Notes, note{"best light of its colour", r.Why})
			}
			line.Cells = append(line.Cells, c)
		}
		v.Lamps = append(v.Lamps, line)
	}
	return v, nil
}

// places are the decimals an efficacy in lm/W is read with.
func places(efficacy float64) int {
	if efficacy < 100 {
		return 1
	}
	return 0
}
