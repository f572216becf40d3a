package uncertainty

import (
	"math"

	"lampassay/light/spectrum"
)

// stretchPivot is the wavelength in nm that a stretch leaves in place.
const stretchPivot = 550

// axisError is what one draw does to the wavelengths of a projected spectrum:
// a sample read at λ belongs to λ + offset + stretch·(λ − 550 nm), and lines are
// wider by a variance (narrower where it is negative).
type axisError struct {
	offset   float64 // nm
	stretch  float64 // nm per nm
	variance float64 // nm²
	bend     *bend   // what a fitted axis adds; nil for none
}

func (a axisError) at(lambda float64) float64 {
	return lambda + a.by(lambda)
}

func (a axisError) by(lambda float64) float64 {
	by := a.offset + a.stretch*(lambda-stretchPivot)
	if a.bend != nil {
		by += a.bend.at(lambda)
	}
	return by
}

// gain is by how much wider a nanometre of the reading is than it seemed, at a
// point of the grid.
func (a axisError) gain(i int) float64 {
	if a.bend == nil {
		return 1 + a.stretch
	}
	return 1 + a.stretch + a.bend.slope[i]
}

// apply sets dst to src on the wavelengths of this draw, without going back to
// the samples: a new projector for 2048 of them costs several times what the
// whole draw does.
//
// What a grid point holds is moved to the whole nanometre nearest its new place
// and spread over that one and its neighbours so that amount, mean and variance
// about the new place are right: sums with any weighting that is a parabola over
// three nanometres are then exact, and for the others the error is that of
// interpolating them by one, W‴·f(1−f²)/6 ≤ 0.064 W‴ for a remainder f.
// Samples keep their values, so that a stretched axis holds the more power.
//
// Edges of bands let pass what the spectrum has there times the shift. The range
// covered stays that of the reading, lest a quantity come and go with the draws.
func (a axisError) apply(dst, src *spectrum.Projected) {
	*dst = *src
	clear(dst.B[:])
	first := max(int(src.From)-1, spectrum.GridFirst) - spectrum.GridFirst
	last := min(int(src.To)+2, spectrum.GridLast) - spectrum.GridFirst
	// The bandwidth's part reaches far enough that its weights stay small.
	reach := 1 + int(math.Sqrt(2*math.Abs(a.variance)))
	spread := a.variance / float64(2*reach*reach)
	put := func(i int, b float64) {
		if i >= 0 && i < len(dst.B) {
			dst.B[i] += b
		}
	}
	for i := first; i <= last; i++ {
		b := a.gain(i) * src.B[i]
		if b == 0 {
			continue
		}
		by := a.by(float64(spectrum.GridFirst + i))
		whole := math.Floor(by + 0.5)
		f := by - whole
		at := i + int(whole)
		put(at-1, b*f*(f-1)/2)
		put(at, b*(1-f*f-2*spread))
		put(at+1, b*f*(f+1)/2)
		put(at-reach, b*spread)
		put(at+reach, b*spread)
	}

	gain := 1 + a.stretch
	dst.Total = gain*src.Total + a.bent(src, 0, 0)
	dst.Moment = gain*(src.Moment+a.offset*src.Total+a.stretch*(src.Moment-stretchPivot*src.Total)) + a.bentMoment(src)
	for band, edges := range bandEdges {
		dst.Power[band] = gain*(src.Power[band]+a.passed(src, edges[0])-a.passed(src, edges[1])) + a.bent(src, edges[0], edges[1])
	}
	a.photons(dst, src)
	a.feature(dst, src)
}

// bandEdges are the limits of the bands in nm, 0 where there is none.
var bandEdges = [...][2]int{
	spectrum.UVC: {100, 280}, spectrum.UVB: {280, 315}, spectrum.UVA: {315, 400}, spectrum.Visible: {380, 780},
	spectrum.IRA: {780, 1400}, spectrum.BelowVisible: {0, 380}, spectrum.AboveVisible: {780, 0},
}

// passed returns what moves up across a wavelength.
func (a axisError) passed(src *spectrum.Projected, edge int) float64 {
	return a.by(float64(edge)) * density(src, edge)
}

// density is the spectrum at a whole nanometre, 0 off the grid.
func density(p *spectrum.Projected, nm int) float64 {
	if nm < spectrum.GridFirst || nm > spectrum.GridLast {
		return 0
	}
	return p.B[nm-spectrum.GridFirst] / float64(p.Step)
}

// photons moves the sum over 400–700 nm of the spectrum times the wavelength.
func (a axisError) photons(dst, src *spectrum.Projected) {
	moved := 400*a.passed(src, 400) - 700*a.passed(src, 700)
	wider := 0.0
	for nm := 400; nm <= 700; nm++ {
		i := nm - spectrum.GridFirst
		moved += src.B[i] * a.by(float64(nm))
		if a.bend != nil {
			wider += src.B[i] * a.bend.slope[i] * float64(nm)
		}
	}
	dst.Micromol = (1+a.stretch)*(src.Micromol+moved*spectrum.MicromolPerJoule(1)) + wider*spectrum.MicromolPerJoule(1)
}

// feature moves the tallest feature and widens it as a Gaussian.
func (a axisError) feature(dst, src *spectrum.Projected) {
	dst.Peak = a.at(src.Peak)
	widen := 1.0
	if w := src.FWHM(); a.variance != 0 && w > 0 {
		widen = math.Sqrt(1 + 8*math.Ln2*a.variance/(w*w)) // NaN where nothing is left
	}
	dst.HalfBelow = dst.Peak - widen*(dst.Peak-a.at(src.HalfBelow))
	dst.HalfAbove = dst.Peak + widen*(a.at(src.HalfAbove)-dst.Peak)
}
