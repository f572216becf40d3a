package distribution

import "math"

// Zone returns the solid angle in sr between the cones of two angles γ in degrees,
// 2π(cos γ₁ − cos γ₂): the zonal constant.
func Zone(from, to float64) float64 {
	// The difference of cosines as a product, which keeps narrow zones exact.
	const half = math.Pi / 360
	return 4 * math.Pi * math.Sin((from+to)*half) * math.Sin((to-from)*half)
}

// SolidAngle returns the solid angle in sr of a cone of a full angle in degrees:
// π sr for 120°, 0.5858 π sr for 90°.
func SolidAngle(full float64) float64 { return Zone(0, full/2) }

// weights returns ∫ sin γ dγ over a piece from a to b, in degrees, of an intensity
// that is 1 at a and 0 at b, and of one that is 0 at a and 1 at b.
func weights(a, b float64) (first, second float64) {
	const half = math.Pi / 360
	h := (b - a) * half
	// ∫ sin = 2 sin m sin h about the middle m, and the straight line's slope adds
	// or takes ∫ t sin(m+t) dt / 2h = cos m (sin h − h cos h) / h.
	sin, cos := math.Sincos((a + b) * half)
	even := sin * math.Sin(h)
	odd := cos * tilt(h)
	return even - odd, even + odd
}

// tilt is (sin h − h cos h) / h, by its series where the difference would cancel.
func tilt(h float64) float64 {
	if h < 0.02 {
		return h * h / 3 * (1 - h*h/10*(1-h*h/28))
	}
	return (math.Sin(h) - h*math.Cos(h)) / h
}

// Flux returns the luminous flux in lm over the whole sphere.
func (d *Distribution) Flux() float64 { return d.between(0, 180) }

// FluxWithin returns the luminous flux in lm within a cone about γ = 0° of a full
// angle in degrees, 0° to 360°. The useful flux of a directional lamp is that of
// the cone of 120° where its beam is 90° wide or more, else of the cone of 90°
// (Regulation (EU) 2019/2020, Annex I).
func (d *Distribution) FluxWithin(full float64) float64 {
	return d.between(0, min(max(full/2, 0), 180))
}

// Assumed returns the part of the flux, in lm, that lies where nothing was
// measured.
func (d *Distribution) Assumed() float64 {
	return d.between(0, d.measured.from) + d.between(d.measured.to, 180)
}

// between integrates over γ from one angle to another.
func (d *Distribution) between(from, to float64) float64 {
	sum := 0.0
	for i, plane := range d.cd {
		sum += d.round[i] * alongPlane(d.gamma, plane, from, to)
	}
	return sum
}

// alongPlane integrates I sin γ dγ on one half-plane.
func alongPlane(gamma, plane []float64, from, to float64) float64 {
	sum := 0.0
	for j := range len(gamma) - 1 {
		a, b := max(gamma[j], from), min(gamma[j+1], to)
		if a >= b {
			continue
		}
		va, vb := plane[j], plane[j+1]
		if width := gamma[j+1] - gamma[j]; b-a < width {
			slope := (vb - va) / width
			va, vb = va+slope*(a-gamma[j]), va+slope*(b-gamma[j])
		}
		first, second := weights(a, b)
		sum += va*first + vb*second
	}
	return sum
}

// PerDegree returns by how many lm the flux within a cone of a full angle would
// change if every angle γ had been read one degree too low: over the cone
// ∫∫ I cos γ dγ dC less what crosses its edge, ∫ I sin γ dC, times π/180.
func (d *Distribution) PerDegree(full float64) float64 {
	const deg = math.Pi / 180
	edge := min(max(full/2, 0), 180)
	sum := 0.0
	for i, plane := range d.cd {
		for j := range len(d.gamma) - 1 {
			from, to := d.gamma[j], min(d.gamma[j+1], edge)
			if from >= to {
				break
			}
			last := plane[j] + (plane[j+1]-plane[j])*(to-from)/(d.gamma[j+1]-from)
			h := (to - from) * deg / 2
			sin, cos := math.Sincos((from + to) * deg / 2)
			even, odd := cos*math.Sin(h), -sin*tilt(h)
			sum += d.round[i] * (plane[j]*(even-odd) + last*(even+odd))
			if to == edge {
				sum -= d.round[i] * last * math.Sin(to*deg)
			}
		}
	}
	return sum * deg
}

// Independent returns the standard uncertainty of the flux, in lm, that comes of a
// relative standard uncertainty which every reading has for itself.
func (d *Distribution) Independent(relative float64) float64 {
	sum := 0.0
	for i, plane := range d.cd {
		left := 0.0
		for j, v := range plane {
			right := 0.0
			w := left
			if j+1 < len(plane) {
				var first float64
				first, right = weights(d.gamma[j], d.gamma[j+1])
				w += first
			}
			sum += math.Pow(d.round[i]*w*v*relative, 2)
			left = right
		}
	}
	return math.Sqrt(sum)
}

// Coarser returns the flux, in lm, with every second of the angles γ left out that
// were measured, and with every second half-plane: how far they are from
// [Distribution.Flux] tells how fine the steps were. Where there are too few to
// leave any out, it is NaN.
func (d *Distribution) Coarser() (gamma, planes float64) {
	gamma, planes = math.NaN(), math.NaN()
	if keep := d.everySecondAngle(); keep != nil {
		gamma = 0
		angles, thin := make([]float64, len(keep)), make([]float64, len(keep))
		for i, plane := range d.cd {
			for k, j := range keep {
				angles[k], thin[k] = d.gamma[j], plane[j]
			}
			gamma += d.round[i] * alongPlane(angles, thin, 0, 180)
		}
	}
	if n := len(d.c); d.symmetry != Rotational && n >= 4 {
		planes = d.everySecondPlane()
	}
	return gamma, planes
}

// everySecondAngle picks half the angles that were measured, the ends among them,
// and all that were assumed; nil where fewer than five were measured.
func (d *Distribution) everySecondAngle() (keep []int) {
	measured := 0
	for j, g := range d.gamma {
		if g < d.measured.from || g > d.measured.to {
			keep = append(keep, j)
			continue
		}
		if measured%2 == 0 || g == d.measured.to {
			keep = append(keep, j)
		}
		measured++
	}
	if measured < 5 {
		return nil
	}
	return keep
}

// everySecondPlane integrates over half the half-planes, by trapezoids as ever.
func (d *Distribution) everySecondPlane() float64 {
	n, span := len(d.c), d.symmetry.span()
	var c, f []float64
	for i := range d.c {
		if i%2 == 0 || i == n-1 && d.symmetry != None {
			c, f = append(c, d.c[i]), append(f, alongPlane(d.gamma, d.cd[i], 0, 180))
		}
	}
	if d.symmetry == None {
		c, f = append(c, d.c[0]+360), append(f, f[0])
	}
	sum := 0.0
	for i := range len(c) - 1 {
		sum += (c[i+1] - c[i]) * (f[i] + f[i+1]) / 2
	}
	return sum / span * 2 * math.Pi
}
