package ladder

import (
	"context"
	"fmt"
	"math"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/photometry"
	"lampassay/light/standards"
)

// Key names a rung.
type Key string

// The rungs, from the top.
const (
	Definition Key = "definition" // a line at 555 nm
	Best       Key = "best"       // the best light of this colour
	Spectrum   Key = "spectrum"   // this lamp's radiation
	AtLamp     Key = "lamp"       // per watt at the lamp
	AtMains    Key = "mains"      // per watt at the mains
)

// Basis says what a rung rests on.
type Basis string

// The kinds of basis.
const (
	Defined  Basis = "defined"
	Computed Basis = "computed"
	Measured Basis = "measured"
	Assumed  Basis = "assumed"
)

// Rung is one step of the ladder.
type Rung struct {
	Key  Key
	Name string
	// Efficacy is in lm/W; 0 where the rung has none, and then Why says why.
	Efficacy float64
	Why      string
	Basis    Basis
	// Kept is the efficacy over that of the nearest rung above that has one, and
	// Loss names what the rest went into. The top has neither.
	Kept float64
	Loss string
}

// Known reports whether the rung has an efficacy.
func (r *Rung) Known() bool { return r.Why == "" }

// Ladder is the rungs from the top down.
type Ladder struct {
	Rungs [5]Rung
	// Colour says what sort of light the second rung is for.
	Colour Colour
}

// Colour sorts light by what its best rival is.
type Colour string

// The sorts of light.
const (
	White    Colour = "white"    // Ra is a condition
	Single   Colour = "single"   // predominantly monochromatic
	Coloured Colour = "coloured" // chromaticity alone is
)

// Rival is the best light that a search found.
type Rival struct {
	LER  float64 // lm/W
	Text string  // what it is made of, in a few words; may be empty
}

// BestLight finds the most luminous light of chromaticity x, y (2° observer)
// with a general colour rendering index of at least ra; NaN asks for no index.
type BestLight func(ctx context.Context, x, y, ra float64) (Rival, error)

// Options steer [Of].
type Options struct {
	// Best finds the second rung; without it that rung says it was not searched
	// for. It is not asked about light of a single colour.
	Best BestLight
	// Gear is the share of the power at the mains that reaches the lamp, above 0
	// to 1, where the user assumes one; 0 for no assumption. It fills in the one
	// of the last two rungs that was not measured.
	Gear float64
}

// Of builds the ladder of an assayed lamp. The error is the context's, or names
// an assumption that cannot be; what cannot be had is a reason on its rung.
func Of(ctx context.Context, r *assay.Result, o Options) (*Ladder, error) {
	if o.Gear != 0 && !(o.Gear > 0 && o.Gear <= 1) {
		return nil, fmt.Errorf("ladder: gear passes a share of the power above 0 and up to 1, not %g", o.Gear)
	}
	l := &Ladder{Colour: colourOf(r)}
	l.Rungs[0] = Rung{Key: Definition, Name: "one line at 555 nm", Efficacy: photometry.Km, Basis: Defined}
	best, err := l.best(ctx, r, o.Best)
	if err != nil {
		return nil, err
	}
	l.Rungs[1] = best
	l.Rungs[2] = ownSpectrum(r, &l.Rungs[1])
	l.Rungs[3], l.Rungs[4] = perWatt(r, o.Gear)
	l.refuse()
	l.share()
	return l, nil
}

// whitestLow is the correlated colour temperature in K from which light is called
// white, this project's own choice: a candle has 1900 K, and what lies nearer than
// this to the red end of the Planckian locus lies as near to the spectral locus.
const whitestLow = 1500

// colourOf sorts the light.
func colourOf(r *assay.Result) Colour {
	cct, ok := r.Value(quantity.CCT)
	switch {
	case r.IsMonochromatic():
		return Single
	case ok && cct >= whitestLow:
		return White
	}
	return Coloured
}

// best makes the second rung.
func (l *Ladder) best(ctx context.Context, r *assay.Result, search BestLight) (Rung, error) {
	rung := Rung{Key: Best, Name: "the best light of this colour", Basis: Computed}
	x, ok := r.Value(quantity.ChromaticityX)
	y, _ := r.Value(quantity.ChromaticityY)
	if !ok {
		rung.Why = r.Why(quantity.ChromaticityX)
		return rung, nil
	}
	if l.Colour == Single {
		nm, ok := r.Value(quantity.DominantWavelength)
		if !ok || nm <= 0 {
			nm, _ = r.Value(quantity.PeakWavelength)
		}
		rung.Name = fmt.Sprintf("one line at %.1f nm, this colour at its purest", nm)
		rung.Efficacy = photometry.Km * standards.V().At(nm)
		rung.Loss = "the eye is less sensitive to this colour than to 555 nm"
		return rung, nil
	}
	ra := math.NaN()
	rung.Loss = "a colour away from that of 555 nm"
	switch v, ok := r.Value(quantity.Ra); {
	case l.Colour == White && ok && v >= 1:
		ra = min(math.Floor(v), highestRa) // so that this lamp itself meets it
		rung.Name = fmt.Sprintf("the best white of this colour with Ra %.0f or more", ra)
		rung.Loss = "white needs blue and red, which the eye sees less well, and an Ra asks for more of them"
	case l.Colour == White:
		rung.Name = "the best white of this colour"
		rung.Loss = "white needs blue and red, which the eye sees less well"
	}
	if search == nil {
		rung.Why = "it was not searched for"
		return rung, nil
	}
	rival, err := search(ctx, x, y, ra)
	switch own, _ := visibleLER(r); {
	case ctx.Err() != nil:
		return rung, ctx.Err()
	case err != nil:
		rung.Why = err.Error()
	case rival.LER < own*(1-1e-6):
		rung.Why = fmt.Sprintf("the search reached %.0f lm/W, and the visible part of this lamp's own light has %.0f", rival.LER, own)
	default:
		rung.Efficacy = rival.LER
		if rival.Text != "" {
			rung.Name += ": " + rival.Text
		}
	}
	return rung, nil
}

// visibleLER returns the luminous efficacy of the visible part of the lamp's
// radiation, lm/W, and that part's share of the covered radiation.
func visibleLER(r *assay.Result) (ler, share float64) {
	ler, ok := r.Value(quantity.LER)
	share, seen := r.Value(quantity.ShareVisible)
	if !ok || !seen || !(share > 0) {
		return 0, 0
	}
	return ler / share, share
}
