package uncertainty

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Distribution is what is believed about an input: a centre, and how far and
// with what shape the truth may lie about it. All are symmetric. The zero value
// is exactly zero.
type Distribution struct {
	shape  shape
	centre float64
	width  float64 // standard deviation, half-width, or scale of t
	extra  float64 // degrees of freedom of t; how far the half-width itself may err
}

type shape uint8

const (
	exact shape = iota
	normal
	rectangular
	inexact
	triangular
	arcsine
	student
)

var shapeNames = [...]string{"exact", "normal", "rectangular", "rectangular with inexact limits", "triangular", "arcsine", "t"}

// Exact is a value without uncertainty.
func Exact(value float64) Distribution { return Distribution{centre: value} }

// Normal is for a value with a standard uncertainty, as a certificate states it
// after division by its coverage factor (JCGM 101:2008 6.4.7).
func Normal(value, u float64) Distribution { return Distribution{normal, value, u, 0} }

// Rectangular is for a value known only to lie within ± half (JCGM 101:2008
// 6.4.2): a resolution, a class limit.
func Rectangular(value, half float64) Distribution {
	return Distribution{rectangular, value, half, 0}
}

// Inexact is rectangular with limits that are themselves known only within ±
// error: the curvilinear trapezoid of JCGM 101:2008 6.4.3.
func Inexact(value, half, error float64) Distribution {
	return Distribution{inexact, value, half, error}
}

// Triangular is for the sum of two equal rectangular ones (JCGM 101:2008 6.4.5).
func Triangular(value, half float64) Distribution { return Distribution{triangular, value, half, 0} }

// Arcsine is for a value that cycles within ± half and was read at an unknown
// phase (JCGM 101:2008 6.4.6).
func Arcsine(value, half float64) Distribution { return Distribution{arcsine, value, half, 0} }

// StudentT is for a mean of repeats: scale is the standard deviation of the
// mean and nu the number of repeats less one (JCGM 101:2008 6.4.9.2). See
// [FromRepeats].
func StudentT(value, scale, nu float64) Distribution {
	return Distribution{student, value, scale, nu}
}

// Mean returns the estimate.
func (d Distribution) Mean() float64 { return d.centre }

// U returns the standard uncertainty that the linear law takes (JCGM 100:2008
// 4.2, 4.3): the standard deviation, but for a mean of repeats s/√n, whose few
// degrees of freedom count later.
func (d Distribution) U() float64 {
	switch d.shape {
	case rectangular:
		return d.width / math.Sqrt(3)
	case inexact:
		return math.Sqrt(d.width*d.width/3 + d.extra*d.extra/9)
	case triangular:
		return d.width / math.Sqrt(6)
	case arcsine:
		return d.width / math.Sqrt2
	}
	return d.width // normal, t; 0 for exact
}

// kurtosis returns the fourth central moment over the square of the second; 3,
// the normal one's, where a t distribution has none.
func (d Distribution) kurtosis() float64 {
	switch {
	case d.shape == rectangular:
		return 1.8
	case d.shape == inexact && d.width > 0:
		// Moments over half-widths even within h ± e: ⟨w²⟩/3 and ⟨w⁴⟩/5.
		h2, e2 := d.width*d.width, d.extra*d.extra
		second := (h2 + e2/3) / 3
		return (h2*h2 + 2*h2*e2 + e2*e2/5) / 5 / (second * second)
	case d.shape == triangular:
		return 2.4
	case d.shape == arcsine:
		return 1.5
	case d.shape == student && d.extra > 4:
		return 3 + 6/(d.extra-4)
	}
	return 3
}

// Shape names the distribution.
func (d Distribution) Shape() string { return shapeNames[d.shape] }

// String writes the distribution for reading, as "normal 2.5 ± 0.1".
func (d Distribution) String() string {
	switch d.shape {
	case exact:
		return fmt.Sprintf("exact %.6g", d.centre)
	case student:
		return fmt.Sprintf("t %.6g ± %.4g (ν = %.4g)", d.centre, d.width, d.extra)
	}
	return fmt.Sprintf("%s %.6g ± %.4g", shapeNames[d.shape], d.centre, d.width)
}

// problem says in a few words what is wrong with the distribution, "" if nothing.
func (d Distribution) problem() string {
	switch {
	case math.IsNaN(d.centre) || math.IsInf(d.centre, 0):
		return "the estimate is not a finite number"
	case math.IsNaN(d.width) || math.IsInf(d.width, 0):
		return "the uncertainty is not a finite number"
	case d.width < 0:
		return fmt.Sprintf("the uncertainty is negative (%g)", d.width)
	case d.shape == student && !(d.extra >= 1):
		return fmt.Sprintf("a t distribution needs at least one degree of freedom, not %g", d.extra)
	case d.shape == inexact && !(d.extra >= 0 && d.extra <= d.width):
		return fmt.Sprintf("limits of ± %g cannot be inexact by %g", d.width, d.extra)
	}
	return ""
}

// draw returns one value.
func (d *Distribution) draw(rng *rand.Rand) float64 {
	switch d.shape {
	case normal:
		return d.centre + d.width*rng.NormFloat64()
	case rectangular:
		return d.centre + d.width*(2*rng.Float64()-1)
	case inexact:
		half := d.width + d.extra*(2*rng.Float64()-1)
		return d.centre + half*(2*rng.Float64()-1)
	case triangular:
		return d.centre + d.width*(rng.Float64()-rng.Float64())
	case arcsine:
		return d.centre + d.width*math.Sin(2*math.Pi*rng.Float64())
	case student:
		return d.centre + d.width*drawT(rng, d.extra)
	}
	return d.centre
}

// drawT draws from Student's t by the polar method of R. W. Bailey, Math. Comp.
// 62 (1994) 779–781, which is exact for every ν > 0.
func drawT(rng *rand.Rand, nu float64) float64 {
	for {
		u, v := 2*rng.Float64()-1, 2*rng.Float64()-1
		w := u*u + v*v
		if w > 0 && w < 1 {
			return u * math.Sqrt(nu*(math.Pow(w, -2/nu)-1)/w)
		}
	}
}

// scaled returns the distribution of k times the value.
func (d Distribution) scaled(k float64) Distribution {
	d.centre, d.width = k*d.centre, k*d.width
	if d.shape == inexact {
		d.extra *= k
	}
	return d
}
