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

	adapt := adaptation(whiteTest, whiteRef)
	for j := range out.R {
		wt, ut, vt := adapt.uvw(shown(test[:], j), uRef, vRef)
		wr, ur, vr := unadapted.uvw(shown(ref[:], j), uRef, vRef)
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

// vonKries is the chromatic adaptation of CIE 13.3-1995: the factors c_r/c_k and
// d_r/d_k.
type vonKries struct{ c, d float64 }

var unadapted = vonKries{1, 1}

func adaptation(test, ref colorimetry.XYZ) vonKries {
	ct, dt := coneCD(test)
	cr, dr := coneCD(ref)
	return vonKries{cr / ct, dr / dt} // both whites have Y = 100
}

// coneCD returns Y·c and Y·d for the method's c = (4 − u − 10v)/v and d = (1.708v
// + 0.404 − 1.481u)/v. With u = 4X/D, v = 6Y/D and D = X + 15Y + 3Z these need no
// division, so that no colour is too dark for them.
func coneCD(c colorimetry.XYZ) (yc, yd float64) {
	return 2 * c.Z, (16.308*c.Y - 5.520*c.X + 1.212*c.Z) / 6
}

// uvw returns W*, U*, V* (CIE 1964) of a colour on the scale Y = 100 after
// adaptation, about the reference white's u, v.
func (a vonKries) uvw(c colorimetry.XYZ, uWhite, vWhite float64) (w, u, v float64) {
	yc, yd := coneCD(c)
	yc, yd = a.c*yc, a.d*yd
	den := 16.518*c.Y + 1.481*yc - yd
	w = 25*math.Cbrt(c.Y) - 17
	u = 13 * w * ((10.872*c.Y+0.404*yc-4*yd)/den - uWhite)
	v = 13 * w * (5.520*c.Y/den - vWhite)
	return w, u, v
}
