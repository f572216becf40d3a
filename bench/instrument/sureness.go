package instrument

import (
	"fmt"
	"math"
	"slices"
	"time"

	"lampassay/assay/uncertainty"
	"lampassay/light/calibration"
	"lampassay/light/spectrum"
)

// Estimates that no calibration gives. Own, without a source; [strayKept] is
// another.
const (
	// unwatchedDrift is the standard uncertainty in nm of an axis that no lamp
	// has checked since it was calibrated.
	unwatchedDrift = 0.1
	// unknownBend is that of a detector's proportion at the largest count, as a
	// share, where it was never measured.
	unknownBend = 0.005
	// bendKept is the part of a measured departure from proportion, and
	// ghostKept of a second order, that its correction may leave.
	bendKept  = 0.1
	ghostKept = 0.1
	// certificateReach is the length in nm over which the smooth errors of a
	// response err alike, as in the classes of package uncertainty.
	certificateReach = 120
	// knotStep is how far apart in nm those errors are drawn.
	knotStep = 10
)

// Sureness is what the calibrations of an instrument, and the frames of a
// measurement, say of the spectrum that came of them. It begins with a class,
// whose figures stay where nothing better is known; each input says where it is
// from. The spectrum must have been divided by the response: counts have no
// colour to be sure of, and keep the class.
func (in *Instrument) Sureness(m Measurement, c *Corrected, opt Options, class uncertainty.Spectrometer) (uncertainty.Spectrometer, error) {
	s := class
	s.Name = in.Name
	s.Sources = map[string]string{}
	if in.Wavelength == nil || in.Response == nil || c.Spectrum.Quantity() != spectrum.Relative {
		return s, nil
	}
	k := &known{in: in, c: c, s: &s, axis: c.Spectrum.Axis(), values: c.Spectrum.Values()}
	if err := k.place(); err != nil {
		return s, err
	}
	k.wavelength()
	k.bandwidth()
	k.response()
	k.strayLight()
	k.darkLevel(class.Dark)
	k.secondOrder()
	k.linearity()
	k.noise(m, opt)
	return s, nil
}

// known gathers what is known about one corrected spectrum.
type known struct {
	in           *Instrument
	c            *Corrected
	s            *uncertainty.Spectrometer
	axis, values []float64
	first        int       // the pixel of the first sample
	gain         []float64 // what a count per ms is in the spectrum
	counts       []float64 // per ms, before stray light was taken off, of every pixel
	strayed      []float64 // relative standard uncertainty that stray light leaves of the response
}

// place finds the spectrum's samples on the detector.
func (k *known) place() error {
	d, err := k.in.Dispersion()
	if err != nil {
		return err
	}
	k.first = slices.IndexFunc(d.Axis(), func(nm float64) bool { return nm >= k.axis[0]-1e-9 })
	k.counts = k.step(StepWavelength).After.Y
	if k.first < 0 || k.first+len(k.axis) > len(k.counts) {
		return fmt.Errorf("instrument: the spectrum does not come from %s's pixels", k.in.Name)
	}
	k.gain = make([]float64, len(k.axis))
	for i, nm := range k.axis {
		r, ok := k.in.Response.Value.At(nm)
		if !ok {
			return fmt.Errorf("instrument: the spectrum has %g nm, where the response is not known", nm)
		}
		k.gain[i] = 1 / r
	}
	return nil
}

// step returns the record of a step.
func (k *known) step(name StepName) Step {
	i := slices.IndexFunc(k.c.Steps, func(s Step) bool { return s.Name == name })
	return k.c.Steps[max(i, 0)]
}

// says names the instrument's file as the source of a figure.
func (k *known) says(format string, a ...any) string {
	return "instrument file: " + fmt.Sprintf(format, a...)
}

// curve adds an error of a known shape.
func (k *known) curve(name, unit, source string, d uncertainty.Distribution, shape func(i int) float64) {
	values := make([]float64, len(k.axis))
	for i := range values {
		values[i] = shape(i)
	}
	k.s.Curves = append(k.s.Curves, uncertainty.Curve{
		Input: uncertainty.Input{Name: name, Unit: unit, Distribution: d, Source: source}, Values: values,
	})
}

func (k *known) wavelength() {
	w := &k.in.Wavelength.Value
	used := 0
	for _, l := range w.Lines {
		if l.Used {
			used++
		}
	}
	from := k.says("%s of %s, u = %.2g nm between the lines", count(used, "line"), k.in.Wavelength.Made.Format(time.DateOnly), w.UNm)
	k.s.Stretch = uncertainty.Distribution{}
	axis, ok := axisErrors(w)
	if ok {
		k.s.Axis, k.s.Sources[uncertainty.WavelengthAxis] = axis, from
	}
	shift := k.in.Shift
	if shift == nil || shift.Made.Before(k.in.Wavelength.Made.Time) {
		k.s.Offset, k.s.Sources[uncertainty.WavelengthOffset] = uncertainty.Normal(0, unwatchedDrift), uncertainty.OwnEstimate
	} else {
		v := &shift.Value
		slope := math.Abs(w.Dispersion.Slope(float64(w.Dispersion.Pixels) / 2))
		source := k.says("check of %s with %s", shift.Made.Format(time.DateOnly), count(v.Lines, "line"))
		k.s.Offset, k.s.Sources[uncertainty.WavelengthOffset] = uncertainty.Normal(0, v.U*slope), source
		if span := w.ToNm - w.FromNm; span > 0 && v.StretchU > 0 { // a stretch was seen and not taken away
			k.s.Stretch = uncertainty.Normal(0, 100*math.Hypot(v.StretchNm, v.StretchU)/span)
			k.s.Sources[uncertainty.WavelengthStretch] = source
		}
	}
	if !ok { // too few lines in the file for the shape of the error
		k.s.Offset = uncertainty.Normal(0, math.Hypot(k.s.Offset.U(), w.UNm))
	}
}

// bandwidth takes the width from the calibration, as sure as the lines agree.
func (k *known) bandwidth() {
	b := k.in.Wavelength.Value.Bandwidth
	from, to := k.c.Spectrum.Range()
	width := b.At(min(max(550, from), to))
	if b.Lines < 2 || !(width > 0) {
		return
	}
	var squares, n float64
	for _, l := range k.in.Wavelength.Value.Lines {
		if off := l.FWHMNm/b.At(l.Nm) - 1; l.Used && math.Abs(off) < 0.3 {
			squares += off * off
			n++
		}
	}
	if n < 3 {
		return
	}
	k.s.Bandwidth = uncertainty.Normal(width, width*math.Sqrt(squares/(n-1)/n))
	k.s.Sources[uncertainty.Bandwidth] = k.says("the widths of %s", count(b.Lines, "line"))
}

// response parts the response's own uncertainty. What is rough is noise of its
// recording and independent from pixel to pixel. Of the rest, the least is laid
// to the certificate, which is as good at one wavelength as at another and errs
// smoothly; what grows as the signal falls is stray light, one level for all
// pixels. The temperature of the reference lamp tilts all of it.
func (k *known) response() {
	r := &k.in.Response.Value
	s := k.s
	rough := roughness(r.Value)
	s.Noise.Samples = make([]float64, len(k.axis))
	smooth := make([]float64, len(k.axis))
	for i, nm := range k.axis {
		u, _, _ := r.UAt(nm)
		p, _ := slices.BinarySearch(r.Nm, nm)
		p = min(p, len(r.Nm)-1)
		noise := min(rough[p]/r.Value[p], u)
		s.Noise.Samples[i] = noise * math.Abs(k.values[i])
		smooth[i] = math.Sqrt(max(u*u-noise*noise, 0))
	}
	certificate := slices.Min(smooth)
	k.strayed = make([]float64, len(smooth))
	for i, u := range smooth {
		k.strayed[i] = math.Sqrt(u*u - certificate*certificate)
	}
	s.Response = uncertainty.Response{}
	if certificate > 0 {
		s.Response.Correlation = certificateReach
		for at := k.axis[0]; at < k.axis[len(k.axis)-1]+knotStep; at += knotStep {
			s.Response.Nm, s.Response.U = append(s.Response.Nm, at), append(s.Response.U, certificate)
		}
	}
	s.Sources[uncertainty.ResponseCurve] = k.says("response of %s against %s", k.in.Response.Made.Format(time.DateOnly), r.Reference)

	s.Reference = uncertainty.Distribution{}
	shown := min(max(450, r.FromNm), r.ToNm)
	_, tilt, _ := r.UAt(shown)
	if tilt = math.Abs(tilt); tilt > 0 {
		k.curve(uncertainty.ReferenceLamp, fmt.Sprintf("of the light at %.0f nm", shown), s.Sources[uncertainty.ResponseCurve],
			uncertainty.Normal(0, tilt), func(i int) float64 {
				_, t, _ := r.UAt(k.axis[i])
				return k.values[i] * t / tilt
			})
	}
}

// roughness is the noise of a smooth curve from its third differences, over some
// fifty points about each.
func roughness(y []float64) []float64 {
	n := len(y)
	sums := make([]float64, n+1) // of squares up to each point
	for i := range y {
		sums[i+1] = sums[i]
		if i+3 < n {
			d := y[i+3] - y[i] + 3*(y[i+1]-y[i+2])
			sums[i+1] += d * d / 20
		}
	}
	out := make([]float64, n)
	for i := range out {
		lo, hi := max(i-26, 0), min(i+24, n-3)
		if lo = min(lo, max(hi-24, 0)); hi > lo {
			out[i] = math.Sqrt((sums[hi] - sums[lo]) / float64(hi-lo))
		}
	}
	return out
}

// strayLight is the level of counts that may be left under all pixels, in this
// recording and, since it is the same instrument, in that of the response: there
// it made the response too high, which takes some of the error away again.
func (k *known) strayLight() {
	k.s.Stray = uncertainty.Distribution{}
	counts := k.step(StepSecondOrder).Before
	s, err := spectrum.New(spectrum.Counts, counts.X, counts.Y)
	if err != nil {
		return
	}
	left, from := k.in.strayLeft(&Corrected{Spectrum: s, Steps: k.c.Steps})
	mean := 0.0
	for _, v := range counts.Y {
		mean += v / float64(len(counts.Y))
	}
	if !(mean > 0) || !(left > 0) {
		return
	}
	source := k.says("%s", from)
	if k.in.BlindBelowNm == 0 && !k.step(StepStray).Made {
		source = uncertainty.OwnEstimate
	}
	k.curve(uncertainty.StrayLight, "of the mean count", source, uncertainty.Normal(0, left/mean), func(i int) float64 {
		return k.values[i]*k.strayed[i]*mean/left - mean*k.gain[i]
	})
}

// darkLevel gives the class's figure the shape that a level of counts has. Where
// no dark was taken off, all of the lowest count may be dark.
func (k *known) darkLevel(class uncertainty.Distribution) {
	k.s.Dark = uncertainty.Distribution{}
	peak, source := slices.Max(k.counts), k.s.Source
	if lowest := slices.Min(k.counts); !k.step(StepDark).Made && peak > 0 && lowest/peak > class.U() {
		class, source = uncertainty.Normal(0, lowest/peak), uncertainty.OwnEstimate
	}
	if class == (uncertainty.Distribution{}) {
		return
	}
	k.curve(uncertainty.DarkLevel, "of the largest count", source, class, func(i int) float64 { return -peak * k.gain[i] })
}

// secondOrder is what the correction may leave of the ghosts, as a share of what
// it took away.
func (k *known) secondOrder() {
	step := k.step(StepSecondOrder)
	if !step.Made {
		return
	}
	u, from := ghostKept, "a tenth of what its correction took away"
	if s, ok := scatterAboutLine(k.in.SecondOrder.Value); ok {
		u, from = s, fmt.Sprintf("the scatter of %s", count(len(k.in.SecondOrder.Value.Nm), "ghost"))
	}
	if !(u > 0) {
		return
	}
	k.curve(uncertainty.SecondOrder, "of the ghosts", k.says("%s", from), uncertainty.Normal(0, u), func(i int) float64 {
		p := k.first + i
		return -(step.Before.Y[p] - step.After.Y[p]) * k.gain[i]
	})
}

// scatterAboutLine is the relative standard deviation of the ratios of four or
// more ghosts about a straight line over wavelength: a grating's second order is smooth.
func scatterAboutLine(s calibration.SecondOrder) (float64, bool) {
	n := float64(len(s.Nm))
	if n < 4 {
		return 0, false
	}
	var x, y float64
	for i := range s.Nm {
		x += s.Nm[i] / n
		y += s.Ratio[i] / n
	}
	var xx, xy, yy float64
	for i := range s.Nm {
		dx, dy := s.Nm[i]-x, s.Ratio[i]-y
		xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
	}
	if !(xx > 0) || !(y > 0) {
		return 0, false
	}
	return math.Sqrt(max(yy-xy*xy/xx, 0)/(n-2)) / y, true
}

// linearity is what is left of a detector's departure from proportion, which
// grows with the count.
func (k *known) linearity() {
	peak := slices.Max(k.counts)
	if !(peak > 0) {
		return
	}
	u, source := unknownBend, uncertainty.OwnEstimate
	if step := k.step(StepLinearity); step.Made {
		largest := 0.0
		for p, v := range step.After.Y {
			if v > 0.05*slices.Max(step.After.Y) {
				largest = max(largest, math.Abs(step.Before.Y[p]/v-1))
			}
		}
		u, source = bendKept*largest, k.says("a tenth of what its correction of linearity changed")
	}
	if !(u > 0) {
		return
	}
	k.curve(uncertainty.Linearity, "at the largest count", source, uncertainty.Normal(0, u), func(i int) float64 {
		return k.values[i] * k.counts[k.first+i] / peak
	})
}
