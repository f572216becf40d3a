package flux

import (
	"context"
	"fmt"
	"math"
	"slices"

	"lampassay/assay/uncertainty"
	"lampassay/light/distribution"
)

// Reading is what a meter showed in one direction.
type Reading struct {
	Gamma   float64 // degrees from the axis; below zero on the other side, C + 180°
	Plane   float64 // degrees round it
	Value   float64 // lx, or cd where Angles.Candela
	Ambient float64 // lx with the direct light blocked, to be taken off
	// Distance in m from the lamp's centre, for lux.
	Distance float64
}

// Angles is light over directions: readings of a light meter at a distance, or an
// intensity table.
type Angles struct {
	Readings []Reading
	Candela  bool
	Symmetry distribution.Symmetry
	Beyond   distribution.Beyond
	Meter    LightMeter

	DistanceU Part // standard uncertainty of the distance, in m
	AngleU    Part // standard uncertainty of the zero of the angles, in degrees
	// Size of the lamp in m and its shape, as far as known: it errs intensities,
	// not the flux through a whole sphere.
	Size  float64
	Shape distribution.Shape
}

// AnglesResult adds to the flux what only a whole distribution tells.
type AnglesResult struct {
	Result
	Distribution *distribution.Distribution
	Within90     Figure // lm in the cone of 90°
	Within120    Figure // lm in the cone of 120°
	Centre       Figure // cd at γ = 0°
	Peak         Figure // cd
	PeakGamma    float64
	PeakPlane    float64
	// Beam and Field are the full angles at 50 % and 10 % of the centre-beam
	// intensity, nil where the light has no such edge. HalfPeak is that at 50 % of
	// the largest intensity. BeamU is the standard uncertainty of each in degrees
	// that comes of reading two angles.
	Beam, Field, HalfPeak *distribution.Beam
	BeamU                 float64
	// Useful is the useful flux of a directional lamp, and UsefulCone its cone in
	// degrees: 120 where Beam is 90° wide or more, else 90 (Regulation (EU)
	// 2019/2020 Annex I). Directional tells whether 80 % of the flux lie within
	// 120°, as the regulation asks of a directional lamp. UsefulCone is 0 for a
	// lamp that is not, and its useful flux is all of it.
	Useful      Figure
	UsefulCone  float64
	Directional bool

	shape distribution.Shape
	size  float64 // m; 0 where not stated
}

// Assess finds the flux. It fails where readings do not cover the sphere, with a
// [*distribution.GapError], where they are of no direction, or where a value
// cannot be.
func (a *Angles) Assess(ctx context.Context, o uncertainty.Options) (*AnglesResult, error) {
	if a.AngleU.U > mostAngleU {
		return nil, fmt.Errorf("flux: a zero of the angles to ± %g°: beyond ± %g° a straight line no longer carries it to the flux", a.AngleU.U, mostAngleU)
	}
	g, err := a.grid()
	if err != nil {
		return nil, err
	}
	d, err := distribution.New(g.gamma, g.planes, g.cd, a.Symmetry, a.Beyond)
	if err != nil {
		return nil, fmt.Errorf("flux: %w", err)
	}
	e := new(equation)
	mismatch := a.Meter.Mismatch.input(e)
	scale := []int{e.factor(a.scaleName(), a.Meter.Scale), e.factor(uncertainty.Cosine, a.Meter.Cosine)}
	distance := -1
	if !a.Candela {
		distance = e.input(uncertainty.Distance, "m", uncertainty.Normal(g.distance, a.DistanceU.U), a.DistanceU.Source)
	}
	repeat := g.repeatability(&a.Meter, d)
	reading := e.input("repeatability of readings", "lm", uncertainty.Normal(0, repeat.U), repeat.Source)
	ambient := e.factor(uncertainty.Ambient, Part{})
	blocked, err := a.ambient(g, e, ambient)
	if err != nil {
		return nil, err
	}
	zero := e.input("zero of the angles", "°", uncertainty.Normal(0, a.AngleU.U), a.AngleU.Source)
	steps, planes, fill := a.sampling(g, d)
	between := e.shift("steps between angles", "lm", steps.U, steps.Source)
	round := e.input("half-planes and symmetry", "lm", planes.distribution, planes.source)
	beyond := e.shift("angles not measured", "lm", fill.U, fill.Source)
	more := a.finite(g)
	point := e.size(more)

	type cone struct{ value, blocked, perDegree float64 }
	var cones [3]cone
	for i, full := range []float64{360, 90, 120} {
		cones[i] = cone{d.FluxWithin(full), blocked.FluxWithin(full), d.PerDegree(full)}
	}
	centre := cone{d.Centre(), blocked.Centre(), 0}
	top, topGamma, topPlane := d.Peak()
	peak := cone{top, blocked.At(topGamma, topPlane), 0}
	whole := cones[0].value
	r, figures, err := e.assess(ctx, o, a.route(), 5, func(x, y []float64) {
		k := x[mismatch]
		for _, i := range scale {
			k *= x[i]
		}
		if distance >= 0 {
			k *= x[distance] * x[distance] / (g.distance * g.distance)
		}
		of := func(c cone) float64 { return c.value - (x[ambient]-1)*c.blocked + x[zero]*c.perDegree }
		part := x[reading] + x[between] + x[round]
		y[0] = k * (of(cones[0]) + part + x[beyond])
		for i := 1; i < 3; i++ { // a cone shares in what the sampling errs by
			y[i] = k * (of(cones[i]) + part*cones[i].value/whole) * (1 + x[point] - more)
		}
		y[3] = k * of(centre) * (1 + x[point])
		y[4] = k * of(peak) * (1 + x[point])
	})
	if err != nil {
		return nil, err
	}
	out := &AnglesResult{
		Result: *r, Distribution: d, Within90: figures[1], Within120: figures[2], Centre: figures[3],
		Peak: figures[4], PeakGamma: topGamma, PeakPlane: topPlane, BeamU: math.Sqrt2 * a.AngleU.U,
		shape: a.Shape, size: a.Size,
	}
	out.beams()
	a.explain(out, g)
	return out, nil
}

// mostAngleU in degrees is how unsure the zero of the angles may be, the flux being
// carried to first order: own choice.
const mostAngleU = 20.0

func (a *Angles) route() string {
	if a.Candela {
		return "intensity over angles"
	}
	return "lux at a distance over angles"
}

func (a *Angles) scaleName() string {
	if a.Candela {
		return "scale of the intensities"
	}
	return uncertainty.LightMeterScale
}

// leftover is how well a reading with the light blocked stands for what the meter
// sees beside the lamp, of itself; own estimate.
const leftover = 0.2

// ambient settles the input for ambient light and returns what was taken off.
func (a *Angles) ambient(g *grid, e *equation, at int) (*distribution.Distribution, error) {
	blocked, u := g.blocked, leftover
	if !g.hasAmbient && !a.Candela { // a share of the light itself stands for it
		blocked, u = g.cd, fromClass(uncertainty.LuxOverAngles(uncertainty.White), uncertainty.Ambient).U
	}
	e.inputs[at].Distribution = uncertainty.Normal(1, u)
	e.inputs[at].Source = uncertainty.OwnEstimate
	d, err := distribution.New(g.gamma, g.planes, blocked, a.Symmetry, a.Beyond)
	if err != nil {
		return nil, fmt.Errorf("flux: %w", err)
	}
	return d, nil
}

// asymmetry is the relative standard uncertainty of a symmetry that was stated and
// not measured: one half-plane for a round lamp, or its quarters or halves.
var asymmetry = map[distribution.Symmetry]float64{distribution.Rotational: 0.02, distribution.Quadrant: 0.01, distribution.Bilateral: 0.007}

// term is an additive error of the flux in lm.
type term struct {
	distribution uncertainty.Distribution
	source       string
}

// sampling estimates what the angles between and beyond the readings hold: half
// of what leaving every second angle out changes, all of what leaving every second
// half-plane out changes, and for what was not measured as much as was assumed or
// as the last angles suggest.
func (a *Angles) sampling(g *grid, d *distribution.Distribution) (steps Part, planes term, fill Part) {
	flux := d.Flux()
	coarse, sparse := d.Coarser()
	steps = Part{math.Abs(coarse-flux) / 2, "half of the change with every second angle left out"}
	if math.IsNaN(coarse) {
		steps = Part{0.05 * math.Abs(flux), uncertainty.OwnEstimate}
	}
	switch {
	case a.Symmetry == distribution.Rotational && len(g.planes) > 1:
		planes = g.spread(d)
	case a.Symmetry == distribution.None && !math.IsNaN(sparse):
		planes = term{uncertainty.Rectangular(0, math.Abs(sparse-flux)), "the change with every second half-plane left out"}
	case a.Symmetry == distribution.None: // New saw to four
		planes = term{uncertainty.Normal(0, 0.02*math.Abs(flux)), uncertainty.OwnEstimate}
	default:
		planes = term{uncertainty.Normal(0, asymmetry[a.Symmetry]*math.Abs(flux)), uncertainty.OwnEstimate}
	}
	fill.Source = uncertainty.OwnEstimate
	switch a.Beyond {
	case distribution.Dark:
		if held, err := distribution.New(g.gamma, g.planes, g.cd, a.Symmetry, distribution.Hold); err == nil {
			fill.U = math.Abs(held.Assumed())
		}
	case distribution.Hold:
		fill.U = math.Abs(d.Assumed())
	case distribution.Mirror:
		fill.U = math.Abs(d.Assumed()) / 2
	}
	return steps, planes, fill
}

// finite is by how much the lamp's size makes an intensity read too low.
func (a *Angles) finite(g *grid) float64 {
	if a.Candela || a.Size == 0 {
		return 0
	}
	return tooLow(a.Shape, a.Size, g.distance)
}

// directional is the share of the flux within 120° that Regulation (EU) 2019/2020
// asks of a directional light source.
const directional = 0.8

// beams settles how wide the light is and what of it is useful.
func (r *AnglesResult) beams() {
	d := r.Distribution
	of := func(share float64, ref distribution.Reference) *distribution.Beam {
		if b, ok := d.Beam(share, ref); ok {
			return &b
		}
		return nil
	}
	r.Beam, r.Field, r.HalfPeak = of(0.5, distribution.OfCentre), of(0.1, distribution.OfCentre), of(0.5, distribution.OfPeak)
	r.Directional = d.FluxWithin(120) >= directional*d.Flux()
	switch {
	case !r.Directional:
		r.Useful = r.Figure
	case r.Beam != nil && r.Beam.Widest < 90:
		r.Useful, r.UsefulCone = r.Within90, 90
	default:
		r.Useful, r.UsefulCone = r.Within120, 120
	}
}

// explain gives reasons and cautions.
func (a *Angles) explain(r *AnglesResult, g *grid) {
	planes := "one half-plane"
	if n := len(g.planes); n > 1 {
		planes = fmt.Sprintf("%d half-planes", n)
	}
	r.reason("%d angles γ on %s, symmetry stated: %s. Intensity is straight between readings and integrated exactly against the solid angle.", len(g.gamma), planes, a.Symmetry)
	switch from, to := r.Distribution.Measured(); {
	case a.Beyond == distribution.Whole || from == 0 && to == 180:
	case a.Beyond == distribution.Dark:
		r.reason("Measured from γ = %g° to %g°; beyond, no light is assumed.", from, to)
	default:
		r.reason("Measured from γ = %g° to %g°; beyond, %s: %.2g %% of the flux.", from, to, assumptions[a.Beyond], 100*max(r.Distribution.Assumed()/r.Distribution.Flux(), 0))
	}
	if a.Candela {
		r.reason("The intensities come without an uncertainty of their own: ± %.2g %% stands for their scale.", 100*a.Meter.Scale.U)
		return
	}
	a.Meter.Mismatch.explain(&r.Result)
	if !g.hasAmbient {
		r.caution("No ambient reading: read each angle once more with a small mask that hides only the lamp, in a column headed ambient. Switching the lamp off does not show what the room sends back of it.")
	}
	switch err := a.finite(g); {
	case a.Size == 0:
		r.caution("The lamp's size was not stated: whether %.3g m is far enough for its intensities was not checked. The flux over a whole sphere does not depend on it.", g.distance)
	case err > 0.01:
		r.caution("At %.3g m a matt luminous %s of %.3g m makes intensities read low: %.2g %% was added to that on the axis and to the largest, and may be wrong by as much; 1 %% takes %.3g m. The flux over a whole sphere does not depend on it.", g.distance, a.Shape, a.Size, 100*err, distribution.LeastDistance(a.Shape, a.Size, 0.01))
	}
	if a.Symmetry == distribution.Rotational && len(g.planes) == 1 {
		r.caution("One half-plane stands for all of them: a second at a right angle would show how round the light is.")
	}
}

var assumptions = map[distribution.Beyond]string{
	distribution.Hold: "the intensity of the last angle is assumed", distribution.Mirror: "the mirror image of the other side is assumed",
}

// sortedKeys returns rising distinct values.
func sortedKeys(values []float64) []float64 {
	slices.Sort(values)
	return slices.Compact(values)
}

// At returns what the beam gives at a distance in m: the illuminance on its axis
// in lx, less than I/d² where the lamp is large, and its width in m, 0 where it has
// no edge.
func (r *AnglesResult) At(distance float64) (lux, width float64) {
	if r.Beam != nil && r.Beam.Widest < 180 {
		width = 2 * distance * math.Tan(r.Beam.Widest*math.Pi/360)
	}
	return r.Centre.Value / (distance * distance) * distribution.Ratio(r.shape, r.size, distance), width
}
