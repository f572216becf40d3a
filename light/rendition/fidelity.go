package rendition

import (
	"math"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
)

// Samples and hue bins of the method.
const (
	CESCount = 99 // colour evaluation samples of CIE 224:2017
	HueBins  = 16 // of 22.5° each, ANSI/IES TM-30-20
)

// UCS is a colour in CAM02-UCS.
type UCS struct{ J, A, B float64 }

// Hue is a point of the colour vector graphic.
type Hue struct{ A, B float64 }

// TM30 holds the measures of ANSI/IES TM-30-20, of which Rf and RfCES are also
// those of CIE 224:2017. Bin j of an array is the standard's h = j + 1.
type TM30 struct {
	Rf float64 // fidelity index, 0 to 100
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
	VectorTest, VectorReference [HueBins]Hue
}

// Fidelity computes the measures for a light of the given correlated colour
// temperature in K. Colours are those of the 10° observer. The reference is a
// blackbody up to 4000 K, CIE daylight from 5000 K on, and in between a mixture
// of the two at equal Y10, linear in the temperature.
func (e *Evaluator) Fidelity(p *spectrum.Projected, cct float64, out *TM30) {
	e.reference.at(p, cct)
	e.cie1964.fold(from(p, foldFirst), &e.test)
	whiteTest := e.test.normalise()
	whiteRef := e.foldReference(cct)

	const la, yb = 100, 20 // cd/m² and %, CIE 224:2017 clause 4
	underTest := colorimetry.NewCAM02(whiteTest, la, yb, colorimetry.Average)
	underRef := colorimetry.NewCAM02(whiteRef, la, yb, colorimetry.Average)

	var bins [HueBins]bin
	total := 0.0
	for j := range e.ces {
		t, r := &out.Test[j], &out.Reference[j]
		t.J, t.A, t.B = underTest.UCS(e.test.of(&e.ces[j]))
		r.J, r.A, r.B = underRef.UCS(e.ref.of(&e.ces[j]))
		dJ, dA, dB := t.J-r.J, t.A-r.A, t.B-r.B
		delta := math.Sqrt(dJ*dJ + dA*dA + dB*dB)
		total += delta
		out.RfCES[j] = fidelity(delta)

		h := hueBin(r.A, r.B)
		out.Bin[j] = uint8(h)
		bins[h].add(t, r, delta)
	}
	out.Rf = fidelity(total / CESCount)
	out.fill(&bins)
}

// foldReference leaves the reference in e.ref, at Y = 100.
func (e *Evaluator) foldReference(cct float64) colorimetry.XYZ {
	if cct < blendTo {
		e.cie1964.fold(e.reference.blackbody().from(foldFirst), &e.ref)
	} else {
		e.cie1964.fold(e.reference.daylight().from(foldFirst), &e.ref)
	}
	white := e.ref.normalise()
	if cct > blendFrom && cct < blendTo {
		e.cie1964.fold(e.reference.daylight().from(foldFirst), &e.other)
		e.other.normalise()
		e.ref.mix(&e.other, (cct-blendFrom)/(blendTo-blendFrom))
		white = e.ref.white()
	}
	return white
}

// fidelity turns a colour difference into an index (CIE 224:2017 clause 4).
func fidelity(delta float64) float64 {
	return 10 * math.Log(math.Exp((100-6.73*delta)/10)+1)
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

// bin sums the samples of one hue bin.
type bin struct {
	n            uint8
	delta        float64
	aTest, bTest float64
	aRef, bRef   float64
}

func (s *bin) add(t, r *UCS, delta float64) {
	s.n++
	s.delta += delta
	s.aTest += t.A
	s.bTest += t.B
	s.aRef += r.A
	s.bRef += r.B
}

// fill works out what TM-30 adds to CIE 224.
func (out *TM30) fill(bins *[HueBins]bin) {
	for h := range bins {
		s := &bins[h]
		n := float64(s.n)
		length := math.Hypot(s.aRef, s.bRef)
		t := Hue{s.aTest / length, s.bTest / length}
		r := Hue{s.aRef / length, s.bRef / length}
		// Shifts are taken along and across the middle of the bin.
		sin, cos := math.Sincos((float64(h) + 0.5) * (2 * math.Pi / HueBins))
		out.BinSize[h] = s.n
		out.RfH[h] = fidelity(s.delta / n)
		out.RcsH[h] = (t.A-r.A)*cos + (t.B-r.B)*sin
		out.RhsH[h] = (t.B-r.B)*cos - (t.A-r.A)*sin
		out.VectorTest[h], out.VectorReference[h] = t, r
	}
	out.Rg = 100 * gamut(bins, func(s *bin) (a, b float64) { return s.aTest, s.bTest }) /
		gamut(bins, func(s *bin) (a, b float64) { return s.aRef, s.bRef })
}

// gamut returns twice the area of the polygon through the bins' mean colours.
// Bins without samples are passed over.
func gamut(bins *[HueBins]bin, colour func(*bin) (a, b float64)) float64 {
	var area, a0, b0 float64
	first := true
	var aFirst, bFirst float64
	for h := range bins {
		if bins[h].n == 0 {
			continue
		}
		a, b := colour(&bins[h])
		a, b = a/float64(bins[h].n), b/float64(bins[h].n)
		if first {
			aFirst, bFirst, first = a, b, false
		} else {
			area += a0*b - a*b0
		}
		a0, b0 = a, b
	}
	return area + a0*bFirst - aFirst*b0
}
