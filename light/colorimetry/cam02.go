package colorimetry

import "math"

// Surround is how bright the field around a scene is (CIE 159:2004 Table 1).
type Surround uint8

const (
	Average Surround = iota // surface colours; what CIE 224:2017 uses
	Dim                     // television
	Dark                    // projection in a dark room
)

// surrounds holds F, c and N_c.
var surrounds = [...]struct{ f, c, nc float64 }{
	Average: {1.0, 0.69, 1.0},
	Dim:     {0.9, 0.59, 0.9},
	Dark:    {0.8, 0.525, 0.8},
}

// Adaptation returns the degree D to which the eye adapts to the white at an
// adapting luminance in cd/m², 0 to 1 (CIE 159:2004).
func (s Surround) Adaptation(la float64) float64 {
	return surrounds[s].f * (1 - math.Exp(-(la+42)/92)/3.6)
}

// The cone responses of adaptation (CAT02) and of the compression
// (Hunt-Pointer-Estévez) from X, Y, Z (CIE 159:2004).
var (
	cat02 = matrix{
		{0.7328, 0.4296, -0.1624},
		{-0.7036, 1.6975, 0.0061},
		{0.0030, 0.0136, 0.9834},
	}
	hpe = matrix{
		{0.38971, 0.68898, -0.07868},
		{-0.22981, 1.18340, 0.04641},
		{0, 0, 1},
	}
)

// CAM02 is a viewing condition prepared for CIECAM02 (CIE 159:2004). It is a
// plain value and may be copied and shared.
type CAM02 struct {
	fl        float64 // F_L
	fl4       float64 // F_L to the power 1/4
	c         float64
	nbb       float64
	lightness *power  // c·z/2, from A/A_w to √(J/100)
	tScale    float64 // 50000/13 · N_c · N_cb
	cScale    float64 // (1.64 − 0.29ⁿ)^0.73

	white XYZ
	d     float64 // degree of adaptation
	cone  matrix  // X, Y, Z to F_L/100 times the adapted HPE responses
	aw    float64 // achromatic response of the white
}

// NewCAM02 prepares a condition from the white, at Y = 100 and of the colours'
// own observer, the adapting luminance in cd/m², the background's Y_b on the
// scale of the white and the surround. The eye is taken as fully adapted
// (D = 1); [CAM02.WithAdaptation] sets another degree. CIE 224:2017 takes the
// source's white with the 10° observer, 100 cd/m², 20 and [Average].
//
// It makes tables; where one light follows another, [CAM02.WithWhite] is cheap.
func NewCAM02(white XYZ, la, yb float64, s Surround) CAM02 {
	sr := surrounds[s]
	n := yb / white.Y
	k := 1 / (5*la + 1)
	k4 := k * k * k * k
	fl := 0.2*k4*(5*la) + 0.1*square(1-k4)*math.Cbrt(5*la)
	nbb := 0.725 * math.Pow(1/n, 0.2)
	return CAM02{
		fl:        fl,
		fl4:       math.Sqrt(math.Sqrt(fl)),
		c:         sr.c,
		nbb:       nbb,
		lightness: newPower(sr.c * (1.48 + math.Sqrt(n)) / 2),
		tScale:    50000.0 / 13 * sr.nc * nbb,
		cScale:    math.Pow(1.64-math.Pow(0.29, n), 0.73),
	}.under(white, 1)
}

// WithAdaptation returns the condition with the degree of adaptation D, 0 to 1;
// [Surround.Adaptation] is what CIE 159:2004 computes for it.
func (v CAM02) WithAdaptation(d float64) CAM02 { return v.under(v.white, d) }

// WithWhite returns the condition with another white of the same Y.
func (v CAM02) WithWhite(white XYZ) CAM02 { return v.under(white, v.d) }

func (v CAM02) under(white XYZ, d float64) CAM02 {
	r, g, b := cat02.apply(white.X, white.Y, white.Z)
	adapt := diagonal(d*white.Y/r+1-d, d*white.Y/g+1-d, d*white.Y/b+1-d)
	scale := diagonal(v.fl/100, v.fl/100, v.fl/100)
	v.white, v.d = white, d
	v.cone = scale.times(hpe).times(cat02.inverse()).times(adapt).times(cat02)
	v.aw = v.respond(white).achromatic
	return v
}

// response is what the compressed cone signals combine to.
type response struct {
	a, b       float64 // redness–greenness and yellowness–blueness
	achromatic float64 // A
	sum        float64 // R′a + G′a + 21/20 B′a
}

func (v *CAM02) respond(c XYZ) response {
	r, g, b := v.cone.apply(c.X, c.Y, c.Z)
	r, g, b = compress(r), compress(g), compress(b)
	return response{
		a:          r - (12*g-b)/11,
		b:          (r + g - 2*b) / 9,
		achromatic: (2*r + g + b/20 - 0.305) * v.nbb,
		sum:        r + g + 21.0/20*b,
	}
}

// The exponents of the compression and of the chroma.
var (
	power42 = newPower(0.42)
	power90 = newPower(0.9)
)

// compress is the post-adaptation nonlinearity, odd about zero but for the
// noise term 0.1.
func compress(x float64) float64 {
	p := power42.of(math.Abs(x))
	return math.Copysign(400*p/(p+27.13), x) + 0.1
}

// correlates returns √(J/100), the chroma C, and the length of (a, b), by which
// a and b become cos h and sin h. Where the achromatic response is not positive
// (black and beyond) lightness and chroma are 0; so is chroma where the sum is
// not, which no real colour brings about.
func (v *CAM02) correlates(s response) (rootJ, chroma, radius float64) {
	radius = math.Sqrt(s.a*s.a + s.b*s.b)
	if !(s.achromatic > 0) {
		return 0, 0, radius
	}
	rootJ = v.lightness.of(s.achromatic / v.aw)
	if radius > 0 && s.sum > 0 {
		// e_t·√(a²+b²), with cos(h + 2) by the addition theorem.
		const cos2, sin2 = -0.41614683654714239, 0.90929742682568170
		e := (s.a*cos2 - s.b*sin2 + 3.8*radius) / 4
		chroma = power90.of(v.tScale*e/s.sum) * rootJ * v.cScale
	}
	return rootJ, chroma, radius
}

// UCS returns J′, a′, b′ of CAM02-UCS (Luo, Cui & Li, Color Res. Appl. 31 (2006)
// 320, with K_L = 1, c1 = 0.007, c2 = 0.0228), the space of CIE 224:2017. The
// colour is on the scale of the white.
func (v *CAM02) UCS(c XYZ) (j, a, b float64) {
	const c1, c2 = 0.007, 0.0228
	s := v.respond(c)
	rootJ, chroma, radius := v.correlates(s)
	big := 100 * rootJ * rootJ
	j = (1 + 100*c1) * big / (1 + c1*big)
	if radius == 0 {
		return j, 0, 0
	}
	m := math.Log(1+c2*chroma*v.fl4) / c2 / radius
	return j, m * s.a, m * s.b
}

// Appearance holds the correlates of CIECAM02 (CIE 159:2004).
type Appearance struct {
	J float64 // lightness, 100 for the white
	Q float64 // brightness
	C float64 // chroma
	M float64 // colourfulness
	S float64 // saturation
	H float64 // hue angle h in degrees, 0 to 360; 0 where there is no hue
	A float64 // redness–greenness a
	B float64 // yellowness–blueness b
}

// Appearance returns the full forward model for a colour on the scale of the
// white. Black and below have J, Q, C, M and S of 0.
func (v *CAM02) Appearance(c XYZ) Appearance {
	s := v.respond(c)
	rootJ, chroma, _ := v.correlates(s)
	p := Appearance{
		J: 100 * rootJ * rootJ,
		Q: 4 / v.c * rootJ * (v.aw + 4) * v.fl4,
		C: chroma,
		M: chroma * v.fl4,
		H: hueAngle(s.a, s.b),
		A: s.a,
		B: s.b,
	}
	if p.Q > 0 {
		p.S = 100 * math.Sqrt(p.M/p.Q)
	}
	return p
}

// Adapt returns the colour that looks under the white "to" as c does under the
// white "from": the CAT02 transform of CIE 159:2004 with full adaptation. The
// scale goes along, so that from itself becomes to.
func Adapt(c, from, to XYZ) XYZ {
	r, g, b := cat02.apply(c.X, c.Y, c.Z)
	fr, fg, fb := cat02.apply(from.X, from.Y, from.Z)
	tr, tg, tb := cat02.apply(to.X, to.Y, to.Z)
	back := cat02.inverse()
	x, y, z := back.apply(r*tr/fr, g*tg/fg, b*tb/fb)
	return XYZ{x, y, z}
}
