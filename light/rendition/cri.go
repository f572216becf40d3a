package rendition

import (
	"math"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
)

// CRI holds the colour rendering indices of CIE 13.3-1995.
type CRI struct {
	Ra float64     // the general index, the mean of R1 to R8
	R  [14]float64 // the special indices R1 to R14
	// DeltaC is the distance of test light and reference in the 1960 u,v
	// diagram. Beyond 5.4e-3 the adaptation of the method is not to be relied
	// on (clause 5.3).
	DeltaC float64
}

// CRI computes the indices of CIE 13.3-1995 for a light of the given correlated
// colour temperature in K. The reference is a blackbody below 5000 K and CIE
// daylight from 5000 K on.
func (e *Evaluator) CRI(p *spectrum.Projected, cct float64, out *CRI) {
	e.reference.at(p, cct)
	light := e.reference.blackbody
	if cct >= criDaylightFrom {
		light = e.reference.daylight
	}
	e.cie1931.fold(from(p, foldFirst), &e.test)
	e.cie1931.fold(light().from(foldFirst), &e.ref)
	whiteTest, whiteRef := e.test.normalise(), e.ref.normalise()

	uTest, vTest := whiteTest.UV()
	uRef, vRef := whiteRef.UV()
	out.DeltaC = math.Hypot(uTest-uRef, vTest-vRef)

	adapt := adaptation(whiteTest, whiteRef)
	for j := range e.tcs {
		wt, ut, vt := adapt.uvw(e.test.of(&e.tcs[j]), uRef, vRef)
		wr, ur, vr := unadapted.uvw(e.ref.of(&e.tcs[j]), uRef, vRef)
		dw, du, dv := wt-wr, ut-ur, vt-vr
		out.R[j] = 100 - 4.6*math.Sqrt(dw*dw+du*du+dv*dv) // clause 5.7
	}
	sum := 0.0
	for _, r := range out.R[:8] {
		sum += r
	}
	out.Ra = sum / 8
}

// vonKries is the chromatic adaptation of CIE 13.3-1995 clause 5.5: the factors
// c_r/c_k and d_r/d_k.
type vonKries struct{ c, d float64 }

var unadapted = vonKries{1, 1}

func adaptation(test, ref colorimetry.XYZ) vonKries {
	ct, dt := coneCD(test)
	cr, dr := coneCD(ref)
	return vonKries{cr / ct, dr / dt} // both whites have Y = 100
}

// coneCD returns Y times the c = (4 − u − 10v)/v and d = (1.708v + 0.404 −
// 1.481u)/v of clause 5.5, which with u = 4X/D, v = 6Y/D, D = X + 15Y + 3Z need
// no division.
func coneCD(c colorimetry.XYZ) (float64, float64) {
	return 2 * c.Z, (16.308*c.Y - 5.520*c.X + 1.212*c.Z) / 6
}

// uvw returns W*, U*, V* of a colour on the scale Y = 100 after adaptation
// (clauses 5.5 and 5.6), about the reference white's u, v.
func (a vonKries) uvw(c colorimetry.XYZ, uWhite, vWhite float64) (w, u, v float64) {
	cc, cd := coneCD(c)
	cc, cd = a.c*cc, a.d*cd
	den := 16.518*c.Y + 1.481*cc - cd
	w = 25*math.Cbrt(c.Y) - 17
	u = 13 * w * ((10.872*c.Y+0.404*cc-4*cd)/den - uWhite)
	v = 13 * w * (5.520*c.Y/den - vWhite)
	return w, u, v
}
