package temporal

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// A lamp's way to its end, as a sum of exponentials:
//
//	y(t) = f + a·exp(−t/τ) + Σ bₖ·exp(−t/τₖ).
//
// τ is sought; the τₖ are a fixed row and their bₖ probably small. Bodies that warm
// one within the other, a vapour over a warming metal, a logistic rise, a stretched
// exponential and a power law are such sums, some of them without end. How much of
// the bₖ a lamp needs, its record says.
//
// f and a have a flat prior, bₖ a normal one of standard deviation λσ, σ being the
// readings' noise. For each τ and λ the rest is linear. With X the curves about
// their means, N = XᵀX + diag(0, λ⁻², …) and R the least of RSS + Σ bₖ²/λ², the
// marginal likelihood is |N|^−½·λ^−K·R^−(ν/2), σ integrated out under 1/σ. Of
// readings whose residuals go together with their neighbours' by ρ only the share
// (1 − ρ)/(1 + ρ) counts.

const (
	rowLength = 12 // the fixed constants, evenly in the logarithm
	tauSteps  = 40 // constants tried for τ, likewise
	tauNear   = 10 // and as many more on either side of the likeliest, ever closer to it
	size      = 1 + rowLength

	// Both from and to, in lengths of the fitted record (judgement).
	rowLeast, rowMost = 1.0 / 15, 12.0
	tauLeast, tauMost = 1.0 / 20, 20.0

	// floorOfNoise is what no reading is better than, as a fraction: without it a
	// noiseless record would be believed to its last digit (judgement).
	floorOfNoise = 1e-5
	// plain is the prior weight of one exponential and nothing else (judgement).
	plain = 0.2
	// lambdaRatio is the step from one λ to the next; the largest lets the bₖ be
	// amplest times what the record spans.
	lambdaRatio, amplest = 3.0, 3.0
	// together is the correlation of neighbouring residuals from which it is
	// reckoned with.
	together = 0.15
)

// relaxation is the posterior over such sums for one record. Its times are from
// the record's beginning, its values in units of the record's last reading.
type relaxation struct {
	design
	level   float64 // of the last reading
	members []member
	kappa   float64 // share of the readings that counts
	noise   float64 // standard deviation of what the likeliest member leaves
}

// member is one τ and λ; λ = 0 is one exponential alone.
type member struct {
	tau    int // among the constants sought
	lambda float64
	weight float64 // sums to 1
	rest   float64 // R
}

// design is what is needed of a record to fit curves to it: sums over its readings
// of products of curves and values, each about its mean.
type design struct {
	span   float64
	n      float64
	mean   float64 // of the values
	square float64 // of the values with themselves
	curves []curve // the row's, then those of the constants sought, increasing
}

type curve struct {
	tau, mean float64
	at        []float64          // the readings, about the mean
	own, on   float64            // with itself, with the values
	row       [rowLength]float64 // with the row's curves
	piece     float64            // of the logarithm of τ that it stands for
}

func dot(x, y []float64) float64 {
	s := 0.0
	for i := range x {
		s += x[i] * y[i]
	}
	return s
}

// newDesign sums up values read at times that begin with the record.
func newDesign(seconds, values []float64) design {
	d := design{n: float64(len(values)), span: seconds[len(seconds)-1] - seconds[0]}
	y := make([]float64, len(values))
	for _, v := range values {
		d.mean += v / d.n
	}
	for i, v := range values {
		y[i] = v - d.mean
	}
	d.square = dot(y, y)
	add := func(tau float64) {
		c := curveAt(seconds, y, tau)
		for k := range min(len(d.curves), rowLength) {
			c.row[k] = dot(c.at, d.curves[k].at)
		}
		d.curves = append(d.curves, c)
	}
	for k := range rowLength {
		add(d.span * rowLeast * math.Pow(rowMost/rowLeast, float64(k)/(rowLength-1)))
		d.curves[k].row[k] = d.curves[k].own
	}
	taus := d.constants(seconds, y)
	for i, tau := range taus {
		add(tau)
		d.curves[rowLength+i].piece = math.Log(taus[min(i+1, len(taus)-1)]/taus[max(i-1, 0)]) / 2
	}
	return d
}

func curveAt(seconds, y []float64, tau float64) curve {
	c := curve{tau: tau, at: make([]float64, len(y))}
	for j, s := range seconds {
		c.at[j] = math.Exp(-(s - seconds[0]) / tau)
		c.mean += c.at[j] / float64(len(y))
	}
	for j := range c.at {
		c.at[j] -= c.mean
	}
	c.own, c.on = dot(c.at, c.at), dot(c.at, y)
	return c
}

// constants are the τ to try: a row, and closer ones about that of the best single
// exponential, since a record without noise tells it to many digits.
func (d *design) constants(seconds, y []float64) []float64 {
	lo, hi := d.span*tauLeast, d.span*tauMost
	var taus []float64
	for k := range tauSteps {
		taus = append(taus, lo*math.Pow(hi/lo, float64(k)/(tauSteps-1)))
	}
	best, from, to := 0.0, lo, hi
	for to/from > 1+1e-7 {
		const steps = 12
		top := math.Inf(-1)
		at := 0
		for k := range steps {
			c := curveAt(seconds, y, from*math.Pow(to/from, float64(k)/(steps-1)))
			if explained := c.on * c.on / c.own; explained > top {
				top, best, at = explained, c.tau, k
			}
		}
		ratio := math.Pow(to/from, 1.0/(steps-1))
		from, to = from*math.Pow(ratio, float64(max(at-1, 0))), from*math.Pow(ratio, float64(min(at+1, steps-1)))
	}
	taus = append(taus, best)
	for u := 0.08; len(taus) < tauSteps+2*tauNear+1; u /= 2.3 {
		taus = append(taus, best*math.Exp(u), best*math.Exp(-u))
	}
	slices.Sort(taus)
	return taus
}

// solution is a member's linear part.
type solution struct {
	factor  [size * size]float64 // U of N = UᵀU
	best    [size]float64        // a, then the bₖ
	size    int
	explain float64 // of the values' square, by the best
	logDet  float64 // of N
}

func (s *solution) triangle() blas64.Triangular {
	return blas64.Triangular{Uplo: blas.Upper, Diag: blas.NonUnit, N: s.size, Stride: s.size, Data: s.factor[:]}
}

// solve fits member m with the readings counted kappa each; it reports whether the
// equations could be solved.
func (d *design) solve(m member, kappa float64, s *solution) bool {
	sought := &d.curves[rowLength+m.tau]
	s.size = 1
	if m.lambda > 0 {
		s.size = size
	}
	s.factor[0], s.best[0] = kappa*sought.own, kappa*sought.on
	for k := 1; k < s.size; k++ {
		c := &d.curves[k-1]
		s.best[k] = kappa * c.on
		s.factor[k] = kappa * sought.row[k-1]
		for i := 1; i <= k; i++ {
			s.factor[i*s.size+k] = kappa * c.row[i-1]
		}
		s.factor[k*s.size+k] += 1 / (m.lambda * m.lambda)
	}
	right := s.best
	u, ok := lapack64.Potrf(blas64.Symmetric{Uplo: blas.Upper, N: s.size, Stride: s.size, Data: s.factor[:]})
	if !ok {
		return false
	}
	x := blas64.Vector{N: s.size, Inc: 1, Data: s.best[:]}
	blas64.Trsv(blas.Trans, u, x)
	blas64.Trsv(blas.NoTrans, u, x)
	s.explain, s.logDet = 0, 0
	for k := range s.size {
		s.explain += s.best[k] * right[k]
		s.logDet += 2 * math.Log(s.factor[k*s.size+k])
	}
	return true
}

// relax fits a record of at least four readings, the last above 0.
func relax(t Trace) relaxation {
	r := relaxation{level: t.Values[t.Len()-1], kappa: 1}
	values := make([]float64, t.Len())
	least, most := math.Inf(1), math.Inf(-1)
	for i, v := range t.Values {
		values[i] = v / r.level
		least, most = min(least, values[i]), max(most, values[i])
	}
	r.design = newDesign(t.Seconds, values)
	sigma := max(scatter(t)/r.level, floorOfNoise)
	lambdas := []float64{0}
	for l := 1.0; l < 10 || l*sigma < amplest*(most-least); l *= lambdaRatio {
		lambdas = append(lambdas, l)
	}
	r.weigh(lambdas)
	var rho float64
	r.noise, rho = r.residuals(values)
	if rho > together {
		r.kappa = (1 - rho) / (1 + rho)
		r.weigh(lambdas)
	}
	return r
}

// dof is ν: two of the readings that count go for f and a.
func (r *relaxation) dof() float64 { return max(r.kappa*r.n, 4) - 2 }

// weigh tries every τ with every λ.
func (r *relaxation) weigh(lambdas []float64) {
	r.members = r.members[:0]
	var s solution
	most := math.Inf(-1)
	for tau := range len(r.curves) - rowLength {
		// Few lamps are watched that need many times as long as they have burned: a
		// constant beyond the record is the less probable the longer it is, as 1/τ
		// (judgement).
		c := &r.curves[rowLength+tau]
		prior := math.Log(c.piece) - math.Log(max(c.tau/r.span, 1))
		for _, lambda := range lambdas {
			m := member{tau: tau, lambda: lambda}
			if !r.solve(m, r.kappa, &s) {
				continue
			}
			m.rest = max(r.kappa*r.square-s.explain, 0) + r.dof()*floorOfNoise*floorOfNoise
			m.weight = prior + math.Log(plain)
			if lambda > 0 {
				m.weight = prior + math.Log((1-plain)/float64(len(lambdas)-1)) - rowLength*math.Log(lambda)
			}
			m.weight -= 0.5*s.logDet + 0.5*r.dof()*math.Log(m.rest)
			most = max(most, m.weight)
			r.members = append(r.members, m)
		}
	}
	sum := 0.0
	for i := range r.members {
		r.members[i].weight = math.Exp(r.members[i].weight - most)
		sum += r.members[i].weight
	}
	for i := range r.members {
		r.members[i].weight /= sum
	}
}

// residuals is what the likeliest member leaves of the values: the standard
// deviation, and the correlation with the neighbour, not below 0.
func (r *relaxation) residuals(values []float64) (noise, rho float64) {
	top := member{}
	for _, m := range r.members {
		if m.weight >= top.weight {
			top = m
		}
	}
	var s solution
	if !r.solve(top, r.kappa, &s) {
		return 0, 0
	}
	own, with, before := 0.0, 0.0, 0.0
	for i, v := range values {
		e := v - r.mean - s.best[0]*r.curves[rowLength+top.tau].at[i]
		for k := 1; k < s.size; k++ {
			e -= s.best[k] * r.curves[k-1].at[i]
		}
		own, with, before = own+e*e, with+e*before, e
	}
	noise = math.Sqrt(own / max(r.n-4, 1))
	return noise, min(max(with/(own+r.n*floorOfNoise*floorOfNoise), 0), 0.95)
}

// way is one drawn f + a·exp(−t/τ) + Σ bₖ·exp(−t/τₖ).
type way struct {
	f, tau float64
	amount [size]float64 // a, then the bₖ
	plain  bool          // the bₖ are 0
}

// draw returns so many sums of the posterior. The members are drawn evenly, so that
// each has as many as its weight says.
func (r *relaxation) draw(rng *rand.Rand, count int) []way {
	out := make([]way, 0, count)
	var s solution
	reached, k := 0.0, -1
	for i := range count {
		at, before := (float64(i)+0.5)/float64(count), k
		for reached < at && k+1 < len(r.members) {
			k++
			reached += r.members[k].weight
		}
		m := r.members[k]
		if k != before {
			r.solve(m, r.kappa, &s) // as it did when it was weighed
		}
		// σ² is R/χ², of which the cube root is nearly normal (Wilson and Hilferty).
		d := 2 / (9 * r.dof())
		sigma := math.Sqrt(m.rest / (r.dof() * math.Pow(max(1-d+math.Sqrt(d)*rng.NormFloat64(), 0.05), 3)))
		// U⁻¹z has the covariance N⁻¹.
		var z [size]float64
		for j := range size {
			z[j] = rng.NormFloat64()
		}
		blas64.Trsv(blas.NoTrans, s.triangle(), blas64.Vector{N: s.size, Inc: 1, Data: z[:]})
		one := way{tau: r.curves[rowLength+m.tau].tau, plain: s.size == 1}
		one.f = r.mean + sigma*rng.NormFloat64()/math.Sqrt(r.dof()+2)
		for j := range s.size {
			one.amount[j] = s.best[j] + sigma*z[j]
		}
		one.f -= one.amount[0] * r.curves[rowLength+m.tau].mean
		for j := 1; j < s.size; j++ {
			one.f -= one.amount[j] * r.curves[j-1].mean
		}
		out = append(out, one)
	}
	return out
}

// scatter is the standard deviation of one reading about the line between its
// neighbours, in which a slow drift does not count.
func scatter(t Trace) float64 {
	sum, n := 0.0, 0
	for i := 1; i+1 < t.Len(); i++ {
		p := (t.Seconds[i] - t.Seconds[i-1]) / (t.Seconds[i+1] - t.Seconds[i-1])
		e := t.Values[i] - (1-p)*t.Values[i-1] - p*t.Values[i+1]
		sum += e * e / (1 + p*p + (1-p)*(1-p))
		n++
	}
	return math.Sqrt(sum / float64(max(n, 1)))
}
