package instrument

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"lampassay/light/calibration"
	"lampassay/light/spectrum"
)

// Measurement is what was recorded of one light: raw frames of one or several
// exposures, and the darks that belong to them.
type Measurement struct {
	Frames []calibration.Frame
	Darks  []calibration.Frame // one or more an exposure
}

// StepName names a step of the chain.
type StepName string

// The steps, in their order.
const (
	StepClip        StepName = "clip mask"
	StepDark        StepName = "dark"
	StepLinearity   StepName = "linearity"
	StepStitch      StepName = "average and stitch"
	StepWavelength  StepName = "wavelength"
	StepStray       StepName = "stray light"
	StepSecondOrder StepName = "second order"
	StepResponse    StepName = "response"
	StepBandwidth   StepName = "bandwidth"
)

// Skippable returns the steps that [Options] may leave out, in their order.
func Skippable() []StepName {
	return []StepName{StepClip, StepDark, StepLinearity, StepStray, StepSecondOrder, StepResponse, StepBandwidth}
}

// Curve is a curve at one point of the chain. X is in pixels until the
// wavelength step and in nm from then on.
type Curve struct{ X, Y []float64 }

// Step is the record of one step.
type Step struct {
	Name StepName
	Made bool
	Note string // what was done, or why not
	// Before and After are the same curve where the step was not made. For
	// steps that work on several exposures they show the longest.
	Before, After Curve
}

// Options choose what the chain leaves out.
type Options struct {
	// Skip names steps to leave out: the way to undo one. Wavelength and
	// stitching cannot be skipped.
	Skip []StepName
	// Bandwidth asks for the bandwidth correction, which is left out unless it
	// is asked for.
	Bandwidth bool
}

// Corrected is a spectrum with the story of how it came about.
type Corrected struct {
	Spectrum *spectrum.Spectrum
	Steps    []Step
	// Seams compare the exposures of a bracket.
	Seams []calibration.Seam
	// Lost are wavelengths clipped in every exposure.
	Lost []float64
}

// chain is a measurement on its way.
type chain struct {
	in     *Instrument
	opt    Options
	groups []group // by exposure, longest first
	curve  Curve
	out    Corrected
}

// group is all frames of one exposure, averaged.
type group struct {
	calibration.Frame
	clipped []bool
	frames  int
}

// Correct runs the chain. The measurement is not changed.
func (in *Instrument) Correct(m Measurement, opt Options) (*Corrected, error) {
	c := &chain{in: in, opt: opt}
	if err := c.gather(m.Frames); err != nil {
		return nil, err
	}
	for _, step := range []func(Measurement) error{
		c.dark, c.linearity, c.stitch, c.wavelength, c.stray, c.secondOrder, c.response, c.bandwidth,
	} {
		if err := step(m); err != nil {
			return nil, err
		}
	}
	return &c.out, nil
}

// skipped reports whether a step was named to be left out, and records it.
func (c *chain) skipped(name StepName) bool {
	if slices.Contains(c.opt.Skip, name) {
		c.pass(name, "left out on request")
		return true
	}
	return false
}

// pass records a step that was not made.
func (c *chain) pass(name StepName, why string) {
	c.out.Steps = append(c.out.Steps, Step{Name: name, Note: why, Before: c.curve, After: c.curve})
}

// made records a step and moves to its result.
func (c *chain) made(name StepName, after Curve, format string, a ...any) {
	c.out.Steps = append(c.out.Steps, Step{Name: name, Made: true, Note: fmt.Sprintf(format, a...), Before: c.curve, After: after})
	c.curve = after
}

// gather checks the frames, marks clipping while counts are still raw, and
// averages frames of one exposure.
func (c *chain) gather(frames []calibration.Frame) error {
	if len(frames) == 0 {
		return errors.New("instrument: the measurement has no frames")
	}
	for k, f := range frames {
		if len(f.Counts) != c.in.Pixels {
			return fmt.Errorf("instrument: frame %d has %d pixels but %s has %d: is it another instrument's?", k+1, len(f.Counts), c.in.Name, c.in.Pixels)
		}
		if !(f.ExposureMs > 0) {
			return fmt.Errorf("instrument: frame %d has no exposure time", k+1)
		}
		for p, v := range f.Counts {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("instrument: frame %d: pixel %d is not a finite number", k+1, p)
			}
		}
		counts := slices.Clone(f.Counts)
		if c.in.Backwards {
			slices.Reverse(counts)
		}
		at := slices.IndexFunc(c.groups, func(g group) bool { return sameExposure(g.ExposureMs, f.ExposureMs) })
		if at < 0 {
			at = len(c.groups)
			c.groups = append(c.groups, group{
				Frame:   calibration.Frame{Counts: make([]float64, len(counts)), ExposureMs: f.ExposureMs},
				clipped: make([]bool, len(counts)),
			})
		}
		g := &c.groups[at]
		g.frames++
		skip := slices.Contains(c.opt.Skip, StepClip)
		for p, clipped := range calibration.ClipMask(counts, c.in.FullScale) {
			g.clipped[p] = g.clipped[p] || (clipped && !skip)
			g.Counts[p] += counts[p]
		}
	}
	for i := range c.groups {
		for p := range c.groups[i].Counts {
			c.groups[i].Counts[p] /= float64(c.groups[i].frames)
		}
	}
	slices.SortFunc(c.groups, func(a, b group) int {
		switch {
		case a.ExposureMs > b.ExposureMs:
			return -1
		case a.ExposureMs < b.ExposureMs:
			return 1
		}
		return 0
	})
	c.curve = Curve{pixelAxis(c.in.Pixels), c.groups[0].Counts}
	switch {
	case c.skipped(StepClip):
	case c.in.FullScale == 0:
		c.pass(StepClip, "the instrument's full scale is unknown, so clipping cannot be seen")
	default:
		n := 0
		for _, g := range c.groups {
			for _, clipped := range g.clipped {
				if clipped {
					n++
				}
			}
		}
		c.made(StepClip, c.curve, "%s at full scale in %s", count(n, "pixel"), count(len(c.groups), "exposure"))
	}
	return nil
}

// count says how many there are of a thing.
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

func sameExposure(a, b float64) bool { return math.Abs(a-b) <= 1e-3*max(a, b) }

func pixelAxis(n int) []float64 {
	axis := make([]float64, n)
	for i := range axis {
		axis[i] = float64(i)
	}
	return axis
}

func (c *chain) dark(m Measurement) error {
	if c.skipped(StepDark) {
		return nil
	}
	if len(m.Darks) == 0 {
		c.pass(StepDark, "no dark was recorded")
		return nil
	}
	for i := range c.groups {
		g := &c.groups[i]
		mean := calibration.Frame{Counts: make([]float64, c.in.Pixels), ExposureMs: g.ExposureMs}
		n := 0.0
		for k, d := range m.Darks {
			if !sameExposure(d.ExposureMs, g.ExposureMs) {
				continue
			}
			if len(d.Counts) != c.in.Pixels {
				return fmt.Errorf("instrument: dark %d has %d pixels but %s has %d", k+1, len(d.Counts), c.in.Name, c.in.Pixels)
			}
			n++
			for p, v := range d.Counts {
				if c.in.Backwards {
					p = c.in.Pixels - 1 - p
				}
				mean.Counts[p] += v
			}
		}
		if n == 0 {
			return fmt.Errorf("instrument: no dark was recorded at %g ms: a dark serves its own exposure only", g.ExposureMs)
		}
		for p := range mean.Counts {
			mean.Counts[p] /= n
		}
		f, err := calibration.SubtractDark(g.Frame, mean)
		if err != nil {
			return fmt.Errorf("instrument: at %g ms: %w", g.ExposureMs, err)
		}
		g.Frame = f
	}
	c.made(StepDark, Curve{c.curve.X, c.groups[0].Counts}, "its own subtracted from each of %s", count(len(c.groups), "exposure"))
	return nil
}

func (c *chain) linearity(Measurement) error {
	if c.skipped(StepLinearity) {
		return nil
	}
	if c.in.Linearity == nil {
		c.pass(StepLinearity, "never measured; counts are taken as proportional to light")
		return nil
	}
	for i := range c.groups {
		c.groups[i].Counts = c.in.Linearity.Value.Correct(c.groups[i].Counts)
	}
	c.made(StepLinearity, Curve{c.curve.X, c.groups[0].Counts}, "polynomial of order %d in counts", len(c.in.Linearity.Value.Coefficients))
	return nil
}

func (c *chain) stitch(Measurement) error {
	var frames []calibration.Frame
	var masks [][]bool
	for _, g := range c.groups {
		frames, masks = append(frames, g.Frame), append(masks, g.clipped)
	}
	s, err := calibration.Stitch(frames, masks)
	if err != nil {
		return fmt.Errorf("instrument: %w", err)
	}
	c.out.Seams = s.Seams
	lost := 0
	for p, l := range s.Lost {
		if l {
			lost++
			c.out.Lost = append(c.out.Lost, float64(p)) // nm from the next step on
		}
	}
	note := count(len(frames), "exposure") + ", weighted by noise, in counts per ms"
	if lost > 0 {
		note += fmt.Sprintf("; %s clipped in every exposure", count(lost, "pixel"))
	}
	c.made(StepStitch, Curve{c.curve.X, s.Rate}, "%s", note)
	return nil
}

func (c *chain) wavelength(Measurement) error {
	d, err := c.in.Dispersion()
	if err != nil {
		return err
	}
	for i, p := range c.out.Lost {
		c.out.Lost[i] = d.At(p)
	}
	note := c.in.Wavelength.Value.Law
	if d.Shift != 0 {
		note += fmt.Sprintf(", shifted by %+.2f pixels as checked on %s", -d.Shift, c.in.Shift.Made.Format("2006-01-02"))
	}
	c.made(StepWavelength, Curve{d.Axis(), c.curve.Y}, "%s", note)
	return nil
}

func (c *chain) stray(Measurement) error {
	if c.skipped(StepStray) {
		return nil
	}
	if c.in.Stray == nil {
		c.pass(StepStray, "never measured")
		return nil
	}
	y, err := c.in.Stray.Value.Correct(c.curve.Y)
	if err != nil {
		return fmt.Errorf("instrument: %w", err)
	}
	note := "matrix"
	if c.in.Stray.Value.Matrix == nil {
		note = fmt.Sprintf("a share of %.3g of all light subtracted from every pixel", c.in.Stray.Value.Share)
	}
	c.made(StepStray, Curve{c.curve.X, y}, "%s", note)
	return nil
}

func (c *chain) secondOrder(Measurement) error {
	if c.skipped(StepSecondOrder) {
		return nil
	}
	if c.in.SecondOrder == nil {
		c.pass(StepSecondOrder, "never measured")
		return nil
	}
	s := &c.in.SecondOrder.Value
	y := s.Correct(c.curve.X, c.curve.Y)
	c.made(StepSecondOrder, Curve{c.curve.X, y}, "ghosts of %d wavelengths measured, removed from %.0f nm on", len(s.Nm), 2*c.curve.X[0])
	return nil
}

func (c *chain) response(Measurement) error {
	q := spectrum.Counts
	switch {
	case c.skipped(StepResponse):
	case c.in.Response == nil:
		c.pass(StepResponse, "never measured: the ordinate stays in counts and no colour follows from it")
	default:
		r := &c.in.Response.Value
		x, y, err := r.Correct(c.curve.X, c.curve.Y)
		if err != nil {
			return fmt.Errorf("instrument: %w", err)
		}
		q = spectrum.Relative
		c.made(StepResponse, Curve{x, y}, "divided by the response against %s, known from %.0f nm to %.0f nm", r.Reference, r.FromNm, r.ToNm)
	}
	s, err := spectrum.New(q, c.curve.X, c.curve.Y)
	if err != nil {
		return fmt.Errorf("instrument: %w", err)
	}
	c.out.Spectrum = s
	return nil
}

func (c *chain) bandwidth(Measurement) error {
	if c.skipped(StepBandwidth) {
		return nil
	}
	b := c.in.Wavelength.Value.Bandwidth
	switch {
	case !c.opt.Bandwidth:
		c.pass(StepBandwidth, "not asked for")
		return nil
	case b.Lines == 0:
		c.pass(StepBandwidth, "the instrument's bandwidth is unknown")
		return nil
	}
	x := c.curve.X
	y, err := calibration.CorrectBandpass(x, c.curve.Y, b.At((x[0]+x[len(x)-1])/2))
	if err != nil {
		c.pass(StepBandwidth, err.Error())
		return nil
	}
	s, err := spectrum.New(c.out.Spectrum.Quantity(), x, y)
	if err != nil {
		return fmt.Errorf("instrument: %w", err)
	}
	c.out.Spectrum = s
	c.made(StepBandwidth, Curve{x, y}, "five-point formula at %.2f nm", b.At((x[0]+x[len(x)-1])/2))
	return nil
}
