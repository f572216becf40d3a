package limits

import (
	"math"

	"lampassay/light/colorimetry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// criSamples of CIE 13.3 take part: R1 to R8 in Ra, and R9.
const criSamples = 9

// vector is a place or a step in a colour space of three coordinates.
type vector [3]float64

func (a vector) dot(b vector) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func (a vector) over(k float64) vector { return vector{a[0] / k, a[1] / k, a[2] / k} }

// space places samples in a colour space, under a white of Y = 100.
type space interface {
	under(white colorimetry.XYZ) func(sample colorimetry.XYZ) vector
}

// criSpace is W*U*V* as CIE 13.3-1995 has it.
type criSpace struct{ base colorimetry.UVW }

func (s criSpace) under(white colorimetry.XYZ) func(colorimetry.XYZ) vector {
	view := s.base.WithWhite(white)
	return func(c colorimetry.XYZ) (v vector) {
		v[0], v[1], v[2] = view.UVW(c)
		return v
	}
}

// ucsSpace is CAM02-UCS under the conditions of CIE 224:2017.
type ucsSpace struct{ base colorimetry.CAM02 }

func newUCSSpace() ucsSpace {
	const la, yb = 100, 20 // cd/m² and %
	return ucsSpace{colorimetry.NewCAM02(colorimetry.XYZ{X: 100, Y: 100, Z: 100}, la, yb, colorimetry.Average)}
}

func (s ucsSpace) under(white colorimetry.XYZ) func(colorimetry.XYZ) vector {
	view := s.base.WithWhite(white)
	return func(c colorimetry.XYZ) (v vector) {
		v[0], v[1], v[2] = view.UCS(c)
		return v
	}
}

// differences are the samples of one method under a mixture, beside the same
// samples under the reference of one temperature.
type differences struct {
	table *table
	space
	reference []vector

	// At a mixture: the samples' tristimulus values, places, differences and the
	// derivatives of a place by the sample's and the white's own values.
	colours  []float64
	place    []vector
	step     []vector
	length   []float64 // of the step, rounded: √(step² + rounding²)
	rounding []float64
	// pull is the method's own guess of step/length, in the unit ball. Where a
	// difference vanishes its direction is not in the step, and only the pull has
	// one.
	pull     []vector
	jacobian [][6]vector
}

func newDifferences(t *table, s space, reference []vector) *differences {
	return &differences{
		table: t, space: s, reference: reference,
		colours: make([]float64, 3*(t.count+1)), place: make([]vector, t.count), step: make([]vector, t.count),
		length: make([]float64, t.count), rounding: make([]float64, t.count), pull: make([]vector, t.count), jacobian: make([][6]vector, t.count),
	}
}

func (d *differences) colour(j int) colorimetry.XYZ {
	c := d.colours[3*j:][:3]
	return colorimetry.XYZ{X: c[0], Y: c[1], Z: c[2]}
}

// at turns to the mixture a.
func (d *differences) at(a []float64) {
	for r := range d.colours {
		d.colours[r] = spectrum.Dot(d.table.row(r), a)
	}
	raw := d.colour(d.table.count)
	k := 100 / raw.Y
	see := d.under(raw.Scale(k))
	for j := range d.place {
		d.place[j] = see(d.colour(j).Scale(k))
		for i := range d.step[j] {
			d.step[j][i] = d.place[j][i] - d.reference[j][i]
		}
		d.length[j] = math.Sqrt(d.step[j].dot(d.step[j]) + d.rounding[j]*d.rounding[j])
	}
}

// differentiate fills the derivatives at the mixture that at has turned to.
// Places are by central differences, on the scale of a white of 100; the scaling
// itself is done by the chain rule.
func (d *differences) differentiate() {
	const h = 1e-3
	raw := d.colour(d.table.count)
	k := 100 / raw.Y
	white := raw.Scale(k)
	see := d.under(white)
	moreX, lessX := d.under(shift(white, 0, h)), d.under(shift(white, 0, -h))
	moreZ, lessZ := d.under(shift(white, 2, h)), d.under(shift(white, 2, -h))
	slope := func(p, q vector) vector {
		return vector{(p[0] - q[0]) / (2 * h), (p[1] - q[1]) / (2 * h), (p[2] - q[2]) / (2 * h)}
	}
	for j := range d.jacobian {
		s := d.colour(j).Scale(k)
		var by [3]vector
		for c := range by {
			by[c] = slope(see(shift(s, c, h)), see(shift(s, c, -h)))
		}
		whiteX, whiteZ := slope(moreX(s), lessX(s)), slope(moreZ(s), lessZ(s))
		out := &d.jacobian[j]
		for i := range 3 {
			out[0][i], out[1][i], out[2][i] = k*by[0][i], k*by[1][i], k*by[2][i]
			out[3][i], out[5][i] = k*whiteX[i], k*whiteZ[i]
			// More Y of the white scales everything else down.
			out[4][i] = -(by[0][i]*s.X + by[1][i]*s.Y + by[2][i]*s.Z + whiteX[i]*white.X + whiteZ[i]*white.Z) / raw.Y
		}
	}
}

func shift(c colorimetry.XYZ, axis int, h float64) colorimetry.XYZ {
	switch axis {
	case 0:
		c.X += h
	case 1:
		c.Y += h
	default:
		c.Z += h
	}
	return c
}

// along adds to the coefficients, one for each row of the table, those of the
// derivative of sample j's place in a direction.
func (d *differences) along(j int, direction vector, coefficients []float64) {
	white := 3 * d.table.count
	for c := range 3 {
		coefficients[3*j+c] += d.jacobian[j][c].dot(direction)
		coefficients[white+c] += d.jacobian[j][3+c].dot(direction)
	}
}

// gather turns coefficients into one number a column.
func (d *differences) gather(coefficients, out []float64) {
	clear(out)
	for r, k := range coefficients {
		if k == 0 {
			continue
		}
		for i, v := range d.table.row(r) {
			out[i] += k * v
		}
	}
}

// follow moves the pulls on by the part taken of a step of the mixture: Newton's
// step for pull · length = step.
func (d *differences) follow(da []float64, part float64) {
	white := 3 * d.table.count
	change := func(r int) float64 { return spectrum.Dot(d.table.row(r), da) }
	w := vector{change(white), change(white + 1), change(white + 2)}
	for j, n := range d.length {
		c := vector{change(3 * j), change(3*j + 1), change(3*j + 2)}
		var move vector
		for i := range move {
			for k := range 3 {
				move[i] += d.jacobian[j][k][i]*c[k] + d.jacobian[j][3+k][i]*w[k]
			}
		}
		h := &d.pull[j]
		along := d.step[j].dot(move) / n
		for i := range h {
			h[i] += part * ((move[i]-h[i]*along+d.step[j][i])/n - h[i])
		}
		if size := math.Sqrt(h.dot(*h)); size > 1 {
			for i := range h {
				h[i] /= size
			}
		}
	}
}

// roots returns three vectors whose squares add up to the curvature of sample
// j's length: (I − sym(pull·stepᵀ)/n)/n, which is that of a length where the
// pull is step/n and stays right where the step vanishes. Along the difference
// the bend of the colour space is added, at an upper bound of either sign, which
// keeps steps short where they would rock to and fro.
func (d *differences) roots(j int) [3]vector {
	n, s, h := d.length[j], d.step[j], d.pull[j]
	var m [3]vector
	for i := range m {
		for k := range i + 1 {
			m[i][k] = -(h[i]*s[k]+s[i]*h[k])/(2*n*n) + spaceBend*s[i]*s[k]/(n*n)
		}
		m[i][i] += 1 / n
	}
	// Cholesky's factor, column by column.
	var l [3]vector
	for i := range m {
		for k := range i + 1 {
			sum := m[i][k]
			for q := range k {
				sum -= l[q][i] * l[q][k]
			}
			if i == k {
				l[i][i] = math.Sqrt(max(sum, 1e-6/n))
			} else {
				l[k][i] = sum / l[k][k]
			}
		}
	}
	return l
}

// spaceBend bounds the second derivative of a place by itself, per unit: of W*,
// 2/(75 Y^⅓); of the logarithm in CAM02-UCS, 0.0228.
const spaceBend = 0.03

// criReference places the samples under the reference of CIE 13.3-1995.
func criReference(cct float64) (criSpace, []vector) {
	light := referenceLight(cct)
	seen := criSeen()
	var c [criSamples + 1]colorimetry.XYZ
	for j := range c {
		c[j] = colorimetry.XYZ{X: light.of(seen[3*j]), Y: light.of(seen[3*j+1]), Z: light.of(seen[3*j+2])}
	}
	k := 100 / c[criSamples].Y
	white := c[criSamples].Scale(k)
	space := criSpace{colorimetry.NewUVW(white)}
	see := space.under(white)
	places := make([]vector, criSamples)
	for j := range places {
		places[j] = see(c[j].Scale(k))
	}
	return space, places
}

// referenceLight is a blackbody below 5000 K and CIE daylight from there on,
// summed as [rendition] does beside a curve.
func referenceLight(cct float64) *projection {
	p := &projection{gridFirst, make([]float64, gridLast-gridFirst+1)}
	if cct < 5000 {
		for i := range p.b {
			p.b[i] = standards.Planck(float64(gridFirst+i), cct)
		}
		return p
	}
	d := standards.Daylight()
	m1, m2 := standards.DaylightWeightsAt(cct)
	at := func(nm float64) float64 { return d.S0.At(nm) + m1*d.S1.At(nm) + m2*d.S2.At(nm) }
	for i := range p.b {
		nm := float64(gridFirst + i)
		p.b[i] = (at(nm-1) + 4*at(nm) + at(nm+1)) / 6
	}
	return p
}

// ucsReference returns the samples' places under the reference of CIE 224:2017
// and each one's hue bin (ANSI/IES TM-30-20). They do not depend on the light
// under test.
func ucsReference(cct float64) ([]vector, []uint8, error) {
	flat, err := spectrum.New(spectrum.Relative, []float64{360, 830}, []float64{1, 1})
	if err != nil {
		return nil, nil, err
	}
	p, err := flat.Project(spectrum.Sampled)
	if err != nil {
		return nil, nil, err
	}
	t := new(rendition.TM30)
	rendition.New().Fidelity(p, cct, t)
	places := make([]vector, len(t.Reference))
	for j, r := range t.Reference {
		places[j] = vector{r.J, r.A, r.B}
	}
	return places, t.Bin[:], nil
}
