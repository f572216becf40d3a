package assay

import (
	"math"
	"strconv"

	"lampassay/assay/quantity"
)

// Uncertainty says how sure the figures of a result are. The package
// assay/uncertainty makes it; a result without one was not assessed.
type Uncertainty struct {
	Draws    int
	Seed     uint64
	Coverage float64 // of the intervals
	// Stable tells whether the draws settled to one significant digit of the
	// standard uncertainty; a run of a fixed number does not ask.
	Stable bool
	Fixed  bool // the number of draws was fixed
	// Basis names the classes whose estimates stand for what nobody stated.
	Basis  string
	Inputs []UncertainInput
	// Chromaticity holds the variances of u′ and v′ and their covariance, NaN
	// where there is none.
	Chromaticity [3]float64

	spreads map[quantity.ID]*Spread
}

// UncertainInput is one input of the measurement model.
type UncertainInput struct {
	Name string
	Unit string
	// Value is the estimate and U its standard uncertainty, NaN for an input
	// of many values.
	Value, U     float64
	Distribution string
	Source       string
	// Assumed marks an estimate for the class that nobody measured.
	Assumed bool
}

// Spread is how sure one figure is.
type Spread struct {
	U         float64 // standard uncertainty, from the draws
	Low, High float64 // coverage interval
	Skew      float64
	// AtCeiling tells that the interval was carried on to the 100 of an index.
	AtCeiling bool
	LawU      float64 // by the law of propagation
	Straight  bool    // whether the law's interval stands for that of the draws
	Budget    []Share // the largest first
}

// Share is what one input adds to a variance.
type Share struct {
	Input int     // index in Inputs
	U     float64 // standard uncertainty from this input alone
	Share float64 // of the sum of all such variances
}

// CoverageFactor is k of the expanded uncertainty U = k·u that is read
// beside a value.
const CoverageFactor = 2

// Expanded returns the expanded uncertainty.
func (s *Spread) Expanded() float64 { return CoverageFactor * s.U }

// Lopsided reports whether the coverage interval says something else than
// value ± U does: an end differs by more than a quarter of U.
func (s *Spread) Lopsided(value float64) bool {
	limit := s.Expanded() / 4
	return s.AtCeiling || math.Abs(value-s.Expanded()-s.Low) > limit || math.Abs(value+s.Expanded()-s.High) > limit
}

// SetSpread notes how sure a quantity is.
func (u *Uncertainty) SetSpread(id quantity.ID, s *Spread) {
	if u.spreads == nil {
		u.spreads = map[quantity.ID]*Spread{}
	}
	u.spreads[id] = s
}

// Spread returns how sure a quantity is, nil where that is not known.
func (r *Result) Spread(id quantity.ID) *Spread {
	if r.Uncertainty == nil {
		return nil
	}
	return r.Uncertainty.spreads[id]
}

// Assumed returns how many inputs stand at an estimate for a class.
func (u *Uncertainty) Assumed() int {
	n := 0
	for i := range u.Inputs {
		if u.Inputs[i].Assumed {
			n++
		}
	}
	return n
}

// smallestShare is the part of a variance below which a record leaves a line
// out.
const smallestShare = 0.01

// appendSpread appends the value of "u", and where it is known the interval,
// the law beside it and the budget.
func (r *Result) appendSpread(dst []byte, id quantity.ID) []byte {
	s := r.Spread(id)
	if s == nil {
		return append(dst, "null"...)
	}
	dst = appendFigure(dst, s.U)
	dst = appendFigure(append(dst, `,"interval95":[`...), s.Low)
	dst = appendFigure(append(dst, ','), s.High)
	dst = appendFigure(append(dst, `],"skew":`...), s.Skew)
	dst = appendFigure(append(dst, `,"law":{"u":`...), s.LawU)
	dst = strconv.AppendBool(append(dst, `,"holds":`...), s.Straight)
	dst = append(dst, `},"budget":[`...)
	for i, part := range s.Budget {
		if part.Share < smallestShare {
			break
		}
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = appendString(append(dst, `{"input":`...), r.Uncertainty.Inputs[part.Input].Name)
		dst = appendFigure(append(dst, `,"u":`...), part.U)
		dst = strconv.AppendFloat(append(dst, `,"share":`...), part.Share, 'f', 3, 64)
		dst = append(dst, '}')
	}
	return append(dst, ']')
}

// appendFigure appends a number with five significant digits, which is more
// than draws settle; null where there is none.
func appendFigure(dst []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(dst, "null"...)
	}
	return strconv.AppendFloat(dst, v, 'g', 5, 64)
}

// append adds what the whole run has in common.
func (u *Uncertainty) append(dst []byte) []byte {
	dst = append(dst, `{"method":"monte carlo","guide":"JCGM 101:2008","draws":`...)
	dst = strconv.AppendInt(dst, int64(u.Draws), 10)
	dst = strconv.AppendUint(append(dst, `,"seed":`...), u.Seed, 10)
	dst = appendFigure(append(dst, `,"coverage":`...), u.Coverage)
	dst = append(dst, `,"settled":`...)
	if u.Fixed {
		dst = append(dst, "null"...)
	} else {
		dst = strconv.AppendBool(dst, u.Stable)
	}
	dst = appendString(append(dst, `,"defaults_for":`...), u.Basis)
	dst = appendList(append(dst, `,"inputs":`...), u.Inputs, func(dst []byte, in UncertainInput) []byte {
		dst = appendString(append(dst, `{"name":`...), in.Name)
		dst = appendString(append(dst, `,"unit":`...), in.Unit)
		dst = appendFigure(append(dst, `,"value":`...), in.Value)
		dst = appendFigure(append(dst, `,"u":`...), in.U)
		dst = appendString(append(dst, `,"distribution":`...), in.Distribution)
		dst = appendString(append(dst, `,"source":`...), in.Source)
		return append(strconv.AppendBool(append(dst, `,"default":`...), in.Assumed), '}')
	})
	if c := u.Chromaticity; !math.IsNaN(c[0] + c[1] + c[2]) {
		dst = appendFigure(append(dst, `,"chromaticity":{"var_u_prime":`...), c[0])
		dst = appendFigure(append(dst, `,"var_v_prime":`...), c[1])
		dst = appendFigure(append(dst, `,"cov":`...), c[2])
		dst = append(dst, '}')
	}
	return append(dst, '}')
}
