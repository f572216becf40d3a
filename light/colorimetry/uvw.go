package colorimetry

import "math"

// UVW is the 1964 W*U*V* space as CIE 13.3-1995 clause 5 uses it: about the white of
// a reference light, for colours seen under that light or, by the method's von Kries
// adaptation, under another. It is a plain value and may be copied and shared.
type UVW struct {
	u, v   float64 // of the reference's white
	yc, yd float64 // its Y·c and Y·d
	c, d   float64 // c_r/c_k and d_r/d_k, the adaptation
}

// NewUVW prepares the space about the white of a reference light, at Y = 100, for
// colours under that light; [UVW.WithWhite] is for those under another.
func NewUVW(reference XYZ) UVW {
	s := UVW{c: 1, d: 1}
	s.u, s.v = reference.UV()
	s.yc, s.yd = coneCD(reference)
	return s
}

// WithWhite returns the space for colours under a light with another white of the
// same Y.
func (s UVW) WithWhite(white XYZ) UVW {
	yc, yd := coneCD(white)
	s.c, s.d = s.yc/yc, s.yd/yd
	return s
}

// UVW returns W*, U*, V* of a colour on the scale of a white of Y = 100.
func (s *UVW) UVW(c XYZ) (w, u, v float64) {
	yc, yd := coneCD(c)
	yc, yd = s.c*yc, s.d*yd
	den := 16.518*c.Y + 1.481*yc - yd
	w = 25*math.Cbrt(c.Y) - 17
	u = 13 * w * ((10.872*c.Y+0.404*yc-4*yd)/den - s.u)
	v = 13 * w * (5.520*c.Y/den - s.v)
	return w, u, v
}

// coneCD returns Y·c and Y·d for the method's c = (4 − u − 10v)/v and d = (1.708v
// + 0.404 − 1.481u)/v. With u = 4X/D, v = 6Y/D and D = X + 15Y + 3Z these need no
// division, so that no colour is too dark for them.
func coneCD(c XYZ) (yc, yd float64) {
	return 2 * c.Z, (16.308*c.Y - 5.520*c.X + 1.212*c.Z) / 6
}
