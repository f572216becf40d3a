package distribution

import (
	"fmt"
	"math"
)

// Model is a beam of a simple law: what the flux is when one intensity is known.
type Model struct {
	name       string
	perCandela float64 // lm/cd
}

// Uniform sends the same intensity everywhere: Φ = 4π I.
func Uniform() Model { return Model{"uniform", 4 * math.Pi} }

// Lambertian is a flat matt surface: I = I₀ cos γ in front, Φ = π I₀.
func Lambertian() Model { return Model{"Lambertian", math.Pi} }

// CosinePower is I = I₀ cosⁿ γ in front, Φ = 2π I₀/(n + 1). It
// panics on an n that is below zero or infinite.
func CosinePower(n float64) Model {
	if !(n >= 0) || math.IsInf(n, 0) {
		panic(fmt.Sprintf("distribution: a cosine to the power of %g", n))
	}
	return Model{fmt.Sprintf("cosine to the power of %.3g", n), 2 * math.Pi / (n + 1)}
}

// BeamAngle is the cosine power that falls to half at a beam angle in degrees:
// n = ln ½ / ln cos(θ/2). It panics on an angle that is not above 0° and
// below 180°.
func BeamAngle(full float64) Model {
	checkFull(full, 180)
	sin := math.Sin(full * math.Pi / 720)
	n := -math.Ln2 / math.Log1p(-2*sin*sin) // ln cos, exact for narrow beams too
	m := CosinePower(n)
	m.name = fmt.Sprintf("a beam of %g°, cosine to the power of %.3g", full, n)
	return m
}

// Cone has the same intensity all over a cone of a full angle in degrees, and none
// beside it. It panics on an angle that is not above 0° and at most 360°.
func Cone(full float64) Model {
	checkFull(full, 360)
	return Model{fmt.Sprintf("an even cone of %g°", full), SolidAngle(full)}
}

func checkFull(full, largest float64) {
	if !(full > 0 && full <= largest) || full == 180 && largest == 180 {
		panic(fmt.Sprintf("distribution: a beam of %g°", full))
	}
}

// String names the model.
func (m Model) String() string { return m.name }

// PerCandela returns the flux in lm for each cd of centre-beam intensity.
func (m Model) PerCandela() float64 { return m.perCandela }
