package sheet

import (
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
