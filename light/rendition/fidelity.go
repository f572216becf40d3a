package rendition

import (
	"math"

	"lampassay/light/spectrum"
)

// Samples and hue bins of the method.
const (
	CESCount = 99 // colour evaluation samples of CIE 224:2017
	HueBins  = 16 // of 22.5° each, ANSI/IES TM-30-20
)

// UCS is a colour in CAM02-UCS.
type UCS struct{ J, A, B float64 }

// Vector is a point in the a′, b′ plane.
type Vector struct{ A, B float64 }

// TM30 holds the measures of ANSI/IES TM-30-20, of which Rf and RfCES are also
// those of CIE 224:2017. Bin j of an array is the standard's h = j + 1.
type TM30 struct {
	Rf float64 // fidelity index, 0 to 100 (100.0005 by its formula)
	Rg float64 // gamut index, 100 for the reference's gamut

	RfCES [CESCount]float64 // fidelity of each sample
	RfH   [HueBins]float64  // local colour fidelity
	RcsH  [HueBins]float64  // local chroma shift, a fraction: +0.1 is 10 % more
	RhsH  [HueBins]float64  // local hue shift, a fraction of the chroma, about radians

	// Test and Reference are the samples' colours under either light.
	Test, Reference [CESCount]UCS
	// Bin is the hue bin of each sample, 0 to 15, by its hue under the
	// reference, and BinSize how many samples a bin holds. A bin that holds none
	// has NaN measures; it happens only under very low colour temperatures.
	Bin     [CESCount]uint8
	BinSize [HueBins]uint8

	// VectorTest and VectorReference are the bins' mean a′, b′ divided by the
	// length of the reference's mean, so that the reference lies on the unit
	// circle: the colour vector graphic.
	VectorTest, VectorReference [HueBins]Vector
}

// Fidelity computes the measures for a light of the given correlated colour
// temperature in K. Colours are those of the 10° observer. The reference is a
// blackbody up to 4000 K, CIE daylight from 5000 K on, and in between a mixture
// of the two at equal Y, linear in the temperature. Y is taken as that of the
// 10° observer: Rf of FL2 is then 70.1208, as published; with the 2° observer's
// it would be 70.1209.
func (e *Evaluator) Fidelity(p *spectrum.Projected, cct float64, out *TM30) {
	e.reference.at(p, cct)
	e.cie1964.fold(from(p, foldFirst), &e.test)
	e.test.normalise()
	var test, ref cesColours
	e.test.show(e.ces, test[:])
	if !e.reference.charts.fidelity.at(cct, ref[:]) {
		e.fidelityReference(ref[:])
	}
	e.see(&test, &out.Test)
	e.see(&ref, &out.Reference)

	var bins [HueBins]bin
	total := 0.0
	for j := range CESCount {
		t, r := &out.Test[j], &out.Reference[j]
		dJ, dA, dB := t.J-r.J, t.A-r.A, t.B-r.B
		delta := math.Sqrt(dJ*dJ + dA*dA + dB*dB)
		total += delta
		out.RfCES[j] = delta

		h := hueBin(r.A, r.B)
		out.Bin[j] = uint8(h)
		bins[h].add(t, r, delta)
	}
	out.Rf = fidelity(total / CESCount)
	for j, delta := range out.RfCES {
		out.RfCES[j] = fidelity(delta)
	}
	out.fill(&bins)
}

// cesColours holds the samples' X, Y, Z and those of the perfect diffuser.
type cesColours [3 * (CESCount + 1)]float64

// see fills out with how the samples look in the light of their white.
func (e *Evaluator) see(colours *cesColours, out *[CESCount]UCS) {
	view := e.viewing.WithWhite(shown(colours[:], CESCount))
	for j := range out {
		out[j].J, out[j].A, out[j].B = view.UCS(shown(colours[:], j))
	}
}

// fidelityReference shows the samples under the reference.
func (e *Evaluator) fidelityReference(out []float64) {
	cct := e.reference.key.cct
	e.cie1964.fold(e.reference.light(blendTo).from(foldFirst), &e.ref)
	e.ref.normalise()
	if cct > blendFrom && cct < blendTo {
		e.cie1964.fold(e.reference.daylight().from(foldFirst), &e.blend)
		e.blend.normalise()
		e.ref.mix(&e.blend, (cct-blendFrom)/(blendTo-blendFrom))
	}
	e.ref.show(e.ces, out)
}

// fidelity turns a colour difference into an index (CIE 224:2017). No
// difference makes 100.0005.
//
// With ln(eˣ + 1) = x + ln(1 + e⁻ˣ) six terms of the series of ln(1 + y) serve
// where y is small, for an index of 50 and more.
func fidelity(delta float64) float64 {
	x := (100 - 6.73*delta) / 10
	y := math.Exp(-x)
	if y < 1.0/128 {
		return 10 * (x + y*(1-y*(1./2-y*(1./3-y*(1./4-y*(1./5-y*(1./6)))))))
	}
	return 10 * math.Log(math.Exp(x)+1)
}

// hueBin returns the bin of a hue, 0 to 15.
func hueBin(a, b float64) int {
	h := math.Atan2(b, a)
	if h < 0 {
		h += 2 * math.Pi
	}
	if !(h >= 0) {
		return 0 // no hue: the measures are NaN anyway
	}
	return min(int(h*(HueBins/(2*math.Pi))), HueBins-1)
}

// bin gathers the samples of one hue bin.
type bin struct {
	n         float64
	delta     float64
	test, ref Vector
}

func (s *bin) add(t, r *UCS, delta float64) {
	s.n++
	s.delta += delta
	s.test.A += t.A
	s.test.B += t.B
	s.ref.A += r.A
	s.ref.B += r.B
}

// fill works out what TM-30 adds to CIE 224.
func (out *TM30) fill(bins *[HueBins]bin) {
	var test, ref [HueBins]Vector // the corners of the gamuts
	corners := 0
	for h := range bins {
		s := &bins[h]
		length := math.Hypot(s.ref.A, s.ref.B)
		t, r := s.test.over(length), s.ref.over(length)
		// Shifts are taken along and across the middle of the bin.
		sin, cos := math.Sincos((float64(h) + 0.5) * (2 * math.Pi / HueBins))
		out.BinSize[h] = uint8(s.n)
		out.RfH[h] = fidelity(s.delta / s.n)
		out.RcsH[h] = (t.A-r.A)*cos + (t.B-r.B)*sin
		out.RhsH[h] = (t.B-r.B)*cos - (t.A-r.A)*sin
		out.VectorTest[h], out.VectorReference[h] = t, r
		if s.n > 0 {
			test[corners], ref[corners] = s.test.over(s.n), s.ref.over(s.n)
			corners++
		}
	}
	out.Rg = 100 * area(test[:corners]) / area(ref[:corners])
}

func (v Vector) over(k float64) Vector { return Vector{v.A / k, v.B / k} }

// area returns the area of a polygon.
func area(corners []Vector) float64 {
	sum := 0.0
	last := corners[len(corners)-1]
	for _, c := range corners {
		sum += last.A*c.B - c.A*last.B
		last = c
	}
	return sum / 2
}
