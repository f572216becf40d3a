package flux

import (
	"fmt"
	"math"

	"lampassay/assay/uncertainty"
	"lampassay/light/distribution"
)

// grid is readings in order: intensities on every half-plane at every angle.
type grid struct {
	gamma, planes []float64
	cd            [][]float64 // after the ambient light was taken off
	blocked       [][]float64 // what was taken off, cd
	distance      float64     // m, mean
	hasAmbient    bool
	repeats       int     // directions that were read more than once
	scatter, df   float64 // relative standard deviation of repeats, pooled by their squares, and its degrees of freedom
	times         float64 // readings a direction, mean
}

// cell gathers the readings of one direction.
type cell struct {
	n                   int
	sum, squares, block float64
}

// direction brings a reading to γ from 0° to 180° and C from 0° below 360°.
func direction(gamma, plane float64) [2]float64 {
	if gamma < 0 {
		gamma, plane = -gamma, plane+180
	}
	plane = math.Mod(math.Mod(plane, 360)+360, 360)
	return [2]float64{gamma, plane}
}

// grid orders the readings.
func (a *Angles) grid() (*grid, error) {
	if len(a.Readings) == 0 {
		return nil, fmt.Errorf("flux: there is no reading")
	}
	g := new(grid)
	cells := map[[2]float64]*cell{}
	for _, r := range a.Readings {
		k := 1.0
		if !a.Candela {
			if !(r.Distance > 0) || math.IsInf(r.Distance, 0) {
				return nil, fmt.Errorf("flux: a reading at γ = %g°, C = %g° has the distance %g m: it must be above zero", r.Gamma, r.Plane, r.Distance)
			}
			if !(r.Value >= 0) || !(r.Ambient >= 0) {
				return nil, fmt.Errorf("flux: a reading of %g lx, and %g lx of ambient light, at γ = %g°, C = %g°: a light meter reads zero or more", r.Value, r.Ambient, r.Gamma, r.Plane)
			}
			k = r.Distance * r.Distance
			g.distance += r.Distance / float64(len(a.Readings))
			g.hasAmbient = g.hasAmbient || r.Ambient > 0
		}
		at := direction(r.Gamma, r.Plane)
		c := cells[at]
		if c == nil {
			c = new(cell)
			cells[at] = c
			g.gamma, g.planes = append(g.gamma, at[0]), append(g.planes, at[1])
		}
		v := k * (r.Value - r.Ambient)
		c.n++
		c.sum += v
		c.squares += v * v
		c.block += k * r.Ambient
	}
	poles := g.settle(cells)
	if len(g.gamma) == 1 {
		return nil, fmt.Errorf("flux: everything was read at γ = %g°, and light over angles takes two of them: in one direction a beam has to be assumed", g.gamma[0])
	}
	return g, g.lay(cells, poles)
}

// settle sorts the axes, pools the repeats, and gathers the poles, which are one
// direction on every half-plane.
func (g *grid) settle(cells map[[2]float64]*cell) (poles map[float64]*cell) {
	directions := float64(len(cells))
	poles = map[float64]*cell{0: {}, 180: {}}
	// Half-planes on which something beside a pole was read; where there is none,
	// those of the poles.
	var planes []float64
	for i, gamma := range g.gamma {
		if poles[gamma] == nil {
			planes = append(planes, g.planes[i])
		}
	}
	readings, squares, weight := 0.0, 0.0, 0.0
	// In the order of the readings: a map's own would round differently each time.
	for i := range g.gamma {
		at := [2]float64{g.gamma[i], g.planes[i]}
		c := cells[at]
		readings += float64(c.n)
		if p := poles[at[0]]; p != nil {
			p.n, p.sum, p.block = p.n+c.n, p.sum+c.sum, p.block+c.block
		}
		if mean := c.sum / float64(c.n); c.n > 1 {
			g.repeats++
			g.df += float64(c.n - 1)
			squares += max(c.squares-float64(c.n)*mean*mean, 0)
			weight += float64(c.n-1) * mean * mean // the dark directions, which scatter most, count least
		}
	}
	if weight > 0 {
		g.scatter = math.Sqrt(squares / weight)
	}
	g.times = readings / directions
	if planes == nil {
		planes = g.planes
	}
	g.gamma, g.planes = sortedKeys(g.gamma), sortedKeys(planes)
	return poles
}

// lay fills the table.
func (g *grid) lay(cells map[[2]float64]*cell, poles map[float64]*cell) error {
	for _, plane := range g.planes {
		var cd, blocked []float64
		for _, gamma := range g.gamma {
			c := cells[[2]float64{gamma, plane}]
			if p := poles[gamma]; p != nil {
				c = p
			}
			if c == nil {
				return fmt.Errorf("flux: the angle γ = %g° was read on other half-planes but not on C = %g°: every half-plane needs the same angles", gamma, plane)
			}
			cd, blocked = append(cd, c.sum/float64(c.n)), append(blocked, c.block/float64(c.n))
		}
		g.cd, g.blocked = append(g.cd, cd), append(g.blocked, blocked)
	}
	return nil
}

// repeatability is what every reading has for itself, in lm of the flux: by the
// scatter of repeats where there are enough, else as believed of the meter.
func (g *grid) repeatability(m *LightMeter, d *distribution.Distribution) Part {
	if g.df >= 3 {
		return Part{d.Independent(g.scatter / math.Sqrt(g.times)), fmt.Sprintf("repeats at %d angles", g.repeats)}
	}
	return Part{d.Independent(m.Reading.U), m.Reading.Source}
}

// fewPlanes is how many half-planes it takes for their own spread to say more than
// an estimate does.
const fewPlanes = 4

// spread is what half-planes that a round lamp's should be alike differ by: the
// standard deviation of their mean, and with fewer than four of them no less than
// is believed of a lamp called round.
func (g *grid) spread(d *distribution.Distribution) term {
	n := float64(len(g.planes))
	from, to := d.Measured()
	measured := func(d *distribution.Distribution) float64 { return d.FluxWithin(2*to) - d.FluxWithin(2*from) }
	squares := 0.0
	for _, plane := range g.cd {
		one, err := distribution.New(g.gamma, []float64{0}, [][]float64{plane}, distribution.Rotational, distribution.Hold)
		if err != nil {
			return term{uncertainty.Normal(0, math.NaN()), ""} // not after the whole was made
		}
		squares += math.Pow(measured(one)-measured(d), 2)
	}
	u := math.Sqrt(squares / (n * (n - 1)))
	source := fmt.Sprintf("the differences of %g half-planes", n)
	if n < fewPlanes {
		least := asymmetry[distribution.Rotational] * math.Abs(d.Flux()) / math.Sqrt(n)
		return term{uncertainty.Normal(0, max(u, least)), source + ", and " + uncertainty.OwnEstimate}
	}
	return term{uncertainty.StudentT(0, u, n-1), source}
}
