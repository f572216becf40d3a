package limits

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"lampassay/light/colorimetry"
	"lampassay/light/photometry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Optimum is the best light under conditions: the answer, and its curve of 1 W
// in W/nm. An ideal line is drawn as a triangle of 0.04 nm base.
type Optimum struct {
	Answer
	Spectrum *spectrum.Spectrum
}

// Answer is all of an [Optimum] but its curve, which follows from it.
type Answer struct {
	// Efficacy is what was made as large as possible: of lines the luminous
	// efficacy of radiation, of emitters the lumens per electrical watt. lm/W.
	Efficacy float64
	// LER is the luminous efficacy of radiation, lm/W.
	LER float64

	CCT, Duv float64 // NaN where there is no correlated colour temperature
	X, Y     float64 // 1931 chromaticity
	// Values holds the measures of the light, indexed by [Measure]; indices are
	// NaN where there is no CCT. They are computed from the curve by the packages
	// that compute them for a measured one.
	Values [measureCount]float64

	// Mixture is the light, by wavelength or in the order of the emitters; see
	// [Answer.Lines] for reading.
	Mixture []Part

	Binding  []Binding
	Evidence Evidence
}

// Part is one line or emitter of a light.
type Part struct {
	Centre, FWHM float64 // nm; of an emitter 0
	Emitter      int     // index into the conditions' emitters, −1 for a line
	Power        float64 // share of the radiant power
	Light        float64 // share of the light
}

// Binding is a condition that the light meets exactly and would be better
// without.
type Binding struct {
	Demand Demand // of Measure Duv where it is a limit of the colour
	// Price is the efficacy in lm/W that one more unit of the measure costs, to
	// first order: for Ra ≥ 80 one point of Ra.
	Price float64
}

// Evidence says how far the optimum was checked.
type Evidence struct {
	// Starts is the number of independent starts, Agreed how many of them ended
	// within 0.05 % of the best, and Lowest and Highest the smallest and the
	// largest efficacy that any ended at, lm/W.
	Starts, Agreed  int
	Lowest, Highest float64
	// Bound is an upper bound of the efficacy in lm/W from the program's dual: at
	// its prices no line, every tenth of a nanometre, would pay for itself. It is
	// NaN where the number of lines is limited. Exact says that it is a proof, the
	// program being linear; where indices are demanded it holds as far as a colour
	// difference is a convex function of the spectrum, which it is but for the
	// bend of the colour space.
	Bound float64
	Exact bool
	// Steps is how many Newton steps were taken in all.
	Steps int
}

// count fills in what the efficacies that the starts reached say.
func (e *Evidence) count(reached []float64) {
	e.Lowest, e.Highest = slices.Min(reached), slices.Max(reached)
	for _, v := range reached {
		if v >= e.Highest*(1-5e-4) {
			e.Agreed++
		}
	}
}

// Value returns a measure of the light.
func (o *Answer) Value(m Measure) float64 {
	switch {
	case m == Duv:
		return o.Duv
	case m < measureCount:
		return o.Values[m]
	}
	return math.NaN()
}

// Lines returns the mixture with neighbours joined that the method has put on
// either side of a place between two of its own: lines closer than a quarter of
// their width, which no instrument could tell apart, and ideal lines at
// neighbouring entries of the tables, which are the very same light as one line
// between them.
func (o *Answer) Lines() []Part {
	var out []Part
	last := 0.0 // where the last part of the mixture was
	for _, p := range o.Mixture {
		n := len(out)
		near := p.FWHM / 4
		if p.FWHM == 0 {
			near = 1
		}
		if n > 0 && p.Emitter < 0 && p.FWHM == out[n-1].FWHM && p.Centre-last <= near {
			q := &out[n-1]
			q.Centre += (p.Centre - q.Centre) * p.Power / (p.Power + q.Power)
			q.Power += p.Power
			q.Light += p.Light
		} else {
			out = append(out, p)
		}
		last = p.Centre
	}
	return out
}

// Draw returns the curve of the mixture. The emitters are those of the
// conditions; it fails where the mixture has others.
func (o *Answer) Draw(emitters []Emitter) (*spectrum.Spectrum, error) {
	for _, p := range o.Mixture {
		if p.Emitter >= len(emitters) {
			return nil, fmt.Errorf("limits: the mixture has emitter %d of %d", p.Emitter+1, len(emitters))
		}
	}
	axis := o.axis(emitters)
	values := make([]float64, len(axis))
	for _, p := range o.Mixture {
		if p.Emitter < 0 {
			addLine(values, axis, p)
		} else if err := addEmitter(values, axis, emitters[p.Emitter], p.Power); err != nil {
			return nil, err
		}
	}
	s, err := spectrum.New(spectrum.Flux, axis, values)
	if err != nil {
		return nil, fmt.Errorf("limits: %w", err)
	}
	return s, nil
}

// Lines are drawn at 32 samples a width, as far as five standard
// deviations, and ideal ones as triangles.
const (
	samplesPerWidth = 32
	drawnSigmas     = 5
	triangleHalf    = 0.02 // nm
)

// axis holds the wavelengths that the mixture is drawn at, over all of the
// observers' range.
func (o *Answer) axis(emitters []Emitter) []float64 {
	axis := []float64{360, 830}
	for _, p := range o.Mixture {
		switch {
		case p.Emitter >= 0:
			axis = append(axis, emitters[p.Emitter].Spectrum.Axis()...)
		case p.FWHM == 0:
			axis = append(axis, p.Centre-triangleHalf, p.Centre, p.Centre+triangleHalf)
		default:
			reach := drawnSigmas * p.FWHM * sigmaFromFWHM
			step := p.FWHM / samplesPerWidth
			for k := math.Ceil((p.Centre - reach) / step); k*step <= p.Centre+reach; k++ {
				axis = append(axis, k*step)
			}
		}
	}
	sort.Float64s(axis)
	return slices.CompactFunc(axis, func(a, b float64) bool { return math.Abs(b-a) < 1e-9 })
}

func addLine(values, axis []float64, p Part) {
	sigma := p.FWHM * sigmaFromFWHM
	for i, nm := range axis {
		x := nm - p.Centre
		switch {
		case p.FWHM == 0:
			values[i] += p.Power * max(0, 1-math.Abs(x)/triangleHalf) / triangleHalf
		case math.Abs(x) <= (drawnSigmas+1)*sigma:
			values[i] += p.Power * math.Exp(-x*x/(2*sigma*sigma)) / (sigma * math.Sqrt(2*math.Pi))
		}
	}
}

func addEmitter(values, axis []float64, e Emitter, power float64) error {
	s, err := e.Spectrum.Project(spectrum.Sampled)
	if err != nil {
		return fmt.Errorf("limits: the emitter %q: %w", e.Name, err)
	}
	nm, v := e.Spectrum.Axis(), e.Spectrum.Values()
	k := 0
	for i, at := range axis {
		if at < nm[0] || at > nm[len(nm)-1] {
			continue
		}
		for k+2 < len(nm) && nm[k+1] < at {
			k++
		}
		f := (at - nm[k]) / (nm[k+1] - nm[k])
		values[i] += power / s.Total * (v[k] + f*(v[k+1]-v[k]))
	}
	return nil
}

// describe fills in what follows from the mixture.
func (o *Optimum) describe(c *Conditions) error {
	var err error
	if o.Spectrum, err = o.Draw(c.Emitters); err != nil {
		return err
	}
	p, err := o.Spectrum.Project(spectrum.Sampled)
	if err != nil {
		return fmt.Errorf("limits: %w", err)
	}
	white := colorimetry.Tristimulus(standards.CIE1931(), p)
	o.X, o.Y = white.XY()
	for m := range o.Values {
		o.Values[m] = math.NaN()
	}
	o.Values[SP] = photometry.SPRatio(p)
	o.Values[MelDER] = photometry.DER(photometry.Melanopic, p)
	o.CCT, o.Duv = math.NaN(), math.NaN()
	u, v := white.UV()
	cct, duv, ok := colorimetry.CCT(u, v)
	if !ok || math.Abs(duv) > 0.05 || !rendition.HasReference(cct) {
		return nil
	}
	if t, ok := c.Colour.temperature(); ok {
		cct = t // which the drawing misses by a hair, and at 5000 K the reference changes
	}
	o.CCT, o.Duv = cct, duv
	e, cri, tm30 := rendition.New(), new(rendition.CRI), new(rendition.TM30)
	e.CRI(p, cct, cri)
	e.Fidelity(p, cct, tm30)
	o.Values[Ra], o.Values[R9], o.Values[Rf], o.Values[Rg] = cri.Ra, cri.R[8], tm30.Rf, tm30.Rg
	return nil
}
