package rendition

import (
	"math"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
)

const tcsCount = 14 // test colour samples of CIE 13.3-1995

// criColours holds the samples' X, Y, Z and those of the perfect diffuser.
type criColours [3 * (tcsCount + 1)]float64

// CRI holds the colour rendering indices of CIE 13.3-1995.
type CRI struct {
	Ra float64           // the general index, the mean of R1 to R8
	R  [tcsCount]float64 // the special indices R1 to R14
	// DeltaC is the distance of test light and reference in the 1960 u,v
	// diagram. Beyond 5.4e-3 the method's adaptation is not to be relied on.
	DeltaC float64
}

// CRI computes the indices of CIE 13.3-1995 for a light of the given correlated
// colour temperature in K. The reference is a blackbody below 5000 K and CIE
// daylight from 5000 K on.
func (e *Evaluator) CRI(p *spectrum.Projected, cct float64, out *CRI) {
	e.reference.at(p, cct)
	e.cie1931.fold(from(p, foldFirst), &e.test)
	e.test.normalise()
	var test, ref criColours
	e.test.show(e.tcs, test[:])
	if !e.reference.charts.cri.at(cct, ref[:]) {
		e.criReference(ref[:])
	}
	whiteTest, whiteRef := shown(test[:], tcsCount), shown(ref[:], tcsCount)

	uTest, vTest := whiteTest.UV()
	uRef, vRef := whiteRef.UV()
	out.DeltaC = math.Hypot(uTest-uRef, vTest-vRef)

	underRef := colorimetry.NewUVW(whiteRef)
	underTest := underRef.WithWhite(whiteTest)
	for j := range out.R {
		wt, ut, vt := underTest.UVW(shown(test[:], j))
		wr, ur, vr := underRef.UVW(shown(ref[:], j))
		dw, du, dv := wt-wr, ut-ur, vt-vr
		out.R[j] = 100 - 4.6*math.Sqrt(dw*dw+du*du+dv*dv)
	}
	sum := 0.0
	for _, r := range out.R[:8] {
		sum += r
	}
	out.Ra = sum / 8
}

// criReference shows the samples under the reference.
func (e *Evaluator) criReference(out []float64) {
	e.cie1931.fold(e.reference.light(criDaylightFrom).from(foldFirst), &e.ref)
	e.ref.normalise()
	e.ref.show(e.tcs, out)
}
