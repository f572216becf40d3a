package colorimetry

import (
	"math"
	"sync"

	"lampassay/light/standards"
)

// PlanckianXYZ returns the tristimulus values of a blackbody at a positive
// temperature in K for the 2° observer: the exitance in W/m² under each
// colour-matching function, summed from 360 nm to 830 nm at 1 nm with
// c2 = 1.4388e-2 m·K (CIE 15:2018 clauses 4.1.1 and 9.5).
func PlanckianXYZ(kelvin float64) XYZ {
	o := standards.CIE1931()
	var c XYZ
	for i := range o.Y.W {
		m := standards.Planck(float64(o.Y.First+i), kelvin)
		c.X += m * o.X.W[i]
		c.Y += m * o.Y.W[i]
		c.Z += m * o.Z.W[i]
	}
	return c
}

// The ends of the locus that CCT searches, in K. Beyond the hot end all
// blackbodies look alike; the cold one is far below the first red glow.
const (
	LocusCold = 500
	LocusHot  = 1e6
)

// CCT returns the correlated colour temperature in K of a point of the CIE 1960
// diagram, and its distance from the Planckian locus, positive above it (ANSI
// C78.377 Duv). It finds the nearest point itself, not an approximation of it.
// Where that point is an end of the locus, no isotherm passes through (u, v):
// ok is false, cct is that end and duv the distance from it. For a point that is
// not finite ok is false and both are NaN.
//
// CIE 15:2018 clause 9.5 gives the figure a meaning for |Duv| ≤ 0.05 only;
// that rule is the caller's.
func CCT(u, v float64) (cct, duv float64, ok bool) {
	if d := u - v; math.IsNaN(d) || math.IsInf(d, 0) {
		return math.NaN(), math.NaN(), false
	}
	l := planckian()
	best := math.Inf(1)
	consider := func(mired float64, at jet, interior bool) {
		du, dv := u-at.u, v-at.v
		d := math.Hypot(du, dv)
		if d >= best {
			return
		}
		best, ok = d, interior
		cct = 1e6 / mired
		// Above is to the left as the locus runs from hot to cold.
		duv = math.Copysign(d, at.u1*dv-at.v1*du)
	}
	// The squared distance has a minimum wherever its slope along the locus
	// turns from falling to rising. Where there is more than one, far from the
	// locus, the nearest counts.
	before := l.edges[0].slope(u, v)
	if before >= 0 {
		consider(l.mired(0, -1), l.edges[0], false)
	}
	for k := range l.panels {
		after := l.edges[k+1].slope(u, v)
		if before < 0 && after >= 0 {
			t, at := l.panels[k].foot(u, v, before, after)
			consider(l.mired(k, t), at, true)
		}
		before = after
	}
	if before < 0 {
		consider(l.mired(len(l.panels)-1, 1), l.edges[len(l.panels)], false)
	}
	return cct, duv, ok
}

// UVFromCCT is the inverse of [CCT]: the point of the CIE 1960 diagram at a
// signed distance duv along the isotherm of a temperature between [LocusCold]
// and [LocusHot] K; outside them NaN. It draws isotherms and places nominal
// points.
func UVFromCCT(cct, duv float64) (u, v float64) {
	if !(cct >= LocusCold && cct <= LocusHot) {
		return math.NaN(), math.NaN()
	}
	k, t := planckian().locate(1e6 / cct)
	at := planckian().panels[k].at(t)
	n := duv / math.Hypot(at.u1, at.v1)
	return at.u - n*at.v1, at.v + n*at.u1
}

// The locus is a function of the reciprocal temperature (1 mired = 1e-6 K⁻¹),
// in which it is smooth to infinite temperature. It is cut into panels of equal
// width, each a polynomial in t from −1 to 1 through the sums at the Chebyshev
// nodes.
const (
	panelCount  = 32
	panelTerms  = 10
	miredFirst  = 1e6 / LocusHot
	miredLast   = 1e6 / LocusCold
	miredHalves = (miredLast - miredFirst) / panelCount / 2 // half a panel's width
)

type locus struct {
	panels [panelCount]panel
	edges  [panelCount + 1]jet
}

type panel struct{ u, v [panelTerms]float64 }

// jet is a point of the locus with its first and second derivatives by t.
type jet struct{ u, v, u1, v1, u2, v2 float64 }

var planckian = sync.OnceValue(func() *locus {
	l := new(locus)
	var t, u, v [panelTerms]float64
	for j := range t {
		t[j] = math.Cos(math.Pi * (float64(j) + 0.5) / panelTerms)
	}
	for k := range l.panels {
		for j := range t {
			u[j], v[j] = PlanckianXYZ(1e6 / l.mired(k, t[j])).UV()
		}
		l.panels[k] = panel{interpolate(t, u), interpolate(t, v)}
		l.edges[k] = l.panels[k].at(-1)
	}
	l.edges[panelCount] = l.panels[panelCount-1].at(1)
	return l
})

// mired returns the reciprocal temperature at t of panel k.
func (l *locus) mired(k int, t float64) float64 {
	return miredFirst + miredHalves*(2*float64(k)+1+t)
}

// locate is the inverse of mired.
func (l *locus) locate(mired float64) (k int, t float64) {
	x := (mired - miredFirst) / miredHalves
	k = min(int(x/2), panelCount-1)
	return k, x - 2*float64(k) - 1
}

// at evaluates a panel and its derivatives by Horner's rule.
func (p *panel) at(t float64) (j jet) {
	for i := panelTerms - 1; i >= 0; i-- {
		j.u2, j.v2 = j.u2*t+2*j.u1, j.v2*t+2*j.v1
		j.u1, j.v1 = j.u1*t+j.u, j.v1*t+j.v
		j.u, j.v = j.u*t+p.u[i], j.v*t+p.v[i]
	}
	return j
}

// slope returns half the derivative by t of the squared distance to (u, v).
func (j *jet) slope(u, v float64) float64 { return (j.u-u)*j.u1 + (j.v-v)*j.v1 }

// foot finds t where the slope is zero, given its values below zero at −1 and
// not below at 1: Newton's method, with bisection where a step would leave the
// bracket.
func (p *panel) foot(u, v, below, above float64) (float64, jet) {
	lo, hi := -1.0, 1.0
	t := lo + 2*below/(below-above)
	j := p.at(t)
	for range 64 {
		g := j.slope(u, v)
		if g < 0 {
			lo = t
		} else {
			hi = t
		}
		next := t - g/(j.u1*j.u1+j.v1*j.v1+(j.u-u)*j.u2+(j.v-v)*j.v2)
		if !(next >= lo && next <= hi) {
			next = lo + (hi-lo)/2
		}
		step := next - t
		t = next
		j = p.at(t)
		if math.Abs(step) < 1e-9 { // the step's square is what remains
			break
		}
	}
	return t, j
}

// interpolate returns the coefficients, lowest first, of the polynomial through
// the points: Newton's divided differences, multiplied out.
func interpolate(t, y [panelTerms]float64) (c [panelTerms]float64) {
	for k := 1; k < len(t); k++ {
		for i := len(t) - 1; i >= k; i-- {
			y[i] = (y[i] - y[i-1]) / (t[i] - t[i-k])
		}
	}
	for i := len(t) - 1; i >= 0; i-- {
		for j := len(t) - 1; j > 0; j-- {
			c[j] = c[j-1] - t[i]*c[j]
		}
		c[0] = y[i] - t[i]*c[0]
	}
	return c
}
