package colorimetry

import "math"

// Lab is a colour of the CIE 1976 L*a*b* space (ISO/CIE 11664-4).
type Lab struct{ L, A, B float64 }

// LabFromXYZ returns the CIE 1976 L*a*b* coordinates of a colour beside the
// white of the same scale and observer, whose three values are positive.
func LabFromXYZ(c, white XYZ) Lab {
	fx, fy, fz := labRoot(c.X/white.X), labRoot(c.Y/white.Y), labRoot(c.Z/white.Z)
	return Lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

// labRoot is the cube root, continued as a straight line below (24/116)³.
func labRoot(t float64) float64 {
	const knee = 24.0 / 116
	if t > knee*knee*knee {
		return math.Cbrt(t)
	}
	return 841.0/108*t + 16.0/116
}

// DeltaE76 returns the CIE 1976 colour difference ΔE*ab (ISO/CIE 11664-4).
func DeltaE76(a, b Lab) float64 {
	return math.Sqrt(square(a.L-b.L) + square(a.A-b.A) + square(a.B-b.B))
}

// DeltaE2000 returns the CIEDE2000 colour difference ΔE00 (ISO/CIE 11664-6)
// with the parametric factors k_L, k_C and k_H at 1.
func DeltaE2000(p, q Lab) float64 {
	const degree = math.Pi / 180
	const c25 = 25.0 * 25 * 25 * 25 * 25 * 25 * 25 // 25⁷

	// a′ stretches the a axis near grey.
	mean7 := math.Pow((math.Hypot(p.A, p.B)+math.Hypot(q.A, q.B))/2, 7)
	g := 0.5 * (1 - math.Sqrt(mean7/(mean7+c25)))
	a1, a2 := (1+g)*p.A, (1+g)*q.A
	c1, c2 := math.Hypot(a1, p.B), math.Hypot(a2, q.B)
	h1, h2 := hueAngle(a1, p.B), hueAngle(a2, q.B)

	// Differences and means; hue differences go the short way round, and a grey
	// has no hue of its own.
	dL, dC := q.L-p.L, c2-c1
	dh, meanH := 0.0, h1+h2
	if c1*c2 != 0 {
		dh, meanH = h2-h1, (h1+h2)/2
		switch {
		case dh > 180:
			dh -= 360
			meanH += 180
		case dh < -180:
			dh += 360
			meanH += 180
		}
	}
	dH := 2 * math.Sqrt(c1*c2) * math.Sin(dh/2*degree)
	l50 := square((p.L+q.L)/2 - 50)
	meanC := (c1 + c2) / 2

	t := 1 - 0.17*math.Cos((meanH-30)*degree) + 0.24*math.Cos(2*meanH*degree) +
		0.32*math.Cos((3*meanH+6)*degree) - 0.20*math.Cos((4*meanH-63)*degree)
	sL := 1 + 0.015*l50/math.Sqrt(20+l50)
	sC := 1 + 0.045*meanC
	sH := 1 + 0.015*meanC*t
	mean7 = math.Pow(meanC, 7)
	around := math.Mod(meanH, 360)
	rT := -2 * math.Sqrt(mean7/(mean7+c25)) * math.Sin(60*math.Exp(-square((around-275)/25))*degree)

	x, y, z := dL/sL, dC/sC, dH/sH
	return math.Sqrt(x*x + y*y + z*z + rT*y*z)
}

// hueAngle returns atan2(b, a) in degrees from 0 to 360; 0 for grey.
func hueAngle(a, b float64) float64 {
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return h
}

func square(x float64) float64 { return x * x }
