package uncertainty

import (
	"fmt"
	"math"
	"slices"

	"lampassay/assay"
	"lampassay/assay/quantity"
)

// enoughDraws is the share of the draws that must give a quantity a value
// before an interval of 95 % of them means anything.
const enoughDraws = 0.95

// Summary puts a report into the form in which it is kept beside a result. The
// second value names the quantities that have a value and no uncertainty, since
// too many draws left them undefined.
func (r *Report) Summary() (*assay.Uncertainty, []quantity.ID) {
	u := &assay.Uncertainty{
		Draws: r.Simulation.Draws, Seed: r.Seed, Coverage: r.Coverage, Stable: r.Simulation.Stable, Fixed: r.Fixed,
		Chromaticity: r.chromaticity(),
	}
	for i := range r.Inputs {
		u.Inputs = append(u.Inputs, r.Inputs[i].summary())
	}
	var without []quantity.ID
	for i := range r.Figures {
		f := &r.Figures[i]
		if f.Defined < enoughDraws {
			without = append(without, f.ID)
			continue
		}
		s := &assay.Spread{
			U: f.StdDev, Low: f.Low, High: f.High, Skew: f.Skew, AtCeiling: f.AtCeiling,
			LawU: f.Law.U, Straight: f.Straight,
		}
		for _, c := range f.Law.Budget {
			s.Budget = append(s.Budget, assay.Share{Input: c.Input, U: c.U, Share: c.Share})
		}
		u.SetSpread(f.ID, s)
	}
	return u, without
}

// summary states one input.
func (in *Input) summary() assay.UncertainInput {
	out := assay.UncertainInput{
		Name: in.Name, Unit: in.Unit, Distribution: in.Distribution.Shape(), Source: in.Source,
		Value: in.Distribution.Mean(), U: in.Distribution.U(), Assumed: in.Source == OwnEstimate,
	}
	if in.Unit == "" {
		out.Unit = "1"
	}
	if in.count() > 1 {
		out.Value, out.U = math.NaN(), math.NaN()
		out.Distribution = fmt.Sprintf("%d values, %s", in.count(), out.Distribution)
	}
	return out
}

// chromaticity returns the variances of u′ and v′ and their covariance.
func (r *Report) chromaticity() [3]float64 {
	u, v := slices.Index(r.ids, quantity.UPrime), slices.Index(r.ids, quantity.VPrime)
	if u < 0 || v < 0 {
		return [3]float64{math.NaN(), math.NaN(), math.NaN()}
	}
	s := r.Simulation
	return [3]float64{s.Covariance(u, u), s.Covariance(v, v), s.Covariance(u, v)}
}
