package limits

import (
	"math"

	"lampassay/light/colorimetry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
)

// program is the question for one palette: minimise the cost of a mixture that
// meets equalities and limits. The mixture has Y = 1, in watts times V(λ).
type program struct {
	n      int
	cost   []float64
	rows   [][]float64 // equalities, rows·a = rhs
	rhs    []float64
	limits []limit
	sets   []*differences
	// elasticity is what a unit of a missed limit costs.
	elasticity float64
	// The last free columns are not amounts but may have either sign, and are held
	// near 0 by hold/2 times their square.
	free int
	hold float64
	// give lets an equality be missed by give times its multiplier.
	give float64
}

// limit is one inequality g(a) ≥ bound, where g is linear, or a weighted sum of
// colour differences taken negative, or a gamut area.
type limit struct {
	demand int // index into the conditions' demands; −1 for a limit of Duv
	bound  float64
	// perUnit is what one unit of the bound is in units of the measure demanded.
	perUnit float64

	row    []float64 // linear
	set    *differences
	weight []float64 // of the samples' differences
	gamut  *gamut
}

// newProgram sets the question up. The colour has one temperature.
func newProgram(q *palette, c *Conditions) (*program, error) {
	p := &program{n: len(q.columns), cost: q.cost, elasticity: elasticity}
	p.equal(q.xyz[1], 1)
	p.colour(q, c.Colour)

	cct, hasReference := c.Colour.temperature()
	var cri, ucs *differences
	var bins []uint8
	for i, d := range c.Demands {
		if hasReference && (d.Measure == Ra || d.Measure == R9) && cri == nil {
			space, places := criReference(cct)
			cri = newDifferences(q.cri(), space, places)
			p.sets = append(p.sets, cri)
		}
		if hasReference && (d.Measure == Rf || d.Measure == Rg) && ucs == nil {
			places, b, err := ucsReference(cct)
			if err != nil {
				return nil, err
			}
			ucs, bins = newDifferences(q.ces(), newUCSSpace(), places), b
			p.sets = append(p.sets, ucs)
		}
		sign := 1.0
		if d.Most {
			sign = -1
		}
		l := limit{demand: i, bound: sign * d.Value, perUnit: sign}
		switch d.Measure {
		case Ra: // CIE 13.3: Rᵢ = 100 − 4.6 ΔEᵢ, Ra the mean of the first eight
			l.set, l.weight = cri, make([]float64, criSamples)
			for j := range 8 {
				l.weight[j] = 1.0 / 8
			}
			l.bound, l.perUnit = -(100-d.Value)/4.6, 4.6
		case R9:
			l.set, l.weight = cri, make([]float64, criSamples)
			l.weight[8] = 1
			l.bound, l.perUnit = -(100-d.Value)/4.6, 4.6
		case Rf: // CIE 224: Rf = 10 ln(exp((100 − 6.73 mean ΔE)/10) + 1)
			l.set, l.weight = ucs, make([]float64, rendition.CESCount)
			for j := range l.weight {
				l.weight[j] = 1.0 / rendition.CESCount
			}
			x := math.Log(math.Expm1(d.Value / 10))
			l.bound, l.perUnit = -(100-10*x)/6.73, 6.73*(1-math.Exp(-d.Value/10))
		case Rg:
			l.set, l.gamut = ucs, newGamut(ucs.reference, bins, sign/gamutUnit)
			l.bound, l.perUnit = sign*d.Value/gamutUnit, sign*gamutUnit
		case SP:
			l.row = scaled(q.sp, sign)
		case MelDER:
			l.row = scaled(q.mel, sign)
		}
		p.limits = append(p.limits, l)
	}
	return p, nil
}

// gamutUnit points of Rg weigh like one unit of colour difference.
const gamutUnit = 10

func scaled(row []float64, k float64) []float64 {
	out := make([]float64, len(row))
	for i, v := range row {
		out[i] = k * v
	}
	return out
}

func (p *program) equal(row []float64, rhs float64) {
	p.rows, p.rhs = append(p.rows, row), append(p.rhs, rhs)
}

// duvUnit is the step of Duv that weighs like one unit of colour difference.
const duvUnit = 0.01

// colour adds the conditions of chromaticity. In the 1960 diagram u = 4X/D and v
// = 6Y/D with D = X + 15Y + 3Z, so that (u, v) on a straight line, or on one side
// of it, is linear in X, Y, Z and so in the mixture.
func (p *program) colour(q *palette, c Colour) {
	if c.free() {
		return
	}
	var u, v, tu, tv float64 // a point and a direction
	if c.hasCCT() {
		u, v = colorimetry.UVFromCCT(c.CCT.From, 0)
		u1, v1 := colorimetry.UVFromCCT(c.CCT.From, duvUnit)
		tu, tv = (u1-u)/duvUnit, (v1-v)/duvUnit
	} else {
		u, v = colorimetry.XYZFromXY(c.X, c.Y, 1).UV()
		tu, tv = 0, 1
	}
	// off is the row of D·((u, v) − point)·(a, b), over D at the point.
	d := 6 / v // of Y = 1
	off := func(a, b, least float64) []float64 {
		row := make([]float64, p.n)
		for j := range row {
			x, y, z := q.xyz[0][j], q.xyz[1][j], q.xyz[2][j]
			den := x + 15*y + 3*z
			row[j] = (a*(4*x-u*den) + b*(6*y-v*den) - least*den) / d
		}
		return row
	}
	p.equal(off(-tv, tu, 0), 0) // on the isotherm
	if c.Duv.From == c.Duv.To {
		p.equal(off(tu, tv, c.Duv.From), 0)
		return
	}
	p.limits = append(p.limits,
		limit{demand: -1, row: scaled(off(tu, tv, c.Duv.From), 1/duvUnit), perUnit: duvUnit},
		limit{demand: -1, row: scaled(off(tu, tv, c.Duv.To), -1/duvUnit), perUnit: -duvUnit})
}

// point is what the program is at a mixture.
type point struct {
	g         []float64
	gradient  [][]float64
	pulled    [][]float64 // gradients with the pulls for the directions
	curvature [][]float64 // the rows in use, see bend
	spare     [][]float64 // room for them, made when first needed
	coeff     []float64
}

func (p *program) newPoint() *point {
	t := &point{g: make([]float64, len(p.limits))}
	for _, l := range p.limits {
		if l.row != nil {
			t.gradient, t.pulled = append(t.gradient, l.row), append(t.pulled, l.row)
		} else {
			t.gradient, t.pulled = append(t.gradient, make([]float64, p.n)), append(t.pulled, make([]float64, p.n))
		}
	}
	most := 0
	for _, s := range p.sets {
		most = max(most, len(s.colours))
	}
	t.coeff = make([]float64, most)
	return t
}

// value fills in g.
func (p *program) value(a []float64, t *point) {
	for _, s := range p.sets {
		s.at(a)
	}
	for k := range p.limits {
		t.g[k] = p.limits[k].of(a)
	}
}

// slope fills in the gradients at the mixture that value has turned to.
func (p *program) slope(t *point) {
	for _, s := range p.sets {
		s.differentiate()
	}
	for k := range p.limits {
		l := &p.limits[k]
		if l.row != nil {
			continue
		}
		coeff := t.coeff[:len(l.set.colours)]
		clear(coeff)
		l.coefficients(coeff, func(j int) vector { return l.set.step[j].over(l.set.length[j]) })
		l.set.gather(coeff, t.gradient[k])
		clear(coeff)
		l.coefficients(coeff, func(j int) vector { return l.set.pull[j] })
		l.set.gather(coeff, t.pulled[k])
	}
}

// stake is what a unit of sample j's difference costs at prices z.
func (p *program) stake(s *differences, j int, z []float64) float64 {
	sum := 0.0
	for k := range p.limits {
		if l := &p.limits[k]; l.set == s && l.weight != nil {
			sum += z[k] * l.weight[j]
		}
	}
	return sum
}

// round rounds the kink of a length at nothing as the logarithmic barrier of its
// cone does, by the complementarity over what the length costs. With it the
// rounding vanishes, but for what would drown in rounding errors: 1e-4 moves Ra by
// less than 5e-4, and an answer is never better than it could be.
func (p *program) round(mu float64, z []float64) {
	const least, most = 1e-4, 1.0
	for _, s := range p.sets {
		for j := range s.rounding {
			s.rounding[j] = min(max(mu/p.stake(s, j, z), least), most)
		}
	}
}

// bend fills in rows U with UᵀU the curvature of Σ zₖ·(−gₖ), as far as it comes
// from the lengths of differences.
func (p *program) bend(z []float64, t *point) {
	t.curvature = t.curvature[:0]
	for _, s := range p.sets {
		coeff := t.coeff[:len(s.colours)]
		for j := range s.length {
			stake := p.stake(s, j, z)
			if stake == 0 {
				continue
			}
			root := math.Sqrt(stake)
			for _, l := range s.roots(j) {
				if len(t.spare) == len(t.curvature) {
					t.spare = append(t.spare, make([]float64, p.n))
				}
				row := t.spare[len(t.curvature)]
				t.curvature = append(t.curvature, row)
				clear(coeff)
				s.along(j, vector{root * l[0], root * l[1], root * l[2]}, coeff)
				s.gather(coeff, row)
			}
		}
	}
}

// of is g at the mixture the set has turned to.
func (l *limit) of(a []float64) float64 {
	switch {
	case l.row != nil:
		return spectrum.Dot(l.row, a)
	case l.gamut != nil:
		return l.gamut.of(l.set)
	}
	return -spectrum.Dot(l.weight, l.set.length)
}

// coefficients adds up the derivative of g by the rows of the set's table; unit
// is the derivative of a sample's difference by its place.
func (l *limit) coefficients(out []float64, unit func(j int) vector) {
	if l.gamut != nil {
		l.gamut.coefficients(l.set, out)
		return
	}
	for j, w := range l.weight {
		if w != 0 {
			l.set.along(j, unit(j).over(-1/w), out)
		}
	}
}
