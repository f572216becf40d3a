package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Elements are the symbols of the elements a simulated lamp may hold.
func Elements() []string {
	return []string{"Na", "Hg", "Ne", "Ar", "Kr", "Xe", "He", "H", "Cd", "Zn", "K", "Tl", "In", "Li"}
}

// Instrument is what a lamp is looked at with.
type Instrument struct {
	From, To, Pitch float64 // nm, equal steps
	Bandwidth       float64 // full width at half maximum of a line, nm
	SNR             float64 // largest sample over the standard deviation of the noise
	// Shift is what the axis reads too high at 550 nm, nm, and Stretch how much
	// more it does so 100 nm further on.
	Shift, Stretch float64

	Faults Faults
}

// Lamp is what is looked at.
type Lamp struct {
	// Amounts are heights of each element's strongest line in range, by symbol.
	Amounts map[string]float64
	// Spread is the standard deviation of the natural logarithm of a line's
	// height over the tabulated one.
	Spread float64
	// Strangers are heights of lines that no table has, at random places.
	Strangers []float64
	// Humps are bands of phosphors or of a continuum.
	Humps []Hump
}

// Hump is a broad band, Gaussian in photon energy.
type Hump struct{ Centre, Width, Height float64 } // nm, full width in nm

// Reading is a simulated spectrum and what can be seen in it.
type Reading struct {
	Spectrum *spectrum.Spectrum // spectrum.Relative
	// Above counts, by symbol, the strong lines (a tenth of the element's
	// strongest in range, or more) that rise above five standard deviations of the
	// noise. Clear counts those of them that are not within one bandwidth of a
	// higher line of another element.
	Above, Clear map[string]int
}

// line is a line as emitted.
type line struct {
	nm, height float64
	strong     bool
}

// Record looks at a lamp. It fails where the instrument has no axis.
func Record(lamp *Lamp, in *Instrument, rng *rand.Rand) (*Reading, error) {
	if !(in.Pitch > 0) || !(in.Bandwidth > 0) || !(in.SNR > 0) || !(in.To > in.From) {
		return nil, fmt.Errorf("simulate: pitch, bandwidth, signal-to-noise ratio and range must be above zero")
	}
	n := int((in.To-in.From)/in.Pitch) + 1
	x, y := make([]float64, n), make([]float64, n)
	for i := range x {
		x[i] = in.From + float64(i)*in.Pitch
	}
	emitted := map[string][]line{}
	for _, symbol := range Elements() { // in a fixed order, for the same random numbers
		if amount := lamp.Amounts[symbol]; amount > 0 {
			emitted[symbol] = lamp.emit(symbol, amount, in, rng)
		}
		for _, l := range emitted[symbol] {
			in.spread(x, y, l)
		}
	}
	for _, height := range lamp.Strangers {
		in.spread(x, y, line{nm: in.From + (in.To-in.From)*rng.Float64(), height: height})
	}
	for _, h := range lamp.Humps {
		for i, nm := range x {
			u := (h.Centre/nm - 1) * h.Centre / h.Width
			y[i] += h.Height * math.Exp(-4*math.Ln2*u*u)
		}
	}
	in.Faults.spoil(x, y, in.Bandwidth)
	top := 0.0
	for _, v := range y {
		top = max(top, v)
	}
	sigma := top / in.SNR
	if top == 0 {
		sigma = 1
	}
	for i := range y {
		y[i] += sigma * rng.NormFloat64()
	}
	s, err := spectrum.New(spectrum.Relative, x, y)
	if err != nil {
		return nil, fmt.Errorf("simulate: %w", err)
	}
	r := &Reading{Spectrum: s, Above: map[string]int{}, Clear: map[string]int{}}
	for symbol, lines := range emitted {
		for _, l := range lines {
			if !l.strong || l.height <= 5*sigma {
				continue
			}
			r.Above[symbol]++
			if !buried(emitted, symbol, l, in.Bandwidth) {
				r.Clear[symbol]++
			}
		}
	}
	return r, nil
}

// emit scatters the lines of an element about their tabulated ratios.
func (lamp *Lamp) emit(symbol string, amount float64, in *Instrument, rng *rand.Rand) []line {
	const margin = 10 // nm beyond the range, for wings
	top := 0.0
	for _, l := range standards.Lines() {
		if l.Spectrum == symbol+" I" && l.Nm > in.From && l.Nm < in.To {
			top = max(top, l.Intensity)
		}
	}
	if top == 0 {
		return nil
	}
	var all []line
	for _, l := range standards.Lines() {
		if l.Spectrum != symbol+" I" || l.Nm < in.From-margin || l.Nm > in.To+margin {
			continue
		}
		all = append(all, line{
			nm:     l.Nm,
			height: amount * l.Intensity / top * math.Exp(lamp.Spread*rng.NormFloat64()),
			strong: l.Intensity >= 0.1*top && l.Nm > in.From+in.Bandwidth && l.Nm < in.To-in.Bandwidth,
		})
	}
	return all
}

// spread adds a line to the samples.
func (in *Instrument) spread(x, y []float64, l line) {
	at := l.nm + in.Shift + in.Stretch*(l.nm-550)/100
	reach := 3 * in.Bandwidth
	for i := max(0, int((at-reach-in.From)/in.Pitch)); i < len(x) && x[i] < at+reach; i++ {
		u := (x[i] - at) / in.Bandwidth
		y[i] += l.height * math.Exp(-4*math.Ln2*u*u)
	}
}

// buried reports whether a higher line of another element is within one
// bandwidth.
func buried(emitted map[string][]line, symbol string, l line, bandwidth float64) bool {
	for other, lines := range emitted {
		if other == symbol {
			continue
		}
		for _, o := range lines {
			if o.height > l.height && math.Abs(o.nm-l.nm) < bandwidth {
				return true
			}
		}
	}
	return false
}
