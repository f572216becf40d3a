package uncertainty

import (
	"fmt"
	"math"
	"slices"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/spectrum"
)

// bench is what the draws of a sitting share: the reading and where each input
// stands in x.
type bench struct {
	*Sitting
	ids       []quantity.ID
	projector *spectrum.Projector
	noise     []float64
	knots     *knots
	mean      float64 // of the samples
	largest   float64
	filament  float64 // colour temperature of a lamp that follows the supply, K; 0 for none

	bends  [][]float64 // of the wavelength axis, on the grid
	curves []int       // where the draw of each curve stands

	offset, stretch, axisBends, bandwidth, pixels, repeats, response, reference, stray, dark, scale, factors int
}

// absent marks an input that takes no part.
const absent = -1

// Model returns the measurement model of the sitting: the inputs that are not
// exact, and the pipeline as a function of them.
func (s *Sitting) Model() (*Model, error) {
	if s.Spectrum == nil {
		return nil, fmt.Errorf("uncertainty: a sitting needs a spectrum")
	}
	pr, err := spectrum.NewProjector(s.Spectrum.Axis(), s.Kind)
	if err != nil {
		return nil, err
	}
	in := &s.Spectrometer
	b := &bench{Sitting: s, ids: s.quantities(), projector: pr}
	for _, v := range s.Spectrum.Values() {
		b.mean += v / float64(s.Spectrum.Len())
		b.largest = max(b.largest, v)
	}
	if b.noise, err = in.Noise.deviations(s.Spectrum.Values()); err != nil {
		return nil, err
	}
	if err := in.Response.check(); err != nil {
		return nil, err
	}
	if in.Reference != (Distribution{}) && !(in.Reference.centre > 0) {
		return nil, fmt.Errorf("uncertainty: a reference lamp cannot have a colour temperature of %g K", in.Reference.centre)
	}

	if err := in.Axis.check(); err != nil {
		return nil, err
	}
	if err := in.Repeats.check(s.Spectrum.Len()); err != nil {
		return nil, err
	}

	m := &Model{Outputs: len(b.ids), Correlations: s.Correlations}
	size := 0
	add := func(name, unit string, d Distribution, count int) int {
		if count == 0 || d == (Distribution{}) {
			return absent
		}
		source := in.Source
		if s := in.Sources[name]; s != "" {
			source = s
		}
		m.Inputs = append(m.Inputs, Input{Name: name, Unit: unit, Distribution: d, Count: count, Source: source})
		size += count
		return size - count
	}
	b.offset = add(WavelengthOffset, "nm", in.Offset, 1)
	b.stretch = add(WavelengthStretch, "nm per 100 nm", in.Stretch, 1)
	b.bends = in.Axis.onGrid()
	b.axisBends = add(WavelengthAxis, "", Normal(0, 1), len(b.bends))
	b.bandwidth = add(Bandwidth, "nm", in.Bandwidth, 1)
	b.pixels = add(PixelNoise, "", Normal(0, 1), len(b.noise))
	b.repeats = add(Repeatability, "", Normal(0, 1), in.Repeats.draws())
	if b.repeats != absent { // its values share n − 1 degrees of freedom
		last := &m.Inputs[len(m.Inputs)-1]
		last.DF = float64(len(in.Repeats.Departures)-1) / float64(last.Count)
	}
	b.response, b.reference = absent, absent
	b.filament = s.filament()
	if len(in.Response.Nm) > 0 || in.Reference != (Distribution{}) || b.filament > 0 {
		b.knots = newKnots(&in.Response, s.Spectrum.Axis())
		if len(in.Response.Nm) > 0 {
			b.response = add(ResponseCurve, "", Normal(0, 1), len(b.knots.nm))
		}
		b.reference = add(ReferenceLamp, "K", in.Reference, 1)
	}
	b.stray = add(StrayLight, "of the mean", in.Stray, 1)
	b.dark = add(DarkLevel, "of the peak", in.Dark, 1)
	b.scale = absent
	if s.Spectrum.Quantity().Absolute() {
		b.scale = add(AbsoluteScale, "", in.Scale, 1)
	}
	for i := range in.Curves {
		c := &in.Curves[i]
		if len(c.Values) != s.Spectrum.Len() {
			return nil, fmt.Errorf("uncertainty: %s is given for %d samples, but the spectrum has %d", c.Name, len(c.Values), s.Spectrum.Len())
		}
		b.curves = append(b.curves, size)
		m.Inputs = append(m.Inputs, c.Input)
		size++
	}
	b.factors = size
	for _, f := range s.Factors {
		f.Count = 1
		m.Inputs = append(m.Inputs, f.Input)
	}
	m.New = b.pipeline
	return m, nil
}

// filament returns the colour temperature in K of a lamp whose colour some
// factor changes, 0 where there is none or it has no colour temperature.
func (s *Sitting) filament() float64 {
	if !slices.ContainsFunc(s.Factors, func(f Factor) bool { return f.Heat != 0 }) {
		return 0
	}
	p, err := s.Spectrum.Project(s.Kind)
	if err != nil {
		return 0 // the model refuses it in its own words
	}
	r := new(assay.Result)
	assay.NewEvaluator().Evaluate(p, new(assay.Given), r)
	kelvin, _ := r.Value(quantity.CCT)
	return kelvin
}

// pipeline makes the function for one worker. It does not allocate when called.
func (b *bench) pipeline() Function {
	var (
		reading   = b.Spectrum.Values()
		samples   = make([]float64, len(reading))
		projected = new(spectrum.Projected)
		moved     = new(spectrum.Projected)
		result    = new(assay.Result)
		evaluator = assay.NewEvaluator()
		gains     []float64
	)
	var drawn *bend
	if len(b.bends) > 0 {
		drawn = newBend()
	}
	evaluator.Only(b.ids)
	if b.knots != nil {
		gains = make([]float64, len(b.knots.nm))
	}
	return func(x, y []float64) {
		light, flux, power, lamp, heat := b.multiply(x)
		b.sample(samples, reading, x, gains, light, heat)
		b.projector.Project(projected, samples)
		projected.Quantity = b.Spectrum.Quantity()
		p := projected
		if a := b.axis(x, drawn); a != (axisError{}) {
			a.apply(moved, projected)
			p = moved
		}
		given := b.Given
		given.Flux.Value *= flux
		given.Power.Value *= power
		given.PowerLamp.Value *= lamp
		evaluator.Evaluate(p, &given, result)
		for i, id := range b.ids {
			v, ok := result.Value(id)
			if !ok {
				v = math.NaN()
			}
			y[i] = v
		}
	}
}

// take returns an input's value, or what stands in for one that takes no part.
func take(x []float64, at int, otherwise float64) float64 {
	if at == absent {
		return otherwise
	}
	return x[at]
}

// sample fills dst with what the spectrum would be if the inputs were these.
func (b *bench) sample(dst, reading, x, gains []float64, light, heat float64) {
	if b.Spectrum.Quantity().Absolute() {
		light *= 1 + take(x, b.scale, 0)
	} else {
		light = 1
	}
	level := b.mean*take(x, b.stray, 0) + b.largest*take(x, b.dark, 0)
	for i, v := range reading {
		dst[i] = light * (v - level)
	}
	if b.pixels != absent {
		noise := x[b.pixels:][:len(dst)]
		for i, z := range noise {
			dst[i] += light * b.noise[i] * z
		}
	}
	if b.repeats != absent {
		b.Spectrometer.Repeats.add(dst, x[b.repeats:], light)
	}
	for k, at := range b.curves {
		e := light * x[at]
		for i, v := range b.Spectrometer.Curves[k].Values {
			dst[i] += e * v
		}
	}
	if b.knots == nil {
		return
	}
	var z []float64
	if b.response != absent {
		z = x[b.response:][:len(gains)]
	}
	assumed := b.Spectrometer.Reference.centre
	b.knots.factors(gains, z)
	b.knots.tilt(gains, take(x, b.reference, assumed), assumed)
	if b.filament > 0 {
		b.knots.tilt(gains, b.filament*heat, b.filament)
	}
	for i, k := range b.knots.segment {
		below := gains[k]
		dst[i] *= below + b.knots.fraction[i]*(gains[k+1]-below)
	}
}

// axis returns what the draw does to the wavelengths. A line that was read with
// a width w but is to be seen with the mean width w₀ changes its variance by
// (w₀² − w²)/(8 ln 2).
func (b *bench) axis(x []float64, drawn *bend) axisError {
	if drawn != nil {
		drawn.set(b.bends, x[b.axisBends:])
	}
	nominal := b.Spectrometer.Bandwidth.centre
	width := take(x, b.bandwidth, nominal)
	return axisError{
		offset:   take(x, b.offset, 0),
		stretch:  take(x, b.stretch, 0) / 100,
		variance: (nominal*nominal - width*width) / (8 * math.Ln2),
		bend:     drawn,
	}
}

// multiply returns the products of the factors.
func (b *bench) multiply(x []float64) (light, flux, power, lamp, heat float64) {
	for i := range b.Factors {
		f := &b.Factors[i]
		l := math.Log1p(x[b.factors+i])
		light += f.Light * l
		flux += (f.Light + f.Flux) * l
		power += f.Power * l
		lamp += f.Lamp * l
		heat += f.Heat * l
	}
	return math.Exp(light), math.Exp(flux), math.Exp(power), math.Exp(lamp), math.Exp(heat)
}
