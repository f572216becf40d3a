package validation

import (
	"math"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/colorimetry"
	"lampassay/light/standards"
)

const cie15 = "CIE 15:2018"

// Published chromaticities, 2° observer, and the published CCT in K; 0 where
// none is checked. duv is an independent computation from the published x, y.
var illuminantValues = []struct {
	name      string
	x, y      float64
	xyTol     float64
	cct       float64
	cctBasis  Basis
	duv       float64
	hasDuv    bool
	published string
}{
	{"A", .44758, .40745, 2e-5, 2856, Published, .0000, true, cie15 + " Table 3"},
	{"C", .31006, .31616, 2e-5, 6774, Published, 0, false, "CIE 15:2004"},
	{"D50", .34567, .35851, 2e-5, 5003, Published, .00321, true, cie15 + " Table 3"},
	{"D65", .31272, .32903, 2e-5, 6504, Published, .00321, true, cie15 + " Table 3"},
	{"FL1", .3131, .3371, 1e-4, 6430, Published, .00710, true, cie15 + " Table 10.1"},
	{"FL2", .3721, .3751, 1e-4, 4230, Published, .00177, true, cie15 + " Table 10.1"},
	{"FL3", .4091, .3941, 1e-4, 3450, Published, .00066, true, cie15 + " Table 10.1"},
	{"FL4", .4402, .4031, 1e-4, 2940, Published, -.00082, true, cie15 + " Table 10.1"},
	{"FL5", .3138, .3452, 1e-4, 6350, Published, .01075, true, cie15 + " Table 10.1"},
	{"FL6", .3779, .3882, 1e-4, 4150, Published, .00603, true, cie15 + " Table 10.1"},
	{"FL7", .3129, .3292, 1e-4, 6500, Published, .00321, true, cie15 + " Table 10.1"},
	{"FL8", .3458, .3586, 1e-4, 5000, Published, .00320, true, cie15 + " Table 10.1"},
	{"FL9", .3741, .3727, 1e-4, 4150, Published, .0000, true, cie15 + " Table 10.1"},
	{"FL10", .3458, .3588, 1e-4, 5000, Published, .00330, true, cie15 + " Table 10.1"},
	{"FL11", .3805, .3769, 1e-4, 4000, Memory, .00005, true, cie15 + " Table 10.1"},
	{"FL12", .4370, .4042, 1e-4, 3000, Memory, .00004, true, cie15 + " Table 10.1"},
	{"FL3.1", .4407, .4033, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.2", .3808, .3734, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.3", .3153, .3439, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.4", .4429, .4043, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.5", .3749, .3672, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.6", .3488, .3600, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.7", .4384, .4045, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.8", .3820, .3832, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.9", .3499, .3591, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.10", .3455, .3560, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.11", .3245, .3434, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.12", .4377, .4037, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.13", .3830, .3724, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.14", .3447, .3609, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"FL3.15", .3127, .3288, 1e-4, 0, "", 0, false, cie15 + " Table 10.2"},
	{"HP1", .5330, .4150, 1e-4, 1959, Memory, .00080, true, cie15 + " Table 11"},
	{"HP2", .4778, .4158, 1e-4, 2506, Memory, .00070, true, cie15 + " Table 11"},
	{"HP3", .4302, .4075, 1e-4, 3144, Memory, .00237, true, cie15 + " Table 11"},
	{"HP4", .3812, .3797, 1e-4, 4002, Memory, .00116, true, cie15 + " Table 11"},
	{"HP5", .3776, .3713, 1e-4, 4039, Memory, -.00174, true, cie15 + " Table 11"},
	{"LED-B1", .4560, .4078, 1e-4, 2733, Memory, -.00071, true, cie15 + " Table 12.1"},
	{"LED-B2", .4357, .4012, 1e-4, 2998, Memory, -.00098, true, cie15 + " Table 12.1"},
	{"LED-B3", .3756, .3723, 1e-4, 4103, Memory, -.00065, true, cie15 + " Table 12.1"},
	{"LED-B4", .3422, .3502, 1e-4, 5109, Memory, .00047, true, cie15 + " Table 12.1"},
	{"LED-B5", .3118, .3236, 1e-4, 6598, Memory, .00087, true, cie15 + " Table 12.1"},
	{"LED-BH1", .4474, .4066, 1e-4, 2851, Memory, -.00030, true, cie15 + " Table 12.2"},
	{"LED-RGB1", .4557, .4211, 1e-4, 2840, Memory, .00427, true, cie15 + " Table 12.2"},
	{"LED-V1", .4548, .4044, 1e-4, 2724, Memory, -.00188, true, cie15 + " Table 12.2"},
	{"LED-V2", .3781, .3775, 1e-4, 4070, Memory, .00105, true, cie15 + " Table 12.2"},
}

func value(r *assay.Result, id quantity.ID) float64 {
	if v, ok := r.Value(id); ok {
		return v
	}
	return math.NaN()
}

func chromaticity(l *list) {
	for _, c := range illuminantValues {
		r := l.illuminant(c.name)
		l.add(c.name+" x", c.x, value(r, quantity.ChromaticityX), c.xyTol, "", Published, c.published)
		l.add(c.name+" y", c.y, value(r, quantity.ChromaticityY), c.xyTol, "", Published, c.published)
	}
}

func cctAndDuv(l *list) {
	for _, c := range illuminantValues {
		r := l.illuminant(c.name)
		if c.cct != 0 {
			// Published figures are rounded, some of them to 10 or 50 K.
			l.add(c.name+" CCT", c.cct, value(r, quantity.CCT), 0.002*c.cct+1, "K", c.cctBasis, c.published)
		}
		if c.hasDuv {
			l.add(c.name+" Duv", c.duv, value(r, quantity.Duv), 1e-4, "", Independent, "least distance to the Planckian locus from the published x, y")
		}
	}
	cct, duv, _ := colorimetry.CCT(0.1978, 0.3122)
	l.add("u 0.1978, v 0.3122: CCT", 6507.474, cct, 1, "K", Published, "worked value of Ohno's combined method, Leukos 10 (2014) 47")
	l.add("u 0.1978, v 0.3122: Duv", 0.0032233, duv, 1e-5, "", Published, "worked value of Ohno's combined method, Leukos 10 (2014) 47")
	for _, c := range []struct{ nominal, cct, x, y, duv float64 }{
		{2700, 2725.0, .4578, .4101, .00000}, {3000, 3044.6, .4338, .4030, .00001}, {3500, 3464.6, .4073, .3917, .00000},
		{4000, 3985.0, .3818, .3797, .00098}, {4500, 4502.9, .3611, .3658, .00099}, {5000, 5027.6, .3447, .3553, .00201},
		{5700, 5666.3, .3287, .3417, .00202}, {6500, 6532.6, .3123, .3282, .00300},
	} {
		cct, duv, _ := colorimetry.CCT(uvFromXY(c.x, c.y))
		source := "ANSI C78.377 nominal centre, x and y from memory"
		l.add(format("C78.377 %g K centre: CCT", c.nominal), c.cct, cct, 2, "K", Independent, source)
		l.add(format("C78.377 %g K centre: Duv", c.nominal), c.duv, duv, 3e-5, "", Independent, source)
	}
}

// uvFromXY is CIE 1960 u, v from chromaticity.
func uvFromXY(x, y float64) (u, v float64) {
	d := -2*x + 12*y + 3
	return 4 * x / d, 6 * y / d
}

// colourDifference: Sharma, Wu and Dalal (2005), pairs 1–6 of Table 1.
func colourDifference(l *list) {
	const source = "Sharma, Wu and Dalal, Color Res. Appl. 30 (2005) 21, Table 1"
	blue := colorimetry.Lab{L: 50, A: 0, B: -82.7485}
	for i, c := range []struct{ a, b, de2000, de76 float64 }{
		{2.6772, -79.7751, 2.0425, 4.0011}, {3.1571, -77.2803, 2.8615, 6.3142}, {2.8361, -74.0200, 3.4412, 9.1777},
		{-1.3802, -84.2814, 1.0000, 0}, {-1.1848, -84.8006, 1.0000, 0},
	} {
		lab := colorimetry.Lab{L: 50, A: c.a, B: c.b}
		l.add(format("CIEDE2000 pair %d", i+1), c.de2000, colorimetry.DeltaE2000(lab, blue), 5e-5, "", Published, source)
		if c.de76 != 0 {
			l.add(format("CIE 1976 difference, pair %d", i+1), c.de76, colorimetry.DeltaE76(lab, blue), 5e-5, "", Independent, "square root of the summed squares")
		}
	}
}

// tables: facts that a damaged or misread table would break.
func tables(l *list) {
	sum := func(w []float64) float64 {
		s := 0.0
		for _, v := range w {
			s += v
		}
		return s
	}
	o := standards.CIE1931()
	l.add("Σȳ at 1 nm, 2° observer", 106.85692, sum(o.Y.W), 1e-5, "", Published, "ISO/CIE 11664-1:2019")
	l.add("V(555 nm)", 1, standards.V().At(555), 0, "", Defined, "CIE 018:2019")
	l.add("equal energy, x", 1.0/3, sum(o.X.W)/(sum(o.X.W)+sum(o.Y.W)+sum(o.Z.W)), 5e-5, "", Defined, "ISO/CIE 11664-1:2019")
	o10 := standards.CIE1964()
	l.add("equal energy, x₁₀", 1.0/3, sum(o10.X.W)/(sum(o10.X.W)+sum(o10.Y.W)+sum(o10.Z.W)), 5e-5, "", Defined, "ISO/CIE 11664-1:2019")
	l.add("683/V′(555.016 nm)", 1700.06, 683/standards.VPrime().At(555.016), 0.01, "lm/W", Published, "CIE 018:2019")
}
