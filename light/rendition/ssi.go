package rendition

import (
	"math"

	"lampassay/light/spectrum"
)

// The bins of SMPTE ST 2122: thirty of 10 nm, centred on 380 nm to 670 nm.
const (
	ssiBins   = 30
	ssiFirst  = 380
	ssiWidth  = 10
	ssiCoarse = 20 // nm, the coarsest table that is read
)

// ssiWeights are the weights of the bins, less at either end.
var ssiWeights = [ssiBins]float64{
	12. / 45, 22. / 45, 32. / 45, 40. / 45, 44. / 45, 1, 1, 1, 1, 1,
	1, 1, 1, 1, 1, 1, 1, 1, 1, 1,
	1, 1, 1, 1, 1, 1, 1, 1, 11. / 15, 3. / 15,
}

// SSI returns the spectral similarity index of SMPTE ST 2122:2020 (formula and
// weights from memory) for a light of the given correlated colour temperature
// in K, against a blackbody below 4000 K and CIE daylight from 4000 K on. It is
// 100 for the reference itself and can be negative; the standard reports the
// nearest whole number. Where the spectrum leaves part of 375–675 nm
// uncovered, that part is left out of the comparison. NaN where there is no
// reference or no light, or where a table is coarser than 20 nm.
func (e *Evaluator) SSI(p *spectrum.Projected, cct float64) float64 {
	if p.Step > ssiCoarse {
		return math.NaN()
	}
	e.reference.at(p, cct)
	var test, ref [ssiBins]float64
	gather(from(p, lightFirst), p.Step, &test)
	if !e.reference.charts.ssi.at(cct, ref[:]) {
		e.ssiReference(ref[:])
	}
	leaveOut(&ref, p)
	return similarity(&test, &ref)
}

// ssiReference integrates the reference over the bins and brings them to a sum
// of 1.
func (e *Evaluator) ssiReference(out []float64) {
	bins := (*[ssiBins]float64)(out)
	gather(e.reference.light(ssiDaylightFrom)[:], e.reference.key.step, bins)
	sum := 0.0
	for _, b := range bins {
		sum += b
	}
	for i := range bins {
		bins[i] /= sum
	}
}

// SSIAgainst is [Evaluator.SSI] against a given light.
func (e *Evaluator) SSIAgainst(p, reference *spectrum.Projected) float64 {
	if p.Step > ssiCoarse || reference.Step > ssiCoarse {
		return math.NaN()
	}
	var test, ref [ssiBins]float64
	gather(from(p, lightFirst), p.Step, &test)
	gather(from(reference, lightFirst), reference.Step, &ref)
	leaveOut(&test, reference)
	leaveOut(&ref, p)
	return similarity(&test, &ref)
}

// gather integrates a projection, b[0] belonging to lightFirst, over the bins,
// reading a straight line between its nodes: node i counts by the part of its
// hat, as wide as the step, that lies in the bin. For nodes 1 nm apart that is
// the standard's trapezium rule.
func gather(b []float64, step int, bins *[ssiBins]float64) {
	var part [ssiWidth + 2*ssiCoarse - 1]float64
	step = max(step, 1)
	reach := ssiWidth/2 + step - 1
	for d := -reach; d <= reach; d++ {
		part[d+reach] = hatBelow(float64(ssiWidth/2-d)/float64(step)) - hatBelow(float64(-ssiWidth/2-d)/float64(step))
	}
	for i := range bins {
		bins[i] = spectrum.Dot(part[:2*reach+1], b[ssiFirst+ssiWidth*i-reach-lightFirst:])
	}
}

// hatBelow is the integral of the unit hat, 1−|t|, up to x.
func hatBelow(x float64) float64 {
	switch {
	case x <= -1:
		return 0
	case x <= 0:
		return (1 + x) * (1 + x) / 2
	case x < 1:
		return 1 - (1-x)*(1-x)/2
	}
	return 1
}

// leaveOut takes from the bins the share that another spectrum does not cover.
func leaveOut(bins *[ssiBins]float64, p *spectrum.Projected) {
	from, to := p.Extent()
	for i := range bins {
		a := float64(ssiFirst + ssiWidth*i - ssiWidth/2)
		if covered := min(to, a+ssiWidth) - max(from, a); covered < ssiWidth {
			bins[i] *= max(covered, 0) / ssiWidth
		}
	}
}

// similarity compares two lights by their bins, which it brings to a sum of 1.
func similarity(test, ref *[ssiBins]float64) float64 {
	var t, r float64
	for i := range test {
		t += test[i]
		r += ref[i]
	}
	if !(t > 0) || !(r > 0) {
		return math.NaN()
	}
	var d [ssiBins + 4]float64 // two empty bins at either end
	for i := range test {
		ti, ri := test[i]/t, ref[i]/r
		d[i+2] = ssiWeights[i] * (ti - ri) / (ri + 1.0/ssiBins)
	}
	sum := 0.0
	for i := 1; i < len(d)-1; i++ {
		s := 0.22*d[i-1] + 0.56*d[i] + 0.22*d[i+1]
		sum += s * s
	}
	return 100 - 32*math.Sqrt(sum)
}
