package limits

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"strings"

	"lampassay/light/colorimetry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
)

// Measure is something of a spectrum that can be asked for.
type Measure uint8

// The measures. Indices need a correlated colour temperature, the ratios do
// not.
const (
	Ra     Measure = iota // general colour rendering index, CIE 13.3-1995
	R9                    // special index of the strong red, CIE 13.3-1995
	Rf                    // colour fidelity index, CIE 224:2017
	Rg                    // gamut index, ANSI/IES TM-30-20
	SP                    // scotopic to photopic ratio, CIE 191:2010
	MelDER                // melanopic daylight (D65) efficacy ratio, CIE S 026:2018
	measureCount

	// Duv is bounded by [Colour.Duv] and not by a demand; it is here for
	// [Binding].
	Duv = measureCount
)

var measureNames = [measureCount + 1]string{"Ra", "R9", "Rf", "Rg", "S/P", "melanopic DER", "Duv"}

// String returns the symbol of the measure.
func (m Measure) String() string {
	if int(m) < len(measureNames) {
		return measureNames[m]
	}
	return fmt.Sprintf("Measure(%d)", uint8(m))
}

// fidelity reports whether the measure counts colour differences from a
// reference, so that a floor for it is a convex condition, or nearly, and a
// ceiling is not.
func (m Measure) fidelity() bool { return m == Ra || m == R9 || m == Rf }

// ratio reports whether the measure is a ratio of two integrals, so that both
// bounds are linear conditions.
func (m Measure) ratio() bool { return m == SP || m == MelDER }

// Demand is one condition on a measure: at least, or at most, a value.
type Demand struct {
	Measure Measure
	Most    bool // the value is a ceiling, not a floor
	Value   float64
}

// AtLeast demands a floor.
func AtLeast(m Measure, v float64) Demand { return Demand{m, false, v} }

// AtMost demands a ceiling.
func AtMost(m Measure, v float64) Demand { return Demand{m, true, v} }

// String says the demand as a condition: "Ra ≥ 80".
func (d Demand) String() string {
	sign := "≥"
	if d.Most {
		sign = "≤"
	}
	return fmt.Sprintf("%v %s %s", d.Measure, sign, strings.Replace(fmt.Sprintf("%g", d.Value), "-", "−", 1))
}

// Span is a closed range; one value where both ends are equal.
type Span struct{ From, To float64 }

// Colour says what chromaticity the light must have. The zero value leaves it
// free.
type Colour struct {
	// CCT in K and Duv, together. A Duv span allows all of an isotherm within
	// it, a CCT span every temperature.
	CCT, Duv Span
	// X and Y are a given 1931 chromaticity, used where no CCT is given.
	X, Y float64
}

// AtCCT is the colour of a correlated colour temperature in K at a distance duv
// from the Planckian locus.
func AtCCT(kelvin, duv float64) Colour { return Colour{CCT: Span{kelvin, kelvin}, Duv: Span{duv, duv}} }

// AtXY is a given chromaticity.
func AtXY(x, y float64) Colour { return Colour{X: x, Y: y} }

// Band allows lines with their centres from From to To in nm. FWHM is the width
// in nm of their Gaussian profile, power over wavelength; 0 is the ideal line.
type Band struct{ From, To, FWHM float64 }

// Emitter is a real source of light that may be mixed with others, such as an
// LED.
type Emitter struct {
	Name string
	// Spectrum is its spectral curve; the scale does not matter.
	Spectrum *spectrum.Spectrum
	// Efficiency is the wall-plug efficiency: radiant watts per electrical watt,
	// above 0 and at most 1.
	Efficiency float64
}

// Conditions is the question: of what, with which colour, under which demands?
type Conditions struct {
	Colour  Colour
	Demands []Demand
	// Bands say of which lines the light may be made. None, with no Emitters,
	// stands for ideal lines over 360–830 nm, all that the eye's functions are
	// tabulated for.
	Bands []Band
	// Emitters, in place of Bands: then the light is a mixture of these, for the
	// most lumens per electrical watt.
	Emitters []Emitter
	// Lines is the largest number of lines or emitters, 0 for any number.
	Lines int
	// Restarts is how many further starts, each from another random light, look
	// for a better answer; see [Evidence].
	Restarts int
}

// visible is what stands for no bands: the range of the tables.
var visible = []Band{{From: 360, To: 830}}

// normalised returns the conditions with defaults put in, or the first fault.
func (c Conditions) normalised() (Conditions, error) {
	if len(c.Bands) > 0 && len(c.Emitters) > 0 {
		return c, fmt.Errorf("limits: light is made of lines or of given emitters, not of both")
	}
	if len(c.Bands) == 0 && len(c.Emitters) == 0 {
		c.Bands = visible
	}
	for _, b := range c.Bands {
		if err := b.check(); err != nil {
			return c, err
		}
	}
	for _, e := range c.Emitters {
		if err := e.check(); err != nil {
			return c, err
		}
	}
	if c.Lines < 0 || c.Restarts < 0 || c.Restarts > mostRestarts {
		return c, fmt.Errorf("limits: %d lines and %d restarts: neither number can be negative, nor the restarts over %d", c.Lines, c.Restarts, mostRestarts)
	}
	if err := c.Colour.check(); err != nil {
		return c, err
	}
	for i, d := range c.Demands {
		if err := d.check(c.Colour); err != nil {
			return c, err
		}
		for _, other := range c.Demands[:i] {
			if d.Measure == other.Measure && d.Most == other.Most {
				return c, fmt.Errorf("limits: %v and %v are two demands for one thing", other, d)
			}
		}
	}
	return c, nil
}

// thinnest is the least width in nm of a line that is not ideal: lines stand a
// tenth of a nanometre apart, and the tables are straight within a whole one.
const thinnest = 0.1

// mostRestarts is more than any answer has ever needed.
const mostRestarts = 1000

func (b Band) check() error {
	switch {
	case !(b.From >= spectrum.GridFirst && b.To <= spectrum.GridLast && b.From <= b.To):
		return fmt.Errorf("limits: the band %g–%g nm does not lie, rising, within %d–%d nm", b.From, b.To, spectrum.GridFirst, spectrum.GridLast)
	case b.FWHM != 0 && !(b.FWHM >= thinnest && b.FWHM <= 300):
		return fmt.Errorf("limits: a line cannot be %g nm wide: use 0, an ideal line, or %g nm to 300 nm", b.FWHM, thinnest)
	}
	return nil
}

func (e Emitter) check() error {
	switch {
	case e.Spectrum == nil:
		return fmt.Errorf("limits: the emitter %q has no spectrum", e.Name)
	case !(e.Efficiency > 0 && e.Efficiency <= 1):
		return fmt.Errorf("limits: the wall-plug efficiency of %q is %g: it must be above 0 and at most 1", e.Name, e.Efficiency)
	}
	return nil
}

// hasCCT reports whether the colour was given as a temperature, and free
// whether it was not given at all.
func (c Colour) hasCCT() bool { return c.CCT != Span{} }
func (c Colour) free() bool   { return c == Colour{} }

func (c Colour) check() error {
	switch {
	case c.free():
		return nil
	case !c.hasCCT():
		if !(c.X > 0 && c.Y > 0 && c.X+c.Y < 1) {
			return fmt.Errorf("limits: x = %g, y = %g is no chromaticity", c.X, c.Y)
		}
		return nil
	case c.X != 0 || c.Y != 0:
		return fmt.Errorf("limits: a colour is given by its temperature or by its chromaticity, not by both")
	case !(c.CCT.From >= 1000 && c.CCT.To <= 25000 && c.CCT.From <= c.CCT.To):
		return fmt.Errorf("limits: a colour temperature of %g–%g K does not lie, rising, within 1000–25000 K, where there is reference light", c.CCT.From, c.CCT.To)
	case !(c.Duv.From >= -0.05 && c.Duv.To <= 0.05 && c.Duv.From <= c.Duv.To):
		return fmt.Errorf("limits: Duv from %g to %g does not lie, rising, within ±0.05, where a colour temperature means something (CIE 15:2018 9.5)", c.Duv.From, c.Duv.To)
	}
	return nil
}

// temperature returns the CCT that references are made for at a colour of one
// temperature.
func (c Colour) temperature() (float64, bool) {
	if c.hasCCT() {
		return c.CCT.From, true
	}
	if c.free() {
		return 0, false
	}
	u, v := colorimetry.XYZFromXY(c.X, c.Y, 1).UV()
	cct, _, ok := colorimetry.CCT(u, v)
	return cct, ok && rendition.HasReference(cct)
}

func (d Demand) check(c Colour) error {
	switch {
	case d.Measure >= measureCount:
		return fmt.Errorf("limits: %v is no measure that can be demanded", d.Measure)
	case math.IsNaN(d.Value) || math.IsInf(d.Value, 0):
		return fmt.Errorf("limits: %v: the value is not a number", d.Measure)
	case d.Measure.fidelity() && d.Most:
		return fmt.Errorf("limits: %v: an index can be asked for at least, not at most", d)
	case d.Measure.fidelity() && d.Value >= 100:
		return fmt.Errorf("limits: %v: only the reference itself has 100", d)
	case d.Measure == Rf && d.Value <= 0, !d.Measure.fidelity() && d.Value < 0:
		return fmt.Errorf("limits: %v: the value is below all there is", d)
	}
	if d.Measure.ratio() {
		return nil
	}
	if _, ok := c.temperature(); !ok {
		return fmt.Errorf("limits: %v needs a colour temperature to take the reference from", d)
	}
	return nil
}

// Version of the method, part of every [Conditions.Key]: it changes when an
// answer might.
const Version = 1

// Key returns a hash of everything that the answer depends on, for a cache.
// Questions that differ have different keys; one question in two spellings, its
// demands in another order or a default written out, may have two.
func (c Conditions) Key() string {
	type emitter struct {
		Name       string
		Axis       []float64
		Values     []float64
		Efficiency float64
	}
	emitters := make([]emitter, len(c.Emitters))
	for i, e := range c.Emitters {
		emitters[i] = emitter{Name: e.Name, Efficiency: e.Efficiency}
		if e.Spectrum != nil {
			emitters[i].Axis, emitters[i].Values = e.Spectrum.Axis(), e.Spectrum.Values()
		}
	}
	text, err := json.Marshal(struct {
		Version  int
		Colour   Colour
		Demands  []Demand
		Bands    []Band
		Emitters []emitter
		Lines    int
		Restarts int
	}{Version, c.Colour, c.Demands, c.Bands, emitters, c.Lines, c.Restarts})
	if err != nil {
		return "" // a value that is no number: such conditions are refused anyway
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}
